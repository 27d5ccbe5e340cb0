//! Swingweight: what a club weighs on a balance whose fulcrum stands 14 inches from the butt.
//!
//! Swingweight = weight × (balance point − 14 in), in ounce-inches. The scale counts points of
//! 1.75 oz·in, ten to a letter, with D0 at 213.5 oz·in; here points are counted from A0, so that D0
//! is 30 and D2 is 32. The 14 inches, the 213.5 and the 1.75 are the trade's scale *from memory*;
//! the test beside them holds the three against a measured club.
//!
//! Any club fits the ranges: mass 0 to 5 kg, balance point 0 to 2 m, scale −200 to 400 points.

use super::outside_range::{OutsideRange, Range};

/// Distance of the fulcrum from the butt: 14 in (*from memory*).
pub const FULCRUM_FROM_BUTT_M: f64 = 0.3556;
/// One avoirdupois ounce (international yard and pound agreement, 1959).
pub const KILOGRAMS_PER_OUNCE: f64 = 0.028_349_523_125;
/// One inch (the same agreement).
pub const METRES_PER_INCH: f64 = 0.0254;
/// D0 on the scale in ounce-inches (*from memory*).
pub const OUNCE_INCHES_AT_D0: f64 = 213.5;
/// One point in ounce-inches (*from memory*).
pub const OUNCE_INCHES_PER_POINT: f64 = 1.75;
/// D0 counted in points from A0: three letters of ten points.
pub const POINTS_AT_D0: f64 = 30.0;

const MASS: Range = Range::kilograms("mass", 0.0, 5.0);
const BALANCE: Range = Range::metres("balance_from_butt", 0.0, 2.0);
const POINTS: Range = Range {
    argument: "swingweight",
    unit: "points above A0",
    least: -200.0,
    most: 400.0,
};
const OUNCE_INCHES: Range = Range {
    argument: "swingweight",
    unit: "oz in",
    least: -200.0,
    most: 900.0,
};

/// The swingweight in ounce-inches of a club of this mass that balances this far from the butt.
///
/// # Errors
/// A mass or balance point beyond its range, or no number.
pub fn swingweight_oz_in(mass_kg: f64, balance_from_butt_m: f64) -> Result<f64, OutsideRange> {
    let mass_kg = MASS.check(mass_kg)?;
    let balance_from_butt_m = BALANCE.check(balance_from_butt_m)?;
    Ok(oz_in_from_kg_m(
        mass_kg * (balance_from_butt_m - FULCRUM_FROM_BUTT_M),
    ))
}

/// The swingweight in points above A0 (D2 is 32) of a club of this mass and balance point.
///
/// # Errors
/// A mass or balance point beyond its range, or no number.
pub fn swingweight_points(mass_kg: f64, balance_from_butt_m: f64) -> Result<f64, OutsideRange> {
    let oz_in = swingweight_oz_in(mass_kg, balance_from_butt_m)?;
    Ok(scale_points(oz_in))
}

/// Points above A0 for ounce-inches, −200 to 900.
///
/// # Errors
/// A figure beyond the range, or no number.
pub fn points_from_oz_in(oz_in: f64) -> Result<f64, OutsideRange> {
    OUNCE_INCHES.check(oz_in).map(scale_points)
}

/// Ounce-inches for points above A0, −200 to 400.
///
/// # Errors
/// A figure beyond the range, or no number.
pub fn oz_in_from_points(points: f64) -> Result<f64, OutsideRange> {
    let points = POINTS.check(points)?;
    Ok(OUNCE_INCHES_AT_D0 + (points - POINTS_AT_D0) * OUNCE_INCHES_PER_POINT)
}

/// The moment in kg·m about the fulcrum that makes this many points.
pub(crate) fn kg_m_from_points(points: f64) -> Result<f64, OutsideRange> {
    let oz_in = oz_in_from_points(points)?;
    Ok(oz_in * (KILOGRAMS_PER_OUNCE * METRES_PER_INCH))
}

/// Points above A0 for a moment in kg·m about the fulcrum.
pub(crate) fn points_from_kg_m(moment_kg_m: f64) -> f64 {
    scale_points(oz_in_from_kg_m(moment_kg_m))
}

fn oz_in_from_kg_m(moment_kg_m: f64) -> f64 {
    moment_kg_m / (KILOGRAMS_PER_OUNCE * METRES_PER_INCH)
}

/// By how many points a mass put on a club changes its swingweight, at this place from the butt; a
/// mass taken off is negative. Exact: a mass on the fulcrum changes nothing, one nearer the butt
/// makes the club lighter. Mass −5 to 5 kg, place 0 to 2 m.
///
/// # Errors
/// An argument beyond its range, or no number.
pub fn points_of_mass(mass_change_kg: f64, from_butt_m: f64) -> Result<f64, OutsideRange> {
    let mass_kg = Range::kilograms("mass_change", -5.0, 5.0).check(mass_change_kg)?;
    let from_butt_m = Range::metres("from_butt", 0.0, 2.0).check(from_butt_m)?;
    let kg_m = mass_kg * (from_butt_m - FULCRUM_FROM_BUTT_M);
    Ok(oz_in_from_kg_m(kg_m) / OUNCE_INCHES_PER_POINT)
}

