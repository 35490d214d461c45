//! A plan as the text of a link, and back.
//!
//! The text is base64url (RFC 4648 section 5, no padding) of:
//!
//! | bytes | what |
//! | --- | --- |
//! | 1 | the version of this form |
//! | 1 to 3 | the length of what is packed, as a postcard varint: tells a cut link |
//! | 4 | CRC-32 (ISO-HDLC), little-endian, of all other bytes: tells a damaged one |
//! | rest | deflate (RFC 1951) with the preset dictionary of the version; what it holds is [`wire`]'s |
//!
//! Version 2 refers to the [library](crate::library) of moves ([`short`]); all else is the same.

mod dictionary;
mod digits;
mod fragment;
mod head;
mod pack;
mod qr;
mod shipped;
mod short;
mod wire;

use core::fmt;

use base64::Engine as _;
use base64::engine::general_purpose::URL_SAFE_NO_PAD;

use crate::library::Library;
use crate::plan::{Plan, PlanError, limits};

pub use fragment::{Fragment, instant, is_instant, join};
pub use qr::{Qr, qr};
pub use shipped::{pack_moves, unpack_moves};

use head::{CRC_BYTES, SHORT, VERSION, chars, checksum, sent_bytes};

/// Characters of a link text before it is read at all: more than any plan within the limits needs.
const MOST_CHARS: usize = limits::JSON_BYTES / 3 * 4 + 64;

/// Why a text is not the link of a plan. Each says what to do, to whoever opened it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum LinkError {
    /// There is nothing there.
    Empty,
    /// It never was one.
    Foreign,
    /// The end is missing.
    Cut {
        /// Characters that came.
        came: usize,
        /// Characters that were sent.
        sent: usize,
    },
    /// Something in it was changed on the way.
    Damaged,
    /// A newer app made it.
    Newer,
    /// It is longer than any link of a plan.
    TooLong,
    /// It refers to the library of moves, and was read without it: [`decode_with`].
    Library,
    /// It arrived whole, but its plan can't be used.
    Plan(PlanError),
}

impl fmt::Display for LinkError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            LinkError::Empty => f.write_str(
                "There is no class in this link. Ask the coach for the whole link.",
            ),
            LinkError::Foreign => f.write_str(
                "This is not the link of a class. Ask the coach for the link again.",
            ),
            LinkError::Cut { came, sent } => write!(
                f,
                "This link was cut on the way: {came} of its {sent} characters arrived. Ask the coach to send it again, as a link and not as part of a longer text."
            ),
            LinkError::Damaged => f.write_str(
                "This link was changed on the way. Ask the coach to send it again.",
            ),
            LinkError::Newer => f.write_str(
                "This link was made with a newer Rungbook. Update this one: close it, and open it again with a network.",
            ),
            LinkError::TooLong => f.write_str(
                "This link is longer than any class needs. Ask the coach for the link again.",
            ),
            LinkError::Library => f.write_str(
                "This link needs the library of moves, which is not on this phone yet. Open it again with a network.",
            ),
            LinkError::Plan(e) => write!(f, "The class in this link can't be used. {e}"),
        }
    }
}

impl core::error::Error for LinkError {
    fn source(&self) -> Option<&(dyn core::error::Error + 'static)> {
        match self {
            LinkError::Plan(e) => Some(e),
            _ => None,
        }
    }
}

impl From<PlanError> for LinkError {
    fn from(e: PlanError) -> Self {
        LinkError::Plan(e)
    }
}

/// The link text of a plan: letters, digits, `-` and `_` only.
///
/// ```
/// use rungbook::plan::Plan;
/// let plan = Plan::from_json(r#"{
///     "format": "rungbook-plan", "version": 1, "title": "One",
///     "moves": [ { "id": "squat", "name": "Squat" } ],
///     "blocks": [ { "kind": "flow", "steps": ["squat"], "work": 20 } ]
/// }"#)?;
/// let link = rungbook::link::encode(&plan);
/// assert!(link.bytes().all(|b| b.is_ascii_alphanumeric() || b == b'-' || b == b'_'));
/// assert_eq!(rungbook::link::decode(&link), Ok(plan));
/// # Ok::<(), rungbook::plan::PlanError>(())
/// ```
#[must_use]
pub fn encode(plan: &Plan) -> String {
    sealed(VERSION, &wire::write(plan))
}

/// Like [`encode`], and refers to the library of moves where that is shorter.
///
/// ```
/// use rungbook::library::Library;
/// use rungbook::link::{decode_with, encode, encode_with};
/// use rungbook::plan::{Block, BlockKind, Entry, Plan};
///
/// let library = Library::shipped();
/// let mut plan = Plan { title: "Bridges".into(), ..Plan::default() };
/// let at = library.moves.iter().position(|known| &*known.id == "glute-bridge").unwrap();
/// let steps = vec![Entry::of(&library.bring(at, &mut plan).unwrap())];
/// plan.blocks.push(Block { work: 30.into(), ..Block::new(BlockKind::Flow { steps }) });
///
/// let link = encode_with(&plan, &library);
/// assert!(link.len() * 2 < encode(&plan).len());
/// assert_eq!(decode_with(&link, &library), Ok(plan));
/// ```
#[must_use]
pub fn encode_with(plan: &Plan, library: &Library) -> String {
    let whole = encode(plan);
    let short = sealed(SHORT, &short::write(plan, library));
    if short.len() < whole.len() {
        short
    } else {
        whole
    }
}

