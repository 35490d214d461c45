//! What stays on the phone.

use serde::{Deserialize, Serialize};
use web_sys::Storage;

/// The page's storage. Where the browser has none, or forbids it, nothing is kept and nothing
/// fails.
#[derive(Clone, Debug)]
pub struct Store(Option<Storage>);

/// A run as it is stored: enough to go on with after the page was closed in mid-class.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct StoredRun {
    /// The plan, as its link text.
    pub plan: String,
    /// The run's log, as it writes itself.
    pub log: String,
    /// The last instant at which the class was seen to run.
    pub seen: i64,
}

/// The version stands in the key: a later form reads this one and writes its own.
const RUN: &str = "rungbook/1/run";

impl Default for Store {
    fn default() -> Self {
        Store(web_sys::window().and_then(|window| window.local_storage().ok().flatten()))
    }
}

impl Store {
    /// The run that was not ended, if there is one that can be read.
    #[must_use]
    pub fn run(&self) -> Option<StoredRun> {
        let text = self.0.as_ref()?.get_item(RUN).ok().flatten()?;
        serde_json::from_str(&text).ok()
    }

    /// Keeps a run, in place of the one before.
    pub fn keep_run(&self, run: &StoredRun) {
        if let (Some(storage), Ok(text)) = (&self.0, serde_json::to_string(run)) {
            // A full or forbidden storage costs the way back after a crash, not the class.
            let _ = storage.set_item(RUN, &text);
        }
    }

    /// The run is over.
    pub fn drop_run(&self) {
        if let Some(storage) = &self.0 {
            let _ = storage.remove_item(RUN);
        }
    }
}
