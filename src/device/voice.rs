//! The phone's voice.
//!
//! A voice can't be laid onto a clock: what is said is said now. Lists of voices come late, and
//! some are on a server, which the page does without where there is one on the phone.

use std::cell::RefCell;
use std::rc::Rc;

use wasm_bindgen::closure::Closure;
use web_sys::{Event, SpeechSynthesis, SpeechSynthesisUtterance, SpeechSynthesisVoice};

use super::js;
use super::listen::{Listener, listen_on};

/// Whether a language can be spoken.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum VoiceState {
    /// There is no voice for it, or not yet.
    #[default]
    None,
    /// A voice of the phone's own.
    Local,
    /// A voice that needs the network.
    Network,
}

impl VoiceState {
    /// Whether it can be heard now.
    #[must_use]
    pub fn speaks(self) -> bool {
        match self {
            VoiceState::None => false,
            VoiceState::Local => true,
            VoiceState::Network => {
                web_sys::window().is_some_and(|window| window.navigator().on_line())
            }
        }
    }
}

/// What an utterance calls back.
type Hears = Closure<dyn Fn(Event)>;

/// The voice. Where there is none, all of it does nothing.
#[derive(Clone, Default)]
pub struct Voice {
    synthesis: Option<SpeechSynthesis>,
    /// What is being said: some browsers stop in mid-word when a page lets go of it.
    said: Rc<RefCell<Vec<SpeechSynthesisUtterance>>>,
    /// Hears the end of each sentence, and what went wrong with it.
    hears: Option<Rc<Hears>>,
    _listener: Option<Rc<Listener>>,
}

impl Voice {
    /// The browser's voice. Calls back when its list of voices has come or has changed, and with
    /// whether it could when it has said all that it was told to say.
    pub fn new(changed: impl FnMut() + 'static, ended: impl Fn(bool) + 'static) -> Voice {
        let synthesis = web_sys::window()
            .filter(|window| js::part(window, "speechSynthesis").is_some())
            .and_then(|window| window.speech_synthesis().ok());
        let mut changed = changed;
        let listener = synthesis
            .as_ref()
            .map(|synthesis| listen_on(synthesis, "voiceschanged", move |_| changed()));
        let speaks = synthesis.clone();
        let hears = Hears::new(move |event: Event| {
            let error = js::part(&event, "error").and_then(|error| error.as_string());
            match error.as_deref() {
                // Cut by us, in mid-word or before its turn.
                Some("canceled" | "interrupted") => {}
                Some(_) => ended(false),
                None => {
                    let more = |one: &SpeechSynthesis| one.speaking() || one.pending();
                    if !speaks.as_ref().is_some_and(more) {
                        ended(true);
                    }
                }
            }
        });
        Voice {
            hears: synthesis.is_some().then(|| Rc::new(hears)),
            synthesis,
            said: Rc::default(),
            _listener: listener.map(Rc::new),
        }
    }

    fn pick(&self, tag: &str) -> Option<SpeechSynthesisVoice> {
        let voices = self.synthesis.as_ref()?.get_voices();
        // The phone's own first; of those its default, else the first.
        voices
            .iter()
            .map(wasm_bindgen::JsCast::unchecked_into::<SpeechSynthesisVoice>)
            .filter(|voice| {
                let lang = voice.lang().to_ascii_lowercase();
                lang.split(['-', '_']).next() == Some(tag)
            })
            .enumerate()
            .min_by_key(|(i, voice)| (!voice.local_service(), !voice.default(), *i))
            .map(|(_, voice)| voice)
    }

    /// Whether a language, by its tag, can be spoken.
    #[must_use]
    pub fn state(&self, tag: &str) -> VoiceState {
        match self.pick(tag) {
            None => VoiceState::None,
            Some(voice) if voice.local_service() => VoiceState::Local,
            Some(_) => VoiceState::Network,
        }
    }

    /// Makes the voice ready, in the handler of a touch: some phones speak only after one word,
    /// be it empty, was spoken there.
    pub fn unlock(&self) {
        if let (Some(synthesis), Ok(word)) =
            (&self.synthesis, SpeechSynthesisUtterance::new_with_text(""))
        {
            synthesis.speak(&word);
        }
    }

    /// Says something now, in place of what is being said.
    pub fn say(&self, text: &str, tag: &str, volume: f32) {
        let (Some(synthesis), Some(voice)) = (&self.synthesis, self.pick(tag)) else {
            return;
        };
        self.hush();
        // Sentence by sentence: voices from a server break off after some seconds.
        for sentence in text.split_inclusive(['.', '!', '?', '\n']) {
            if !sentence.chars().any(char::is_alphanumeric) {
                continue;
            }
            let Ok(words) = SpeechSynthesisUtterance::new_with_text(sentence.trim()) else {
                return;
            };
            words.set_voice(Some(&voice));
            words.set_lang(&voice.lang());
            words.set_volume(volume);
            let hears = self.hears.as_ref().map(|hears| hears.as_ref().as_ref());
            let hears = hears.map(wasm_bindgen::JsCast::unchecked_ref);
            words.set_onend(hears);
            words.set_onerror(hears);
            synthesis.speak(&words);
            self.said.borrow_mut().push(words);
        }
    }

    /// Stops in mid-word.
    pub fn hush(&self) {
        if let Some(synthesis) = &self.synthesis
            && (synthesis.speaking() || synthesis.pending())
        {
            synthesis.cancel();
        }
        self.said.borrow_mut().clear();
    }
}
