//! A class as cues of a video: WebVTT, one for each segment or for each block.

use crate::timeline::{Counted, Segment, SegmentKind, Timeline, Ways};

fn clock(ms: i64) -> String {
    let (seconds, ms) = (ms / 1000, ms % 1000);
    format!(
        "{:02}:{:02}:{:02}.{ms:03}",
        seconds / 3600,
        seconds / 60 % 60,
        seconds % 60
    )
}

/// What a segment is called: the move with its side in work, else what it is for.
#[must_use]
pub fn segment_name(timeline: &Timeline, segment: &Segment) -> String {
    let name = timeline.name_of(segment, &Ways::new());
    match (segment.kind, name) {
        (SegmentKind::Work, Some(name)) => name,
        (SegmentKind::Demo, Some(name)) => format!("Demo: {name}"),
        (SegmentKind::Ready, _) => "Get ready".to_owned(),
        (SegmentKind::Change, _) => "Change sides".to_owned(),
        (SegmentKind::Interlude, _) => match timeline.block_of(segment) {
            Some(block) if !block.name.is_empty() => block.name.clone(),
            _ => "Interlude".to_owned(),
        },
        (SegmentKind::Break, _) => "Break".to_owned(),
        _ => "Rest".to_owned(),
    }
}

/// One cue for each segment, by the recording's clock where the plan has one.
///
/// ```
/// use rungbook::export::captions;
/// use rungbook::{plan::Plan, timeline::Timeline};
/// let plan = Plan::from_json(r#"{
///     "format": "rungbook-plan", "version": 1, "title": "One", "recording": 95,
///     "moves": [ { "id": "squat", "name": "Squat & reach" } ],
///     "blocks": [ { "kind": "flow", "steps": ["squat"], "work": 20 } ]
/// }"#)?;
/// assert_eq!(captions(&Timeline::new(&plan)), "WEBVTT\n
/// 00:01:35.000 --> 00:01:45.000\nGet ready\n
/// 00:01:45.000 --> 00:02:05.000\nSquat &amp; reach\n");
/// # Ok::<(), rungbook::plan::PlanError>(())
/// ```
#[must_use]
pub fn captions(timeline: &Timeline) -> String {
    let cues = timeline.segments().iter().map(|segment| {
        let name = segment_name(timeline, segment);
        (segment.start_ms, segment.end_ms, name)
    });
    written(timeline, cues)
}

/// One cue for each block, for a player's list of chapters.
#[must_use]
pub fn chapters(timeline: &Timeline) -> String {
    let mut cues: Vec<(i64, i64, String)> = Vec::new();
    let mut last = None;
    for segment in timeline.segments() {
        if last == Some(segment.block) {
            if let Some(cue) = cues.last_mut() {
                cue.1 = segment.end_ms;
            }
            continue;
        }
        last = Some(segment.block);
        let name = timeline
            .block_of(segment)
            .map(|block| block.name.clone())
            .filter(|name| !name.is_empty())
            .unwrap_or_else(|| format!("Block {}", segment.block + 1));
        cues.push((segment.start_ms, segment.end_ms, name));
    }
    written(timeline, cues.into_iter())
}

fn written(timeline: &Timeline, cues: impl Iterator<Item = (i64, i64, String)>) -> String {
    let offset = i64::from(timeline.plan().recording.unwrap_or(0)) * 1000;
    let mut text = "WEBVTT\n".to_owned();
    for (from, to, name) in cues {
        // A line break would end the cue, and a tag would begin one.
        let name = name
            .replace('&', "&amp;")
            .replace('<', "&lt;")
            .replace('>', "&gt;");
        let name = name.split_whitespace().collect::<Vec<_>>().join(" ");
        text.push_str(&format!(
            "\n{} --> {}\n{name}\n",
            clock(from + offset),
            clock(to + offset)
        ));
    }
    text
}

/// The segments as rows of a table, with their heading. Times are seconds of class time. Rounds,
/// exercises, sets and times of a window are numbered from 1, as a coach counts them: what there is
/// only one of has no number, nor has a gap.
#[must_use]
pub fn segment_rows(timeline: &Timeline) -> Vec<Vec<String>> {
    let heading = [
        "start_s",
        "end_s",
        "kind",
        "what",
        "block",
        "round",
        "rounds",
        "exercise",
        "exercises",
        "set",
        "sets",
        "time",
        "times",
    ];
    let counted = [
        Counted::Round,
        Counted::Exercise,
        Counted::Set,
        Counted::Time,
    ];
    let mut rows = vec![heading.map(str::to_owned).to_vec()];
    for segment in timeline.segments() {
        let block = timeline.block_of(segment).map(|block| block.name.clone());
        let mut row = vec![
            (segment.start_ms / 1000).to_string(),
            (segment.end_ms / 1000).to_string(),
            segment.kind.word().to_owned(),
            segment_name(timeline, segment),
            block.unwrap_or_default(),
        ];
        for what in counted {
            let count = timeline.count_of(segment, what);
            let cell = |number: Option<u32>| number.map(|n| n.to_string()).unwrap_or_default();
            row.extend([cell(count.map(|c| c.number)), cell(count.map(|c| c.of))]);
        }
        rows.push(row);
    }
    rows
}
