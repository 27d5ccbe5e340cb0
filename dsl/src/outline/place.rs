//! Where boxes and lanes stand in their columns: few crossings, short lines.
//!
//! The order in a column follows the mean place of the neighbours (barycentres), swept to and fro
//! a fixed number of times; the order with the fewest crossings is kept. Heights follow the mean
//! height of the neighbours, as near as the order and the distances allow: the isotonic regression
//! of the wanted heights, by pooling neighbours that are the wrong way round. Everything is whole
//! numbers, so that every machine draws the same.

use super::layers::{Columns, Item, at};

/// How often the columns are swept.
const SWEEPS: usize = 30;
/// The height of a box in pixels.
pub(super) const BOX_HEIGHT: i64 = 38;
/// How wide a lane is in pixels.
const LANE_HEIGHT: i64 = 4;
/// What stays free between two boxes, and beside a lane.
const BOX_GAP: i64 = 12;
const LANE_GAP: i64 = 5;

/// The neighbours of every item: in the column before, and in the one after.
struct Neighbours {
    before: Vec<Vec<usize>>,
    after: Vec<Vec<usize>>,
}

/// Orders the items of every column.
pub(super) fn order(columns: &mut Columns) {
    let neighbours = neighbours(columns);
    let mut best = columns.columns.clone();
    let mut fewest = crossings(&best, &neighbours);
    let mut current = best.clone();
    for sweep in 0..SWEEPS {
        let is_rightward = sweep % 2 == 0;
        let numbers: Vec<usize> = if is_rightward {
            (0..current.len()).collect()
        } else {
            (0..current.len()).rev().collect()
        };
        for number in numbers {
            let places = places(&current, columns.items.len());
            let beside = if is_rightward {
                &neighbours.before
            } else {
                &neighbours.after
            };
            if let Some(column) = current.get_mut(number) {
                column.sort_by_key(|item| (mean_place(*item, beside, &places), at(&places, *item)));
            }
        }
        let count = crossings(&current, &neighbours);
        if count < fewest {
            fewest = count;
            best.clone_from(&current);
        }
    }
    columns.columns = best;
}

fn neighbours(columns: &Columns) -> Neighbours {
    let mut before = vec![Vec::new(); columns.items.len()];
    let mut after = before.clone();
    for (left, right) in &columns.links {
        if let (Some(before), Some(after)) = (before.get_mut(*right), after.get_mut(*left)) {
            before.push(*left);
            after.push(*right);
        }
    }
    Neighbours { before, after }
}

/// The place of every item in its column.
fn places(columns: &[Vec<usize>], count: usize) -> Vec<usize> {
    let mut places = vec![0; count];
    for column in columns {
        for (place, item) in column.iter().enumerate() {
            if let Some(found) = places.get_mut(*item) {
                *found = place;
            }
        }
    }
    places
}

/// The mean place of the neighbours in thousandths; an item without any keeps its own.
fn mean_place(item: usize, beside: &[Vec<usize>], places: &[usize]) -> usize {
    let beside = beside.get(item).map(Vec::as_slice).unwrap_or_default();
    let sum: usize = beside.iter().map(|other| at(places, *other)).sum();
    (sum * 1000)
        .checked_div(beside.len())
        .unwrap_or_else(|| at(places, item) * 1000)
}

fn crossings(columns: &[Vec<usize>], neighbours: &Neighbours) -> usize {
    let places = places(columns, neighbours.after.len());
    let mut count = 0;
    for column in columns {
        // The far ends seen so far, sorted: each that is lower down than a new one is crossed.
        let mut seen: Vec<usize> = Vec::new();
        for item in column {
            let ends = neighbours.after.get(*item).into_iter().flatten();
            let mut ends: Vec<usize> = ends.map(|end| at(&places, *end)).collect();
            ends.sort_unstable();
            for end in &ends {
                count += seen.len() - seen.partition_point(|other| other <= end);
            }
            seen.extend(ends);
            seen.sort_unstable();
        }
    }
    count
}

