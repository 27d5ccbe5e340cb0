//! The sections of the page, each for one kind of declaration.

use super::markdown::{Lines as _, code, escaped, link};
use super::tables::{line_of, steps};
use super::{ChoiceDetail, Detail, FieldFact, InputDetail, NodeFact, NodeKind, Outline};

/// Readings, vocabularies, parts, groups and lets.
pub(super) fn lists(page: &mut String, outline: &Outline) {
    inputs(page, outline);
    vocabularies(page, outline);
    parts(page, outline);
    groups(page, outline);
    lets(page, outline);
}

fn of_kind(outline: &Outline, kind: NodeKind) -> Vec<&NodeFact> {
    outline
        .nodes
        .iter()
        .filter(|node| node.kind == kind)
        .collect()
}

fn heading(page: &mut String, name: &str) {
    page.line(&format!("## {name}"));
    page.line("");
}

fn heads(page: &mut String, names: &[&str]) {
    let names: Vec<String> = names.iter().map(|name| (*name).to_owned()).collect();
    line_of(page, &names);
    line_of(page, &vec!["---".to_owned(); names.len()]);
}

/// A name in a table, which links can lead to.
fn anchor(name: &str) -> String {
    format!("<a id=\"{name}\"></a>`{name}`")
}

fn links(names: &[String]) -> String {
    let links: Vec<String> = names.iter().map(|name| link(name)).collect();
    links.join(", ")
}

fn inputs(page: &mut String, outline: &Outline) {
    let inputs = of_kind(outline, NodeKind::Input);
    if inputs.is_empty() {
        return;
    }
    heading(page, "Inputs");
    heads(page, &["input", "question", "type", "range", "read by"]);
    for node in inputs {
        let Detail::Input(detail) = &node.detail else {
            continue;
        };
        let mut question = escaped(detail.ask.as_deref().unwrap_or_default());
        for note in notes(node, detail) {
            let gap = if question.is_empty() { "" } else { " " };
            question.push_str(&format!("{gap}*{note}*"));
        }
        let cells = [
            anchor(&node.name),
            question,
            code(&node.value_type),
            escaped(detail.range.as_deref().unwrap_or_default()),
            links(&node.read_by),
        ];
        line_of(page, &cells);
    }
    page.line("");
}

/// What else is to be known of a reading.
fn notes(node: &NodeFact, detail: &InputDetail) -> Vec<String> {
    let mut notes = Vec::new();
    if detail.filled_by_the_engine {
        notes.push("filled by the engine".to_owned());
    }
    if let Some(default) = &detail.default {
        notes.push(format!("assumed {}", escaped(default)));
    }
    if let Some(spread) = &detail.spread {
        let strike = detail.strike.as_deref();
        let strike = strike.map(|strike| format!(", of strike {strike}"));
        notes.push(format!(
            "spread {}{}",
            escaped(spread),
            strike.unwrap_or_default()
        ));
    }
    if let Some(condition) = &node.only_when {
        notes.push(format!("only when {}", escaped(condition)));
    }
    if let Some(private) = &detail.private {
        notes.push(escaped(private));
    }
    if !detail.formerly.is_empty() {
        notes.push(format!("formerly {}", escaped(&detail.formerly.join(", "))));
    }
    notes
}

fn vocabularies(page: &mut String, outline: &Outline) {
    if outline.vocabularies.is_empty() {
        return;
    }
    heading(page, "Vocabularies");
    heads(page, &["vocabulary", "words", "layer"]);
    for words in &outline.vocabularies {
        let (between, halves) = match (words.is_scale, words.in_halves) {
            (true, true) => (" < ", ", in halves"),
            (true, false) => (" < ", ""),
            (false, _) => (", ", ""),
        };
        let cells = [
            code(&words.name),
            code(&format!("{}{halves}", words.words.join(between))),
            words.layer.clone(),
        ];
        line_of(page, &cells);
    }
    page.line("");
}

