//! A class that was opened: read from a link, and what it is called outside the app.

use std::sync::Arc;

use super::modules::library;
use super::text;
use crate::conductor::Opened;
use crate::device::instant_text;
use crate::export::file_name;
use crate::link;
use crate::timeline::Timeline;

impl Opened {
    /// Reads a class from the text of a link.
    pub fn read(link: &str) -> Result<Opened, String> {
        // Whatever stood around it stays out of the address and of what is stored.
        let link = link::normal(link);
        let plan = link::decode_with(&link, library()).map_err(|e| e.to_string())?;
        Ok(Opened {
            timeline: Arc::new(Timeline::new(&plan)),
            link: link.into(),
            at: None,
            trial: false,
        })
    }

    /// The address of the class, with an app's address before it.
    pub fn address(&self, app: &str) -> String {
        let at = self.at.map(instant_text);
        link::join(app, &self.link, at.as_deref())
    }

    /// Its title, for a screen.
    pub fn title(&self) -> String {
        text::title(self.plan())
    }

    /// What a file of it is called, by its title.
    pub fn file(&self, extension: &str) -> String {
        let name = file_name(&self.plan().title, &self.key());
        format!("{name}{extension}")
    }

    /// Names the class across its revisions, as far as its plan does.
    pub fn key(&self) -> String {
        let plan = self.plan();
        if plan.id.is_empty() {
            format!("{:016x}", plan.digest())
        } else {
            plan.id.clone()
        }
    }
}
