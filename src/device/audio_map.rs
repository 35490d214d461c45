//! Between the page's clock and an audio context's.

/// How many readings follow the first of a burst, and how far apart they are taken, in milliseconds.
/// An audio clock is read in steps of the hardware's buffer, 3 to 20 ms; readings at odd distances
/// meet these steps everywhere.
pub const BURST: u32 = 12;
/// And how many more once the clock is seen to run, where the browser tells its own pairs: of three
/// the one in the middle is no torn one, and each reading wakes the phone once more.
pub const BURST_TOLD: u32 = 1;
/// See [`BURST`].
pub const BURST_EVERY_MS: i64 = 7;
/// Between two bursts. Clocks that part by 50 ppm are 0.25 ms apart by then.
pub const BURSTS_EVERY_MS: i64 = 5_000;
/// A map that would move a call by more than this is used to lay the calls anew.
const MOST_MS: f64 = 2.0;
/// Clocks part by no more than this between two bursts: 100 ppm.
const PART_MS: f64 = 0.5;
/// A burst may meet no step of a long buffer, and is late by so much then; one that is later tells of
/// clocks that have parted.
const BUFFER_MS: f64 = 3.25;
/// No loudspeaker is further away than this; what says so is broken.
const MOST_LATENCY_MS: f64 = 500.0;

/// Tells at which time of an audio context an instant is heard.
///
/// The browser's own pair of a context's time and the instant at which that is heard is the truest
/// there is, where it makes sense. Else it is the readings of the audio clock: what is read is the
/// start of its last buffer, never ahead of the truth, so of many the one with the smallest
/// distance between the clocks is the truest; to it comes the latency that the context admits to.
#[derive(Clone, Debug, Default)]
pub struct AudioMap {
    /// What is taken off an instant to have the context's time, in milliseconds.
    shift: Option<f64>,
    /// The smallest distance between the clocks in this burst.
    least: Option<f64>,
    /// The smallest of the bursts before, with what the clocks may have parted since.
    truest: Option<f64>,
    /// The shifts that the browser's own pairs make, in this burst.
    heard: Vec<f64>,
    /// With which the calls were laid that are still to sound.
    laid: Option<f64>,
}

impl AudioMap {
    /// Adjacent readings of the two clocks, and the shift of the browser's own pair, where it has
    /// one; all in milliseconds.
    pub fn read(&mut self, now: f64, audio: f64, heard: Option<f64>) {
        let apart = now - audio;
        self.least = Some(self.least.map_or(apart, |least| least.min(apart)));
        let sane = |shift: &f64| (-50.0..MOST_LATENCY_MS).contains(&(shift - apart));
        let heard = heard.filter(sane);
        self.heard.extend(heard);
        // Better than nothing, until the burst is whole.
        if self.shift.is_none() {
            self.shift = Some(heard.unwrap_or(apart));
        }
    }

    /// The burst is whole. Takes the output's latency, as the context has it.
    pub fn close_burst(&mut self, latency: f64) {
        let Some(least) = self.least.take() else {
            return;
        };
        let mut heard = std::mem::take(&mut self.heard);
        // A burst that met no step of the clock is late by a part of its buffer: a truer one of
        // before holds, but for what the clocks part.
        let least = match self.truest {
            Some(truest) if (0.0..BUFFER_MS).contains(&(least - truest)) => {
                least.min(truest + PART_MS)
            }
            _ => least,
        };
        self.truest = Some(least);
        self.shift = if heard.is_empty() {
            Some(least + latency.clamp(0.0, MOST_LATENCY_MS))
        } else {
            // The one in the middle: a pair that was torn in two is off by far.
            let middle = heard.len() / 2;
            Some(*heard.select_nth_unstable_by(middle, f64::total_cmp).1)
        };
    }

    /// The clock stood, or is another: what was read before is worth nothing.
    pub fn forget(&mut self) {
        *self = AudioMap::default();
    }

    /// Whether the next reading is the first of a burst.
    #[must_use]
    pub fn is_whole(&self) -> bool {
        self.least.is_none()
    }

    /// Whether the browser tells when its sound is heard, as far as this burst goes.
    #[must_use]
    pub fn is_told(&self) -> bool {
        !self.heard.is_empty()
    }

    /// Whether the clocks were ever read.
    #[must_use]
    pub fn is_known(&self) -> bool {
        self.shift.is_some()
    }

    /// The audio time, in seconds, at which something has to start that is heard at an instant.
    /// Calls that are laid beside others are laid by the same map, until [`AudioMap::lay_anew`].
    #[must_use]
    pub fn audio_at(&mut self, instant: f64) -> Option<f64> {
        self.laid = self.laid.or(self.shift);
        self.laid.map(|shift| (instant - shift) / 1000.0)
    }

    /// What was laid is taken back.
    pub fn lay_anew(&mut self) {
        self.laid = None;
    }

    /// Whether the calls that are laid would now be laid elsewhere.
    #[must_use]
    pub fn strays(&self) -> bool {
        match (self.laid, self.shift) {
            (Some(laid), Some(shift)) => (laid - shift).abs() > MOST_MS,
            _ => false,
        }
    }
}
