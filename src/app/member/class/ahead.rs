//! The rungs to come, nearest lowest.

use std::sync::Arc;

use leptos::prelude::*;

use super::fitted::Fitted;
use crate::app::parts::live::{live, nothing, part};
use crate::app::parts::{shell, text};
use crate::plan::isolated;
use crate::timeline::{Rung, RungKind, Timeline, Ways, called, kit_of};

/// How many moves are shown ahead.
const MOVES: usize = 3;

/// What comes.
pub(super) fn ahead(
    timeline: &Arc<Timeline>,
    segment: Memo<Option<usize>>,
    fitted: Fitted,
) -> AnyView {
    let session = shell().session;
    // Who warms up late is shown, behind their own, what they are about to join: from where, and until
    // when in their own time.
    let joined = {
        let timeline = timeline.clone();
        move || {
            let (at, start) = session.joins.get().zip(session.starts_at())?;
            let own = session.moment.get_untracked().class_ms + at - session.now();
            timeline.index_at(at - start).map(|from| (from, own))
        }
    };
    let from = move || segment.get().map_or(0, |i| i + 1);
    let last = {
        let (timeline, joined) = (timeline.clone(), joined.clone());
        live(
            move || match joined().is_none() && timeline.rungs_from(from(), 1).is_empty() {
                true => "Then the end".to_owned(),
                false => "Then".to_owned(),
            },
        )
    };
    let timeline = timeline.clone();
    let rungs = part(move || {
        let ways = session.ways.get();
        let mut rungs = timeline.rungs_from(from(), 2 * MOVES);
        let mut own = rungs.len();
        if let Some((from, until)) = joined() {
            let before = |rung: &Rung| timeline.segments()[rung.first].start_ms < until;
            own = rungs.iter().take_while(|rung| before(rung)).count();
            own = own.min(MOVES - 1);
            rungs.truncate(own);
            rungs.extend(timeline.rungs_from(from, 2 * MOVES));
        }
        let mut moves = 0;
        rungs
            .into_iter()
            .take_while(|rung| {
                moves += usize::from(matches!(rung.kind, RungKind::Move(_)));
                moves <= MOVES
            })
            .take(MOVES + 1)
            .enumerate()
            .map(|(i, rung)| show(&timeline, &ways, &rung, i, i == own))
            .collect_view()
            .into_any()
    });
    view! {
        <section class="ahead" aria-label="Then">
            <h2>{last}</h2>
            <ol node_ref=fitted.ahead>{rungs}</ol>
        </section>
    }
    .into_any()
}

fn show(timeline: &Timeline, ways: &Ways, rung: &Rung, at: usize, joins: bool) -> AnyView {
    let join = joins.then_some("Then join: ");
    let RungKind::Move(of) = rung.kind else {
        let block = timeline.block_of(&timeline.segments()[rung.first]);
        let name = block.map(|block| block.name.clone()).unwrap_or_default();
        let name = text::or(&name, "Interlude");
        return view! {
            <li class="rung aside" data-at=at.to_string()>
                {join}
                <span class="name" dir="auto">{name}</span>
            </li>
        }
        .into_any();
    };
    let plan = timeline.plan();
    let Some(known) = plan.moves.get(of) else {
        return nothing();
    };
    let mut facts = called(plan, kit_of(plan, of, ways));
    facts.iter_mut().for_each(|kit| *kit = isolated(kit));
    facts.push(text::position(known.position).to_owned());
    let name = timeline
        .names_of(&timeline.segments()[rung.first], ways)
        .first()
        .map(|name| isolated(name));
    let count = (rung.count > 1).then(|| format!("{} ×", rung.count));
    let side = text::hands(&rung.hands);
    view! {
        <li class="rung" data-testid="next" data-at=at.to_string()>
            {join}
            <span class="name" dir="auto">{name}</span>
            " "
            <span class="count">{count}</span>
            " "
            <span class="side">{side}</span>
            " "
            <span class="facts">{facts.join(", ")}</span>
        </li>
    }
    .into_any()
}
