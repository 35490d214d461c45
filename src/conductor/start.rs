//! Which start a class is opened with, where the phone knows one already.

use super::opened::Opened;

/// Two starts of one class: what the phone has, and what a link says.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct TwoStarts {
    /// The start on this phone, in milliseconds of the device's clock.
    pub kept: i64,
    /// The link's; `None` where it says none.
    pub link: Option<i64>,
}

/// What a class is opened with.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Starts {
    /// The instant of its time 0, if one is set.
    pub at: Option<i64>,
    /// Both, where they differ and one is to be chosen. Until then the phone's own holds.
    pub differ: Option<TwoStarts>,
}

/// Which start a class is opened with. `opened` has the link's; `kept` is what the phone has of the
/// same class, with its start; `corrected`: the link brings a later revision of it.
///
/// A start on the phone that is not over is never replaced or lost without a word. A correction
/// without a start is of the class that has one.
///
/// ```
/// use std::sync::Arc;
/// use rungbook::conductor::{Opened, TwoStarts, starts};
/// use rungbook::{demos::DEMOS, library::Library, link, timeline::Timeline};
///
/// let plan = link::decode_with(DEMOS[0], &Library::shipped()).unwrap();
/// let mut kept = Opened::new(Arc::new(Timeline::new(&plan)), DEMOS[0].into());
/// let opened = kept.clone(); // a link without a start
/// let now = 1_795_000_000_000;
/// kept.at = Some(now + 60_000);
/// let found = starts(&opened, Some(&kept), false, now);
/// assert_eq!(found.at, kept.at);
/// assert_eq!(found.differ, Some(TwoStarts { kept: now + 60_000, link: None }));
/// ```
#[must_use]
pub fn starts(opened: &Opened, kept: Option<&Opened>, corrected: bool, now: i64) -> Starts {
    let link = opened.at;
    let kept = kept.and_then(|kept| kept.unless_over(kept.at, now));
    let Some(kept) = kept else {
        return Starts {
            at: link,
            differ: None,
        };
    };
    let same = link == Some(kept) || (link.is_none() && corrected);
    Starts {
        at: Some(kept),
        differ: (!same).then_some(TwoStarts { kept, link }),
    }
}
