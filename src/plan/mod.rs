//! The plan file: what a class is made of, read with errors that name the place.
//!
//! A plan is data. What happens when is [`timeline`](crate::timeline)'s to say, by one walk over
//! the plan that stands here ([`unroll`]) because the limits need it too.

mod error;
pub(crate) mod keys;
pub mod limits;
mod model;
mod read;
mod texts;
pub(crate) mod unroll;
mod validate;
mod words;

pub use error::{PlanError, Problem, Type, Warning};
pub use model::free_id;
pub(crate) use model::slug;
pub use model::{
    Block, BlockKind, ByRound, Choice, DEFAULT_READY, Entry, FORMAT, Id, Kit, Mark, Move, Plan,
    VERSION,
};
pub use texts::{SideWords, fill, fill_in, first_sentence, is_blank, is_invisible};
pub use words::{Direction, Effort, Hand, Impact, Level, Part, Pattern, Position, Sides, Word};

impl Plan {
    /// Reads a plan file.
    ///
    /// ```
    /// use rungbook::plan::Plan;
    ///
    /// let plan = Plan::from_json(r#"{
    ///     "format": "rungbook-plan", "version": 1, "title": "Squats by the quay",
    ///     "moves": [ { "id": "squat", "name": "Squat" } ],
    ///     "blocks": [ { "kind": "rounds", "moves": ["squat"], "rounds": 3, "work": 30, "break": 10 } ]
    /// }"#)?;
    /// assert_eq!(plan.title, "Squats by the quay");
    ///
    /// let wrong = Plan::from_json(r#"{
    ///     "format": "rungbook-plan", "version": 1, "title": "Squats by the quay",
    ///     "moves": [ { "id": "squat", "name": "Squat" } ],
    ///     "blocks": [ { "kind": "flow", "steps": ["squad"], "work": 30 } ]
    /// }"#).unwrap_err();
    /// assert_eq!(wrong.place, "blocks[0].steps[0]");
    /// # Ok::<(), rungbook::plan::PlanError>(())
    /// ```
    ///
    /// # Errors
    /// The first thing that keeps the plan from being used, with its place and a remedy.
    pub fn from_json(text: &str) -> Result<Plan, PlanError> {
        Plan::read(text).map(|(plan, _)| plan)
    }

    /// Like [`Plan::from_json`], and says what in the file was not used.
    ///
    /// ```
    /// use rungbook::plan::Plan;
    ///
    /// let (_, warnings) = Plan::read(r#"{
    ///     "format": "rungbook-plan", "version": 1, "title": "One", "colour": "blue",
    ///     "moves": [ { "id": "squat", "name": "Squat" } ],
    ///     "blocks": [ { "kind": "flow", "steps": ["squat"], "work": 30 } ]
    /// }"#)?;
    /// assert_eq!(warnings[0].place, "colour");
    /// # Ok::<(), rungbook::plan::PlanError>(())
    /// ```
    ///
    /// # Errors
    /// As [`Plan::from_json`].
    pub fn read(text: &str) -> Result<(Plan, Vec<Warning>), PlanError> {
        let (plan, mut warnings) = read::read(text)?;
        validate::validate(&plan, &mut warnings)?;
        Ok((plan, warnings))
    }

    /// Judges a plan that was built or changed by a program.
    ///
    /// ```
    /// use rungbook::plan::Plan;
    /// assert_eq!(Plan::default().validate().unwrap_err().place, "moves");
    /// ```
    ///
    /// # Errors
    /// As [`Plan::from_json`].
    pub fn validate(&self) -> Result<Vec<Warning>, PlanError> {
        let mut warnings = Vec::new();
        validate::validate(self, &mut warnings)?;
        Ok(warnings)
    }

    /// Writes the plan file: one line, without what need not be said.
    ///
    /// ```
    /// use rungbook::plan::Plan;
    ///
    /// let file = r#"{"format":"rungbook-plan","version":1,"title":"One","moves":[{"id":"squat","name":"Squat"}],"blocks":[{"kind":"flow","steps":["squat"],"work":30}]}"#;
    /// assert_eq!(Plan::from_json(file)?.to_json(), file);
    /// # Ok::<(), rungbook::plan::PlanError>(())
    /// ```
    #[must_use]
    pub fn to_json(&self) -> String {
        // Texts, numbers and lists under text keys: nothing that JSON could refuse.
        serde_json::to_string(self).unwrap_or_default()
    }

    /// A number that tells this plan from any other, revisions included: CRC-64/XZ of
    /// [`Plan::to_json`]. A run's log carries it.
    #[must_use]
    pub fn digest(&self) -> u64 {
        const CRC: crc::Crc<u64, crc::NoTable> =
            crc::Crc::<u64, crc::NoTable>::new(&crc::CRC_64_XZ);
        CRC.checksum(self.to_json().as_bytes())
    }

    /// The move with an id.
    #[must_use]
    pub fn move_named(&self, id: &str) -> Option<&Move> {
        self.moves.iter().find(|known| &*known.id == id)
    }

    /// Takes a piece of kit off the list, and off the moves and ways that ask for it.
    pub fn remove_kit(&mut self, at: usize) {
        if at >= self.kit.len() {
            return;
        }
        let gone = self.kit.remove(at).id;
        for one in &mut self.moves {
            one.kit.retain(|id| *id != gone);
            for way in &mut one.options {
                way.kit.retain(|id| *id != gone);
            }
        }
    }

    /// The kit with an id.
    #[must_use]
    pub fn kit_named(&self, id: &str) -> Option<&Kit> {
        self.kit.iter().find(|kit| &*kit.id == id)
    }
}
