//! Sets of cells, the sweep and the merging of regions, on random boxes.

use std::collections::BTreeSet;
use std::ops::ControlFlow;

use loftwright_dsl::analysis::{BoxRow, CellSet, Region, Swept, cut, merged, sweep};

use crate::numbers::Numbers;

fn random_set(numbers: &mut Numbers, length: usize) -> CellSet {
    match numbers.below(6) {
        0 => CellSet::run(0, length),
        1 => {
            let chosen: Vec<usize> = (0..length).filter(|_| numbers.once_in(2)).collect();
            CellSet::of_runs(chosen.into_iter().map(|place| (place, place + 1)))
        }
        _ => {
            let start = numbers.below(length);
            CellSet::run(start, start + 1 + numbers.below(length - start))
        }
    }
}

/// Every point of the space.
pub(crate) fn points(lengths: &[usize]) -> Vec<Vec<usize>> {
    lengths.iter().fold(vec![Vec::new()], |points, length| {
        let longer = |point: &Vec<usize>| {
            let point = point.clone();
            (0..*length).map(move |place| [point.clone(), vec![place]].concat())
        };
        points.iter().flat_map(longer).collect()
    })
}

fn is_live(row: &BoxRow, point: &[usize]) -> bool {
    row.sets
        .iter()
        .zip(point)
        .all(|(set, place)| set.contains(*place))
}

fn regions_of(lengths: &[usize], rows: &[BoxRow]) -> Vec<(Region, Vec<usize>)> {
    let mut regions = Vec::new();
    let swept = sweep(lengths, rows, usize::MAX, &mut |region, live| {
        regions.push((region.clone(), live.to_vec()));
        ControlFlow::Continue(())
    });
    assert_eq!(swept, Swept::Whole);
    regions
}

#[test]
fn sets_are_as_sets_of_places() {
    let mut numbers = Numbers(3);
    for _ in 0..2_000 {
        let length = 1 + numbers.below(9);
        let (one, two) = (
            random_set(&mut numbers, length),
            random_set(&mut numbers, length),
        );
        let places = |set: &CellSet| set.places().collect::<BTreeSet<usize>>();
        let (ones, twos) = (places(&one), places(&two));
        let all: BTreeSet<usize> = (0..length).collect();
        assert_eq!(places(&one.union(&two)), &ones | &twos);
        assert_eq!(places(&one.intersection(&two)), &ones & &twos);
        assert_eq!(places(&one.complement(length)), &all - &ones);
        assert_eq!(one.is_full(length), ones == all);
        assert_eq!(one.is_empty(), ones.is_empty());
        assert_eq!(one.count(), ones.len());
        assert_eq!(one.first(), ones.first().copied());
        for place in 0..length + 2 {
            assert_eq!(one.contains(place), ones.contains(&place));
        }
        // One form for one set: two sets are equal where their places are.
        assert_eq!(one == two, ones == twos);
        let is_apart = |pair: &[(usize, usize)]| pair[0].1 < pair[1].0;
        assert!(one.union(&two).runs().windows(2).all(is_apart));
    }
}

#[test]
fn a_sweep_divides_the_space_by_live_rows() {
    let mut numbers = Numbers(11);
    let mut pruned = 0;
    for _ in 0..1_500 {
        let lengths: Vec<usize> = (0..1 + numbers.below(4))
            .map(|_| 1 + numbers.below(5))
            .collect();
        let groups = numbers.below(3);
        let rows: Vec<BoxRow> = (0..numbers.below(7))
            .map(|_| BoxRow {
                sets: lengths
                    .iter()
                    .map(|length| random_set(&mut numbers, *length))
                    .collect(),
                first_of: numbers
                    .below(3)
                    .checked_sub(1)
                    .filter(|group| *group < groups),
            })
            .collect();
        let regions = regions_of(&lengths, &rows);
        for point in points(&lengths) {
            let around: Vec<_> = regions
                .iter()
                .filter(|(region, _)| region.contains(&point))
                .collect();
            assert_eq!(around.len(), 1, "{point:?} of {lengths:?} with {rows:?}");
            let listed = &around[0].1;
            let live: Vec<usize> = (0..rows.len())
                .filter(|row| is_live(&rows[*row], &point))
                .collect();
            assert!(listed.is_sorted() && listed.iter().all(|row| live.contains(row)));
            for row in live.iter().filter(|row| !listed.contains(row)) {
                pruned += 1;
                // Only behind an earlier row of its own group.
                let group = rows[*row]
                    .first_of
                    .expect("a row without a group is always listed");
                let is_before =
                    |other: &&usize| *other < row && rows[**other].first_of == Some(group);
                assert!(listed.iter().any(|other| is_before(&other)));
            }
        }
    }
    assert!(pruned > 500, "{pruned} rows were covered");
}

