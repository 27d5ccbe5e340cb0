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

/// Coefficients by the speed through the air and the spin, piece by piece.
pub(super) trait Law: Copy {
    /// Speeds and spins within which the coefficients are smooth.
    type Piece: Copy;

    /// The piece of a speed and a spin; where two meet, either.
    fn piece(&self, speed_m_s: f64, spin_rpm: f64) -> Self::Piece;

    /// Where a piece ends.
    fn ends(piece: &Self::Piece) -> Ends;

    /// Always finite, and within the piece neither ever negative. Beyond its ends they go on as
    /// they were within, so that a ball that passes an end meets no bend.
    fn coefficients(&self, piece: &Self::Piece, speed_m_s: f64, spin_rpm: f64) -> Coefficients;

    /// What of a flight lies beyond what was measured.
    fn beyond(&self, extremes: &Extremes) -> Option<BeyondLiterature>;
}

/// Where a ball can leave a piece.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Ends {
    /// The least and the greatest speed through the air.
    pub(super) speed_m_s: (f64, f64),
    /// The least spin; a spin only falls.
    pub(super) least_spin_rpm: f64,
}

impl Ends {
    /// Of a law that is smooth everywhere.
    pub(super) const NONE: Self = Self {
        speed_m_s: (0.0, f64::INFINITY),
        least_spin_rpm: 0.0,
    };
}
