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
            "{} comes to {}{space}{unit}; {} covers {} to {}{space}{unit}",
            self.quantity,
            self.reached,
            self.source,
            self.least,
            self.most,
            unit = self.unit
        )
    }
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
