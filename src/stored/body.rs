//! What a member said of their body, for estimates.

use super::form::{Fields, value};
use super::{Stored, Unreadable};
use crate::energy::{self, AgeFormula};

/// All of it is optional, and never leaves the phone.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Body {
    /// Years, within [`energy::AGES`].
    pub age: Option<u32>,
    /// Beats a minute at rest, within [`energy::RESTING`].
    pub resting: Option<u32>,
    /// Kilograms, within [`energy::MASSES`].
    pub kg: Option<f64>,
    /// The formula for the highest heart rate, by its place in [`AgeFormula::ALL`].
    pub formula: usize,
}

impl Default for Body {
    fn default() -> Self {
        Body {
            age: None,
            resting: None,
            kg: None,
            formula: 1,
        }
    }
}

impl Stored for Body {
    const KEYS: &'static str = "rungbook/1/body";

    fn key(&self) -> String {
        Self::KEYS.to_owned()
    }

    fn to_text(&self) -> String {
        Fields::default()
            .with_some("age", self.age)
            .with_some("resting", self.resting)
            .with_some("kg", self.kg)
            .with("formula", self.formula)
            .text()
    }

    /// What the text says wrongly is as if it was never said.
    fn from_text(_: &str, text: &str) -> Result<Self, Unreadable> {
        let whole = |name: &str| value::<u32>(text, name).ok().flatten();
        let formula = value(text, "formula").ok().flatten();
        Ok(Body {
            age: whole("age").filter(|age| energy::AGES.contains(age)),
            resting: whole("resting").filter(|rate| energy::RESTING.contains(rate)),
            kg: (value(text, "kg").ok().flatten()).filter(|kg| energy::MASSES.contains(kg)),
            formula: formula
                .filter(|at| *at < AgeFormula::ALL.len())
                .unwrap_or(Body::default().formula),
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_body_is_read_as_it_was_written_and_what_no_body_has_is_left_out() {
        let of = |text: &str| Body::from_text("", text).expect("a body is always read");
        let body = Body {
            age: Some(61),
            resting: Some(58),
            kg: Some(72.5),
            formula: 3,
        };
        assert_eq!(of(&body.to_text()), body);
        assert_eq!(of(&Body::default().to_text()), Body::default());
        for wrong in [
            "age=3\nresting=900\nkg=NaN\nformula=4\n",
            "",
            "kg=inf",
            "\0",
        ] {
            assert_eq!(of(wrong), Body::default(), "{wrong:?}");
        }
    }
}
