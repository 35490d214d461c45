//! Energy and heart rate: estimates, with the source of every number.
//!
//! They say what a class asks of a body that is average in every way, and no more: no one's body
//! is. So energy is given as a range, with its [`basis`].

use crate::plan::{Effort, Pattern};
use crate::timeline::{Segment, Timeline};

/// Ages for which a heart rate is estimated, in years.
pub const AGES: core::ops::RangeInclusive<u32> = 10..=100;
/// Resting heart rates that are taken for one, in beats a minute.
pub const RESTING: core::ops::RangeInclusive<u32> = 30..=120;
/// Body masses for which energy is estimated, in kilograms.
pub const MASSES: core::ops::RangeInclusive<f64> = 30.0..=250.0;

/// An edition of the Compendium of Physical Activities. Codes were used again with another
/// meaning, so that a code says something only together with its edition.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Edition {
    /// Ainsworth et al. 2011, Med Sci Sports Exerc 43(8):1575-81.
    Y2011,
    /// Herrmann et al. 2024, J Sport Health Sci 13:6-12.
    Y2024,
}

/// Code, MET of 2011, MET of 2024. Read in a secondary transcription, not in the editions.
const METS: [(&str, f64, f64); 5] = [
    ("02040", 8.0, 7.5), // circuit training, vigorous, minimal rest
    ("02020", 8.0, 7.5), // calisthenics, vigorous
    ("02022", 3.8, 3.8), // calisthenics, moderate
    ("02024", 2.8, 2.8), // calisthenics, light
    ("02101", 2.3, 2.3), // stretching, mild
];

/// The metabolic equivalent of an activity: its energy as a multiple of that of sitting still.
/// `None`: the code is not among the few that are kept here.
///
/// ```
/// use rungbook::energy::{Edition, met};
/// assert_eq!(met(Edition::Y2011, "02040"), Some(8.0));
/// assert_eq!(met(Edition::Y2024, "02040"), Some(7.5));
/// assert_eq!(met(Edition::Y2024, "2040"), None); // codes are texts of five digits
/// ```
#[must_use]
pub fn met(edition: Edition, code: &str) -> Option<f64> {
    let (_, y2011, y2024) = METS.iter().find(|(known, _, _)| *known == code)?;
    Some(match edition {
        Edition::Y2011 => *y2011,
        Edition::Y2024 => *y2024,
    })
}

/// Kilocalories a minute: MET x 3.5 x body mass in kg / 200.
///
/// The formula of the American College of Sports Medicine: 1 MET is taken as 3.5 ml of oxygen per
/// kg and minute, and a litre of oxygen as 5 kcal. By the other convention, 1 MET = 1 kcal per kg
/// and hour, there would be 1/1.05 of it.
///
/// A worked example of the American Council on Exercise: 68 kg at 10 MET spend 11.9 kcal a minute.
///
/// ```
/// use rungbook::energy::kcal_per_minute;
/// assert!((kcal_per_minute(10.0, 68.0) - 11.9).abs() < 1e-9);
/// ```
#[must_use]
pub fn kcal_per_minute(met: f64, kg: f64) -> f64 {
    met * 3.5 * kg / 200.0
}

/// What a minute of the class is taken for.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Load {
    /// Ready, rest, change, break, demo, interlude.
    Gap,
    /// Work on moves that stretch or mobilise, whatever their effort.
    Stretch,
    /// Work of light effort.
    Light,
    /// Work of moderate effort.
    Moderate,
    /// Work of vigorous effort.
    Vigorous,
    /// Work of all-out effort.
    AllOut,
}

impl Load {
    /// All, from the least to the most.
    pub const ALL: [Load; 6] = [
        Load::Gap,
        Load::Stretch,
        Load::Light,
        Load::Moderate,
        Load::Vigorous,
        Load::AllOut,
    ];

    /// What a segment of a class is taken for: work by the entry's own effort, else the move's.
    #[must_use]
    pub fn of(timeline: &Timeline, segment: &Segment) -> Load {
        if !segment.is_work() {
            return Load::Gap;
        }
        let known = timeline.move_of(segment);
        if known.is_some_and(|known| {
            matches!(known.pattern, Some(Pattern::Stretch | Pattern::Mobility))
        }) {
            return Load::Stretch;
        }
        match timeline.effort_of(segment) {
            Effort::Light => Load::Light,
            Effort::Moderate => Load::Moderate,
            Effort::Vigorous => Load::Vigorous,
            Effort::AllOut => Load::AllOut,
        }
    }

