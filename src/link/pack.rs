//! Deflate with a preset dictionary.

use miniz_oxide::deflate::core::{
    CompressorOxide, TDEFLFlush, compress_to_output, create_comp_flags_from_zip_params,
    deflate_flags::TDEFL_FORCE_ALL_STATIC_BLOCKS,
};
use miniz_oxide::inflate::TINFLStatus;
use miniz_oxide::inflate::core::{DecompressorOxide, decompress, inflate_flags};

use super::dictionary::DICTIONARY;

/// Packs bytes. Short texts are often smaller with the fixed codes of RFC 1951, 3.2.6, than with
/// codes of their own, which have to be told first: both are tried.
pub(super) fn deflate(bytes: &[u8]) -> Vec<u8> {
    let own = deflate_with(0, bytes);
    let fixed = deflate_with(TDEFL_FORCE_ALL_STATIC_BLOCKS, bytes);
    if fixed.len() < own.len() { fixed } else { own }
}

fn deflate_with(flags: u32, bytes: &[u8]) -> Vec<u8> {
    /// The highest level, raw deflate (a negative window).
    const LEVEL: i32 = 10;
    const RAW: i32 = -15;
    let flags = flags | create_comp_flags_from_zip_params(LEVEL, RAW, 0);
    let mut state = Box::new(CompressorOxide::new(flags));
    let mut packed = Vec::new();
    // What was packed before is what later bytes may refer to: so the dictionary goes first, up
    // to a byte's end, and its own packed form is thrown away.
    compress_to_output(&mut state, DICTIONARY.as_bytes(), TDEFLFlush::Sync, |_| {
        true
    });
    compress_to_output(&mut state, bytes, TDEFLFlush::Finish, |out| {
        packed.extend_from_slice(out);
        true
    });
    packed
}

/// Unpacks bytes to at most so many; `None` where they are not whole or are more.
pub(super) fn inflate(packed: &[u8], most: usize) -> Option<Vec<u8>> {
    let start = DICTIONARY.len();
    let most = start + most;
    let mut out = DICTIONARY.as_bytes().to_vec();
    out.resize((start + 4 * packed.len() + 64).min(most), 0);
    let mut state = Box::<DecompressorOxide>::default();
    let (mut read, mut end) = (0, start);
    loop {
        let (status, took, gave) = decompress(
            &mut state,
            packed.get(read..)?,
            &mut out,
            end,
            inflate_flags::TINFL_FLAG_USING_NON_WRAPPING_OUTPUT_BUF,
        );
        read += took;
        end += gave;
        match status {
            TINFLStatus::Done if read == packed.len() => break,
            TINFLStatus::HasMoreOutput if out.len() < most => {
                let len = (out.len() * 2).min(most);
                out.resize(len, 0);
            }
            _ => return None,
        }
    }
    out.truncate(end);
    out.drain(..start);
    Some(out)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn packing_is_undone() {
        for bytes in [
            &b""[..],
            b"a",
            DICTIONARY.as_bytes(),
            &[0; 50_000],
            &(0..=255).collect::<Vec<u8>>(),
        ] {
            assert_eq!(inflate(&deflate(bytes), 65_536).as_deref(), Some(bytes));
        }
    }

    #[test]
    fn a_bomb_is_refused() {
        let bomb = deflate(&vec![b'x'; 10_000_000]);
        assert!(bomb.len() < 20_000);
        assert_eq!(inflate(&bomb, 65_536), None);
    }

    #[test]
    fn what_is_cut_or_has_a_tail_is_refused() {
        let packed = deflate(b"Sit down between the heels, stand up.");
        assert_eq!(inflate(&packed[..packed.len() - 1], 1_000), None);
        let mut tail = packed.clone();
        tail.push(0);
        assert_eq!(inflate(&tail, 1_000), None);
        assert_eq!(inflate(&[], 1_000), None);
    }
}