/// Whether a link text refers to the library of moves, by its first byte.
///
/// ```
/// assert!(rungbook::link::refers("AtABbg"));
/// assert!(!rungbook::link::refers("AdABbg"));
/// ```
#[must_use]
pub fn refers(text: &str) -> bool {
    let text = text.trim_start();
    if text.starts_with(|c: char| c.is_ascii_digit()) {
        let bytes = digits::from_digits(text.trim_end());
        return bytes.is_some_and(|bytes| bytes.first() == Some(&SHORT));
    }
    // 2 as the first of three bytes: six bits of 0, then 10 and four bits of the next.
    matches!(text.as_bytes(), [b'A', b'g'..=b'v', ..])
}

fn sealed(version: u8, payload: &[u8]) -> String {
    let body = pack::deflate(payload);
    let mut bytes = vec![version];
    wire::varint(body.len() as u32, &mut bytes);
    let crc = checksum(&bytes, &body);
    bytes.extend(crc);
    bytes.extend(body);
    URL_SAFE_NO_PAD.encode(bytes)
}

/// A link text as it is kept and shown: without what messages put in, and not in digits. Of any two
/// texts that carry one class in one form it makes the same. What can't be read stays what it is.
///
/// ```
/// use rungbook::link::normal;
/// assert_eq!(normal(" AQ\r\nx\u{200b}y "), "AQxy");
/// ```
#[must_use]
pub fn normal(text: &str) -> String {
    let text = fragment::only(text);
    let digits = !text.is_empty() && text.bytes().all(|byte| byte.is_ascii_digit());
    match digits.then(|| digits::from_digits(&text)).flatten() {
        Some(bytes) => URL_SAFE_NO_PAD.encode(bytes),
        None => text,
    }
}

/// The plan of a link text. What a message put in is passed over: white space, and characters that
/// nobody sees.
///
/// ```
/// use rungbook::link::{LinkError, decode};
/// assert_eq!(decode("not a link"), Err(LinkError::Foreign));
/// ```
///
/// # Errors
/// What is wrong with the text, or with the plan in it; see [`LinkError`].
pub fn decode(text: &str) -> Result<Plan, LinkError> {
    decode_with(text, &Library::default())
}

/// Like [`decode`], for links that refer to the library too.
///
/// # Errors
/// As [`decode`]. A link that refers to what a later library has is [`LinkError::Newer`].
pub fn decode_with(text: &str, library: &Library) -> Result<Plan, LinkError> {
    if text.len() > MOST_CHARS {
        return Err(LinkError::TooLong);
    }
    let text = fragment::only(text);
    if text.is_empty() {
        return Err(LinkError::Empty);
    }
    let (refers, payload) = {
        // Out of a QR code, or as it is sent.
        let came = if text.bytes().all(|byte| byte.is_ascii_digit()) {
            let bytes = digits::from_digits(&text).ok_or(LinkError::Foreign)?;
            Came {
                chars: chars(bytes.len()),
                bytes,
                odd_end: false,
            }
        } else {
            Came::read(&text)?
        };
        let (body, crc, head) = open(&came)?;
        if checksum(&head, &body) != crc {
            return Err(LinkError::Damaged);
        }
        let short = head.first() == Some(&SHORT);
        if short && library.moves.is_empty() {
            return Err(LinkError::Library);
        }
        let payload = pack::inflate(&body, limits::JSON_BYTES).ok_or(LinkError::Damaged)?;
        (short, payload)
    };
    let plan = if refers {
        short::read(&payload, library)
    } else {
        wire::read(&payload, &mut ())
    };
    let plan = plan.map_err(|e| match e {
        wire::WireError::Damaged => LinkError::Damaged,
        wire::WireError::Newer => LinkError::Newer,
        wire::WireError::Plan(e) => LinkError::Plan(e),
    })?;
    drop(payload);
    plan.validate()?;
    Ok(plan)
}

/// What stands before the packed bytes, and those.
type Opened = (Vec<u8>, [u8; CRC_BYTES], Vec<u8>);

/// What came of a link.
struct Came {
    bytes: Vec<u8>,
    /// As base64url.
    chars: usize,
    /// It ends within a group of characters that has a byte no more.
    odd_end: bool,
}

