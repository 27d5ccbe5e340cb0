//! The columns of the drawing: every declaration to the right of what it reads.
//!
//! A declaration stands one column after the last of what it reads (the longest path); one that
//! reads nothing stands just before the first that reads it. Where a line passes a column it has a
//! lane there, one for all lines of the same source, so that no line runs through a box.

/// What stands in a column.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Item {
    /// The box of a node.
    Box(usize),
    /// The lane of a node's lines.
    Lane(usize),
}

/// Boxes and lanes in their columns.
#[derive(Clone, Debug, Default)]
pub(super) struct Columns {
    /// Every box and lane.
    pub(super) items: Vec<Item>,
    /// The items of each column by index, from top to bottom.
    pub(super) columns: Vec<Vec<usize>>,
    /// Lines from an item to one of the next column.
    pub(super) links: Vec<(usize, usize)>,
}

/// The value at a place that is known to be there.
pub(super) fn at(values: &[usize], place: usize) -> usize {
    values.get(place).copied().unwrap_or_default()
}

/// What reads what: the number of what is read, the number of what reads it (a higher one), and
/// whether a line is drawn.
pub(super) type Edge = (usize, usize, bool);

/// The columns of `count` nodes.
pub(super) fn columns(count: usize, edges: &[Edge]) -> Columns {
    let column_of = column_numbers(count, edges);
    let mut found = Columns::default();
    let mut box_of = Vec::with_capacity(count);
    for node in 0..count {
        box_of.push(found.add(Item::Box(node), at(&column_of, node)));
    }
    for (node, first) in box_of.iter().enumerate() {
        let readers: Vec<usize> = edges
            .iter()
            .filter(|(source, _, is_drawn)| *source == node && *is_drawn)
            .map(|(_, reader, _)| *reader)
            .collect();
        let own = at(&column_of, node);
        let last = readers.iter().map(|reader| at(&column_of, *reader)).max();
        let mut item = *first;
        for column in own + 1..=last.unwrap_or(own) {
            let here = readers
                .iter()
                .filter(|reader| at(&column_of, **reader) == column);
            found
                .links
                .extend(here.map(|reader| (item, at(&box_of, *reader))));
            if Some(column) < last {
                let lane = found.add(Item::Lane(node), column);
                found.links.push((item, lane));
                item = lane;
            }
        }
    }
    found
}

fn column_numbers(count: usize, edges: &[Edge]) -> Vec<usize> {
    let mut sources = vec![Vec::new(); count];
    let mut readers = vec![Vec::new(); count];
    for (source, reader, _) in edges {
        if let (Some(sources), Some(readers)) = (sources.get_mut(*reader), readers.get_mut(*source))
        {
            sources.push(*source);
            readers.push(*reader);
        }
    }
    let mut columns: Vec<usize> = Vec::with_capacity(count);
    for sources in &sources {
        let after = sources.iter().map(|source| at(&columns, *source) + 1);
        columns.push(after.max().unwrap_or(0));
    }
    // What reads nothing may stand anywhere before its readers.
    let settled = columns.clone();
    for ((column, sources), readers) in columns.iter_mut().zip(&sources).zip(&readers) {
        let first = readers.iter().map(|reader| at(&settled, *reader)).min();
        if let (true, Some(first)) = (sources.is_empty(), first) {
            *column = first.saturating_sub(1);
        }
    }
    columns
}

impl Columns {
    fn add(&mut self, item: Item, column: usize) -> usize {
        let index = self.items.len();
        self.items.push(item);
        while self.columns.len() <= column {
            self.columns.push(Vec::new());
        }
        if let Some(column) = self.columns.get_mut(column) {
            column.push(index);
        }
        index
    }
}

#[cfg(test)]
mod tests {
    use super::{Edge, Item, columns};

    fn drawn(edges: &[(usize, usize)]) -> Vec<Edge> {
        edges.iter().map(|(from, to)| (*from, *to, true)).collect()
    }

    #[test]
    fn what_is_not_drawn_has_its_column_and_no_line() {
        let found = columns(2, &[(0, 1, false)]);
        assert_eq!(found.columns.len(), 2);
        assert!(found.links.is_empty());
    }

    /// 0 → 1 → 2 → 3 → 4, and 0 → 3.
    #[test]
    fn a_reader_stands_right_of_what_it_reads_and_long_lines_have_lanes() {
        let found = columns(5, &drawn(&[(0, 1), (1, 2), (2, 3), (0, 3), (3, 4)]));
        let boxes = |column: &Vec<usize>| column.iter().map(|item| found.items[*item]).collect();
        let columns: Vec<Vec<Item>> = found.columns.iter().map(boxes).collect();
        assert_eq!(columns[0], [Item::Box(0)]);
        assert_eq!(columns[1], [Item::Box(1), Item::Lane(0)]);
        assert_eq!(columns[2], [Item::Box(2), Item::Lane(0)]);
        assert_eq!(columns[3], [Item::Box(3)]);
        // 0→1, 0→lane, lane→lane, lane→3, 1→2, 2→3, 3→4.
        assert_eq!(found.links.len(), 7);
    }

    #[test]
    fn what_reads_nothing_stands_next_to_its_first_reader() {
        let found = columns(4, &drawn(&[(0, 1), (1, 3), (2, 3)]));
        assert!(
            found.columns[1]
                .iter()
                .any(|item| found.items[*item] == Item::Box(2))
        );
    }
}
