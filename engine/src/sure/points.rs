//! The 64 points at which plausible readings are taken: the same every time.
//!
//! Each column of the set belongs to one uncertain reading (or to one strike) and holds each of 64
//! equal shares of the normal distribution exactly once, at the middle of the share: a reading is
//! as often above its value as below it, by the same amounts, and its mean over the set is the
//! reading itself. The columns are a digital construction in base 2 (H. Niederreiter, *Random
//! Number Generation and Quasi-Monte Carlo Methods*, SIAM 1992, chapter 4): bit b of the share of
//! point i in a column is the parity of `i AND row b`, and the six rows of a column are linearly
//! independent over the field of two elements, which is what makes the shares a permutation. The
//! rows were found by trying many and keeping, column after column, those least correlated with the
//! columns before: no two of the 24 columns are correlated by more than 0.09, where points at
//! random are by 0.12 as a rule, and the first 24 columns of the usual Sobol sequence by up to
//! 0.66. A fixed shift (`XOR`) keeps the first point from the corner where all is lowest.
//!
//! More than 24 columns take the first ones again in another order of the points: still each share
//! once, but with a correlation that nobody chose.

/// How many points there are.
pub(crate) const POINTS: usize = 64;

/// The columns that were searched for.
const COLUMNS: usize = 24;

/// The six rows of each column, the most significant bit's first, and its shift.
const GENERATORS: [([u8; 6], u8); COLUMNS] = [
    ([9, 21, 31, 61, 38, 29], 52),
    ([15, 1, 63, 28, 26, 2], 55),
    ([35, 45, 43, 49, 52, 10], 45),
    ([17, 23, 24, 22, 57, 2], 62),
    ([51, 41, 59, 32, 46, 31], 33),
    ([36, 2, 56, 34, 44, 57], 60),
    ([19, 14, 7, 47, 13, 41], 19),
    ([29, 10, 3, 27, 33, 2], 53),
    ([39, 11, 22, 53, 61, 52], 33),
    ([45, 35, 37, 18, 13, 15], 3),
    ([12, 27, 20, 18, 11, 51], 43),
    ([6, 52, 54, 26, 57, 20], 51),
    ([47, 8, 14, 44, 50, 56], 3),
    ([16, 55, 63, 62, 15, 27], 20),
    ([42, 60, 44, 4, 24, 35], 27),
    ([5, 38, 25, 54, 50, 11], 15),
    ([46, 53, 13, 20, 7, 40], 34),
    ([57, 49, 48, 50, 63, 33], 36),
    ([1, 15, 38, 5, 24, 50], 42),
    ([62, 24, 40, 17, 19, 13], 24),
    ([34, 56, 37, 40, 43, 45], 21),
    ([33, 3, 21, 41, 40, 48], 38),
    ([13, 30, 53, 7, 37, 5], 54),
    ([61, 22, 40, 31, 57, 20], 19),
];

/// Φ⁻¹((k + 1/2) / 64) for k from 32 to 63, in ten-thousandths; the lower half mirrors it. Computed
/// with SciPy's `norm.ppf`, and checked against an integral of the normal density below.
const UPPER_QUANTILES: [i64; POINTS / 2] = [
    196, 588, 981, 1375, 1772, 2171, 2574, 2981, 3393, 3811, 4236, 4668, 5110, 5561, 6024, 6501,
    6993, 7502, 8032, 8585, 9166, 9779, 10432, 11132, 11892, 12727, 13662, 14735, 16010, 17617,
    19874, 24176,
];

/// The deviation of a point in a column from the mean, in ten-thousandths of the spread.
pub(crate) fn deviation(point: usize, column: usize) -> i64 {
    quantile(share(point, column))
}

/// Which share of the normal distribution a point is in, from 0 to 63.
fn share(point: usize, column: usize) -> usize {
    let turn = column / COLUMNS;
    // An odd factor permutes the points.
    let point = point.wrapping_mul(2 * turn + 1).wrapping_add(11 * turn) % POINTS;
    let Some((rows, shift)) = GENERATORS.get(column % COLUMNS) else {
        return point;
    };
    let bits = rows.iter().fold(0_usize, |bits, row| {
        let ones = (point & usize::from(*row)).count_ones();
        bits << 1 | usize::from(ones % 2 == 1)
    });
    bits ^ usize::from(*shift)
}

/// The middle of a share, in ten-thousandths of the spread.
fn quantile(share: usize) -> i64 {
    let half = POINTS / 2;
    let (place, sign) = match share.checked_sub(half) {
        Some(above) => (above, 1),
        None => (half.saturating_sub(1).saturating_sub(share), -1),
    };
    sign * UPPER_QUANTILES.get(place).copied().unwrap_or(0)
}

#[cfg(test)]
#[path = "points_tests.rs"]
mod tests;
