//! The drawing as boxes and lines with their places, before anything is written.

use std::collections::BTreeMap;

use super::layers::{Columns, Edge, Item, columns};
use super::place::{BOX_HEIGHT, heights, order};
use super::{NodeFact, NodeKind, Outline};

/// The width of a letter of a name, and of the smaller line under it, in tenths of a pixel.
const NAME_TENTHS: i64 = 79;
const UNDER_TENTHS: i64 = 62;
/// What is free around the words in a box.
const PADDING: i64 = 14;
/// The narrowest and the widest space between two columns.
const GAPS: (i64, i64) = (56, 130);

/// A box with its words.
#[derive(Clone, Debug)]
pub(super) struct Placed<'a> {
    pub(super) node: &'a NodeFact,
    /// The line under the name.
    pub(super) under: String,
    pub(super) left: i64,
    pub(super) top: i64,
    pub(super) width: i64,
    /// The lines to what reads it, each from one place to another.
    pub(super) lines: Vec<Line>,
}

/// A line, or a piece of one.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct Line {
    pub(super) from: (i64, i64),
    pub(super) to: (i64, i64),
    /// Whether it ends at a box.
    pub(super) has_tip: bool,
}

/// The whole drawing.
#[derive(Clone, Debug)]
pub(super) struct Drawing<'a> {
    pub(super) boxes: Vec<Placed<'a>>,
    /// Left ends and widths of the columns.
    pub(super) bands: Vec<(i64, i64)>,
    pub(super) width: i64,
    pub(super) height: i64,
}

/// The line under the name: what it is, its type, its group.
fn under(node: &NodeFact) -> String {
    let mut text = match node.kind {
        NodeKind::Choice => "choice".to_owned(),
        other => other.word().to_owned(),
    };
    if !node.value_type.is_empty() {
        text.push_str(&format!(" · {}", node.value_type));
    }
    if let Some(group) = &node.for_each {
        text.push_str(&format!(", each {group}"));
    }
    text
}

/// What is read and what reads it, by number. A line from a group to what is decided for its clubs
/// is left out, since the box says it; a line to another group is kept.
fn edges(outline: &Outline) -> Vec<Edge> {
    let numbers: BTreeMap<&str, usize> = outline
        .nodes
        .iter()
        .enumerate()
        .map(|(number, node)| (node.name.as_str(), number))
        .collect();
    let kind = |number: usize| outline.nodes.get(number).map(|node| node.kind);
    let mut edges = Vec::new();
    for (number, node) in outline.nodes.iter().enumerate() {
        for name in &node.reads {
            let Some(source) = numbers.get(name.as_str()).copied() else {
                continue;
            };
            let is_said = kind(source) == Some(NodeKind::Group) && node.kind != NodeKind::Group;
            if source < number {
                edges.push((source, number, !is_said));
            }
        }
    }
    edges
}

/// Where an item stands: left end, height of its middle, width.
type Spot = (i64, i64, i64);

/// The drawing of a ruleset; its top left corner is at `origin`.
pub(super) fn drawing(outline: &Outline, origin: (i64, i64)) -> Drawing<'_> {
    let mut found = columns(outline.nodes.len(), &edges(outline));
    order(&mut found);
    let bands = bands(outline, &found, origin.0);
    let spots = spots(&found, &bands, origin.1);
    let mut boxes: Vec<Placed<'_>> = outline
        .nodes
        .iter()
        .map(|node| Placed {
            node,
            under: under(node),
            left: 0,
            top: 0,
            width: 0,
            lines: Vec::new(),
        })
        .collect();
    put_items(&found, &spots, &mut boxes);
    put_links(&found, &spots, &mut boxes);
    let lowest = spots.iter().map(|spot| spot.1).max();
    Drawing {
        boxes,
        width: bands.last().map_or(origin.0, |(left, width)| left + width),
        height: lowest.unwrap_or(origin.1) + BOX_HEIGHT / 2,
        bands,
    }
}

fn spots(found: &Columns, bands: &[(i64, i64)], top: i64) -> Vec<Spot> {
    let heights = heights(found);
    let mut spots = vec![(0, 0, 0); found.items.len()];
    for (column, (left, width)) in found.columns.iter().zip(bands) {
        for item in column {
            let height = top + heights.get(*item).copied().unwrap_or_default();
            if let Some(spot) = spots.get_mut(*item) {
                *spot = (*left, height, *width);
            }
        }
    }
    spots
}

/// Boxes get their places, and the lines that pass a column their lanes.
fn put_items(found: &Columns, spots: &[Spot], boxes: &mut [Placed<'_>]) {
    for (item, (left, height, width)) in found.items.iter().zip(spots) {
        let (Item::Box(node) | Item::Lane(node)) = *item;
        let Some(placed) = boxes.get_mut(node) else {
            continue;
        };
        match item {
            Item::Box(_) => {
                (placed.left, placed.width) = (*left, *width);
                placed.top = height - BOX_HEIGHT / 2;
            }
            Item::Lane(_) => placed.lines.push(Line {
                from: (*left, *height),
                to: (left + width, *height),
                has_tip: false,
            }),
        }
    }
}

/// The lines between two columns; each belongs to the box it comes from.
fn put_links(found: &Columns, spots: &[Spot], boxes: &mut [Placed<'_>]) {
    for (from, to) in &found.links {
        let (Some(item), Some(target)) = (found.items.get(*from), found.items.get(*to)) else {
            continue;
        };
        let (Some(start), Some(end)) = (spots.get(*from), spots.get(*to)) else {
            continue;
        };
        let (Item::Box(node) | Item::Lane(node)) = *item;
        if let Some(placed) = boxes.get_mut(node) {
            placed.lines.push(Line {
                from: (start.0 + start.2, start.1),
                to: (end.0, end.1),
                has_tip: matches!(target, Item::Box(_)),
            });
        }
    }
}

/// The columns from left to right: each as wide as its widest words, with more space between two
/// the more lines there are.
fn bands(outline: &Outline, found: &Columns, left: i64) -> Vec<(i64, i64)> {
    let mut bands = Vec::new();
    let mut left = left;
    for column in &found.columns {
        let widths = column
            .iter()
            .filter_map(|item| match found.items.get(*item) {
                Some(Item::Box(node)) => outline.nodes.get(*node).map(width),
                _ => None,
            });
        let width = widths.max().unwrap_or(80);
        bands.push((left, width));
        let leaving = found.links.iter().filter(|(from, _)| column.contains(from));
        let lines = i64::try_from(leaving.count()).unwrap_or(GAPS.1);
        left += width + (40 + lines).clamp(GAPS.0, GAPS.1);
    }
    bands
}

fn width(node: &NodeFact) -> i64 {
    let letters = |text: &str| i64::try_from(text.chars().count()).unwrap_or(0);
    let name = letters(&node.name) * NAME_TENTHS;
    let under = letters(&under(node)) * UNDER_TENTHS;
    name.max(under) / 10 + 2 * PADDING
}
