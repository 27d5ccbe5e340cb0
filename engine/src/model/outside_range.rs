//! The one way in which a model can refuse: an argument beyond what the formula can take.
//!
//! A model never answers with a NaN or an infinity. It checks every argument against a closed range
//! first, and NaN lies in no range, so that the comparison below also catches what is no number.
//! These are the ranges in which the *formula* means something; the narrower ranges that a ruleset
//! wants are declared beside the model's signature in the rules.

use std::fmt;

/// An argument lies beyond the range in which a model can answer.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct OutsideRange {
    /// The argument's name, as the model's signature has it.
    pub argument: &'static str,
    /// What was sent, in `unit`; may be NaN or infinite.
    pub value: f64,
    /// The unit of the three figures; empty for a plain number.
    pub unit: &'static str,
    /// The least value allowed.
    pub least: f64,
    /// The most allowed.
    pub most: f64,
}

impl fmt::Display for OutsideRange {
    fn fmt(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        let space = if self.unit.is_empty() { "" } else { " " };
        write!(
            out,
            "`{}` is {}{space}{unit}; from {} to {}{space}{unit} is allowed",
            self.argument,
            self.value,
            self.least,
            self.most,
            unit = self.unit
        )
    }
}

impl std::error::Error for OutsideRange {}

/// A closed range with the name and unit of the argument that it bounds.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Range {
    pub(crate) argument: &'static str,
    pub(crate) unit: &'static str,
    pub(crate) least: f64,
    pub(crate) most: f64,
}

impl Range {
    /// An angle in degrees.
    pub(crate) const fn degrees(argument: &'static str, least: f64, most: f64) -> Self {
        Self {
            argument,
            unit: "deg",
            least,
            most,
        }
    }

    /// A length in metres.
    pub(crate) const fn metres(argument: &'static str, least: f64, most: f64) -> Self {
        Self {
            argument,
            unit: "m",
            least,
            most,
        }
    }

    /// A mass in kilograms.
    pub(crate) const fn kilograms(argument: &'static str, least: f64, most: f64) -> Self {
        Self {
            argument,
            unit: "kg",
            least,
            most,
        }
    }

    /// The value itself where it lies in the range.
    pub(crate) fn check(self, value: f64) -> Result<f64, OutsideRange> {
        if value >= self.least && value <= self.most {
            Ok(value)
        } else {
            Err(OutsideRange {
                argument: self.argument,
                value,
                unit: self.unit,
                least: self.least,
                most: self.most,
            })
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const LIE: Range = Range::degrees("lie", 40.0, 90.0);

    #[test]
    fn both_ends_belong_to_the_range() {
        assert_eq!(LIE.check(40.0), Ok(40.0));
        assert_eq!(LIE.check(90.0), Ok(90.0));
        assert!(LIE.check(90.000_001).is_err());
    }

    #[test]
    fn what_is_no_number_lies_in_no_range() {
        for value in [f64::NAN, f64::INFINITY, f64::NEG_INFINITY] {
            assert_eq!(LIE.check(value).unwrap_err().argument, "lie");
        }
    }

    #[test]
    fn the_sentence_says_what_was_sent_and_what_is_allowed() {
        let refusal = LIE.check(95.0).unwrap_err();
        assert_eq!(
            refusal.to_string(),
            "`lie` is 95 deg; from 40 to 90 deg is allowed"
        );
    }
}
