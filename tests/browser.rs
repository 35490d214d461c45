//! What only a browser can show: devices, and the screens as a person touches them.
#![cfg(target_arch = "wasm32")]
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, missing_docs)]

use std::cell::{Cell, RefCell};
use std::collections::BTreeMap;
use std::rc::Rc;

use rungbook::conductor::DOUBLE_TAP_MS;
use rungbook::cue::{Call, MOST_HERTZ, tone_ms};
use rungbook::device::{AudioMap, Clock, Shelf, Sizes, Sleep, Store, fit, play};
use rungbook::stored::{StoreError, Stored as _, StoredClass, StoredRun, Unreadable};
use wasm_bindgen::JsCast as _;
use wasm_bindgen_futures::JsFuture;
use wasm_bindgen_test::{wasm_bindgen_test, wasm_bindgen_test_configure};
use web_sys::{AudioBuffer, Document, HtmlElement, OfflineAudioContext};

wasm_bindgen_test_configure!(run_in_browser);

const RATE: f32 = 48_000.0;

/// A call laid on an offline context's clock: its samples.
async fn rendered(call: Call, at: f64, seconds: f64) -> Vec<f32> {
    let frames = (seconds * f64::from(RATE)) as u32;
    let context = OfflineAudioContext::new_with_number_of_channels_and_length_and_sample_rate(
        1, frames, RATE,
    )
    .unwrap();
    play(&context, &context.destination(), call, at, &mut |_, _| {}).unwrap();
    let buffer: AudioBuffer = JsFuture::from(context.start_rendering().unwrap())
        .await
        .unwrap()
        .unchecked_into();
    buffer.get_channel_data(0).unwrap()
}

fn first_sound(samples: &[f32]) -> f64 {
    let frame = samples.iter().position(|s| s.abs() > 0.02).unwrap();
    frame as f64 / f64::from(RATE)
}

#[wasm_bindgen_test]
async fn each_call_starts_on_its_time_and_ends() {
    for call in Call::ALL {
        let samples = rendered(call, 0.5, 2.0).await;
        let late_ms = (first_sound(&samples) - 0.5) * 1000.0;
        // The design's goal for a cue's onset: within 5 ms on the audio clock.
        assert!((0.0..5.0).contains(&late_ms), "{call:?}: {late_ms} ms");
        let end = ((0.5 + tone_ms(call) as f64 / 1000.0 + 0.02) * f64::from(RATE)) as usize;
        assert!(
            samples[end..].iter().all(|s| *s == 0.0),
            "{call:?} rings on"
        );
    }
}

/// Zero crossings a second while it sounds: the fundamental of a triangle.
fn hertz(samples: &[f32]) -> f64 {
    let sounding: Vec<_> = samples.iter().filter(|s| s.abs() > 1e-6).collect();
    let crossings = sounding
        .windows(2)
        .filter(|pair| pair[0].signum() != pair[1].signum())
        .count();
    crossings as f64 / 2.0 / (sounding.len() as f64 / f64::from(RATE))
}

#[wasm_bindgen_test]
async fn each_call_is_low_enough_to_be_heard_by_most() {
    for call in Call::ALL {
        let pitch = hertz(&rendered(call, 0.1, 1.5).await);
        // At or below 2.5 kHz (ISO 24500:2010, from memory).
        assert!(
            (200.0..f64::from(MOST_HERTZ)).contains(&pitch),
            "{call:?}: {pitch} Hz"
        );
    }
}

/// A burst of readings of an audio clock that is read in steps of 10 ms, and of the browser's own
/// pairs where it has them.
fn burst(map: &mut AudioMap, from: f64, apart: f64, latency: f64, heard: Option<f64>) {
    for n in 0..12 {
        let now = from + 7.0 * f64::from(n);
        let audio = ((now - apart) / 10.0).floor() * 10.0;
        map.read(now, audio, heard);
    }
    map.close_burst(latency);
}

#[wasm_bindgen_test]
fn an_audio_clock_that_is_read_in_steps_is_met_within_a_millisecond() {
    let mut map = AudioMap::default();
    assert_eq!(map.audio_at(0.0), None);
    burst(&mut map, 50_003.0, 41_234.5, 0.0, None);
    let at = map.audio_at(60_000.0).unwrap() * 1000.0;
    assert!((at - (60_000.0 - 41_234.5)).abs() <= 1.0, "{at}");
}

