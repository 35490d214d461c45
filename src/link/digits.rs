//! A link text as decimal digits: in a QR code they take a quarter fewer modules than letters.
//!
//! Seven bytes are seventeen digits; what is left over takes as many as it needs.

use base64::Engine as _;
use base64::engine::general_purpose::URL_SAFE_NO_PAD;

const BYTES: usize = 7;
/// Digits for so many bytes: the fewest that hold them, so that the number of digits tells that of bytes.
const DIGITS: [usize; BYTES + 1] = [0, 3, 5, 8, 10, 13, 15, 17];

/// A link text in digits; `None` where it is no base64url.
pub(super) fn to_digits(link: &str) -> Option<String> {
    let bytes = URL_SAFE_NO_PAD.decode(link).ok()?;
    let mut digits = String::with_capacity(bytes.len() / BYTES * DIGITS[BYTES] + DIGITS[BYTES]);
    for part in bytes.chunks(BYTES) {
        let number = part
            .iter()
            .fold(0_u64, |number, byte| number << 8 | u64::from(*byte));
        let width = DIGITS[part.len()];
        digits.push_str(&format!("{number:0width$}"));
    }
    Some(digits)
}

/// The bytes of a link that digits stand for; `None` where they stand for none.
pub(super) fn from_digits(digits: &str) -> Option<Vec<u8>> {
    let mut bytes = Vec::with_capacity(digits.len() / 2);
    for part in digits.as_bytes().chunks(DIGITS[BYTES]) {
        let count = DIGITS.iter().position(|width| *width == part.len())?;
        let number: u64 = core::str::from_utf8(part).ok()?.parse().ok()?;
        if number >> (8 * count) != 0 {
            return None;
        }
        bytes.extend_from_slice(&number.to_be_bytes()[8 - count..]);
    }
    Some(bytes)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn digits_bring_the_text_back_whatever_its_length() {
        for len in 0..40_u8 {
            for fill in [0, 1, 127, 255] {
                let bytes: Vec<u8> = (0..len).map(|i| i.wrapping_mul(31) | fill).collect();
                let link = URL_SAFE_NO_PAD.encode(&bytes);
                let digits = to_digits(&link).unwrap();
                assert!(digits.bytes().all(|digit| digit.is_ascii_digit()));
                assert_eq!(from_digits(&digits), Some(bytes));
            }
        }
    }

    #[test]
    fn what_no_bytes_make_is_refused() {
        for digits in ["1", "12", "1234", "999", "99999999999999999", "abc"] {
            assert_eq!(from_digits(digits), None, "{digits}");
        }
    }
}
