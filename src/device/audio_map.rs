//! Between the page's clock and an audio context's.

/// How many readings make a burst, and how far apart they are taken, in milliseconds. An audio
/// clock is read in steps of the hardware's buffer, 3 to 20 ms; readings at odd distances meet
/// these steps everywhere.
pub const BURST: u32 = 12;
/// See [`BURST`].
pub const BURST_EVERY_MS: i64 = 7;
/// Between two bursts. Clocks that part by 50 ppm are 0.25 ms apart by then.
pub const BURSTS_EVERY_MS: i64 = 5_000;
/// A map that would move a call by more than this is used to lay the calls anew.
const MOST_MS: f64 = 2.0;
/// The output's latency is a guess that browsers change a little all the time.
const LATENCY_STEP_MS: f64 = 10.0;
/// No loudspeaker is further away than this; what says so is broken.
const MOST_LATENCY_MS: f64 = 500.0;

/// Tells at which time of an audio context an instant is heard.
///
/// What is read of an audio clock is the start of its last buffer, never ahead of the truth. So of
/// many readings the one with the smallest distance between the clocks is the truest.
#[derive(Clone, Copy, Debug, Default)]
pub struct AudioMap {
    /// The page's clock less the audio clock, in milliseconds.
    apart: Option<f64>,
    /// From the context's time to the ear, in milliseconds.
    latency: f64,
    burst: Option<f64>,
    /// With which the calls were laid that are still to sound.
    laid: Option<f64>,
}

impl AudioMap {
    /// Adjacent readings of the two clocks, in milliseconds.
    pub fn read(&mut self, now: f64, audio: f64) {
        let apart = now - audio;
        self.burst = Some(self.burst.map_or(apart, |least| least.min(apart)));
        // Better than nothing, until the burst is whole.
        if self.apart.is_none() {
            self.apart = Some(apart);
        }
    }

    /// The burst is whole. Takes the output's latency, as the context has it.
    pub fn close_burst(&mut self, latency: f64) {
        if let Some(least) = self.burst.take() {
            self.apart = Some(least);
        }
        let latency = latency.clamp(0.0, MOST_LATENCY_MS);
        if (latency - self.latency).abs() >= LATENCY_STEP_MS {
            self.latency = latency;
        }
    }

    /// The clock stood, or is another: what was read before is worth nothing.
    pub fn forget(&mut self) {
        self.apart = None;
        self.burst = None;
    }

    /// Whether the clocks were ever read.
    #[must_use]
    pub fn is_known(&self) -> bool {
        self.apart.is_some()
    }

    fn shift(&self) -> Option<f64> {
        self.apart.map(|apart| apart + self.latency)
    }

    /// The audio time, in seconds, at which something has to start that is heard at an instant.
    #[must_use]
    pub fn audio_at(&self, instant: f64) -> Option<f64> {
        self.shift().map(|shift| (instant - shift) / 1000.0)
    }

    /// Calls are laid by the map as it is.
    pub fn lay(&mut self) {
        self.laid = self.shift();
    }

    /// Whether the calls that are laid would now be laid elsewhere.
    #[must_use]
    pub fn strays(&self) -> bool {
        match (self.laid, self.shift()) {
            (Some(laid), Some(shift)) => (laid - shift).abs() > MOST_MS,
            _ => false,
        }
    }
}
