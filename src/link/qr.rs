//! An address as a QR code (ISO/IEC 18004).

use qrcodegen::{QrCode, QrCodeEcc, QrSegment, Version};

use super::digits::to_digits;

/// A QR code: which modules are dark.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Qr {
    /// The version, 1 to 40; above 12 it is hard to scan from a screen at a distance.
    pub version: u8,
    /// Modules along an edge, without the quiet zone.
    pub side: u32,
    dark: Vec<bool>,
}

impl Qr {
    /// Whether a module is dark, by column and row.
    #[must_use]
    pub fn is_dark(&self, x: u32, y: u32) -> bool {
        let at = y as usize * self.side as usize + x as usize;
        x < self.side && self.dark.get(at).copied().unwrap_or(false)
    }

    /// The dark modules as the path of an SVG, one unit a module.
    #[must_use]
    pub fn path(&self) -> String {
        let mut path = String::new();
        for y in 0..self.side {
            let mut x = 0;
            while x < self.side {
                let from = x;
                while self.is_dark(x, y) {
                    x += 1;
                }
                if x > from {
                    path.push_str(&format!("M{from} {y}h{0}v1h-{0}z", x - from));
                }
                x += 1;
            }
        }
        path
    }
}

/// The address of a plan as a QR code, its link text in digits; `at` is as in [`join`](super::join).
/// `None` where it is too long for one.
///
/// ```
/// let qr = rungbook::link::qr("https://example.org/hall/", "AQxy", None).unwrap();
/// assert_eq!(qr.side, 4 * u32::from(qr.version) + 17); // ISO/IEC 18004
/// ```
#[must_use]
pub fn qr(app: &str, plan: &str, at: Option<&str>) -> Option<Qr> {
    let head = super::join(app, "", None);
    let tail = super::join("", "", at);
    let tail = tail
        .strip_prefix(&super::join("", "", None))
        .unwrap_or_default();
    let segments = [
        QrSegment::make_bytes(head.as_bytes()),
        QrSegment::make_numeric(&to_digits(plan)?),
        QrSegment::make_bytes(tail.as_bytes()),
    ];
    let (least, most) = (Version::new(1), Version::new(40));
    let segments = if tail.is_empty() {
        &segments[..2]
    } else {
        &segments[..]
    };
    let code =
        QrCode::encode_segments_advanced(segments, QrCodeEcc::Low, least, most, None, true).ok()?;
    let side = code.size();
    let dark = (0..side)
        .flat_map(|y| (0..side).map(move |x| (x, y)))
        .map(|(x, y)| code.get_module(x, y))
        .collect();
    Some(Qr {
        version: code.version().value(),
        side: side as u32,
        dark,
    })
}
