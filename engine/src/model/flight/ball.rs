//! The ball: as heavy and as small as the Rules allow, which is what balls are.
//!
//! Source: R&A/USGA Equipment Rules, part 4: at most 1.620 oz (45.93 g), at least 1.680 in
//! (42.67 mm).

/// The mass in kilograms.
pub const MASS_KG: f64 = 0.045_93;
/// The diameter in metres.
pub const DIAMETER_M: f64 = 0.042_67;
/// The area that the air meets, π d² / 4, in square metres.
pub(super) const FRONT_AREA_M2: f64 = std::f64::consts::FRAC_PI_4 * DIAMETER_M * DIAMETER_M;
