//! What drag and lift may be taken from, and what such a law must answer.

use super::super::answer::BeyondLiterature;

/// Where the drag and lift of a ball are taken from.
///
/// The two differ by 3 to 10 % in carry (Smits & Smith further), more in height: credible models of
/// golf balls do. The default is [`Aerodynamics::BearmanHarvey`], since its figures are the
/// measurements themselves, which know of the Reynolds number, and since its flights are the nearer
/// to those of the governing bodies. See [`super`] for the figures.
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
