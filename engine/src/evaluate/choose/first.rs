//! The first few of many in an order, without putting all of them in order.

use std::cmp::Ordering;

/// The first so many of some places, in their order; of equals the earlier place.
pub(super) fn first_in_order(
    places: impl Iterator<Item = usize>,
    count: usize,
    order: impl Fn(&usize, &usize) -> Ordering,
) -> Vec<usize> {
    let mut first: Vec<usize> = Vec::with_capacity(count.saturating_add(1));
    for place in places {
        if first.len() == count && first.last().is_none_or(|last| order(last, &place).is_le()) {
            continue;
        }
        let before = first.partition_point(|known| order(known, &place).is_le());
        first.insert(before, place);
        first.truncate(count);
    }
    first
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_first_few_are_those_of_a_stable_sort() {
        let marks = [3, 1, 2, 1, 5, 1, 0, 2, 4, 0];
        let order = |left: &usize, right: &usize| marks.get(*left).cmp(&marks.get(*right));
        let mut sorted: Vec<usize> = (0..marks.len()).collect();
        sorted.sort_by(order);
        for count in 0..12 {
            let first = first_in_order(0..marks.len(), count, order);
            assert_eq!(first, sorted[..count.min(marks.len())], "the first {count}");
        }
    }
}