/// The height of the middle of every item, from 0.
pub(super) fn heights(columns: &Columns) -> Vec<i64> {
    let neighbours = neighbours(columns);
    let mut heights = vec![0; columns.items.len()];
    for column in &columns.columns {
        settle(columns, column, &mut heights, |_| Some(0));
    }
    for sweep in 0..SWEEPS {
        let is_last = sweep + 4 >= SWEEPS;
        let is_rightward = sweep % 2 == 0;
        let numbers: Vec<usize> = if is_rightward {
            (0..columns.columns.len()).collect()
        } else {
            (0..columns.columns.len()).rev().collect()
        };
        for column in numbers
            .iter()
            .filter_map(|number| columns.columns.get(*number))
        {
            let known = heights.clone();
            let wanted = |item: usize| {
                let list = |side: &[Vec<usize>]| side.get(item).cloned().unwrap_or_default();
                let beside = match (is_last, is_rightward) {
                    (true, _) => [list(&neighbours.before), list(&neighbours.after)].concat(),
                    (false, true) => list(&neighbours.before),
                    (false, false) => list(&neighbours.after),
                };
                let has_any = [&neighbours.before, &neighbours.after]
                    .iter()
                    .any(|side| !list(side).is_empty());
                let own = known.get(item).copied().unwrap_or_default();
                let sum: i64 = beside.iter().filter_map(|other| known.get(*other)).sum();
                let count = i64::try_from(beside.len()).unwrap_or(1);
                has_any.then(|| sum.checked_div(count).unwrap_or(own))
            };
            settle(columns, column, &mut heights, wanted);
        }
    }
    let top = columns
        .items
        .iter()
        .zip(&heights)
        .map(|(item, height)| height - half(*item))
        .min();
    let top = top.unwrap_or_default();
    heights.iter().map(|height| height - top).collect()
}

fn half(item: Item) -> i64 {
    match item {
        Item::Box(_) => BOX_HEIGHT / 2,
        Item::Lane(_) => LANE_HEIGHT / 2,
    }
}

/// How far the middles of two neighbours in a column are at least from each other.
fn distance(upper: Item, lower: Item) -> i64 {
    let gap = match (upper, lower) {
        (Item::Box(_), Item::Box(_)) => BOX_GAP,
        (Item::Lane(_), Item::Lane(_)) => LANE_GAP,
        _ => LANE_GAP + 3,
    };
    half(upper) + half(lower) + gap
}

/// Items of a column that stand as one, their wanted heights summed; an item without neighbours
/// wants none.
struct Pool {
    sum: i64,
    weight: i64,
    items: usize,
}

/// Sets the heights of a column as near to what is wanted as order and distances allow.
fn settle(
    columns: &Columns,
    column: &[usize],
    heights: &mut [i64],
    wanted: impl Fn(usize) -> Option<i64>,
) {
    let kind = |item: usize| columns.items.get(item).copied();
    let mut offsets = Vec::with_capacity(column.len());
    let mut offset = 0;
    let mut pools: Vec<Pool> = Vec::new();
    let mut above: Option<Item> = None;
    for item in column {
        let Some(here) = kind(*item) else { continue };
        offset += above.map_or(0, |above| distance(above, here));
        above = Some(here);
        offsets.push(offset);
        let level = wanted(*item).map(|height| height - offset);
        pools.push(Pool {
            sum: level.unwrap_or_default(),
            weight: level.map_or(0, |_| 1),
            items: 1,
        });
        while let [.., upper, lower] = pools.as_slice() {
            let is_in_order = upper.sum * lower.weight <= lower.sum * upper.weight;
            if upper.weight > 0 && lower.weight > 0 && is_in_order {
                break;
            }
            let pooled = Pool {
                sum: upper.sum + lower.sum,
                weight: upper.weight + lower.weight,
                items: upper.items + lower.items,
            };
            pools.truncate(pools.len() - 2);
            pools.push(pooled);
        }
    }
    let mut levels = pools
        .iter()
        .flat_map(|pool| std::iter::repeat_n(pool.sum.div_euclid(pool.weight.max(1)), pool.items));
    for (item, offset) in column.iter().zip(offsets) {
        if let (Some(height), Some(level)) = (heights.get_mut(*item), levels.next()) {
            *height = level + offset;
        }
    }
}

#[cfg(test)]
mod tests {
    use super::super::layers::columns;
    use super::{crossings, distance, heights, neighbours, order};

    /// Two sources whose lines cross until their readers change places.
    #[test]
    fn crossings_are_undone() {
        let mut found = columns(4, &[(0, 3, true), (1, 2, true)]);
        assert_eq!(crossings(&found.columns, &neighbours(&found)), 1);
        order(&mut found);
        assert_eq!(crossings(&found.columns, &neighbours(&found)), 0);
    }

    #[test]
    fn boxes_of_a_column_keep_their_distance() {
        let mut found = columns(6, &[1, 2, 3, 4, 5].map(|reader| (reader / 5, reader, true)));
        order(&mut found);
        let heights = heights(&found);
        for column in &found.columns {
            for pair in column.windows(2) {
                let least = distance(found.items[pair[0]], found.items[pair[1]]);
                assert!(heights[pair[1]] - heights[pair[0]] >= least);
            }
        }
    }
}
