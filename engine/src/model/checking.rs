//! What the models' tests share: two ways of comparing, and a sweep.

/// Within a tolerance, absolutely.
#[track_caller]
pub(crate) fn assert_close(found: f64, expected: f64, tolerance: f64) {
    assert!(
        (found - expected).abs() <= tolerance,
        "{found} is not within {tolerance} of {expected}"
    );
}

/// The same bits: a golden value. It guards that debug and release agree on every machine, and
/// always stands beside an independent formula that says the value is right.
#[track_caller]
pub(crate) fn assert_bits(found: f64, bits: u64) {
    let found_bits = found.to_bits();
    assert!(
        found_bits == bits,
        "{found} is {found_bits:#018x}, not {bits:#018x}"
    );
}

/// Every combination of one value for each argument: a fixed sweep over ranges, their ends and what
/// lies beyond them.
pub(crate) fn combinations<const VALUES: usize, const ARGUMENTS: usize>(
    values: [[f64; VALUES]; ARGUMENTS],
) -> Vec<[f64; ARGUMENTS]> {
    let mut all = vec![[0.0; ARGUMENTS]];
    for (place, choices) in values.iter().enumerate() {
        all = all
            .iter()
            .flat_map(|so_far| {
                choices.iter().map(move |value| {
                    let mut next = *so_far;
                    next[place] = *value;
                    next
                })
            })
            .collect();
    }
    all
}
