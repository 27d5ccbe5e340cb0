//! A graph as SVG in the page: shapes by kind, colours by the style sheet, words as text.

use maud::{Markup, html};

use super::graph::{Graph, Shape};
use super::graph_layout::{BOX_HEIGHT, layout};

/// The picture; a table beside it says the same in words.
pub(super) fn picture(graph: &Graph) -> Markup {
    if graph.nodes.is_empty() {
        return html! {};
    }
    let places = layout(graph);
    let (width, height) = (places.width, places.height);
    let boxes = || graph.nodes.iter().zip(&places.boxes);
    html! {
        figure.graph {
            div.scroll role="region" tabindex="0" aria-label=(format!("{}: picture", graph.title)) {
                svg role="img" aria-label=(format!("{}: the table says the same in words", graph.title))
                    width=(width) height=(height) viewBox=(format!("0 0 {width} {height}")) {
                    @for points in &places.lines { path.line d=(line(points)) {} }
                    @for (node, place) in boxes() {
                        g class=(class(node.shape)) {
                            path.box d=(outline(node.shape, *place)) {}
                            text.name x=(place.0 + 14) y=(place.1 + 17) { (node.name) }
                            text.value x=(place.0 + 14) y=(place.1 + 33) { (node.under) }
                        }
                    }
                }
            }
            figcaption { (legend(graph)) }
        }
    }
}

fn class(shape: Shape) -> &'static str {
    match shape {
        Shape::Reading => "reading",
        Shape::Assumed => "assumed",
        Shape::Missing => "missing",
        Shape::Computed => "computed",
        Shape::Decision => "decision",
        Shape::Choice => "choice",
        Shape::Group => "group",
        Shape::Asked => "asked",
    }
}

/// What the shapes of this graph mean.
fn legend(graph: &Graph) -> Markup {
    const WORDS: [(Shape, &str); 8] = [
        (Shape::Reading, "a reading"),
        (Shape::Assumed, "assumed"),
        (Shape::Missing, "not given"),
        (Shape::Computed, "computed"),
        (Shape::Decision, "a decision"),
        (Shape::Choice, "a choice of a part"),
        (Shape::Group, "clubs"),
        (Shape::Asked, "what was asked"),
    ];
    let is_there = |shape: Shape| graph.nodes.iter().any(|node| node.shape == shape);
    html! {
        @for (shape, word) in WORDS.into_iter().filter(|(shape, _)| is_there(*shape)) {
            span.key {
                svg aria-hidden="true" width="34" height="18" viewBox="0 0 34 18" {
                    g class=(class(shape)) { path.box d=(outline_in(shape, (1, 1, 32), 16)) {} }
                }
                " " (word)
            }
            " "
        }
    }
}

/// A curve from each point to the next between two columns, and straight past a column.
fn line(points: &[(i64, i64)]) -> String {
    let mut path = String::new();
    for pair in points.chunks(2) {
        let [(x, y), (end, end_y)] = pair else {
            continue;
        };
        let opening = if path.is_empty() { 'M' } else { 'L' };
        let middle = i64::midpoint(*x, *end);
        path.push_str(&format!(
            "{opening}{x} {y}C{middle} {y} {middle} {end_y} {end} {end_y}"
        ));
    }
    path
}

fn outline(shape: Shape, place: (i64, i64, i64)) -> String {
    outline_in(shape, place, BOX_HEIGHT)
}

/// The outline of a box: round ends for what was read, a cut corner for a part, a double line for
/// clubs, a bar at the left for a decision.
fn outline_in(shape: Shape, (left, top, width): (i64, i64, i64), height: i64) -> String {
    let (right, bottom) = (left + width, top + height);
    match shape {
        Shape::Reading | Shape::Assumed | Shape::Missing => {
            let round = (height / 2).min(12);
            let (inner_left, inner_right) = (left + round, right - round);
            let (inner_top, inner_bottom) = (top + round, bottom - round);
            format!(
                "M{inner_left} {top}H{inner_right}A{round} {round} 0 0 1 {right} {inner_top}\
                 V{inner_bottom}A{round} {round} 0 0 1 {inner_right} {bottom}H{inner_left}\
                 A{round} {round} 0 0 1 {left} {inner_bottom}V{inner_top}\
                 A{round} {round} 0 0 1 {inner_left} {top}z"
            )
        }
        Shape::Choice => {
            let cut = (height / 3).min(12);
            format!(
                "M{left} {top}H{}L{right} {}V{bottom}H{left}z",
                right - cut,
                top + cut
            )
        }
        Shape::Decision | Shape::Asked => {
            format!(
                "M{left} {top}H{right}V{bottom}H{left}zM{} {top}V{bottom}",
                left + 5
            )
        }
        Shape::Group => format!(
            "M{left} {top}H{right}V{bottom}H{left}zM{} {}H{}V{}H{}z",
            left + 3,
            top + 3,
            right - 3,
            bottom - 3,
            left + 3
        ),
        Shape::Computed => format!("M{left} {top}H{right}V{bottom}H{left}z"),
    }
}