/// By how many points a club's swingweight changes when its shaft is left longer at the butt by so
/// much, a shorter one negative: all but the grip and the tape under it moves out, and the piece of
/// shaft itself comes in at the butt, inside the fulcrum (half an inch of it, a gram or two, is
/// worth −0.3 to −0.5). Change −0.5 to 0.5 m, mass without grip and tape 0 to 5 kg, the piece −0.5
/// to 0.5 kg with the sign of the change. Exact for a piece that is even along its length.
///
/// # Errors
/// An argument beyond its range, or no number.
pub fn points_of_length(
    length_change_m: f64,
    mass_without_grip_kg: f64,
    shaft_mass_change_kg: f64,
) -> Result<f64, OutsideRange> {
    let change_m = Range::metres("length_change", -0.5, 0.5).check(length_change_m)?;
    let mass_kg = Range::kilograms("mass_without_grip", 0.0, 5.0).check(mass_without_grip_kg)?;
    let piece_kg = Range::kilograms("shaft_mass_change", -0.5, 0.5).check(shaft_mass_change_kg)?;
    let kg_m = mass_kg * change_m + piece_kg * (change_m / 2.0 - FULCRUM_FROM_BUTT_M);
    Ok(oz_in_from_kg_m(kg_m) / OUNCE_INCHES_PER_POINT)
}

fn scale_points(oz_in: f64) -> f64 {
    (oz_in - OUNCE_INCHES_AT_D0) / OUNCE_INCHES_PER_POINT + POINTS_AT_D0
}

#[cfg(test)]
mod tests {
    use super::super::checking::{assert_bits, assert_close};
    use super::*;

    #[test]
    fn the_measured_club_of_460_grams() {
        // A published measured club: 460 g balancing at 27.21 in is D0.6, read to 0.1 or so.
        let points = swingweight_points(0.460, 27.21 * METRES_PER_INCH).unwrap();
        assert_close(points, 30.6, 0.15);
    }

    #[test]
    fn a_letter_is_ten_points_and_d0_stands_where_it_should() {
        assert_eq!(oz_in_from_points(30.0), Ok(213.5));
        assert_eq!(oz_in_from_points(32.0), Ok(217.0));
        // C0 lies ten points of 1.75 below D0.
        assert_eq!(oz_in_from_points(20.0), Ok(196.0));
        for step in -20..60 {
            let points = f64::from(step);
            let there = oz_in_from_points(points).unwrap();
            assert_close(points_from_oz_in(there).unwrap(), points, 1e-12);
        }
    }

    #[test]
    fn mass_at_the_fulcrum_weighs_nothing_on_the_scale() {
        assert_eq!(swingweight_oz_in(0.1, FULCRUM_FROM_BUTT_M), Ok(0.0));
        assert_close(FULCRUM_FROM_BUTT_M / METRES_PER_INCH, 14.0, 1e-14);
    }

    #[test]
    fn one_ounce_one_inch_beyond_the_fulcrum_is_one_ounce_inch() {
        let balance_m = 15.0 * METRES_PER_INCH;
        assert_close(
            swingweight_oz_in(KILOGRAMS_PER_OUNCE, balance_m).unwrap(),
            1.0,
            1e-13,
        );
    }

    #[test]
    fn what_cannot_be_is_named() {
        assert_eq!(
            swingweight_points(f64::NAN, 0.8).unwrap_err().argument,
            "mass"
        );
        assert_eq!(
            swingweight_points(0.3, 3.0).unwrap_err().argument,
            "balance_from_butt"
        );
        assert_eq!(
            oz_in_from_points(f64::INFINITY).unwrap_err().argument,
            "swingweight"
        );
        assert_eq!(
            points_from_oz_in(f64::NAN).unwrap_err().argument,
            "swingweight"
        );
    }

    #[test]
    fn the_bits_are_the_same_on_every_machine_in_debug_and_release() {
        for (mass_kg, balance_m, bits) in GOLDEN {
            let points = swingweight_points(mass_kg, balance_m).unwrap();
            // Independent: ounces and inches first, then the scale from A0 = 161 oz·in.
            let ounces = mass_kg * 1000.0 / 28.349_523_125;
            let inches = balance_m / 0.0254;
            assert_close(points, (ounces * (inches - 14.0) - 161.0) / 1.75, 1e-12);
            assert_bits(points, bits);
        }
    }

    /// Mass, balance point, bits of the points.
    const GOLDEN: [(f64, f64, u64); 2] = [
        (0.46, 0.691_134, 0x403e_7bb8_e1ae_0a4e),
        (0.315, 0.8354, 0x403b_efe0_e89b_6837),
    ];
}