impl Came {
    fn read(text: &str) -> Result<Came, LinkError> {
        // The end of a cut text may be half a byte; what came before it still tells how much is missing.
        let whole = text.len() - usize::from(text.len() % 4 == 1);
        let (bytes, odd_end) = match URL_SAFE_NO_PAD.decode(text) {
            Ok(bytes) => (bytes, false),
            Err(_) => {
                let cut = text.get(..whole / 4 * 4).ok_or(LinkError::Foreign)?;
                match URL_SAFE_NO_PAD.decode(cut) {
                    Ok(bytes) => (bytes, true),
                    Err(_) if looks_like_ours(text) => return Err(LinkError::Damaged),
                    Err(_) => return Err(LinkError::Foreign),
                }
            }
        };
        Ok(Came {
            bytes,
            chars: text.len(),
            odd_end,
        })
    }
}

fn open(came: &Came) -> Result<Opened, LinkError> {
    let bytes = &came.bytes;
    match bytes.first() {
        Some(&(VERSION | SHORT)) => {}
        // Later versions count up; anything else never was ours.
        Some(3..=9) => return Err(LinkError::Newer),
        _ => return Err(LinkError::Foreign),
    }
    let (sent_bytes, head_len) = sent_bytes(bytes).ok_or(LinkError::Foreign)?;
    if bytes.len() < sent_bytes {
        let (came, sent) = (came.chars, chars(sent_bytes));
        // As many came as were sent: the end is not missing, it was changed.
        return Err(if came < sent {
            LinkError::Cut { came, sent }
        } else {
            LinkError::Damaged
        });
    }
    if bytes.len() > sent_bytes || came.odd_end {
        return Err(LinkError::Damaged);
    }
    let (head, rest) = bytes.split_at(head_len);
    let (crc, body) = rest.split_at(CRC_BYTES);
    let crc = crc.try_into().map_err(|_| LinkError::Damaged)?;
    Ok((body.to_vec(), crc, head.to_vec()))
}

/// Whether a text that is not base64url begins as a link does: then it was one, and was damaged.
fn looks_like_ours(text: &str) -> bool {
    let start = text.get(..4).unwrap_or_default();
    URL_SAFE_NO_PAD
        .decode(start)
        .is_ok_and(|bytes| matches!(bytes.first(), Some(&(VERSION | SHORT))))
}

#[cfg(test)]
mod tests {
    use super::*;

    const DEMO: &str = include_str!("../demos/harbour-lunch.json");

    fn demo() -> Plan {
        Plan::from_json(DEMO).expect("the demo is a good plan")
    }

    #[test]
    fn a_class_of_the_coachs_own_exercises_fits_in_1500_characters() {
        let link = encode(&demo());
        assert_eq!(decode(&link), Ok(demo()));
        assert!(link.len() <= 1_500, "{} characters", link.len());
    }

    #[test]
    fn what_went_wrong_on_the_way_is_told_apart() {
        let link = encode(&demo());
        let check = |text: &str, expected: fn(&LinkError) -> bool| {
            let found = decode(text).expect_err("a wrong link");
            assert!(expected(&found), "{found:?} for {text:.20}");
            let message = found.to_string();
            assert!(
                message.contains("Ask the coach") || message.contains("Update"),
                "{message}"
            );
        };
        check("", |e| *e == LinkError::Empty);
        check("hello", |e| *e == LinkError::Foreign);
        check("aHR0cHM6Ly9leGFtcGxlLm9yZw", |e| *e == LinkError::Foreign);
        for end in [
            link.len() - 1,
            link.len() - 2,
            link.len() - 3,
            link.len() / 2,
            40,
        ] {
            check(&link[..end], |e| matches!(e, LinkError::Cut { .. }));
        }
        let mut changed = link.clone().into_bytes();
        changed[200] = if changed[200] == b'A' { b'B' } else { b'A' };
        check(&String::from_utf8_lossy(&changed), |e| {
            *e == LinkError::Damaged
        });
        check(&link.replacen('e', "é", 1), |e| {
            matches!(e, LinkError::Damaged | LinkError::Foreign)
        });
        check(&format!("{link}AAAA"), |e| *e == LinkError::Damaged);
        check(&"A".repeat(MOST_CHARS + 1), |e| *e == LinkError::TooLong);
        check(&URL_SAFE_NO_PAD.encode([3, 5, 0, 0]), |e| {
            *e == LinkError::Newer
        });
    }

    #[test]
    fn line_breaks_of_a_message_are_passed_over() {
        let link = encode(&demo());
        let (a, b) = link.split_at(500);
        assert_eq!(decode(&format!(" {a}\r\n{b} \n")), Ok(demo()));
    }

    #[test]
    fn a_whole_link_with_a_plan_that_can_not_be_used_names_the_place() {
        let mut plan = demo();
        plan.moves[0].demo = limits::SEGMENT_SECONDS + 1;
        let Err(LinkError::Plan(e)) = decode(&encode(&plan)) else {
            panic!("the plan is over a limit");
        };
        assert_eq!(e.place, "moves[0].demo");
    }
}