    /// The compendium's code of the activity that stands for it. A gap's counts for the high end.
    /// Nothing in it is all-out: the hardest of its circuits stands for that, and has the METs of
    /// vigorous work (see [`basis`]).
    #[must_use]
    pub fn code(self) -> &'static str {
        match self {
            Load::Gap | Load::Light => "02024",
            Load::Stretch => "02101",
            Load::Moderate => "02022",
            Load::Vigorous => "02020",
            Load::AllOut => "02040",
        }
    }

    /// The METs of the range's low and high end: the lower and the higher of the two editions. A
    /// gap's low end is 1 MET, sitting still by definition; its high end is light calisthenics,
    /// because people keep moving.
    #[must_use]
    pub fn mets(self) -> (f64, f64) {
        let of = |edition| met(edition, self.code()).unwrap_or(1.0);
        let (a, b) = (of(Edition::Y2011), of(Edition::Y2024));
        let low = if self == Load::Gap { 1.0 } else { a.min(b) };
        (low, a.max(b))
    }
}

/// The energy of a class, estimated.
#[derive(Clone, Debug, PartialEq)]
pub struct Energy {
    /// Kilocalories for the whole class, low end.
    pub low: f64,
    /// Kilocalories for the whole class, high end.
    pub high: f64,
    /// The sum, load by load; loads that don't occur are left out.
    pub parts: Vec<Part>,
}

/// The share of one load in the energy of a class.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Part {
    /// Which load.
    pub load: Load,
    /// Minutes of it.
    pub minutes: f64,
    /// The METs of the low and the high end.
    pub mets: (f64, f64),
    /// Kilocalories of the low and the high end.
    pub kcal: (f64, f64),
}

/// Estimates the energy of a whole class for a body mass in kilograms. `None`: the mass is not
/// within [`MASSES`].
///
/// ```
/// use rungbook::energy::energy;
/// use rungbook::{plan::Plan, timeline::Timeline};
/// let plan = Plan::from_json(r#"{
///     "format": "rungbook-plan", "version": 1, "title": "Jumps", "ready": 0,
///     "moves": [ { "id": "jump", "name": "Jump", "effort": "vigorous" } ],
///     "blocks": [ { "kind": "flow", "steps": ["jump"], "work": 60 } ]
/// }"#)?;
/// let energy = energy(&Timeline::new(&plan), 80.0).unwrap();
/// assert!((energy.low - 10.5).abs() < 1e-9); // 7.5 x 3.5 x 80 / 200
/// assert!((energy.high - 11.2).abs() < 1e-9); // 8.0 x 3.5 x 80 / 200
/// # Ok::<(), rungbook::plan::PlanError>(())
/// ```
#[must_use]
pub fn energy(timeline: &Timeline, kg: f64) -> Option<Energy> {
    if !MASSES.contains(&kg) {
        return None;
    }
    let segments = timeline.segments().iter();
    let loads: Vec<_> = segments
        .map(|segment| (Load::of(timeline, segment), segment.len_ms()))
        .collect();
    let mut energy = Energy {
        low: 0.0,
        high: 0.0,
        parts: Vec::new(),
    };
    for load in Load::ALL {
        let ms: i64 = loads
            .iter()
            .filter(|(of, _)| *of == load)
            .map(|(_, ms)| ms)
            .sum();
        if ms == 0 {
            continue;
        }
        let minutes = ms as f64 / 60_000.0;
        let mets = load.mets();
        let kcal = (
            kcal_per_minute(mets.0, kg) * minutes,
            kcal_per_minute(mets.1, kg) * minutes,
        );
        energy.low += kcal.0;
        energy.high += kcal.1;
        energy.parts.push(Part {
            load,
            minutes,
            mets,
            kcal,
        });
    }
    Some(energy)
}

