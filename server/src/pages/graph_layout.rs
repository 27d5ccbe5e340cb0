//! Places for the boxes of a graph: columns from left to right, each box right of all it looks at.

use super::graph::{Graph, Node};

/// The height of a box.
pub(super) const BOX_HEIGHT: i64 = 42;
/// What is free between two boxes of a column, and between two columns.
const BETWEEN: (i64, i64) = (14, 54);
/// What is free around the picture.
const MARGIN: i64 = 8;
/// About how wide a letter of the name is, and of the line under it, in tenths of a pixel.
const LETTERS: (i64, i64) = (74, 72);
/// What is free around the words.
const PADDING: i64 = 14;

/// Where everything stands.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub(super) struct Layout {
    /// Left, top and width of each box, in the order of the graph.
    pub(super) boxes: Vec<(i64, i64, i64)>,
    pub(super) width: i64,
    pub(super) height: i64,
}

/// The places of a graph.
pub(super) fn layout(graph: &Graph) -> Layout {
    let columns = ordered(columns(graph), graph);
    let mut boxes = vec![(0, 0, 0); graph.nodes.len()];
    let tallest = columns.iter().map(Vec::len).max().unwrap_or(0);
    let height_of = |count: usize| {
        let count = i64::try_from(count).unwrap_or(0);
        count * BOX_HEIGHT + (count - 1).max(0) * BETWEEN.0
    };
    let inner = height_of(tallest);
    let mut left = MARGIN;
    for column in &columns {
        let widths = column
            .iter()
            .filter_map(|node| graph.nodes.get(*node).map(width));
        let width = widths.max().unwrap_or(0);
        let mut top = MARGIN + (inner - height_of(column.len())) / 2;
        for node in column {
            if let Some(place) = boxes.get_mut(*node) {
                *place = (left, top, width);
            }
            top += BOX_HEIGHT + BETWEEN.0;
        }
        left += width + BETWEEN.1;
    }
    Layout {
        boxes,
        width: (left - BETWEEN.1 + MARGIN).max(2 * MARGIN),
        height: inner + 2 * MARGIN,
    }
}

fn width(node: &Node) -> i64 {
    let letters = |text: &str| i64::try_from(text.chars().count()).unwrap_or(0);
    let widest = (letters(&node.name) * LETTERS.0).max(letters(&node.under) * LETTERS.1);
    widest / 10 + 2 * PADDING
}

/// The column of each box is one right of the last that it looks at.
fn columns(graph: &Graph) -> Vec<Vec<usize>> {
    let mut levels = vec![0_usize; graph.nodes.len()];
    // Sources stand before what looks at them, so one pass in the order of targets is enough.
    let mut edges: Vec<(usize, usize)> = graph.edges.iter().copied().collect();
    edges.sort_by_key(|(from, to)| (*to, *from));
    for (from, to) in edges {
        let next = levels.get(from).map_or(0, |level| level + 1);
        if let Some(level) = levels.get_mut(to) {
            *level = (*level).max(next);
        }
    }
    let mut columns = vec![Vec::new(); levels.iter().max().map_or(0, |most| most + 1)];
    for (node, level) in levels.iter().enumerate() {
        if let Some(column) = columns.get_mut(*level) {
            column.push(node);
        }
    }
    columns
}

/// Each column in the order of the middle of what its boxes look at.
fn ordered(mut columns: Vec<Vec<usize>>, graph: &Graph) -> Vec<Vec<usize>> {
    let mut places = vec![0_usize; graph.nodes.len()];
    for column in &mut columns {
        let middle = |node: usize| -> usize {
            let sources = graph.edges.iter().filter(|(_, to)| *to == node);
            let at: Vec<usize> = sources
                .filter_map(|(from, _)| places.get(*from).copied())
                .collect();
            match at.len() {
                0 => usize::MAX,
                // In hundredths, so that two with nearly the same middle are told apart.
                count => at.iter().sum::<usize>() * 100 / count,
            }
        };
        let mut with_middles: Vec<(usize, usize)> =
            column.iter().map(|node| (middle(*node), *node)).collect();
        with_middles.sort_unstable();
        *column = with_middles.into_iter().map(|(_, node)| node).collect();
        for (place, node) in column.iter().enumerate() {
            if let Some(known) = places.get_mut(*node) {
                *known = place;
            }
        }
    }
    columns
}

#[cfg(test)]
mod tests {
    use std::collections::BTreeSet;

    use super::super::graph::{Graph, Node, Shape};
    use super::{BOX_HEIGHT, layout};

    fn graph(count: usize, edges: &[(usize, usize)]) -> Graph {
        let node = |number: usize| Node {
            name: format!("node_{number}"),
            under: String::new(),
            shape: Shape::Decision,
        };
        Graph {
            title: String::new(),
            nodes: (0..count).map(node).collect(),
            edges: edges.iter().copied().collect(),
        }
    }

    #[test]
    fn a_box_stands_right_of_all_it_looks_at_and_on_no_other() {
        let graph = graph(6, &[(0, 2), (1, 2), (2, 3), (0, 3), (3, 5), (4, 5)]);
        let layout = layout(&graph);
        for (from, to) in &graph.edges {
            let (source, target) = (layout.boxes[*from], layout.boxes[*to]);
            assert!(source.0 + source.2 < target.0, "{from} {to}");
        }
        let places: BTreeSet<(i64, i64)> = layout
            .boxes
            .iter()
            .map(|(left, top, _)| (*left, *top))
            .collect();
        assert_eq!(places.len(), 6);
        for (left, top, width) in &layout.boxes {
            assert!(*left >= 0 && left + width <= layout.width);
            assert!(*top >= 0 && top + BOX_HEIGHT <= layout.height);
        }
    }

    #[test]
    fn nothing_at_all_has_a_layout_too() {
        let layout = layout(&graph(0, &[]));
        assert!(layout.boxes.is_empty() && layout.width > 0);
    }
}
