//! Expressions in the canonical encoding.

use super::encoder::Encoder;
use crate::program::{
    Aggregate, Arithmetic, CandidateValue, Expression, ExpressionKind, GroupId, Member, Over,
    PartId, Program, Type,
};
use crate::quantity::Rounding;
use crate::syntax::tree::{Extreme, Relation};

/// A type by its name.
pub(super) fn value_type(out: &mut Encoder, program: &Program, of_type: Type) {
    match of_type {
        Type::Quantity(dimension) => {
            out.text("quantity");
            out.text(&dimension.to_string());
        }
        Type::Temperature => out.text("temperature"),
        Type::Swingweight => out.text("swingweight"),
        Type::Count => out.text("count"),
        Type::Date => out.text("date"),
        Type::Flag => out.text("flag"),
        Type::Choice(id) | Type::Scale(id) => {
            out.text("vocabulary");
            out.text(&program.vocabularies[id].name);
        }
        Type::Text => out.text("text"),
        Type::List(part) => {
            out.text("list");
            out.text(&program.parts[part].name);
        }
        Type::ListOf(element) => {
            out.text("list of");
            value_type(out, program, element.value_type());
        }
    }
}

/// An expression that may be absent.
pub(super) fn maybe(out: &mut Encoder, program: &Program, value: Option<&Expression>) {
    out.flag(value.is_some());
    if let Some(value) = value {
        expression(out, program, value);
    }
}

/// An expression: its form, what it refers to by name, and what is inside it.
pub(super) fn expression(out: &mut Encoder, program: &Program, value: &Expression) {
    value_type(out, program, value.value_type);
    head(out, program, &value.kind);
    let inside = crate::check::children(value);
    out.count(inside.len());
    // Inside an aggregate over parts the candidate at hand is another one.
    let at_hand = parts_on_hand(&value.kind).or(out.candidate());
    let outer = out.candidate_is(at_hand);
    for child in inside {
        expression(out, program, child);
    }
    out.candidate_is(outer);
}

// Long because every form of an expression has its arm.
fn head(out: &mut Encoder, program: &Program, kind: &ExpressionKind) {
    match kind {
        ExpressionKind::Constant(value) => {
            out.text("constant");
            out.value(value);
        }
        ExpressionKind::None => out.text("none"),
        ExpressionKind::Input(id) => named(out, "input", &program.inputs[*id].name),
        ExpressionKind::Let(id, which) => {
            named(out, "let", &program.lets[*id].name);
            member(out, *which);
        }
        ExpressionKind::Decision(id, which) => {
            named(out, "decision", &program.decisions[*id].name);
            member(out, *which);
        }
        ExpressionKind::Field {
            group,
            field,
            member: which,
        } => {
            named(out, "field", &program.groups[*group].name);
            out.text(&group_field(program, *group, *field));
            member(out, *which);
        }
        ExpressionKind::Chosen {
            choose,
            value,
            member: which,
        } => {
            let choice = &program.chooses[*choose];
            named(out, "chosen", &choice.name);
            let outer = out.candidate_is(Some(choice.part));
            candidate_place(out, program, *value);
            out.candidate_is(outer);
            member(out, *which);
        }
        ExpressionKind::Candidate(value) => {
            out.text("candidate");
            candidate_place(out, program, *value);
        }
        ExpressionKind::PreviousValue => out.text("previous"),
        ExpressionKind::Negative(_) => out.text("negative"),
        ExpressionKind::Not(_) => out.text("not"),
        ExpressionKind::SizeOf(_) => out.text("size of"),
        ExpressionKind::And(..) => out.text("and"),
        ExpressionKind::Or(..) => out.text("or"),
        ExpressionKind::Within { .. } => out.text("within"),
        ExpressionKind::Includes { .. } => out.text("includes"),
        ExpressionKind::If { .. } => out.text("if"),
        ExpressionKind::KeptWithin { .. } => out.text("kept within"),
        ExpressionKind::OrIfUnknown { .. } => out.text("or if unknown"),
        ExpressionKind::Arithmetic(operator, ..) => out.text(match operator {
            Arithmetic::Plus => "plus",
            Arithmetic::Minus => "minus",
            Arithmetic::Times => "times",
            Arithmetic::Over => "over",
        }),
        ExpressionKind::Moved(_, half_steps) => {
            out.text("moved");
            out.half_steps(*half_steps);
        }
        ExpressionKind::Is { negated, .. } => flagged(out, "is", *negated),
        ExpressionKind::IsNone { negated, .. } => flagged(out, "is none", *negated),
        ExpressionKind::IsKnown { negated, .. } => flagged(out, "is known", *negated),
        ExpressionKind::IsOneOf {
            negated, values, ..
        } => {
            flagged(out, "is one of", *negated);
            out.count(values.len());
            for value in values {
                out.value(value);
            }
        }
        ExpressionKind::Order { relation, .. } => out.text(match relation {
            Relation::Under => "under",
            Relation::Over => "above",
            Relation::AtMost => "at most",
            Relation::AtLeast => "at least",
        }),
        ExpressionKind::Extreme(extreme, ..) => out.text(extreme_word(*extreme)),
        ExpressionKind::Model(id, _) => named(out, "model", &program.models[*id].name),
        ExpressionKind::Rounded { rounding, .. } => {
            out.text("rounded");
            rounding_word(out, *rounding);
        }
        ExpressionKind::Aggregate(inner) => aggregate(out, program, inner),
    }
}