/// What the range of energy rests on, in words.
#[must_use]
pub fn basis() -> &'static str {
    "An estimate: kcal a minute = MET x 3.5 x body mass in kg / 200. Work by its effort, with the \
     lower and the higher MET of the Compendium of Physical Activities, 2011 and 2024 editions, \
     which were read in a secondary transcription, not in the editions themselves. All-out work \
     counts as vigorous work does: a MET is taken at a steady pace, which nobody holds all-out, and \
     the Compendium has none for it. Gaps count 1 MET (sitting still) at the low end and 2.8 MET (light calisthenics) at the high \
     end. A person can be far off it."
}

/// What an effort feels like.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Feel {
    /// In words, by what one can still say.
    pub words: &'static str,
    /// On whose word.
    pub source: &'static str,
}

/// What an effort feels like. The talk test of the Centers for Disease Control and Prevention is of
/// moderate and vigorous activity; it has no words for the other two.
///
/// ```
/// use rungbook::energy::feel;
/// use rungbook::plan::Effort;
/// assert_eq!(feel(Effort::Moderate).source, "talk test, CDC");
/// assert_eq!(feel(Effort::Light).source, "common practice");
/// ```
#[must_use]
pub fn feel(effort: Effort) -> Feel {
    let (words, source) = match effort {
        Effort::Light => ("you can talk and sing", COMMON),
        Effort::Moderate => ("you can talk, and not sing", TALK_TEST),
        Effort::Vigorous => ("a few words, then a breath", TALK_TEST),
        Effort::AllOut => ("no words; seconds, not minutes", COMMON),
    };
    Feel { words, source }
}

const TALK_TEST: &str = "talk test, CDC";
const COMMON: &str = "common practice";

/// A formula for the highest heart rate at an age. Each gives the middle of a wide spread: two
/// people of an age can be far apart.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum AgeFormula {
    /// 220 - age.
    Fox,
    /// 208 - 0.7 x age.
    Tanaka,
    /// 207 - 0.7 x age.
    Gellish,
    /// 206 - 0.88 x age, for women.
    Gulati,
}

impl AgeFormula {
    /// All of them.
    pub const ALL: [AgeFormula; 4] = [
        AgeFormula::Fox,
        AgeFormula::Tanaka,
        AgeFormula::Gellish,
        AgeFormula::Gulati,
    ];

    /// The highest heart rate at an age in years, in beats a minute. `None`: the age is not
    /// within [`AGES`].
    ///
    /// ```
    /// use rungbook::energy::AgeFormula;
    /// assert_eq!(AgeFormula::Tanaka.max(60), Some(166.0));
    /// assert_eq!(AgeFormula::Tanaka.max(9), None);
    /// ```
    #[must_use]
    pub fn max(self, age: u32) -> Option<f64> {
        let years = AGES.contains(&age).then_some(f64::from(age))?;
        // Whole numbers over 100 keep 208 - 0.7 x 60 at 166 and not a hair below it.
        Some(match self {
            AgeFormula::Fox => 220.0 - years,
            AgeFormula::Tanaka => (20_800.0 - 70.0 * years) / 100.0,
            AgeFormula::Gellish => (20_700.0 - 70.0 * years) / 100.0,
            AgeFormula::Gulati => (20_600.0 - 88.0 * years) / 100.0,
        })
    }

    /// The formula, in words.
    #[must_use]
    pub fn name(self) -> &'static str {
        match self {
            AgeFormula::Fox => "220 - age",
            AgeFormula::Tanaka => "208 - 0.7 x age",
            AgeFormula::Gellish => "207 - 0.7 x age",
            AgeFormula::Gulati => "206 - 0.88 x age, for women",
        }
    }

    /// Where it was published.
    #[must_use]
    pub fn source(self) -> &'static str {
        match self {
            AgeFormula::Fox => "attributed to Fox",
            AgeFormula::Tanaka => "Tanaka et al. 2001, J Am Coll Cardiol 37:153",
            AgeFormula::Gellish => "Gellish et al. 2007, Med Sci Sports Exerc 39(5):822-9",
            AgeFormula::Gulati => "Gulati et al. 2010, Circulation 122:130",
        }
    }
}

