//! Against closed forms: the binomial distribution by Pascal's triangle, in whole numbers.

use super::*;

fn fraction(numerator: i128, denominator: i128) -> Rational {
    Rational::fraction(numerator, denominator).unwrap_or(Rational::ZERO)
}

fn binomial(n: i128, k: i128) -> i128 {
    (0..k).fold(1, |product, step| product * (n - step) / (step + 1))
}

/// n players who each want one with chance a/b: P(k) = C(n, k) aᵏ (b − a)ⁿ⁻ᵏ / bⁿ.
#[test]
fn equal_players_are_a_binomial_distribution() {
    for (n, a, b) in [(1_u32, 1, 2), (5, 1, 2), (7, 2, 5), (12, 3, 10)] {
        let one = Chances::one_with(fraction(a, b));
        let sum = (0..n).fold(Chances::certain(0), |sum, _| sum.plus(&one));
        assert!(sum.is_exact());
        assert_eq!(sum.highest(), usize::try_from(n).unwrap_or(0));
        let mut above = Rational::ONE;
        for k in 0..=n {
            let ways = binomial(i128::from(n), i128::from(k));
            let exact = fraction(ways * a.pow(k) * (b - a).pow(n - k), b.pow(n));
            let count = usize::try_from(k).unwrap_or(0);
            assert_eq!(sum.of(count), exact, "{n} players of {a}/{b}, {k} of them");
            above = above.minus(exact).unwrap_or(above);
            assert_eq!(sum.above(i64::from(k)), above);
        }
        assert_eq!(sum.expected(), fraction(i128::from(n) * a, b));
    }
}

/// Five coins: more than four heads come up once in 32, more than three six times in 32.
#[test]
fn enough_is_the_smallest_count_that_suffices() {
    let coin = Chances::one_with(fraction(1, 2));
    let five = (0..5).fold(Chances::certain(0), |sum, _| sum.plus(&coin));
    assert_eq!(five.enough_for(fraction(31, 32)), 4);
    assert_eq!(five.enough_for(fraction(32, 32)), 5);
    assert_eq!(five.enough_for(fraction(30, 32)), 4);
    assert_eq!(five.enough_for(fraction(26, 32)), 3);
    assert_eq!(five.enough_for(fraction(27, 32)), 4);
    assert_eq!(Chances::certain(0).enough_for(fraction(95, 100)), 0);
    assert_eq!(Chances::certain(3).enough_for(fraction(1, 100)), 3);
}

#[test]
fn cases_and_chances_are_weighed() {
    // Two of four cases want one, one wants three; he comes three times in five.
    let cases = [(0, 1), (1, 2), (3, 1)].map(|(count, times)| (Chances::certain(count), times));
    let wanted = Chances::mean_of(&cases).only_with(fraction(3, 5));
    let chances = [0, 1, 2, 3, 4].map(|count| wanted.of(count));
    let expected = [(11, 20), (3, 10), (0, 1), (3, 20), (0, 1)].map(|(a, b)| fraction(a, b));
    assert_eq!(chances, expected);
    assert_eq!(wanted.expected(), fraction(3, 4));
    assert_eq!(wanted.above(0), fraction(9, 20));
}

/// Beyond what can be held each chance is rounded to 10⁻¹², and the result says so. The bound is
/// far above the sum of what is rounded off: some 10⁻¹² a count and player.
#[test]
fn many_odd_players_are_rounded_and_say_so() {
    let odd = Chances::one_with(fraction(6_007, 12_800));
    let sum = (0..60).fold(Chances::certain(0), |sum, _| sum.plus(&odd));
    assert!(!sum.is_exact());
    let all = (0..=60).fold(Rational::ZERO, |all, count| {
        all.plus(sum.of(count)).unwrap_or(all)
    });
    let bound = fraction(1, 100_000_000);
    let off = all.minus(Rational::ONE).map(Rational::size);
    assert!(off.is_ok_and(|off| off < bound), "{all}");
    let mean = fraction(60 * 6_007, 12_800);
    let off = sum.expected().minus(mean).map(Rational::size);
    assert!(off.is_ok_and(|off| off < bound), "{}", sum.expected());
}
