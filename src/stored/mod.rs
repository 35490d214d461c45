//! What stays on the phone, as texts under keys: classes that were opened, the run that is not over,
//! what was done, what is being written, and what the member chose.
//!
//! All keys begin with `rungbook/1/`, where 1 is the version of the form. An app that finds a higher
//! one leaves everything alone ([`is_newer`]); within a version a field that is not known is passed
//! over. Where the texts are kept is not known here.
//!
//! ```
//! use rungbook::stored::{Stored, StoredClass, Unreadable, read};
//!
//! let class = StoredClass { key: "quay".into(), source: "AQx".into(), used: 7, at: None };
//! let (key, text) = (class.key(), class.to_text());
//! assert_eq!(read(&key, Some(&text)), Ok(Some(class)));
//! assert_eq!(read::<StoredClass>(&key, None), Ok(None));
//! assert_eq!(read::<StoredClass>("rungbook/2/class/quay", Some(&text)), Err(Unreadable::Newer));
//! ```

mod body;
mod form;
mod history;
mod kinds;
mod settings;

use core::fmt;

pub use body::Body;
pub use history::{HistoryError, Merged, history_file, merge};
pub use kinds::{StoredClass, StoredDone, StoredDraft, StoredRun};
pub use settings::Settings;

/// What all keys of this app begin with; the version of the form follows.
const APP: &str = "rungbook/";
const FORM: u32 = 1;

/// Where the coach's own moves are kept. They are one text of the notation, kept as it is.
pub const OWN_MOVES: &str = "rungbook/1/moves";

/// Why something was not kept. Nothing that was kept before is lost by it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum StoreError {
    /// There is no room left.
    Full,
    /// The browser keeps nothing here.
    Forbidden,
    /// A newer app keeps its classes here, in a form that this one does not know.
    Newer,
}

impl fmt::Display for StoreError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            StoreError::Full => {
                "There is no room left for this class on the phone. It can be followed now; to keep it, remove another one."
            }
            StoreError::Forbidden => {
                "This browser keeps nothing here, as private windows do. The class can be followed now; keep the coach's link to open it again."
            }
            StoreError::Newer => {
                "A newer Rungbook keeps its classes on this phone. Update this one to see them; they are not touched until then."
            }
        })
    }
}

/// Why something that is stored can't be read. It is there, and best left as it is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Unreadable {
    /// It is not what was written.
    Damaged,
    /// A newer app wrote it.
    Newer,
}

impl fmt::Display for Unreadable {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Unreadable::Damaged => "It was damaged on this phone and can't be read.",
            Unreadable::Newer => "It was kept by a newer Rungbook. Update this one to read it.",
        })
    }
}

impl core::error::Error for Unreadable {}

/// Something that is kept as a text under a key. Nothing that it holds can break its text.
pub trait Stored: Sized {
    /// What the keys of all of this kind begin with; the whole key of what there is one of.
    const KEYS: &'static str;

    /// Its key.
    fn key(&self) -> String;

    /// Its text.
    fn to_text(&self) -> String;

    /// Reads a text by what follows [`Stored::KEYS`] in its key. [`read`] takes the whole key.
    ///
    /// # Errors
    /// [`Unreadable::Damaged`].
    fn from_text(name: &str, text: &str) -> Result<Self, Unreadable>;

    /// The instant by which several are put in order.
    fn instant(&self) -> i64 {
        0
    }
}

/// Reads what was found under a key; `None` where nothing was.
///
/// # Errors
/// [`Unreadable::Newer`] by the key, [`Unreadable::Damaged`] by the text.
pub fn read<T: Stored>(key: &str, text: Option<&str>) -> Result<Option<T>, Unreadable> {
    let Some(text) = text else { return Ok(None) };
    match key.strip_prefix(T::KEYS) {
        Some(name) => T::from_text(name, text).map(Some),
        None if is_newer(key) => Err(Unreadable::Newer),
        None => Err(Unreadable::Damaged),
    }
}

/// All of a kind among what is stored, the latest first. What can't be read is left out; the keys of
/// other kinds, and of other apps on the same host, are passed over.
///
/// ```
/// use rungbook::stored::{Stored, StoredClass, list};
/// let class = |key: &str, used| StoredClass { key: key.into(), source: "AQx".into(), used, at: None };
/// let (early, late) = (class("a", 5), class("b", 9));
/// let texts = [early.clone(), late.clone()].map(|class| (class.key(), class.to_text()));
/// let other = ("of another app".to_owned(), "its text".to_owned());
/// assert_eq!(list::<StoredClass>(texts.into_iter().chain([other])), [late, early]);
/// ```
pub fn list<T: Stored>(texts: impl IntoIterator<Item = (String, String)>) -> Vec<T> {
    let mut all: Vec<T> = Vec::new();
    for (key, text) in texts {
        let Some(name) = key.strip_prefix(T::KEYS) else {
            continue;
        };
        let Ok(one) = T::from_text(name, &text) else {
            continue;
        };
        // They are few, and a sort would be the larger part of this module.
        let before = |other: &T| (other.instant(), one.key()) < (one.instant(), other.key());
        let at = all.iter().position(before).unwrap_or(all.len());
        all.insert(at, one);
    }
    all
}

/// Whether a key is of a form that this app does not know yet.
///
/// ```
/// use rungbook::stored::is_newer;
/// assert!(is_newer("rungbook/2/class/quay"));
/// assert!(!is_newer("rungbook/1/class/quay"));
/// assert!(!is_newer("of another app"));
/// ```
#[must_use]
pub fn is_newer(key: &str) -> bool {
    let form = key
        .strip_prefix(APP)
        .and_then(|rest| rest.split('/').next());
    let form = form.and_then(|form| form.parse::<u32>().ok());
    form.is_some_and(|form| form > FORM)
}
