//! Places for the boxes of a graph: columns from left to right, each box right of all it looks at.
//! A line that passes a column has a lane of its own there, so that it runs behind no box.

use std::collections::BTreeMap;

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

/// The height of the lane of a line that passes a column.
const LANE_HEIGHT: i64 = 10;

/// Where everything stands.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub(super) struct Layout {
    /// Left, top and width of each box, in the order of the graph.
    pub(super) boxes: Vec<(i64, i64, i64)>,
    /// The points of each line, in pairs: from the right of something to the left of what comes
    /// next.
    pub(super) lines: Vec<Vec<(i64, i64)>>,
    pub(super) width: i64,
    pub(super) height: i64,
}

/// What stands in a column: a box, or a line on its way past it.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
enum Item {
    Box(usize),
    Lane(usize, usize),
}

/// Left, top, width and height of everything.
type Spots = BTreeMap<(usize, Item), (i64, i64, i64, i64)>;

/// The places of a graph.
pub(super) fn layout(graph: &Graph) -> Layout {
    let levels = levels(graph);
    let columns = ordered(columns(graph, &levels), graph, &levels);
    let inner = columns.iter().map(|column| height_of(column)).max();
    let inner = inner.unwrap_or(0);
    let mut spots = Spots::new();
    let mut left = MARGIN;
    for (level, column) in columns.iter().enumerate() {
        let widths = column.iter().filter_map(|item| match item {
            Item::Box(node) => graph.nodes.get(*node).map(width),
            Item::Lane(..) => None,
        });
        let width = widths.max().unwrap_or(0);
        let mut top = MARGIN + (inner - height_of(column)) / 2;
        for item in column {
            spots.insert((level, *item), (left, top, width, height(*item)));
            top += height(*item) + BETWEEN.0;
        }
        left += width + BETWEEN.1;
    }
    let level = |node: usize| levels.get(node).copied().unwrap_or(0);
    let boxes = (0..graph.nodes.len()).map(|node| {
        let spot = spots.get(&(level(node), Item::Box(node)));
        spot.map_or((0, 0, 0), |(left, top, width, _)| (*left, *top, *width))
    });
    let line = |(from, to): &(usize, usize)| line(&spots, (*from, level(*from)), (*to, level(*to)));
    Layout {
        boxes: boxes.collect(),
        lines: graph.edges.iter().map(line).collect(),
        width: (left - BETWEEN.1 + MARGIN).max(2 * MARGIN),
        height: inner + 2 * MARGIN,
    }
}

/// The way of a line from box to box, by its lanes.
fn line(
    spots: &Spots,
    (from, first): (usize, usize),
    (to, last): (usize, usize),
) -> Vec<(i64, i64)> {
    let mut points = Vec::new();
    for level in first..=last {
        let item = match level {
            level if level == first => Item::Box(from),
            level if level == last => Item::Box(to),
            _ => Item::Lane(from, to),
        };
        let Some((left, top, width, height)) = spots.get(&(level, item)) else {
            continue;
        };
        let middle = top + height / 2;
        if level > first {
            points.push((*left, middle));
        }
        if level < last {
            points.push((left + width, middle));
        }
    }
    points
}

fn height(item: Item) -> i64 {
    match item {
        Item::Box(_) => BOX_HEIGHT,
        Item::Lane(..) => LANE_HEIGHT,
    }
}

fn height_of(column: &[Item]) -> i64 {
    let count = i64::try_from(column.len()).unwrap_or(0);
    let heights: i64 = column.iter().map(|item| height(*item)).sum();
    heights + (count - 1).max(0) * BETWEEN.0
}

fn width(node: &Node) -> i64 {
    let letters = |text: &str| i64::try_from(text.chars().count()).unwrap_or(0);
    let widest = (letters(&node.name) * LETTERS.0).max(letters(&node.under) * LETTERS.1);
    widest / 10 + 2 * PADDING
}

/// The column of each box is one right of the last that it looks at.
fn levels(graph: &Graph) -> Vec<usize> {
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
    levels
}

fn columns(graph: &Graph, levels: &[usize]) -> Vec<Vec<Item>> {
    let mut columns = vec![Vec::new(); levels.iter().max().map_or(0, |most| most + 1)];
    for (node, level) in levels.iter().enumerate() {
        if let Some(column) = columns.get_mut(*level) {
            column.push(Item::Box(node));
        }
    }
    for (from, to) in &graph.edges {
        let (Some(first), Some(last)) = (levels.get(*from), levels.get(*to)) else {
            continue;
        };
        let passed = columns.iter_mut().take(*last).skip(first + 1);
        passed.for_each(|column| column.push(Item::Lane(*from, *to)));
    }
    columns
}

/// Each column in the order of the middle of what its items come from.
fn ordered(mut columns: Vec<Vec<Item>>, graph: &Graph, levels: &[usize]) -> Vec<Vec<Item>> {
    let mut before: BTreeMap<Item, usize> = BTreeMap::new();
    for (level, column) in columns.iter_mut().enumerate() {
        // A source stands in the column before as itself, or as the lane of its line.
        let at = |from: usize, to: usize| {
            let is_next = levels.get(from).is_some_and(|own| own + 1 == level);
            let item = if is_next {
                Item::Box(from)
            } else {
                Item::Lane(from, to)
            };
            before.get(&item).copied()
        };
        let middle = |item: &Item| -> usize {
            let places: Vec<usize> = match item {
                Item::Lane(from, to) => at(*from, *to).into_iter().collect(),
                Item::Box(node) => {
                    let sources = graph.edges.iter().filter(|(_, to)| to == node);
                    sources.filter_map(|(from, to)| at(*from, *to)).collect()
                }
            };
            match places.len() {
                0 => usize::MAX,
                // In hundredths, so that two with nearly the same middle are told apart.
                count => places.iter().sum::<usize>() * 100 / count,
            }
        };
        let mut with_middles: Vec<(usize, Item)> =
            column.iter().map(|item| (middle(item), *item)).collect();
        with_middles.sort_unstable();
        *column = with_middles.into_iter().map(|(_, item)| item).collect();
        let places = column.iter().enumerate();
        before = places.map(|(place, item)| (*item, place)).collect();
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
        // A line that passes a column runs through no box of it.
        for line in &layout.lines {
            for (x, y) in line {
                let is_in = |(left, top, width): &(i64, i64, i64)| {
                    left < x && *x < left + width && top < y && *y < top + BOX_HEIGHT
                };
                assert!(!layout.boxes.iter().any(is_in), "{x} {y}");
            }
        }
        // 4 stands in the first column and 5 in the fourth.
        let longest = layout.lines.iter().map(Vec::len).max();
        assert_eq!(longest, Some(6), "past two columns");
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
