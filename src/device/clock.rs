//! The one place that `now` comes from.

/// Milliseconds from 1970 that never run backwards: the wall clock's value when the page was
/// loaded, and the monotonic clock's way since.
///
/// `performance.now()` stands still while some phones sleep. So after the page was hidden or
/// frozen the wall clock is asked how long that was, and what was slept is added. At no other
/// time is it asked: a wall clock that is set or corrected never moves a class.
#[derive(Clone, Copy, Debug)]
pub struct Clock {
    /// What is added to the monotonic clock.
    offset: f64,
    sleep: Sleep,
}

/// Tells how long a device slept, from two pairs of readings.
#[derive(Clone, Copy, Debug, Default)]
pub struct Sleep {
    hidden_at: Option<(f64, f64)>,
}

impl Sleep {
    /// The page was hidden or frozen: readings of the monotonic and of the wall clock.
    pub fn hidden(&mut self, monotonic: f64, wall: f64) {
        // The first of several such events is when it began.
        self.hidden_at = self.hidden_at.or(Some((monotonic, wall)));
    }

    /// The page is back. Returns the milliseconds that the monotonic clock missed: 0 unless the
    /// page was away and the wall clock is more than [`Sleep::LEAST_MS`] ahead.
    pub fn shown(&mut self, monotonic: f64, wall: f64) -> f64 {
        let Some((monotonic_then, wall_then)) = self.hidden_at.take() else {
            return 0.0;
        };
        let slept = (wall - wall_then) - (monotonic - monotonic_then);
        if slept > Self::LEAST_MS { slept } else { 0.0 }
    }

    /// Less than this is a correction of the wall clock, not sleep.
    pub const LEAST_MS: f64 = 2_000.0;
}

fn monotonic() -> f64 {
    web_sys::window()
        .and_then(|window| window.performance())
        .map_or_else(js_sys::Date::now, |performance| performance.now())
}

impl Default for Clock {
    fn default() -> Self {
        Clock {
            offset: js_sys::Date::now() - monotonic(),
            sleep: Sleep::default(),
        }
    }
}

impl Clock {
    /// Now, in whole milliseconds from 1970, UTC.
    #[must_use]
    pub fn now(&self) -> i64 {
        self.now_exact().floor() as i64
    }

    /// Now, with the browser's resolution.
    #[must_use]
    pub fn now_exact(&self) -> f64 {
        self.offset + monotonic()
    }

    /// The instant of a reading of the monotonic clock.
    #[must_use]
    pub fn at_monotonic(&self, reading: f64) -> f64 {
        self.offset + reading
    }

    /// The page was hidden or frozen.
    pub fn hidden(&mut self) {
        self.sleep.hidden(monotonic(), js_sys::Date::now());
    }

    /// The page is back.
    pub fn shown(&mut self) {
        self.offset += self.sleep.shown(monotonic(), js_sys::Date::now());
    }
}

/// An instant as an RFC 3339 text in UTC.
#[must_use]
pub fn instant_text(ms: i64) -> String {
    js_sys::Date::new(&wasm_bindgen::JsValue::from_f64(ms as f64))
        .to_iso_string()
        .into()
}

/// The instant of a day and time in the phone's own zone, as a field of a form has it: `2026-11-25T12:30`.
#[must_use]
pub fn local_instant(text: &str) -> Option<i64> {
    let ms = js_sys::Date::parse(text);
    ms.is_finite().then_some(ms as i64)
}

/// An instant as such a field has it.
#[must_use]
pub fn local_text(ms: i64) -> String {
    let date = js_sys::Date::new(&wasm_bindgen::JsValue::from_f64(ms as f64));
    format!(
        "{:04}-{:02}-{:02}T{:02}:{:02}",
        date.get_full_year(),
        date.get_month() + 1,
        date.get_date(),
        date.get_hours(),
        date.get_minutes()
    )
}
