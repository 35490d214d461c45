//! The phone's own Back: one step up, as the screens' own ways back are. A screen that lies deeper has
//! an entry of its own in the browser's history; the address says what is open, so that a reload
//! opens it again. The shell follows the screens with it (`shell/back.rs`).

use std::cell::RefCell;

use leptos::prelude::window;
use wasm_bindgen::JsValue;

use super::screen::Screen;
use super::text;
use crate::conductor::Opened;

thread_local! {
    static STEPS: RefCell<Steps> = const { RefCell::new(Steps::new()) };
}

/// Where the browser's history stands. Depths count from the list of classes, which is at 0.
struct Steps {
    here: i32,
    /// What lies below this is not ours: a link was opened from there.
    lowest: i32,
    /// A step that was asked for, and did not arrive yet.
    going: Option<i32>,
    begun: bool,
    /// What the address says behind the path.
    fragment: String,
}

/// How deep a screen lies, and whether it is of the class that is open.
pub type Place = (i32, bool);

/// What a step of the browser asks for.
pub enum Asked {
    Nothing,
    /// To be no deeper than this.
    Up(i32),
    /// To leave a class that runs.
    Leave,
}

impl Steps {
    const fn new() -> Steps {
        Steps {
            here: 0,
            lowest: 0,
            going: None,
            begun: false,
            fragment: String::new(),
        }
    }

    /// Brings the history to a screen's depth.
    fn settle(&mut self, (depth, of_class): Place) {
        if self.going.is_some() {
            return;
        }
        if !self.begun {
            self.begun = true;
            (self.lowest, self.here) = entry().unwrap_or((depth, depth));
            if self.fragment.is_empty() {
                // A link that could not be opened may be opened when the page is loaded again.
                self.fragment = window().location().hash().unwrap_or_default();
            }
        }
        self.deepen(depth);
        let to = depth.max(self.lowest);
        if to < self.here {
            self.go(to);
        } else if depth < self.here {
            // Nothing of ours lies below: this entry is the screen's own.
            (self.lowest, self.here) = (depth, depth);
        }
        self.write(false);
        if self.going.is_none() && self.lowest > 0 && !of_class {
            // The link that led here was a class's: below this lies the list.
            (self.lowest, self.here) = (0, 0);
            self.write(false);
            self.deepen(depth);
        }
    }

    fn deepen(&mut self, depth: i32) {
        while self.here < depth {
            self.here += 1;
            self.write(true);
        }
    }

    fn go(&mut self, to: i32) {
        if let Ok(history) = window().history() {
            self.going = history.go_with_delta(to - self.here).is_ok().then_some(to);
        }
    }

    /// Puts the address and the depths into this entry, or into one more.
    fn write(&self, more: bool) {
        let path = window().location().pathname().unwrap_or_default();
        let url = format!("{path}{}", self.fragment);
        if let Ok(history) = window().history() {
            let state = if self.begun {
                JsValue::from_f64(f64::from(self.lowest * 16 + self.here))
            } else {
                history.state().unwrap_or(JsValue::NULL)
            };
            // Refused where the page is no page of a server; the address then stays as it was.
            let _ = if more {
                history.push_state_with_url(&state, "", Some(&url))
            } else {
                history.replace_state_with_url(&state, "", Some(&url))
            };
        }
    }

    /// The browser went to another entry.
    fn stepped(&mut self, screen: Screen, place: Place) -> Asked {
        let depth = place.0;
        let Some((lowest, to)) = entry() else {
            if screen == Screen::Class {
                // Nobody loses a class to a touch in a chat. A link that says what is open takes
                // the entry's place, another one has an entry, which is left again.
                if window().location().hash().unwrap_or_default() == self.fragment {
                    self.write(false);
                } else if self.going.is_none() {
                    let here = self.here;
                    self.here += 1;
                    self.go(here);
                }
                return Asked::Nothing;
            }
            // A link was typed or touched: it has an entry of its own.
            (self.lowest, self.here) = (depth, depth);
            self.going = None;
            return Asked::Nothing;
        };
        let asked_for = self.going.take() == Some(to);
        let from = std::mem::replace(&mut self.here, to);
        self.lowest = lowest;
        if asked_for {
            self.write(false);
            self.settle(place);
        } else if to < from && screen == Screen::Class {
            self.go(from);
            return Asked::Leave;
        } else if to < from {
            return Asked::Up(to);
        } else if to > from {
            // What was left is not entered by the way that led there.
            self.go(from);
        }
        Asked::Nothing
    }
}

/// What an entry of ours says: below what nothing is ours, and its depth.
fn entry() -> Option<(i32, i32)> {
    let state = window().history().ok()?.state().ok()?.as_f64()? as i32;
    Some((state / 16, state % 16))
}

/// The screen that is one step up.
pub fn above(screen: Screen, written: bool) -> Screen {
    match screen {
        Screen::Classes | Screen::Brief | Screen::History | Screen::Desk => Screen::Classes,
        Screen::Class | Screen::Done | Screen::HandOut if written => Screen::Write,
        Screen::Class | Screen::Done | Screen::HandOut => Screen::Brief,
        Screen::Write => Screen::Desk,
    }
}

/// How deep a screen lies, and whether it is of the class that is open: whether Brief lies above it.
pub fn place(screen: Screen, written: bool) -> Place {
    let mut screen = screen;
    let (mut depth, mut of_class) = (0, false);
    while screen != Screen::Classes {
        of_class = screen == Screen::Brief;
        screen = above(screen, written);
        depth += 1;
    }
    (depth, of_class)
}

/// Brings the browser's history to a screen's depth.
pub fn settle(place: Place) {
    STEPS.with_borrow_mut(|steps| steps.settle(place));
}

/// Takes in that the browser went to another entry while a screen was shown.
pub fn stepped(screen: Screen, place: Place) -> Asked {
    STEPS.with_borrow_mut(|steps| steps.stepped(screen, place))
}

/// Makes the address say what is open.
pub fn set_fragment(fragment: &str) {
    STEPS.with_borrow_mut(|steps| {
        fragment.clone_into(&mut steps.fragment);
        // On the way it would be written into the entry that is left.
        if steps.going.is_none() {
            steps.write(false);
        }
    });
}

/// Whether the address says what the app made it say, or is about to.
pub fn says_so() -> bool {
    let hash = window().location().hash().unwrap_or_default();
    STEPS.with_borrow(|steps| steps.going.is_some() || steps.fragment == hash)
}

/// Makes the address and the title say which class is open.
pub fn says(opened: &Opened) {
    set_fragment(&opened.address(""));
    text::set_title(&opened.title());
}
