//! What must hold for whatever comes in a link or a file. The fuzz targets and `tests/corpus.rs` share it.

use base64::Engine as _;
use base64::engine::general_purpose::URL_SAFE_NO_PAD;
use rungbook::link::{self, Fragment, LinkError};
use rungbook::plan::{Plan, limits};
use rungbook::run::{Input, Run};
use rungbook::timeline::Timeline;

/// Characters of the longest message that a coach would read.
const MESSAGE: usize = 500;

/// One input of the target `link`; tells whether a plan came out of it.
///
/// The first byte says how deep the rest goes in, past a checksum that no fuzzer guesses: `p` is what is
/// packed in a link, `d` the deflated form of that, and anything else belongs to the text of an address.
pub fn link(data: &[u8]) -> bool {
    let text = match data.split_first() {
        Some((b'p', payload)) => whole(&stored(payload)),
        Some((b'd', deflated)) => whole(deflated),
        _ => {
            let address = String::from_utf8_lossy(data);
            let Some(text) = Fragment::read(&address).plan else {
                return false;
            };
            text
        }
    };
    match link::decode(&text) {
        Ok(plan) => {
            holds(&plan);
            true
        }
        Err(e) => {
            readable(&e.to_string());
            if let LinkError::Cut { came, sent } = e {
                assert!(came < sent, "{came} of {sent} characters");
            }
            false
        }
    }
}

/// One input of the target `file`; tells whether a plan came out of it.
pub fn file(data: &[u8]) -> bool {
    // As a browser reads a file's text.
    match Plan::read(&String::from_utf8_lossy(data)) {
        Ok((plan, warnings)) => {
            for warning in warnings {
                readable(&warning.to_string());
            }
            holds(&plan);
            true
        }
        Err(e) => {
            readable(&e.to_string());
            false
        }
    }
}

fn readable(message: &str) {
    assert!(!message.is_empty(), "an error without a word");
    assert!(
        message.chars().count() <= MESSAGE,
        "a message too long to read: {message}"
    );
}

/// A plan that was accepted travels unchanged by both ways, and can be run.
fn holds(plan: &Plan) {
    let text = link::encode(plan);
    assert_eq!(link::decode(&text).as_ref(), Ok(plan), "by link");
    let json = plan.to_json();
    assert!(json.len() <= limits::JSON_BYTES, "{} bytes", json.len());
    let back = Plan::from_json(&json);
    assert_eq!(back.as_ref(), Ok(plan), "by file: {json}");
    assert_eq!(
        back.map(|plan| plan.to_json()),
        Ok(json),
        "a file is written in one way"
    );
    runs(plan);
}

fn runs(plan: &Plan) {
    let timeline = Timeline::new(plan);
    let segments = timeline.segments();
    assert!(segments.len() <= limits::SEGMENTS);
    assert!(segments.iter().any(|s| s.is_work()), "a class without work");
    let mut end = 0;
    for (i, segment) in segments.iter().enumerate() {
        assert_eq!(segment.start_ms, end, "segment {i} touches the one before");
        assert!(segment.end_ms > end, "segment {i} is empty");
        end = segment.end_ms;
        assert_eq!(timeline.index_at(segment.start_ms), Some(i));
        assert_eq!(timeline.index_at(end - 1), Some(i));
    }
    assert_eq!(timeline.index_at(-1), None);
    assert_eq!(timeline.index_at(end), None);
    assert_eq!(timeline.total_ms(), end);
    assert!(end <= limits::CLASS_MS);
    assert_eq!(timeline.totals().all(), end);

    let mut run = Run::new(timeline);
    run.input(
        0,
        Input::Start {
            set: None,
            lead: true,
        },
    );
    let _ = run.show(end / 2);
    let _ = run.sound(end / 2, end / 2 + 60_000);
    let _ = run.record(end);
}

/// Deflate that packs nothing (RFC 1951, section 3.2.4).
fn stored(payload: &[u8]) -> Vec<u8> {
    let chunks = payload.len().div_ceil(0xffff).max(1);
    let mut out = Vec::new();
    for i in 0..chunks {
        let chunk = payload.iter().skip(i * 0xffff).take(0xffff);
        let len = chunk.len() as u16;
        out.push(u8::from(i + 1 == chunks));
        out.extend(len.to_le_bytes());
        out.extend((!len).to_le_bytes());
        out.extend(chunk);
    }
    out
}

/// A link's text around a deflated body, by the table in the documentation of `link`.
fn whole(body: &[u8]) -> String {
    let mut bytes = vec![1];
    let mut left = body.len();
    while left > 0x7f {
        bytes.push(left as u8 | 0x80);
        left >>= 7;
    }
    bytes.push(left as u8);
    let crc = crc::Crc::<u32>::new(&crc::CRC_32_ISO_HDLC);
    let mut digest = crc.digest();
    digest.update(&bytes);
    digest.update(body);
    bytes.extend(digest.finalize().to_le_bytes());
    bytes.extend(body);
    URL_SAFE_NO_PAD.encode(bytes)
}
