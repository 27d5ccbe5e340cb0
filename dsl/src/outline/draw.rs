//! The decision graph as an SVG picture: text as text, no script.
//!
//! What is read stands left of what reads it. A box carries its own lines, so that pointing at it
//! shows where it leads, and a title with what is to be known of it.

use super::layout::{Drawing, Line, Placed, drawing};
use super::place::BOX_HEIGHT;
use super::{Detail, NodeFact, NodeKind, Outline};

/// What is free around the picture.
const MARGIN: i64 = 28;
/// The height of title and legend.
const HEAD: i64 = 96;

/// The ink and the ground of a kind. The ink has a contrast of more than 7 to 1 on its ground and
/// on white (WCAG 2.2, 1.4.6).
fn colours(kind: NodeKind) -> (&'static str, &'static str) {
    match kind {
        NodeKind::Input => ("#0a4f57", "#e2f1f0"),
        NodeKind::Let => ("#4a4a46", "#f1f0ea"),
        NodeKind::Group => ("#5c4300", "#f7eed4"),
        NodeKind::Decision => ("#1f3a75", "#e5ebf8"),
        NodeKind::Choice => ("#6a2452", "#f7e6f0"),
        NodeKind::Limit => ("#7d2410", "#fae6df"),
        NodeKind::Caution => ("#693f00", "#fcecc9"),
    }
}

/// The name of the kind in the style sheet.
fn class(kind: NodeKind) -> &'static str {
    match kind {
        NodeKind::Input => "input",
        NodeKind::Let => "let",
        NodeKind::Group => "group",
        NodeKind::Decision => "decision",
        NodeKind::Choice => "choice",
        NodeKind::Limit => "limit",
        NodeKind::Caution => "caution",
    }
}

/// The decision graph of a ruleset.
pub fn svg(outline: &Outline) -> String {
    let drawing = drawing(outline, (MARGIN, HEAD));
    let width = (drawing.width + MARGIN).max(760);
    let height = drawing.height + MARGIN;
    let mut text = format!(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" role=\"img\" aria-labelledby=\"title desc\" \
         width=\"{width}\" height=\"{height}\" viewBox=\"0 0 {width} {height}\">\n"
    );
    let title = escaped(&outline.title);
    text.push_str(&format!("<title id=\"title\">{title}</title>\n"));
    text.push_str(&format!(
        "<desc id=\"desc\">{}</desc>\n",
        escaped(&description(outline))
    ));
    text.push_str(&style());
    text.push_str(&format!(
        "<rect width=\"{width}\" height=\"{height}\" fill=\"#ffffff\"/>\n"
    ));
    bands(&mut text, &drawing, height);
    text.push_str(&format!(
        "<text class=\"heading\" x=\"{MARGIN}\" y=\"38\">{title}</text>\n"
    ));
    let own = own_layer(outline);
    legend(&mut text, own.is_some());
    for placed in &drawing.boxes {
        node(&mut text, placed, Some(placed.node.layer.as_str()) == own);
    }
    text.push_str("</svg>\n");
    text
}

/// The layer whose declarations are marked: the ruleset's own, where it builds on another.
fn own_layer(outline: &Outline) -> Option<&str> {
    match outline.layers.as_slice() {
        [_, _, .., own] => Some(own.name.as_str()),
        _ => None,
    }
}

fn description(outline: &Outline) -> String {
    let counts = NodeKind::ALL.iter().filter_map(|kind| {
        let count = outline
            .nodes
            .iter()
            .filter(|node| node.kind == *kind)
            .count();
        (count > 0).then(|| format!("{} {count}", class(*kind)))
    });
    format!(
        "The decision graph of the ruleset {}: what is read stands left of what reads it. {}.",
        outline.name,
        counts.collect::<Vec<_>>().join(", ")
    )
}

fn style() -> String {
    let mut text = String::from(
        "<style>\n\
         text{font-family:system-ui,sans-serif;font-size:11px;fill:#26262a}\n\
         .heading{font-size:20px;font-weight:600}\n\
         .name{font-family:ui-monospace,monospace;font-size:12px;font-weight:600}\n\
         .line{fill:none;stroke-width:1.2;stroke-opacity:.42}\n\
         .box{stroke-width:1.2}\n\
         .own{fill:#b3261e}\n\
         .node:hover .line{stroke-width:2.6;stroke-opacity:1}\n\
         .node:hover .box{stroke-width:3}\n",
    );
    for kind in NodeKind::ALL {
        let (ink, ground) = colours(kind);
        let class = class(kind);
        text.push_str(&format!(
            ".{class} .box{{fill:{ground};stroke:{ink}}} .{class} .line{{stroke:{ink}}} \
             .{class} .tip,.{class} .edge,.{class} .name{{fill:{ink}}}\n"
        ));
    }
    text.push_str("</style>\n");
    text
}

/// Every other column has a tinted ground, for the eye.
fn bands(text: &mut String, drawing: &Drawing<'_>, height: i64) {
    for (left, width) in drawing.bands.iter().step_by(2) {
        let (left, width) = (left - 14, width + 28);
        let (top, height) = (HEAD - 12, height - HEAD);
        text.push_str(&format!(
            "<rect x=\"{left}\" y=\"{top}\" width=\"{width}\" height=\"{height}\" rx=\"6\" fill=\"#f8f8f4\"/>\n"
        ));
    }
}