#[test]
fn cells_that_mean_the_same_are_one_region() {
    let row = |start, end| BoxRow {
        sets: vec![CellSet::run(start, end), CellSet::run(0, 1)],
        first_of: None,
    };
    // Outside the row nothing is live, on both sides and whatever the second axis says.
    let regions = regions_of(&[5, 3], &[row(1, 3)]);
    let outside = CellSet::of_runs([(0, 1), (3, 5)]);
    assert_eq!(
        regions[0],
        (
            Region {
                sets: vec![outside, CellSet::run(0, 3)]
            },
            vec![]
        )
    );
    assert_eq!(regions.len(), 3);
    assert!(regions_of(&[5, 0], &[row(1, 3)]).is_empty());
    assert_eq!(regions_of(&[], &[]).len(), 1);
}

#[test]
fn a_row_that_covers_the_rest_hides_those_after_it() {
    let row = |start, end| BoxRow {
        sets: vec![CellSet::run(start, end)],
        first_of: Some(0),
    };
    let regions = regions_of(&[4], &[row(0, 4), row(1, 2), row(2, 3)]);
    assert_eq!(
        regions,
        [(
            Region {
                sets: vec![CellSet::run(0, 4)]
            },
            vec![0]
        )]
    );
}

#[test]
fn the_budget_is_kept_to_the_box() {
    // A row for each of 10 cells, then a second axis of 2 runs in each: 10 + 10 × 2 boxes.
    let rows: Vec<BoxRow> = (0..10)
        .map(|place| BoxRow {
            sets: vec![CellSet::run(place, place + 1), CellSet::run(0, 1)],
            first_of: None,
        })
        .collect();
    let swept = |budget| {
        sweep(&[10, 2], &rows, budget, &mut |_, _| {
            ControlFlow::Continue(())
        })
    };
    assert_eq!(swept(30), Swept::Whole);
    assert_eq!(swept(29), Swept::OverBudget);
    // Many live rows cost more than few: one box for 31 of them, two for 32.
    let alike = |count: usize| vec![rows[0].clone(); count];
    let swept = |count, budget| {
        sweep(&[1, 2], &alike(count), budget, &mut |_, _| {
            ControlFlow::Continue(())
        })
    };
    assert_eq!(swept(31, 3), Swept::Whole);
    assert_eq!(swept(32, 4), Swept::OverBudget);
    assert_eq!(swept(32, 5), Swept::Whole);
}

#[test]
fn a_visitor_may_stop_the_sweep() {
    let row = |place| BoxRow {
        sets: vec![CellSet::run(place, place + 1)],
        first_of: None,
    };
    let mut visited = 0;
    let swept = sweep(&[3], &[row(0), row(1)], usize::MAX, &mut |_, live| {
        visited += 1;
        if live == [1] {
            ControlFlow::Break(())
        } else {
            ControlFlow::Continue(())
        }
    });
    assert_eq!((swept, visited), (Swept::Stopped, 2));
}

#[test]
fn merging_keeps_the_points_and_leaves_nothing_to_merge() {
    let mut numbers = Numbers(5);
    let mut shorter = 0;
    for _ in 0..800 {
        let lengths: Vec<usize> = (0..1 + numbers.below(3))
            .map(|_| 1 + numbers.below(5))
            .collect();
        let rows: Vec<BoxRow> = (0..1 + numbers.below(4))
            .map(|_| BoxRow {
                sets: lengths
                    .iter()
                    .map(|length| random_set(&mut numbers, *length))
                    .collect(),
                first_of: None,
            })
            .collect();
        let open: Vec<Region> = regions_of(&lengths, &rows)
            .into_iter()
            .filter(|(_, live)| live.is_empty())
            .map(|(region, _)| region)
            .collect();
        let together = merged(open.clone());
        let apart = cut(together.clone(), &|axis, set| match axis {
            0 => set
                .runs()
                .iter()
                .map(|run| CellSet::run(run.0, run.1))
                .collect(),
            _ => vec![set.clone()],
        });
        for point in points(&lengths) {
            let is_open = open.iter().any(|region| region.contains(&point));
            let count = |regions: &[Region]| {
                regions
                    .iter()
                    .filter(|region| region.contains(&point))
                    .count()
            };
            assert_eq!(count(&together), usize::from(is_open));
            assert_eq!(count(&apart), usize::from(is_open));
        }
        assert!(apart.iter().all(|region| region.sets[0].runs().len() == 1));
        assert!(together.is_sorted() && apart.is_sorted());
        for (place, one) in together.iter().enumerate() {
            for two in &together[place + 1..] {
                let different = one
                    .sets
                    .iter()
                    .zip(&two.sets)
                    .filter(|(one, two)| one != two);
                assert!(different.count() > 1, "{one:?} and {two:?}");
            }
        }
        shorter += open.len() - together.len();
    }
    assert!(shorter > 100, "{shorter} regions were merged");
}