#[wasm_bindgen_test]
fn the_browsers_own_pair_is_used_where_it_makes_sense() {
    let at = |heard| {
        let mut map = AudioMap::default();
        burst(&mut map, 50_003.0, 41_234.5, 32.0, heard);
        map.audio_at(60_000.0).unwrap() * 1000.0 - (60_000.0 - 41_234.5)
    };
    assert!((at(Some(41_234.5 + 42.3)) + 42.3).abs() < 1e-6);
    // Of another clock, as with a test's stopped one.
    assert!((at(Some(1_000_000.0)) + 32.0).abs() <= 1.0);
}

#[wasm_bindgen_test]
fn calls_are_laid_anew_when_the_clocks_have_parted_by_more_than_two_milliseconds() {
    let mut map = AudioMap::default();
    burst(&mut map, 50_003.0, 41_234.5, 0.0, None);
    let before = map.audio_at(0.0).unwrap();
    burst(&mut map, 60_003.0, 41_235.5, 0.0, None);
    assert!(!map.strays());
    burst(&mut map, 70_003.0, 41_238.5, 0.0, None);
    assert!(map.strays());
    // What is laid beside it is laid by the same map.
    assert_eq!(map.audio_at(0.0), Some(before));
    map.lay_anew();
    assert!(before - map.audio_at(0.0).unwrap() > 0.002);
    assert!(!map.strays());
    // A loudspeaker that is further away is met earlier.
    burst(&mut map, 90_003.0, 41_238.5, 180.0, None);
    assert!(map.strays());
    // The clock stood: what was read before is worth nothing.
    map.forget();
    assert_eq!(map.audio_at(0.0), None);
}

#[wasm_bindgen_test]
fn only_what_was_slept_while_hidden_is_added() {
    let mut sleep = Sleep::default();
    // Never hidden: the wall clock may say what it likes.
    assert_eq!(sleep.shown(1_000.0, 900_000.0), 0.0);
    // Hidden, and both clocks went on alike.
    sleep.hidden(1_000.0, 50_000.0);
    assert_eq!(sleep.shown(61_000.0, 110_000.0), 0.0);
    // Slept for ten minutes, which the monotonic clock missed.
    sleep.hidden(61_000.0, 110_000.0);
    assert_eq!(sleep.shown(61_500.0, 710_500.0), 600_000.0);
    // Asked again: added once.
    assert_eq!(sleep.shown(62_000.0, 711_000.0), 0.0);
    // Set back, or corrected by a little.
    sleep.hidden(70_000.0, 720_000.0);
    assert_eq!(sleep.shown(71_000.0, 120_000.0), 0.0);
    sleep.hidden(71_000.0, 120_000.0);
    assert_eq!(sleep.shown(72_000.0, 122_900.0), 0.0);
}

#[wasm_bindgen_test]
fn the_clock_starts_at_the_wall_clock() {
    let clock = Clock::default();
    assert!((clock.now_exact() - js_sys::Date::now()).abs() < 50.0);
    let first = clock.now();
    assert!(clock.now() >= first);
}

#[wasm_bindgen_test]
fn a_run_is_kept_until_it_is_over() {
    let store = Store::default();
    let run = StoredRun {
        plan: "AQ".to_owned(),
        log: "{}".to_owned(),
        seen: 7,
        joins: None,
        generation: 3,
    };
    assert_eq!(store.keep_run(&run), Ok(true));
    assert_eq!(store.run(), Ok(Some(run)));
    // One that is over leaves its generation, and an older one does not come back.
    assert_eq!(store.keep_run(&StoredRun::none(4)), Ok(true));
    assert_eq!(store.keep_run(&StoredRun::none(3)), Ok(false));
    assert_eq!(store.run(), Ok(Some(StoredRun::none(4))));
}

/// A storage that can be made to fail.
#[derive(Default)]
struct Fake {
    texts: RefCell<BTreeMap<String, String>>,
    full: Cell<bool>,
    forbidden: Cell<bool>,
}

