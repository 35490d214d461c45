//! What a member chose for all classes on this phone.

use super::form::{Fields, value};
use super::{Stored, Unreadable};
use crate::cue::{CallLevel, Calling, Tongue};

/// The choices.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Settings {
    /// How much is called, and in which language.
    pub calling: Calling,
    /// How loud, in per cent.
    pub volume: u8,
    /// Calls are felt, where the phone can.
    pub vibrate: bool,
    /// Calls go on with the screen off, as far as the phone allows.
    pub screen_off: bool,
    /// The coach is faced: sides stand on the screen as in a mirror.
    pub mirror: bool,
    /// A class fills the screen.
    pub fill_screen: bool,
}

impl Default for Settings {
    fn default() -> Self {
        Settings {
            calling: Calling::default(),
            volume: 100,
            vibrate: true,
            screen_off: false,
            mirror: false,
            fill_screen: false,
        }
    }
}

impl Settings {
    /// How loud, from 0 to 1.
    #[must_use]
    pub fn loudness(&self) -> f32 {
        f32::from(self.volume) / 100.0
    }
}

impl Stored for Settings {
    const KEYS: &'static str = "rungbook/1/settings";

    fn key(&self) -> String {
        Self::KEYS.to_owned()
    }

    fn to_text(&self) -> String {
        let yes = |on: bool| if on { "yes" } else { "no" };
        Fields::default()
            .with("calls", self.calling.level.tag())
            .with("tongue", self.calling.tongue.tag())
            .with("volume", self.volume)
            .with("vibrate", yes(self.vibrate))
            .with("screen-off", yes(self.screen_off))
            .with("mirror", yes(self.mirror))
            .with("fill-screen", yes(self.fill_screen))
            .text()
    }

    /// What the text does not say, or says wrongly, is as it is for who never chose.
    fn from_text(_: &str, text: &str) -> Result<Self, Unreadable> {
        let word = |name: &str| value::<String>(text, name).ok().flatten();
        let yes = |name: &str, usual: bool| match word(name).as_deref() {
            Some("yes") => true,
            Some("no") => false,
            _ => usual,
        };
        let usual = Settings::default();
        let level = word("calls").and_then(|tag| CallLevel::from_tag(&tag));
        let tongue = word("tongue").and_then(|tag| Tongue::from_tag(&tag));
        let volume = value(text, "volume").ok().flatten();
        Ok(Settings {
            calling: Calling {
                level: level.unwrap_or(usual.calling.level),
                tongue: tongue.unwrap_or(usual.calling.tongue),
            },
            volume: volume.unwrap_or(usual.volume).min(100),
            vibrate: yes("vibrate", usual.vibrate),
            screen_off: yes("screen-off", usual.screen_off),
            mirror: yes("mirror", usual.mirror),
            fill_screen: yes("fill-screen", usual.fill_screen),
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn of(text: &str) -> Settings {
        Settings::from_text("", text).expect("settings are always read")
    }

    #[test]
    fn settings_are_read_as_they_were_written() {
        assert_eq!(of(&Settings::default().to_text()), Settings::default());
        let mut all = Settings {
            volume: 30,
            vibrate: false,
            screen_off: true,
            mirror: true,
            fill_screen: true,
            ..Settings::default()
        };
        all.calling.level = CallLevel::Full;
        all.calling.tongue = Tongue::Spanish;
        assert_eq!(of(&all.to_text()), all);
    }

    #[test]
    fn strange_settings_are_passed_over_one_by_one() {
        let strange = "calls=shouting\nvolume=300\n=\nnew=thing\nvibrate\nmirror=\\\n";
        assert_eq!(of(strange), Settings::default());
        let some = of("volume=200\ncalls=full\nvibrate=perhaps\nscreen-off=yes");
        assert_eq!(some.volume, 100);
        assert_eq!(some.calling.level, CallLevel::Full);
        assert!(some.vibrate && some.screen_off);
    }
}
