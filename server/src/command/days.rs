//! The days whose records are looked at.

use clap::Args;

/// From the first day to the last, both in universal time; all days where none is named.
#[derive(Debug, Args)]
pub(super) struct Days {
    /// The first day, such as 2026-05-01 [default: that of the first record]
    #[arg(long, value_name = "DAY")]
    first_day: Option<String>,
    /// The last day [default: that of the last record]
    #[arg(long, value_name = "DAY")]
    last_day: Option<String>,
}

impl Days {
    /// The first day and the last, as a request names them.
    pub(super) fn named(&self) -> (String, String) {
        let named = |day: &Option<String>| day.clone().unwrap_or_default();
        (named(&self.first_day), named(&self.last_day))
    }
}