impl Shelf for Fake {
    fn get(&self, key: &str) -> Result<Option<String>, StoreError> {
        if self.forbidden.get() {
            return Err(StoreError::Forbidden);
        }
        Ok(self.texts.borrow().get(key).cloned())
    }

    fn put(&self, key: &str, text: &str) -> Result<(), StoreError> {
        if self.full.get() {
            return Err(StoreError::Full);
        }
        self.texts.borrow_mut().insert(key.into(), text.into());
        Ok(())
    }

    fn remove(&self, key: &str) {
        self.texts.borrow_mut().remove(key);
    }

    fn keys(&self) -> Vec<String> {
        self.texts.borrow().keys().cloned().collect()
    }
}

fn kept(key: &str, source: &str, used: i64) -> StoredClass {
    StoredClass {
        key: key.to_owned(),
        source: source.to_owned(),
        used,
        at: None,
    }
}

#[wasm_bindgen_test]
fn classes_are_kept_last_used_first_and_a_removal_is_undone() {
    let store = Store::open(Rc::new(Fake::default()));
    let (early, late) = (kept("a", "AQ\nwith a line break", 5), kept("b", "AR", 9));
    store.keep_class(&early).unwrap();
    store.keep_class(&late).unwrap();
    assert_eq!(store.classes(), [late.clone(), early.clone()]);
    let again = kept("a", "AS", 12);
    store.keep_class(&again).unwrap();
    assert_eq!(store.classes(), [again.clone(), late.clone()]);
    store.remove_class("a");
    assert_eq!(store.classes(), std::slice::from_ref(&late));
    store.keep_class(&again).unwrap();
    assert_eq!(store.classes(), [again, late]);
}

#[wasm_bindgen_test]
fn a_full_storage_keeps_what_it_has_and_says_so() {
    let shelf = Rc::new(Fake::default());
    let store = Store::open(shelf.clone());
    let has = kept("a", "AQ", 1);
    store.keep_class(&has).unwrap();
    shelf.full.set(true);
    assert_eq!(store.keep_class(&kept("a", "AR", 2)), Err(StoreError::Full));
    assert_eq!(store.keep_class(&kept("b", "AR", 2)), Err(StoreError::Full));
    assert_eq!(store.classes(), [has]);
    let run = StoredRun::default();
    assert_eq!(store.keep_run(&run), Err(StoreError::Full));
    assert_eq!(store.run(), Ok(None));
}

#[wasm_bindgen_test]
fn a_forbidden_storage_has_nothing_and_breaks_nothing() {
    let shelf = Rc::new(Fake::default());
    shelf.forbidden.set(true);
    let store = Store::open(shelf);
    assert_eq!(store.classes(), []);
    assert_eq!(store.run(), Ok(None));
    assert_eq!(store.class("a"), None);
}

#[wasm_bindgen_test]
fn what_a_newer_app_keeps_is_not_touched() {
    let shelf = Rc::new(Fake::default());
    shelf.put("rungbook/2/class/a", "what it likes").unwrap();
    shelf.put("another app's", "text").unwrap();
    let store = Store::open(shelf.clone());
    assert_eq!(store.fault(), Some(StoreError::Newer));
    assert_eq!(
        store.keep_class(&kept("a", "AQ", 1)),
        Err(StoreError::Newer)
    );
    store.remove_class("a");
    assert_eq!(store.keep_run(&StoredRun::none(9)), Err(StoreError::Newer));
    assert_eq!(shelf.keys().len(), 2);
}

#[wasm_bindgen_test]
fn damaged_texts_are_found_and_lose_nothing() {
    let shelf = Rc::new(Fake::default());
    let whole = kept("c", "AQ", 5);
    for (key, text) in [
        ("rungbook/1/class/a", "no field"),
        ("rungbook/1/class/b", "used=soon\nsource=AQ\n"),
        ("rungbook/1/run", "seen=17\nplan=AQ\n"),
        (&whole.key(), &whole.to_text()),
    ] {
        shelf.put(key, text).unwrap();
    }
    let store = Store::open(shelf.clone());
    // They are listed, so that a person can see and remove them.
    assert_eq!(
        store.classes(),
        [whole, kept("a", "", 0), kept("b", "AQ", 0)]
    );
    assert_eq!(store.run(), Err(Unreadable::Damaged));
    assert_eq!(shelf.keys().len(), 4);
}

