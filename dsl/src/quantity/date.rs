//! Calendar dates as days, proleptic Gregorian.

use std::fmt;

/// A calendar date, held as days since 1970-01-01.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Date(i64);

impl Date {
    /// The date `days` after 1970-01-01.
    pub fn from_days(days: i64) -> Self {
        Date(days)
    }

    /// Days since 1970-01-01.
    pub fn days(self) -> i64 {
        self.0
    }

    /// The date `year`-`month`-`day`, or `None` where there is no such day.
    ///
    /// The day count is the civil-from-days algorithm of H. Hinnant, *chrono-compatible low-level
    /// date algorithms*.
    pub fn new(year: i64, month: u32, day: u32) -> Option<Self> {
        if !(1..=9999).contains(&year) || !(1..=12).contains(&month) || day == 0 {
            return None;
        }
        let month = i64::from(month);
        let day = i64::from(day);
        let shifted_year = if month <= 2 { year - 1 } else { year };
        let era = shifted_year.div_euclid(400);
        let year_of_era = shifted_year.rem_euclid(400);
        let day_of_year = (153 * ((month + 9) % 12) + 2) / 5 + day - 1;
        let day_of_era = year_of_era * 365 + year_of_era / 4 - year_of_era / 100 + day_of_year;
        let date = Date(era * 146_097 + day_of_era - 719_468);
        // A day past the end of its month comes back as another date.
        (date.civil() == (year, month, day)).then_some(date)
    }

    /// Reads `2026-05-01`.
    pub fn parse(text: &str) -> Option<Self> {
        let mut parts = text.split('-');
        let (year, month, day) = (parts.next()?, parts.next()?, parts.next()?);
        let lengths_fit = year.len() == 4 && month.len() == 2 && day.len() == 2;
        if parts.next().is_some() || !lengths_fit {
            return None;
        }
        Date::new(year.parse().ok()?, month.parse().ok()?, day.parse().ok()?)
    }

    fn civil(self) -> (i64, i64, i64) {
        let shifted = self.0 + 719_468;
        let era = shifted.div_euclid(146_097);
        let day_of_era = shifted.rem_euclid(146_097);
        let year_of_era =
            (day_of_era - day_of_era / 1_460 + day_of_era / 36_524 - day_of_era / 146_096) / 365;
        let day_of_year = day_of_era - (365 * year_of_era + year_of_era / 4 - year_of_era / 100);
        let shifted_month = (5 * day_of_year + 2) / 153;
        let day = day_of_year - (153 * shifted_month + 2) / 5 + 1;
        let month = if shifted_month < 10 {
            shifted_month + 3
        } else {
            shifted_month - 9
        };
        let year = year_of_era + era * 400 + i64::from(month <= 2);
        (year, month, day)
    }
}

impl fmt::Display for Date {
    fn fmt(&self, formatter: &mut fmt::Formatter<'_>) -> fmt::Result {
        let (year, month, day) = self.civil();
        write!(formatter, "{year:04}-{month:02}-{day:02}")
    }
}