/// A heart rate by the heart-rate reserve: rest + fraction x (max - rest), all in beats a minute,
/// the fraction from 0 to 1 (Karvonen's method).
///
/// A published worked example: with 190 at most and 70 at rest, 40 % is 118 and 85 % is 172.
///
/// ```
/// use rungbook::energy::reserve_target;
/// assert!((reserve_target(70.0, 190.0, 0.40) - 118.0).abs() < 1e-9);
/// ```
#[must_use]
pub fn reserve_target(rest: f64, max: f64, fraction: f64) -> f64 {
    rest + fraction * (max - rest)
}

/// A half-open band in whole per cent: from the low end on, up to but without the high end;
/// `None`: it has no high end.
pub type Band = (u32, Option<u32>);

/// Which heart rate the per cents of a band are of.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Of {
    /// The heart-rate reserve.
    Reserve,
    /// The highest heart rate.
    Max,
}

/// The band of an effort by the classes of the American College of Sports Medicine (Garber et al.
/// 2011). All-out is their near-maximal.
///
/// They publish 30-39, 40-59, 60-89, from 90 per cent of the reserve; 57-63, 64-76, 77-95, from 96
/// of the highest rate. Half-open, so that 39.5 belongs somewhere.
#[must_use]
pub fn band(effort: Effort, of: Of) -> Band {
    match (of, effort) {
        (Of::Reserve, Effort::Light) => (30, Some(40)),
        (Of::Reserve, Effort::Moderate) => (40, Some(60)),
        (Of::Reserve, Effort::Vigorous) => (60, Some(90)),
        (Of::Reserve, Effort::AllOut) => (90, None),
        (Of::Max, Effort::Light) => (57, Some(64)),
        (Of::Max, Effort::Moderate) => (64, Some(77)),
        (Of::Max, Effort::Vigorous) => (77, Some(96)),
        (Of::Max, Effort::AllOut) => (96, None),
    }
}

/// The effort whose [`band`] holds a per cent; `None`: it is below the light one.
///
/// ```
/// use rungbook::energy::{Of, effort_at};
/// use rungbook::plan::Effort;
/// assert_eq!(effort_at(39.9, Of::Reserve), Some(Effort::Light));
/// assert_eq!(effort_at(40.0, Of::Reserve), Some(Effort::Moderate));
/// assert_eq!(effort_at(29.9, Of::Reserve), None);
/// ```
#[must_use]
pub fn effort_at(percent: f64, of: Of) -> Option<Effort> {
    let efforts = [
        Effort::AllOut,
        Effort::Vigorous,
        Effort::Moderate,
        Effort::Light,
    ];
    efforts
        .into_iter()
        .find(|effort| percent >= f64::from(band(*effort, of).0))
}

/// The heart rates of an effort, in beats a minute, rounded to whole ones: from the first on, up
/// to but without the second. By the heart-rate reserve where a resting rate is given, else by
/// the highest rate.
///
/// `None`: the age is not within [`AGES`], the resting rate not within [`RESTING`], or there is no
/// reserve above it.
///
/// ```
/// use rungbook::energy::{AgeFormula, zone};
/// use rungbook::plan::Effort;
/// // 220 - 30 = 190 at most, 70 at rest
/// assert_eq!(zone(Effort::Moderate, 30, Some(70), AgeFormula::Fox), Some((118, Some(142))));
/// assert_eq!(zone(Effort::AllOut, 30, None, AgeFormula::Fox), Some((182, None)));
/// ```
#[must_use]
pub fn zone(
    effort: Effort,
    age: u32,
    resting: Option<u32>,
    formula: AgeFormula,
) -> Option<(u32, Option<u32>)> {
    let max = formula.max(age)?;
    let (rest, of) = match resting {
        Some(rest) if RESTING.contains(&rest) && f64::from(rest) < max => {
            (f64::from(rest), Of::Reserve)
        }
        Some(_) => return None,
        // A share of the highest rate is one of a reserve that begins at 0.
        None => (0.0, Of::Max),
    };
    let (low, high) = band(effort, of);
    let at = |percent: u32| {
        let rate = reserve_target(rest, max, f64::from(percent) / 100.0);
        rate.round() as u32
    };
    Some((at(low), high.map(at)))
}
