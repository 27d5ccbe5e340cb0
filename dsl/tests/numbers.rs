//! Exact arithmetic against a general library's fractions of the same width (num-rational), over
//! parts on both sides of every width at which another way of computing begins.

#![expect(clippy::expect_used, reason = "a panic is how a test fails")]

use loftwright_dsl::quantity::{ArithmeticFault, Rational, Rounding};
use num_rational::Ratio;
use num_traits::{CheckedAdd, CheckedDiv, CheckedMul, CheckedSub};

/// Whole numbers around the widths, and some that share factors.
fn parts() -> Vec<i128> {
    let mut parts = vec![0, 1, 2, 3, 6, 12, 254, 1_001, 3_600, 12_700];
    for bits in [31, 32, 61, 62, 63, 64, 100, 126] {
        let power = 1_i128 << bits;
        parts.extend([power - 1, power, power + 1, power / 6 * 6]);
    }
    parts
}

/// Every fraction of two of the parts, of either sign, in our form and the library's.
fn fractions() -> Vec<(Rational, Ratio<i128>)> {
    let mut fractions = Vec::new();
    for numerator in parts().into_iter().flat_map(|part| [part, -part]) {
        for denominator in parts().into_iter().filter(|part| *part != 0) {
            let ours = Rational::fraction(numerator, denominator).expect("no overflow");
            fractions.push((ours, Ratio::new(numerator, denominator)));
        }
    }
    // Every one beside every one is millions; a stride that shares no factor with the tables'
    // lengths leaves every kind of pair in.
    fractions.into_iter().step_by(7).collect()
}

fn raw(result: Result<Rational, ArithmeticFault>) -> Option<(i128, i128)> {
    result
        .ok()
        .map(|number| (number.numerator(), number.denominator()))
}

fn expected(result: Option<Ratio<i128>>) -> Option<(i128, i128)> {
    result.map(|number| (*number.numer(), *number.denom()))
}

#[test]
fn sums_products_and_the_order_are_those_of_the_library() {
    let fractions = fractions();
    for (one, library_one) in &fractions {
        for (other, library_other) in &fractions {
            let (one, other) = (*one, *other);
            let pair = format!("{one:?} and {other:?}");
            let sum = library_one.checked_add(library_other);
            assert_eq!(raw(one.plus(other)), expected(sum), "sum of {pair}");
            let difference = library_one.checked_sub(library_other);
            assert_eq!(
                raw(one.minus(other)),
                expected(difference),
                "difference of {pair}"
            );
            let product = library_one.checked_mul(library_other);
            assert_eq!(
                raw(one.times(other)),
                expected(product),
                "product of {pair}"
            );
            assert_eq!(
                one.cmp(&other),
                library_one.cmp(library_other),
                "order of {pair}"
            );
            if !other.is_zero() {
                let quotient = library_one.checked_div(library_other);
                assert_eq!(
                    raw(one.over(other)),
                    expected(quotient),
                    "quotient of {pair}"
                );
            }
        }
    }
}

#[test]
fn rounding_is_that_of_the_library() {
    let wholes = fractions();
    for (number, library) in &wholes {
        // Halves round away from zero; the library's own would leave the width near its end.
        if library.numer().unsigned_abs() >> 124 > 0 || *library.denom() >> 124 > 0 {
            continue;
        }
        let rounded = |rounding| raw(number.rounded_to(Rational::ONE, rounding));
        let nearest = expected(Some(library.round()));
        assert_eq!(rounded(Rounding::Nearest), nearest, "nearest to {number:?}");
        assert_eq!(
            rounded(Rounding::Up),
            expected(Some(library.ceil())),
            "up from {number:?}"
        );
        assert_eq!(
            rounded(Rounding::Down),
            expected(Some(library.floor())),
            "down from {number:?}"
        );
    }
    let halves = [(5, 3), (-5, -3), (1, 1), (-1, -1)];
    for (half, whole) in halves {
        let half = Rational::fraction(half, 2).expect("a half");
        let rounded = half.rounded_to(Rational::ONE, Rounding::Nearest);
        assert_eq!(rounded, Ok(Rational::whole(whole)), "{half:?}");
    }
}

#[test]
fn what_is_left_of_a_weight_is_never_below_nothing() {
    let few = || fractions().into_iter().step_by(11);
    for ((one, library_one), (other, library_other)) in
        few().flat_map(|one| few().map(move |other| (one, other)))
    {
        for (within, library_within) in few().filter(|(within, _)| !within.is_zero()) {
            let distance = library_one.checked_sub(&library_other);
            let share = distance.and_then(|distance| {
                // Not Ratio::abs, which is for numbers whose size has no end.
                let distance = distance.max(-distance);
                Ratio::from_integer(1).checked_sub(&distance.checked_div(&library_within)?)
            });
            let left = share.map(|share| share.max(Ratio::from_integer(0)));
            for (numerator, denominator) in [(1, 1), (12, 1), (3, 254), (1_i128 << 61, 7)] {
                let weight = Rational::fraction(numerator, denominator).expect("a weight");
                let weighed =
                    left.and_then(|left| left.checked_mul(&Ratio::new(numerator, denominator)));
                assert_eq!(
                    raw(one.nearness(other, within, weight)),
                    expected(weighed),
                    "{one:?} to {other:?} within {within:?}, of {weight:?}"
                );
            }
        }
    }
}

#[test]
fn a_division_by_zero_is_a_fault_of_its_own() {
    let fault = Rational::ONE.over(Rational::ZERO);
    assert_eq!(fault, Err(ArithmeticFault::DivisionByZero));
    let one = Rational::ONE;
    let fault = one.nearness(one, Rational::ZERO, one);
    assert_eq!(fault, Err(ArithmeticFault::DivisionByZero));
}