fn legend(text: &mut String, has_own: bool) {
    let mut left = MARGIN;
    for kind in NodeKind::ALL {
        let word = kind.word();
        let letters = i64::try_from(word.chars().count()).unwrap_or(0);
        text.push_str(&format!(
            "<g class=\"{}\"><rect class=\"box\" x=\"{left}\" y=\"52\" width=\"16\" height=\"14\" rx=\"3\"/>\
             <text x=\"{}\" y=\"63\">{word}</text></g>\n",
            class(kind),
            left + 22
        ));
        left += 22 + letters * 7 + 18;
    }
    if has_own {
        text.push_str(&own_mark(left + 6, 59));
        text.push_str(&format!(
            "<text x=\"{}\" y=\"63\">declared by this ruleset itself</text>\n",
            left + 16
        ));
        left += 200;
    }
    text.push_str(&format!(
        "<text x=\"{left}\" y=\"63\">Point at a box to see its lines. \
         “each wedge” stands for a line from the group.</text>\n"
    ));
}

fn own_mark(x: i64, y: i64) -> String {
    format!("<circle class=\"own\" cx=\"{x}\" cy=\"{y}\" r=\"4\"/>")
}

fn node(text: &mut String, placed: &Placed<'_>, is_own: bool) {
    let node = placed.node;
    let Placed {
        left, top, width, ..
    } = *placed;
    text.push_str(&format!("<g class=\"node {}\">", class(node.kind)));
    text.push_str(&format!("<title>{}</title>", escaped(&about(node))));
    let (lines, tips) = paths(&placed.lines);
    if !lines.is_empty() {
        text.push_str(&format!(
            "<path class=\"line\" d=\"{lines}\"/><path class=\"tip\" d=\"{tips}\"/>"
        ));
    }
    text.push_str(&format!(
        "<rect class=\"box\" x=\"{left}\" y=\"{top}\" width=\"{width}\" height=\"{BOX_HEIGHT}\" rx=\"5\"/>\
         <rect class=\"edge\" x=\"{left}\" y=\"{top}\" width=\"5\" height=\"{BOX_HEIGHT}\" rx=\"2\"/>\
         <text class=\"name\" x=\"{x}\" y=\"{first}\">{}</text>\
         <text x=\"{x}\" y=\"{second}\">{}</text>{}</g>\n",
        escaped(&node.name),
        escaped(&placed.under),
        if is_own {
            own_mark(left + width - 9, top + 9)
        } else {
            String::new()
        },
        x = left + 13,
        first = top + 16,
        second = top + 30,
    ));
}

/// The lines of a box as one path, and their tips.
fn paths(lines: &[Line]) -> (String, String) {
    let mut path = String::new();
    let mut tips = String::new();
    for Line { from, to, has_tip } in lines {
        let end = if *has_tip { to.0 - 6 } else { to.0 };
        if from.1 == to.1 {
            path.push_str(&format!("M{} {}H{end}", from.0, from.1));
        } else {
            let middle = i64::midpoint(from.0, end);
            path.push_str(&format!(
                "M{} {}C{middle} {} {middle} {} {end} {}",
                from.0, from.1, from.1, to.1, to.1
            ));
        }
        if *has_tip {
            tips.push_str(&format!("M{} {}l-7 -3.5v7z", to.0, to.1));
        }
    }
    (path, tips)
}

/// What pointing at a box shows.
fn about(node: &NodeFact) -> String {
    let mut lines = vec![format!("{} ({})", node.name, node.kind.word())];
    lines.extend(node.about.clone());
    if let Detail::Input(detail) = &node.detail {
        lines.extend(detail.ask.clone());
        lines.extend(detail.range.clone());
    }
    if let Detail::Let { value } = &node.detail {
        lines.push(value.clone());
    }
    if let Some(source) = &node.source {
        lines.push(format!("Source: {source}"));
    }
    lines.push(match &node.replaces {
        Some(below) => format!("Layer: {}, replaces that of {below}", node.layer),
        None => format!("Layer: {}", node.layer),
    });
    if !node.reads.is_empty() {
        lines.push(format!("Reads: {}", node.reads.join(", ")));
    }
    if !node.read_by.is_empty() {
        lines.push(format!("Read by: {}", node.read_by.join(", ")));
    }
    lines.join("\n")
}

/// A text in XML; characters that XML has no place for are left out.
fn escaped(text: &str) -> String {
    let mut safe = String::with_capacity(text.len());
    for character in text.chars() {
        match character {
            '<' => safe.push_str("&lt;"),
            '>' => safe.push_str("&gt;"),
            '&' => safe.push_str("&amp;"),
            '"' => safe.push_str("&quot;"),
            '\n' => safe.push('\n'),
            _ if character.is_control() => {}
            _ => safe.push(character),
        }
    }
    safe
}

#[cfg(test)]
mod tests {
    use super::escaped;

    #[test]
    fn nothing_of_a_text_becomes_markup() {
        assert_eq!(
            escaped("<script>\"&\u{0}</script>"),
            "&lt;script&gt;&quot;&amp;&lt;/script&gt;"
        );
    }
}
