//! What drag and lift may be taken from, and what such a law must answer.

use super::super::answer::BeyondLiterature;

/// Where the drag and lift of a ball are taken from.
///
/// The two differ by 4 to 12 % in carry (Smits & Smith further), and by a third in height: credible
/// models of golf balls do. Both lie within the governing bodies' bands; carry and height in yards,
/// in air of 1.19 kg/m³:
///
/// | launch | Bearman & Harvey | Smits & Smith | published |
/// | --- | --- | --- | --- |
/// | 176 mph, 10°, 2520 rpm | 276, 32 | 287, 43 | 317 (+3) with roll: R&A/USGA standard |
/// | 167.7 mph, 10.8°, 2599 rpm | 263, 32 | 274, 42 | 290.6 with roll: R&A/USGA 2015 |
/// | 120 mph, 16.3°, 7097 rpm | 170, 30 | 187, 38 | |
///
/// The default is [`Aerodynamics::BearmanHarvey`]: its figures are measurements and were read in
/// print, they know of the Reynolds number, and they reach from a chip to a drive; the formulas are
/// said for drives only, and their lift is from memory. What speaks against it: above some 5500 rpm
/// the grid ends.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub enum Aerodynamics {
    /// The wind-tunnel grid of Bearman & Harvey 1976.
    #[default]
    BearmanHarvey,
    /// The formulas of Smits & Smith 1994.
    SmitsSmith,
}

/// Drag and lift: force = ½ ρ A V² × coefficient.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Coefficients {
    /// Along the air's stream.
    pub(super) drag: f64,
    /// Across it and across the spin's axis.
    pub(super) lift: f64,
}

/// The least and the most that a flight came through.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Extremes {
    /// Speeds through the air.
    pub(super) speed_m_s: (f64, f64),
    /// Spins.
    pub(super) spin_rpm: (f64, f64),
}

/// Coefficients by the speed through the air and the spin.
pub(super) trait Law: Copy {
    /// Where the law last looked: the next look is mostly in the same place, and a processor that
    /// guesses so need not wait to be told.
    type Place: Copy + Default;

    /// Always finite, neither ever negative.
    fn coefficients(&self, speed_m_s: f64, spin_rpm: f64, place: &mut Self::Place) -> Coefficients;

    /// What of a flight lies beyond what was measured.
    fn beyond(&self, extremes: &Extremes) -> Option<BeyondLiterature>;
}
