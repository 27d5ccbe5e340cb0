//! A fault of what was sent.

use std::fmt;

use super::MOST_FAULTS;

/// Something that was sent and cannot be taken.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct Fault {
    /// Where: `readings.wedge_attack_angle`, `kept[2].loft` (counted from 1),
    /// `heads.toml, record 3: stamped_loft`.
    pub field: String,
    /// What was sent, shortened where it is long; empty where something is missing.
    pub sent: String,
    /// A sentence: what was sent, what is allowed, the nearest right name or form.
    pub message: String,
}

impl fmt::Display for Fault {
    fn fmt(&self, formatter: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(formatter, "{}: {}", self.field, self.message)
    }
}

/// The first [`MOST_FAULTS`] faults, and how many more there are.
pub fn first_faults(mut faults: Vec<Fault>) -> (Vec<Fault>, usize) {
    let rest = faults.len().saturating_sub(MOST_FAULTS);
    faults.truncate(MOST_FAULTS);
    (faults, rest)
}

/// The faults so far.
#[derive(Debug, Default)]
pub(super) struct Faults(Vec<Fault>);

impl Faults {
    /// Notes a fault.
    pub(super) fn add(&mut self, field: impl Into<String>, sent: &str, message: impl Into<String>) {
        self.0.push(Fault {
            field: field.into(),
            sent: super::quote::shortened(sent),
            message: message.into(),
        });
    }

    /// What was read, if nothing was wrong.
    pub(super) fn or_read<T>(self, read: T) -> Result<T, Vec<Fault>> {
        if self.0.is_empty() {
            Ok(read)
        } else {
            Err(self.0)
        }
    }
}
