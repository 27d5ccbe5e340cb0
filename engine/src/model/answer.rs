//! What a model answers: a value, and whether it rests on more than its source covers.
//!
//! A formula can mean something where nobody has measured. There the model answers, since a fitter
//! is better served by a figure that says how it was come by than by none; and it says so. The
//! value is the same either way: [`BeyondLiterature`] never changes a number.

use std::fmt;

/// Something that the answer rests on lies outside what the source has measured.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct BeyondLiterature {
    /// What: `the ball's spin`.
    pub quantity: &'static str,
    /// How far out it comes, in `unit`; to be read, rounded to what a reader needs.
    pub reached: f64,
    /// The unit of the three figures; empty for a plain number.
    pub unit: &'static str,
    /// The least that the source covers.
    pub least: f64,
    /// The most that it covers.
    pub most: f64,
    /// The source: `Bearman & Harvey 1976`.
    pub source: &'static str,
}

impl fmt::Display for BeyondLiterature {
    fn fmt(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        let space = if self.unit.is_empty() { "" } else { " " };
        write!(
            out,
            "{} comes to {}{space}{unit}, and {} covers {} to {}{space}{unit}",
            self.quantity,
            three_figures(self.reached),
            self.source,
            three_figures(self.least),
            three_figures(self.most),
            unit = self.unit
        )
    }
}

/// Equal figures are one statement; none of them is ever NaN.
impl Eq for BeyondLiterature {}

/// A figure as a reader needs it: `5440`, `13.2`, `0.08`.
fn three_figures(figure: f64) -> f64 {
    format!("{figure:.2e}").parse().unwrap_or(figure)
}

/// A model's answer.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Answer {
    /// The value, always finite.
    pub value: f64,
    /// What of it lies beyond what the literature covers.
    pub beyond: Option<BeyondLiterature>,
}

impl Answer {
    /// An answer that its source covers.
    #[must_use]
    pub const fn covered(value: f64) -> Self {
        Self {
            value,
            beyond: None,
        }
    }
}

impl From<f64> for Answer {
    fn from(value: f64) -> Self {
        Self::covered(value)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_lies_beyond_is_said_in_three_figures() {
        let beyond = BeyondLiterature {
            quantity: "the spin in flight",
            reached: 9_012.345,
            unit: "rpm",
            least: 1_815.7,
            most: 5_447.1,
            source: "a tunnel",
        };
        assert_eq!(
            beyond.to_string(),
            "the spin in flight comes to 9010 rpm, and a tunnel covers 1820 to 5450 rpm"
        );
        let plain = BeyondLiterature {
            unit: "",
            reached: 0.312_34,
            least: 0.08,
            most: 0.2,
            ..beyond
        };
        assert_eq!(
            plain.to_string(),
            "the spin in flight comes to 0.312, and a tunnel covers 0.08 to 0.2"
        );
    }
}
