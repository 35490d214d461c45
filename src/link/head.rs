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

/// The checksum of a link: CRC-32 (ISO HDLC) over what stands before it and what follows.
pub(super) fn checksum(head: &[u8], body: &[u8]) -> [u8; CRC_BYTES] {
    const CRC: crc::Crc<u32, crc::NoTable> =
        crc::Crc::<u32, crc::NoTable>::new(&crc::CRC_32_ISO_HDLC);
    let mut digest = CRC.digest();
    digest.update(head);
    digest.update(body);
    digest.finalize().to_le_bytes()
}

/// Whether a link text came whole and unchanged, whatever is in it.
pub(super) fn is_sound(text: &str) -> bool {
    let Ok(bytes) = URL_SAFE_NO_PAD.decode(text) else {
        return false;
    };
    let Some((sent, head)) = sent_bytes(&bytes) else {
        return false;
    };
    if !matches!(bytes.first(), Some(&(VERSION | SHORT))) || bytes.len() != sent {
        return false;
    }
    let (head, rest) = bytes.split_at(head);
    let (crc, body) = rest.split_at(CRC_BYTES);
    checksum(head, body) == crc
}
