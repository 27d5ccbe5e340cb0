//! The points against theory: shares, moments, correlations.

use super::*;

/// The normal density, from its definition; the standard library's `exp` differs by platform, which
/// does no harm at 1e-4.
fn density(x: f64) -> f64 {
    libm::exp(-x * x / 2.0) / libm::sqrt(2.0 * std::f64::consts::PI)
}

/// The distribution function by Simpson's rule from 0.
fn distribution(x: f64) -> f64 {
    let steps = 2_000;
    let width = x / f64::from(steps);
    let inner: f64 = (1..steps)
        .map(|step| {
            let weight = if step % 2 == 1 { 4.0 } else { 2.0 };
            weight * density(f64::from(step) * width)
        })
        .sum();
    0.5 + width / 3.0 * (density(0.0) + inner + density(x))
}

#[test]
fn the_table_is_the_normal_distribution() {
    for (place, quantile) in UPPER_QUANTILES.iter().enumerate() {
        let middle = (32.0 + f64::from(u32::try_from(place).unwrap()) + 0.5) / 64.0;
        let quantile = f64::from(i32::try_from(*quantile).unwrap()) / 10_000.0;
        let found = distribution(quantile);
        // Half of the last place of the table, at the density there.
        assert!(
            (found - middle).abs() <= 0.51e-4 * density(quantile) + 1e-9,
            "{quantile} has {found} below it, not {middle}"
        );
    }
}

#[test]
fn every_column_has_each_share_once() {
    for column in 0..4 * COLUMNS {
        let mut shares: Vec<usize> = (0..POINTS).map(|point| share(point, column)).collect();
        shares.sort_unstable();
        assert_eq!(shares, (0..POINTS).collect::<Vec<_>>(), "column {column}");
    }
}

/// Mean 0 exactly and by symmetry; standard deviation that of 64 middles of shares, 0.990 (their
/// tails are cut; SciPy gives 0.99011).
#[test]
fn every_column_has_the_mean_and_spread_of_theory() {
    for column in 0..COLUMNS {
        let mut deviations: Vec<i64> = (0..POINTS).map(|point| deviation(point, column)).collect();
        assert_eq!(deviations.iter().sum::<i64>(), 0);
        let squares: i64 = deviations.iter().map(|one| one * one).sum();
        let variance = f64::from(u32::try_from(squares / 64).unwrap()) / 1e8 * 1.0;
        assert!((libm::sqrt(variance) - 0.990_11).abs() < 1e-4, "{variance}");
        deviations.sort_unstable();
        let mirrored: Vec<i64> = deviations.iter().rev().map(|one| -one).collect();
        assert_eq!(deviations, mirrored);
    }
}

/// Sums of squares are near 64 × 0.98; a sum of products over it is the correlation.
#[test]
fn no_two_columns_are_correlated_by_more_than_nine_hundredths() {
    for left in 0..COLUMNS {
        for right in 0..left {
            let product: i64 = (0..POINTS)
                .map(|point| deviation(point, left) * deviation(point, right))
                .sum();
            let squares: i64 = (0..POINTS).map(|point| deviation(point, left).pow(2)).sum();
            assert!(
                product.abs() * 100 <= squares * 9,
                "columns {left} and {right}: {product} of {squares}"
            );
        }
    }
}

/// No point is a corner: each has readings above and below their values.
#[test]
fn no_point_is_extreme_in_everything() {
    for point in 0..POINTS {
        let above = (0..COLUMNS).filter(|column| deviation(point, *column) > 0);
        let above = above.count();
        assert!(
            (5..=19).contains(&above),
            "point {point}: {above} of 24 above"
        );
    }
}