fn fields(fields: &[FieldFact]) -> String {
    let field = |field: &FieldFact| {
        let mut text = format!("`{}` {}", field.name, field.value_type);
        if field.of_each_piece {
            text.push_str(", of each piece");
        }
        if field.may_be_unknown {
            text.push_str(", may be unknown");
        }
        if let Some(range) = &field.range {
            text.push_str(&format!(", {}", escaped(range)));
        }
        text
    };
    let texts: Vec<String> = fields.iter().map(field).collect();
    texts.join("; ")
}

fn parts(page: &mut String, outline: &Outline) {
    if outline.parts.is_empty() {
        return;
    }
    heading(page, "Parts");
    heads(page, &["part", "fields", "layer"]);
    for part in &outline.parts {
        let cells = [code(&part.name), fields(&part.fields), part.layer.clone()];
        line_of(page, &cells);
    }
    page.line("");
}

fn groups(page: &mut String, outline: &Outline) {
    let groups = of_kind(outline, NodeKind::Group);
    if groups.is_empty() {
        return;
    }
    heading(page, "Groups");
    heads(page, &["group", "made", "fields"]);
    for node in groups {
        if let Detail::Group { made, fields: own } = &node.detail {
            line_of(page, &[anchor(&node.name), code(made), fields(own)]);
        }
    }
    page.line("");
}

fn lets(page: &mut String, outline: &Outline) {
    let lets = of_kind(outline, NodeKind::Let);
    if lets.is_empty() {
        return;
    }
    heading(page, "Lets");
    heads(page, &["let", "type", "value", "read by"]);
    for node in lets {
        let Detail::Let { value } = &node.detail else {
            continue;
        };
        let mut value_type = code(&node.value_type);
        if let Some(group) = &node.for_each {
            value_type.push_str(&format!(", for each {group}"));
        }
        let cells = [
            anchor(&node.name),
            value_type,
            code(value),
            links(&node.read_by),
        ];
        line_of(page, &cells);
    }
    page.line("");
}

/// Every decision with its rows.
pub(super) fn decision_sections(page: &mut String, outline: &Outline) {
    let decisions = of_kind(outline, NodeKind::Decision);
    if decisions.is_empty() {
        return;
    }
    heading(page, "Decisions");
    page.line("In the order of evaluation.");
    page.line("");
    for node in decisions {
        declaration(page, node);
        if let Detail::Decision {
            steps: parts,
            promises,
        } = &node.detail
        {
            steps(page, parts);
            for promise in promises {
                page.line(&format!("Promised: {}.", code(promise)));
                page.line("");
            }
        }
        neighbours(page, node);
    }
}

/// The heading of a declaration, and what it says of itself.
fn declaration(page: &mut String, node: &NodeFact) {
    page.line(&format!("### {}", node.name));
    page.line("");
    let mut header = code(&node.value_type);
    if let Some(group) = &node.for_each {
        header.push_str(&format!(", for each {}", link(group)));
    }
    if let Some(order) = &node.in_order_of {
        header.push_str(&format!(" in order of {}", code(order)));
    }
    if let Some(unit) = &node.unit {
        header.push_str(&format!(", in {}", code(unit)));
    }
    let source = node.source.as_deref().unwrap_or_default();
    if !source.is_empty() {
        header.push_str(&format!(". Source: {}", escaped(source)));
    }
    header.push_str(&format!(". Layer `{}`", node.layer));
    if let Some(below) = &node.replaces {
        header.push_str(&format!(", replaces that of `{below}`"));
    }
    page.line(&format!("{}.", header.trim_start_matches(['.', ',', ' '])));
    page.line("");
    if let Some(about) = &node.about {
        page.line(&escaped(about));
        page.line("");
    }
    if let Some(condition) = &node.only_when {
        page.line(&format!("only when {}", code(condition)));
        page.line("");
    }
}

