//! What a member chose for all classes on this phone.

use crate::cue::{CallLevel, Calling, Tongue};

/// The choices. As a text they are lines of `name=value`: one that is not known is passed over, so
/// that an older app can read a newer one's.
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
    /// Reads a text; what it does not say, or says wrongly, is as it is for who never chose.
    #[must_use]
    pub fn read(text: &str) -> Settings {
        let mut settings = Settings::default();
        for (name, value) in text.lines().filter_map(|line| line.split_once('=')) {
            match name {
                "calls" => {
                    if let Some(level) = CallLevel::from_tag(value) {
                        settings.calling.level = level;
                    }
                }
                "tongue" => {
                    if let Some(tongue) = Tongue::from_tag(value) {
                        settings.calling.tongue = tongue;
                    }
                }
                "volume" => {
                    if let Ok(volume) = value.parse::<u8>() {
                        settings.volume = volume.min(100);
                    }
                }
                "vibrate" => settings.vibrate = value == "yes",
                "screen-off" => settings.screen_off = value == "yes",
                "mirror" => settings.mirror = value == "yes",
                "fill-screen" => settings.fill_screen = value == "yes",
                _ => {}
            }
        }
        settings
    }

    /// How loud, from 0 to 1.
    #[must_use]
    pub fn loudness(&self) -> f32 {
        f32::from(self.volume) / 100.0
    }

    /// The text that [`Settings::read`] reads.
    #[must_use]
    pub fn text(&self) -> String {
        let yes = |on: bool| if on { "yes" } else { "no" };
        format!(
            "calls={}\ntongue={}\nvolume={}\nvibrate={}\nscreen-off={}\nmirror={}\nfill-screen={}\n",
            self.calling.level.tag(),
            self.calling.tongue.tag(),
            self.volume,
            yes(self.vibrate),
            yes(self.screen_off),
            yes(self.mirror),
            yes(self.fill_screen)
        )
    }
}