fn parts_on_hand(kind: &ExpressionKind) -> Option<PartId> {
    let ExpressionKind::Aggregate(aggregate) = kind else {
        return None;
    };
    match over(aggregate) {
        Over::PartsOnHand(part) => Some(part),
        Over::Group(_) => None,
    }
}

fn over(aggregate: &Aggregate) -> Over {
    match aggregate {
        Aggregate::NumberOf(over, _)
        | Aggregate::ExtremeOf(_, over, _)
        | Aggregate::TotalOf(over, _)
        | Aggregate::AnyWhere(over, _) => *over,
    }
}

fn named(out: &mut Encoder, form: &str, name: &str) {
    out.text(form);
    out.text(name);
}

fn flagged(out: &mut Encoder, form: &str, flag: bool) {
    out.text(form);
    out.flag(flag);
}

/// The direction of rounding.
pub(super) fn rounding_word(out: &mut Encoder, rounding: Rounding) {
    out.text(match rounding {
        Rounding::Nearest => "nearest",
        Rounding::Up => "up",
        Rounding::Down => "down",
    });
}

fn extreme_word(extreme: Extreme) -> &'static str {
    match extreme {
        Extreme::Larger => "larger",
        Extreme::Smaller => "smaller",
    }
}

fn member(out: &mut Encoder, member: Member) {
    out.text(match member {
        Member::Only => "only",
        Member::Same => "same",
        Member::First => "first",
        Member::Last => "last",
        Member::Previous => "previous",
        Member::Next => "next",
    });
}

fn group_field(program: &Program, group: GroupId, field: usize) -> String {
    let owner = crate::check::field_owner(program, group);
    let name = program.groups[owner]
        .fields
        .get(field)
        .map(|field| field.name.clone());
    name.unwrap_or_default()
}

/// A candidate's value: a field by its name, a let or a setting's field by its place, since the
/// choice's lets are encoded in order.
pub(super) fn candidate_place(out: &mut Encoder, program: &Program, value: CandidateValue) {
    let (form, index) = match value {
        CandidateValue::Field(index) => {
            let part = out.candidate().map(|part| &program.parts[part]);
            let field = part.and_then(|part| part.fields.get(index));
            return named(out, "field", field.map_or("", |field| field.name.as_str()));
        }
        CandidateValue::Let(index) => ("let", index),
        CandidateValue::Setting(index) => ("setting", index),
    };
    out.text(form);
    out.count(index);
}

fn aggregate(out: &mut Encoder, program: &Program, aggregate: &Aggregate) {
    out.text(match aggregate {
        Aggregate::NumberOf(..) => "number of",
        Aggregate::ExtremeOf(extreme, ..) => extreme_word(*extreme),
        Aggregate::TotalOf(..) => "total",
        Aggregate::AnyWhere(..) => "any",
    });
    match over(aggregate) {
        Over::Group(group) => named(out, "group", &program.groups[group].name),
        Over::PartsOnHand(part) => named(out, "parts", &program.parts[part].name),
    }
}
