//! What stands before the packed plan of a link: version, length, checksum.

use base64::Engine as _;
use base64::engine::general_purpose::URL_SAFE_NO_PAD;

use super::wire;
use crate::plan::limits;

/// The version of the form that says everything itself.
pub(super) const VERSION: u8 = 1;
/// The version that refers to the library of moves.
pub(super) const SHORT: u8 = 2;
pub(super) const CRC_BYTES: usize = 4;
/// Characters that tell how long a link text is: whole bytes, the version and the longest length among
/// them. No link text is as short.
pub(super) const HEAD_CHARS: usize = 8;

/// How many characters were sent of a link text, by its first ones; `None` where they don't tell.
pub(super) fn sent_chars(text: &str) -> Option<usize> {
    let bytes = URL_SAFE_NO_PAD.decode(text.get(..HEAD_CHARS)?).ok()?;
    match bytes.first() {
        Some(&(VERSION | SHORT)) => sent_bytes(&bytes).map(|(sent, _)| chars(sent)),
        _ => None,
    }
}

/// The bytes of a whole link by its first ones, and how many of them stand before the checksum.
pub(super) fn sent_bytes(bytes: &[u8]) -> Option<(usize, usize)> {
    let (len, used) = wire::take_varint(bytes.get(1..)?)?;
    let head = 1 + used;
    let within = len as usize <= limits::JSON_BYTES;
    within.then_some((head + CRC_BYTES + len as usize, head))
}

/// The characters of base64url for so many bytes.
pub(super) fn chars(bytes: usize) -> usize {
    (bytes * 4).div_ceil(3)
}
