//! How a member wants to be called: how much, in which language, how loud, and what the phone can do.

use leptos::prelude::*;
use web_sys::Event;

use super::context::shell;
use super::live::{button, live, nothing, part, touch};
use crate::conductor::Opened;
use crate::conductor::SoundState;
use crate::cue::{CallLevel, Tongue};
use crate::device::{
    VoiceState, WakeLock, can_fill_screen, can_vibrate, has_audio_session, is_handheld,
};
use crate::stored::Settings;

fn level_words(level: CallLevel) -> (&'static str, &'static str) {
    match level {
        CallLevel::Tones => ("Tones", "no words"),
        CallLevel::Short => ("Short", "the next move, sides, ten and five to go"),
        CallLevel::Full => ("Full", "also how-tos, kit and the coach's words"),
    }
}

/// Changes one choice and keeps the others.
fn change(with: impl Fn(&mut Settings)) {
    let session = shell().session;
    let mut settings = session.settings.get_untracked();
    with(&mut settings);
    session.set(settings);
}

/// The part of Brief that is about hearing.
pub fn hearing(opened: &Opened) -> AnyView {
    view! {
        <div class="hearing">
            {levels()}
            {tongues()}
            {voice_line()}
            {volume()}
            {switches()}
            {sound_check(opened)}
        </div>
    }
    .into_any()
}

fn levels() -> AnyView {
    let session = shell().session;
    let all = CallLevel::ALL
        .into_iter()
        .map(|level| {
            let (name, about) = level_words(level);
            let pressed = live(move || (session.settings.get().calling.level == level).to_string());
            view! {
                <button
                    class="choice"
                    aria-pressed=pressed
                    data-testid=format!("calls-{}", level.tag())
                    on:click=touch(move || change(|settings| settings.calling.level = level))
                >
                    <strong>{name}</strong>
                    <span class="small">{about}</span>
                </button>
            }
            .into_any()
        })
        .collect_view();
    view! { <div class="choices" role="group" aria-label="How much is called">{all}</div> }
        .into_any()
}

fn tongues() -> AnyView {
    let session = shell().session;
    let now = session.settings.get_untracked().calling.tongue;
    let options = Tongue::ALL
        .into_iter()
        .map(|tongue| {
            view! {
                <option value=tongue.tag() lang=tongue.tag() selected=tongue == now>{tongue.name()}</option>
            }
            .into_any()
        })
        .collect_view();
    let choose = move |event: Event| {
        if let Some(tongue) = Tongue::from_tag(&event_target_value(&event)) {
            change(|settings| settings.calling.tongue = tongue);
        }
    };
    view! {
        <label class="field">
            <span>"Calls are spoken in"</span>
            <select on:change=choose data-testid="tongue">{options}</select>
        </label>
    }
    .into_any()
}

/// What the phone's voice can't do, where that matters.
fn voice_line() -> AnyView {
    let session = shell().session;
    part(move || {
        let calling = session.settings.get().calling;
        let words = match session.voice.get() {
            _ if calling.level == CallLevel::Tones => return nothing(),
            VoiceState::Local => return nothing(),
            VoiceState::None => format!(
                "This phone has no voice for {}: you hear tones instead of words.",
                calling.tongue.name()
            ),
            VoiceState::Network => format!(
                "This phone's voice for {} needs the network. Without one, calls are tones.",
                calling.tongue.name()
            ),
        };
        view! { <p class="small" data-testid="voice-line">{words}</p> }.into_any()
    })
    .into_any()
}

fn volume() -> AnyView {
    let session = shell().session;
    let set = move |event: Event| {
        if let Ok(volume) = event_target_value(&event).parse::<u8>() {
            change(|settings| settings.volume = volume.min(100));
        }
    };
    let now = session.settings.get_untracked().volume.to_string();
    view! {
        <label class="field">
            <span>"How loud"</span>
            <input type="range" min="0" max="100" step="10" value=now on:change=set data-testid="volume" />
        </label>
    }
    .into_any()
}

fn switch(
    id: &'static str,
    words: &'static str,
    on: bool,
    set: impl Fn(&mut Settings, bool) + Copy + 'static,
) -> AnyView {
    let toggle = move |event: Event| {
        let on = event_target_checked(&event);
        change(|settings| set(settings, on));
    };
    view! {
        <label class="switch">
            <input type="checkbox" checked=on on:change=toggle data-testid=id />
            <span>{words}</span>
        </label>
    }
    .into_any()
}

/// How the class stands on the screen.
pub fn seeing() -> AnyView {
    let settings = shell().session.settings.get_untracked();
    let mirror = switch(
        "mirror",
        "I face the coach: show the sides as in a mirror",
        settings.mirror,
        |settings, on| settings.mirror = on,
    );
    let fill = can_fill_screen().then(|| {
        switch(
            "fill-screen",
            "Fill the screen in class",
            settings.fill_screen,
            |settings, on| {
                settings.fill_screen = on;
            },
        )
    });
    view! { {mirror} {fill} }.into_any()
}

/// What only some phones can do, and what they can't: told where it applies.
fn switches() -> AnyView {
    let settings = shell().session.settings.get_untracked();
    let buzz = (can_vibrate() && is_handheld()).then(|| {
        switch(
            "vibrate",
            "Feel the calls too",
            settings.vibrate,
            |settings, on| {
                settings.vibrate = on;
            },
        )
    });
    let behind = is_handheld().then(|| {
        let about = if has_audio_session() {
            "Otherwise a locked phone is silent. It may stop your own music, and there are no words."
        } else {
            "Otherwise a locked phone falls silent after a minute or so. It plays the tones of the class as one long track, without words."
        };
        view! {
            {switch("screen-off", "Keep calling with the screen off", settings.screen_off, |settings, on| {
                settings.screen_off = on;
            })}
            <p class="small">{about}</p>
        }
        .into_any()
    });
    let dark = (!WakeLock::exists()).then(|| {
        view! {
            <p class="small">"This browser can't keep the screen on: set the phone so that it stays on for the class."</p>
        }
        .into_any()
    });
    view! { {buzz} {behind} {dark} }.into_any()
}

fn sound_check(opened: &Opened) -> AnyView {
    let session = shell().session;
    let asked = RwSignal::new(false);
    let opened = opened.clone();
    let check = move || {
        asked.set(true);
        session.check_sound(&opened);
    };
    view! {
        {button("", "sound-check", "Play the calls", check)}
        <p class="small" aria-live="polite">
            {live(move || match (asked.get(), session.sound.get()) {
                (false, _) => "Short tones count, a rising one is go, a falling one is the end; twice rising is the other side.",
                (true, SoundState::Missing) => "This browser has no sound. The class can be followed by eye.",
                (true, _) => "Three short tones and a rising one, then words if you chose them. Not heard? Turn the volume up, and the silent switch off.",
            }.to_owned())}
        </p>
    }
    .into_any()
}
