//! All that people read, in the canonical encoding.

use super::encoder::Encoder;
use super::expression::expression;
use crate::program::{Body, Gives, NextStep, Origin, Program, RungKind, Source, Table, TextPiece};

/// The whole program's texts.
pub(super) fn encode(out: &mut Encoder, program: &Program) {
    out.count(program.layers.len());
    for layer in &program.layers {
        out.text(&layer.name);
        out.text(&layer.title);
    }
    for input in program.inputs.iter() {
        origin(out, &input.name, &input.origin);
        out.maybe_text(input.ask.as_deref());
    }
    for group in program.groups.iter() {
        origin(out, &group.name, &group.origin);
    }
    for model in program.models.iter() {
        origin(out, &model.name, &model.origin);
    }
    for decision in program.decisions.iter() {
        origin(out, &decision.name, &decision.origin);
        match &decision.body {
            Body::Table(_) => {}
            Body::Gives(only) => gives(out, Some(only)),
            Body::Progression(progression) => {
                gives(out, progression.kept.as_ref());
                gives(out, Some(&progression.first));
                if let Some(NextStep::Gives(next)) = &progression.next {
                    gives(out, Some(next));
                }
                gives(out, progression.last.as_ref());
            }
        }
        for table in decision.tables() {
            rows(out, table);
        }
    }
    for choose in program.chooses.iter() {
        origin(out, &choose.name, &choose.origin);
        for needs in &choose.needs {
            out.maybe_text(needs.because.as_deref());
        }
        for prefers in &choose.prefers {
            out.maybe_text(prefers.because.as_deref());
        }
        for rung in &choose.rungs {
            out.maybe_text(rung.says.as_deref());
            if let RungKind::Needs { needs, .. } = &rung.kind {
                out.maybe_text(needs.because.as_deref());
            }
        }
    }
    for limit in program.limits.iter() {
        origin(out, &limit.name, &limit.origin);
        says(out, program, &limit.says);
    }
    for caution in program.cautions.iter() {
        origin(out, &caution.name, &caution.origin);
        says(out, program, &caution.says);
        // Where a caution stands on a ticket is a part of what people read there. Whether it is
        // raised, and all else that is decided, is the same without: so it is not of the meaning.
        out.count(caution.at.len());
        for work in program.works_of(caution) {
            out.text(&work);
        }
    }
}

fn origin(out: &mut Encoder, name: &str, origin: &Origin) {
    out.text(name);
    out.maybe_text(origin.about.as_deref());
    match &origin.source {
        None => out.text("no source"),
        Some(Source::CommonPractice) => out.text("common practice"),
        Some(Source::Published(text)) => {
            out.text("published");
            out.text(text);
        }
    }
}

fn gives(out: &mut Encoder, gives: Option<&Gives>) {
    out.maybe_text(gives.and_then(|gives| gives.because.as_deref()));
}

fn rows(out: &mut Encoder, table: &Table) {
    out.count(table.rows.len());
    for row in &table.rows {
        out.maybe_text(row.because.as_deref());
    }
}

fn says(out: &mut Encoder, program: &Program, pieces: &[TextPiece]) {
    out.count(pieces.len());
    for piece in pieces {
        match piece {
            TextPiece::Words(words) => out.text(words),
            TextPiece::Value(value, _) => expression(out, program, value),
        }
    }
}