fn neighbours(page: &mut String, node: &NodeFact) {
    let mut lines = Vec::new();
    if !node.reads.is_empty() {
        lines.push(format!("Reads {}.", links(&node.reads)));
    }
    if !node.read_by.is_empty() {
        lines.push(format!("Read by {}.", links(&node.read_by)));
    }
    if !lines.is_empty() {
        page.line(&lines.join(" "));
        page.line("");
    }
}

/// Every choice of parts with its lines.
pub(super) fn choices_section(page: &mut String, outline: &Outline) {
    let choices = of_kind(outline, NodeKind::Choice);
    if choices.is_empty() {
        return;
    }
    heading(page, "Choices of parts");
    for node in choices {
        declaration(page, node);
        if let Detail::Choice(detail) = &node.detail {
            choice(page, detail);
        }
        neighbours(page, node);
    }
}

fn choice(page: &mut String, detail: &ChoiceDetail) {
    let mut header = format!("From {}", code(&detail.from));
    if let Some(list) = &detail.in_each_of_its {
        header.push_str(&format!(", in each of its {}", code(list)));
    }
    if detail.takes_from_the_stock {
        header.push_str(", taken out of the stock");
    }
    if detail.together {
        header.push_str(" for all clubs together");
    }
    if !detail.after.is_empty() {
        header.push_str(&format!(", after {}", links(&detail.after)));
    }
    page.line(&format!("{header}."));
    page.line("");
    if detail.lines.is_empty() {
        return;
    }
    heads(page, &["", "", "weight", "when", "because"]);
    for line in &detail.lines {
        let cells = [
            line.word.clone(),
            code(&line.text),
            line.weight.clone().unwrap_or_default(),
            code(line.when.as_deref().unwrap_or_default()),
            escaped(line.because.as_deref().unwrap_or_default()),
        ];
        line_of(page, &cells);
    }
    page.line("");
}

/// Limits and cautions.
pub(super) fn conditions(page: &mut String, outline: &Outline) {
    for (kind, name, what) in [
        (NodeKind::Limit, "Limits", "must hold"),
        (NodeKind::Caution, "Cautions", "is pointed out"),
    ] {
        let nodes = of_kind(outline, kind);
        if nodes.is_empty() {
            continue;
        }
        heading(page, name);
        heads(page, &[kind.word(), what, "says", "source"]);
        for node in nodes {
            let Detail::Condition {
                condition,
                says,
                in_force,
                at,
            } = &node.detail
            else {
                continue;
            };
            let mut asked = code(condition);
            if let Some(group) = &node.for_each {
                asked.push_str(&format!(", for each {group}"));
            }
            if let Some(when) = &node.only_when {
                asked.push_str(&format!(", only when {}", code(when)));
            }
            if let Some((from, until)) = in_force {
                asked.push_str(&format!(", in force from {from}"));
                if let Some(until) = until {
                    asked.push_str(&format!(" until {until}"));
                }
            }
            if !at.is_empty() {
                asked.push_str(&format!(", at {}", at.join(", ")));
            }
            let source = escaped(node.source.as_deref().unwrap_or_default());
            line_of(page, &[anchor(&node.name), asked, escaped(says), source]);
        }
        page.line("");
    }
}

/// The cases.
pub(super) fn case_section(page: &mut String, outline: &Outline) {
    if outline.cases.is_empty() {
        return;
    }
    heading(page, "Cases");
    heads(page, &["case", "given", "expected", "layer"]);
    for case in &outline.cases {
        let given: Vec<String> = case.given.iter().map(|line| code(line)).collect();
        let expected: Vec<String> = case
            .expect
            .iter()
            .map(|line| code(line.strip_prefix("expect ").unwrap_or(line)))
            .collect();
        let cells = [
            escaped(&case.title),
            given.join("<br>"),
            expected.join("<br>"),
            case.layer.clone(),
        ];
        line_of(page, &cells);
    }
    page.line("");
}
