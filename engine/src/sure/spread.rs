//! How far a reading is from a bound, in spreads of its mean, without a float.
//!
//! The mean of n shots scatters by the spread of one shot divided by √n. The root never comes up:
//! distance² × shots is compared with spread², all of them exact fractions.

use loftwright_dsl::quantity::{ArithmeticFault, Rational, Rounding};

/// The furthest distance that is told, in spreads of the mean.
pub(crate) const MOST_SPREADS: i128 = 3;

/// The square of a distance in spreads of the mean; `None` where the reading is exact (a spread of
/// zero or less) or the fraction cannot be held. `distance` and `spread` are in the same units.
pub(crate) fn squared_spreads(
    distance: Rational,
    spread: Rational,
    shots: u32,
) -> Option<Rational> {
    if spread <= Rational::ZERO {
        return None;
    }
    let ratio = distance.size().over(spread).ok()?;
    squared_in_means(ratio, shots.max(1)).ok()
}

/// The distance in spreads of the mean, to the nearest 1/100, where it is one spread or less.
pub(crate) fn spreads_within_one(
    distance: Rational,
    spread: Rational,
    shots: u32,
) -> Option<Rational> {
    let squared = squared_spreads(distance, spread, shots)?;
    (squared <= Rational::ONE)
        .then(|| root_in_hundredths(squared))
        .flatten()
}

/// ratio² × shots. Where the exact square leaves 128 bits (a reading of some twenty digits), the
/// ratio is first rounded to 10⁻¹², far below what is reported.
fn squared_in_means(ratio: Rational, shots: u32) -> Result<Rational, ArithmeticFault> {
    let shots = Rational::whole(i64::from(shots));
    let square = |ratio: Rational| ratio.times(ratio)?.times(shots);
    square(ratio).or_else(|_| {
        let resolution = Rational::fraction(1, 1_000_000_000_000)?;
        square(ratio.rounded_to(resolution, Rounding::Nearest)?)
    })
}

/// The hundredth h, of at most [`MOST_SPREADS`], for which h² is nearest to `squared`: the one with
/// (h − 1/200)² ≤ squared < (h + 1/200)².
pub(crate) fn root_in_hundredths(squared: Rational) -> Option<Rational> {
    let (mut low, mut high) = (0, MOST_SPREADS * 100);
    while low < high {
        let middle = low + (high - low) / 2;
        let upper = Rational::fraction(2 * middle + 1, 200).ok()?;
        if squared < upper.times(upper).ok()? {
            high = middle;
        } else {
            low = middle + 1;
        }
    }
    Rational::fraction(low, 100).ok()
}

#[cfg(test)]
mod tests {
    use super::spreads_within_one;
    use loftwright_dsl::quantity::Rational;

    fn number(text: &str) -> Rational {
        text.parse().unwrap()
    }

    fn spreads(distance: &str, spread: &str, shots: u32) -> Option<String> {
        spreads_within_one(number(distance), number(spread), shots).map(|found| found.to_string())
    }

    #[test]
    fn one_shot_is_a_plain_quotient() {
        // 0.3 / 1.2, by hand.
        assert_eq!(spreads("0.3", "1.2", 1).as_deref(), Some("0.25"));
        assert_eq!(spreads("-0.3", "1.2", 1).as_deref(), Some("0.25"));
        assert_eq!(spreads("0", "1.2", 1).as_deref(), Some("0"));
    }

    #[test]
    fn one_spread_belongs_to_it_and_a_hair_more_does_not() {
        assert_eq!(spreads("1.2", "1.2", 1).as_deref(), Some("1"));
        assert_eq!(spreads("1.2000000001", "1.2", 1), None);
        // Nine shots: the mean scatters by 1.2 / 3 = 0.4.
        assert_eq!(spreads("0.4", "1.2", 9).as_deref(), Some("1"));
        assert_eq!(spreads("0.4000000001", "1.2", 9), None);
    }

    #[test]
    fn an_irrational_root_is_rounded_to_the_nearest_hundredth() {
        // 0.5 × √2 = 0.7071…, 0.5 × √3 = 0.8660…: mathematical constants.
        assert_eq!(spreads("0.5", "1", 2).as_deref(), Some("0.71"));
        assert_eq!(spreads("0.5", "1", 3).as_deref(), Some("0.87"));
    }

    #[test]
    fn a_reading_without_spread_is_exact() {
        assert_eq!(spreads("0", "0", 1), None);
    }

    #[test]
    fn a_reading_of_many_digits_is_still_answered() {
        let distance = "0.123456789012345678901234";
        assert_eq!(spreads(distance, "1", 4).as_deref(), Some("0.25"));
    }
}