fn document() -> Document {
    web_sys::window().unwrap().document().unwrap()
}

#[wasm_bindgen_test]
fn text_is_as_large_as_its_box_holds_and_never_cut() {
    let page = document();
    let element: HtmlElement = page.create_element("div").unwrap().unchecked_into();
    element
        .set_attribute(
            "style",
            "width:150px;height:120px;overflow:hidden;line-height:1.1",
        )
        .unwrap();
    page.body().unwrap().append_child(&element).unwrap();
    let size = |text: &str| {
        element.set_text_content(Some(text));
        fit(
            &element,
            Sizes {
                least: 16,
                whole: 16,
                most: 120,
            },
            0,
        );
        assert!(element.scroll_width() <= element.client_width(), "{text}");
        assert!(element.scroll_height() <= element.client_height(), "{text}");
        let css = page.default_view().unwrap().get_computed_style(&element);
        let px = css
            .unwrap()
            .unwrap()
            .get_property_value("font-size")
            .unwrap();
        px.trim_end_matches("px").parse::<f64>().unwrap()
    };
    let (short, long) = (
        size("Row"),
        size("One-arm overhead press from a half kneel"),
    );
    assert_eq!(short, 60.0);
    assert!((8.0..40.0).contains(&long), "{long}");
    // One word that is wider than the box at the smallest size is broken, not cut.
    size(&"wide".repeat(20));
    // Where the smallest size does not hold all, less of it is shown, and only then.
    let less = || element.get_attribute("data-less");
    assert_eq!(less(), None);
    element.set_text_content(Some(&"much too long a text ".repeat(40)));
    let sizes = Sizes {
        least: 24,
        whole: 24,
        most: 60,
    };
    assert_eq!(
        (fit(&element, sizes, 3), less().as_deref()),
        (24, Some("3"))
    );
    element.set_text_content(Some("Row"));
    assert_eq!((fit(&element, sizes, 3), less()), (60, None));
    element.remove();
}

fn find(id: &str) -> Option<HtmlElement> {
    document()
        .query_selector(&format!("[data-testid={id}]"))
        .unwrap()
        .map(|found| found.unchecked_into())
}

/// Lets the page take its turn.
async fn turn() {
    wait(20).await;
}

async fn wait(ms: i32) {
    let promise = js_sys::Promise::new(&mut |done, _| {
        web_sys::window()
            .unwrap()
            .set_timeout_with_callback_and_timeout_and_arguments_0(&done, ms)
            .unwrap();
    });
    JsFuture::from(promise).await.unwrap();
}

#[wasm_bindgen_test]
async fn a_class_is_opened_started_paused_and_ended_by_touch() {
    leptos::mount::mount_to_body(rungbook::app::App);
    turn().await;
    let classes = find("classes").expect("the list of classes");
    let card: HtmlElement = classes
        .query_selector(".card")
        .unwrap()
        .unwrap()
        .unchecked_into();
    card.click();
    turn().await;
    assert!(find("brief").is_some());
    find("start").unwrap().click();
    turn().await;
    assert!(find("class").is_some());
    let phase = find("phase").unwrap();
    assert_eq!(phase.get_attribute("data-phase").as_deref(), Some("ready"));
    // What follows at once belongs to a double tap.
    find("unwell").unwrap().click();
    turn().await;
    assert!(!find("unwell-help").unwrap().has_attribute("open"));
    wait(DOUBLE_TAP_MS as i32).await;
    find("skip").unwrap().click();
    turn().await;
    let phase = find("phase").unwrap();
    assert_eq!(phase.get_attribute("data-phase").as_deref(), Some("work"));
    find("pause").unwrap().click();
    turn().await;
    assert!(find("resume").is_some() && find("pause").is_none());
    find("unwell").unwrap().click();
    turn().await;
    assert!(find("unwell-help").unwrap().has_attribute("open"));
    find("end").unwrap().click();
    turn().await;
    assert!(find("done").is_some());
    assert!(Store::default().run().unwrap().unwrap().is_none());
}
