//! All that decides outcomes, in the canonical encoding.

use super::encoder::Encoder;
use super::expression::{candidate_place, expression, maybe, rounding_word, value_type};
use crate::arena::Arena;
use crate::program::{
    Body, CandidateValue, Caution, Choose, Condition, Decision, Field, ForEach, Group, GroupId,
    Input, Interval, Let, Limit, Members, Model, NextStep, Node, Part, Preference, Program,
    RowResult, RungKind, Step, Table, Value, ValueSet, Vocabulary, VocabularyKind,
};
use crate::quantity::Date;
use crate::syntax::tree::HitPolicy;

/// The whole program's meaning.
pub(super) fn encode(out: &mut Encoder, program: &Program) {
    out.number(u64::from(program.contract_version));
    all(out, program, &program.vocabularies, |out, _, vocabulary| {
        encode_vocabulary(out, vocabulary);
    });
    all(out, program, &program.inputs, encode_input);
    all(out, program, &program.parts, encode_part);
    all(out, program, &program.groups, encode_group);
    all(out, program, &program.models, encode_model);
    all(out, program, &program.lets, encode_let);
    all(out, program, &program.decisions, encode_decision);
    all(out, program, &program.chooses, encode_choose);
    all(out, program, &program.limits, encode_limit);
    all(out, program, &program.cautions, encode_caution);
}

fn all<T>(
    out: &mut Encoder,
    program: &Program,
    declared: &Arena<T>,
    encode: impl Fn(&mut Encoder, &Program, &T),
) {
    out.count(declared.len());
    for declaration in declared.iter() {
        encode(out, program, declaration);
    }
}

pub(super) fn encode_vocabulary(out: &mut Encoder, vocabulary: &Vocabulary) {
    out.text(&vocabulary.name);
    out.text(match vocabulary.kind {
        VocabularyKind::Choice => "choice",
        VocabularyKind::Scale { in_halves: true } => "scale in halves",
        VocabularyKind::Scale { in_halves: false } => "scale",
    });
    out.count(vocabulary.words.len());
    for word in &vocabulary.words {
        out.text(word);
    }
}

pub(super) fn encode_input(out: &mut Encoder, program: &Program, input: &Input) {
    out.text(&input.name);
    value_type(out, program, input.value_type);
    between(out, input.between.as_ref());
    out.maybe_value(input.spread.as_ref());
    out.maybe_text(input.strike.as_deref());
    out.maybe_value(input.default.as_ref());
    out.flag(input.private.is_some());
    out.maybe_text(input.private.as_ref().and_then(Option::as_deref));
    maybe(out, program, input.only_when.as_ref());
    out.flag(input.filled_by_the_engine);
}

pub(super) fn encode_part(out: &mut Encoder, program: &Program, part: &Part) {
    out.text(&part.name);
    out.text(&part.plural);
    fields(out, program, &part.fields);
}

pub(super) fn encode_let(out: &mut Encoder, program: &Program, let_: &Let) {
    out.text(&let_.name);
    group(out, program, let_.for_each);
    expression(out, program, &let_.value);
}

fn between(out: &mut Encoder, between: Option<&(Value, Value)>) {
    out.maybe_value(between.map(|(low, _)| low));
    out.maybe_value(between.map(|(_, high)| high));
}

fn fields(out: &mut Encoder, program: &Program, fields: &[Field]) {
    out.count(fields.len());
    for field in fields {
        out.text(&field.name);
        value_type(out, program, field.value_type);
        out.flag(field.may_be_unknown);
        out.flag(field.of_each_piece);
        between(out, field.between.as_ref());
    }
}

fn group(out: &mut Encoder, program: &Program, group: Option<GroupId>) {
    out.maybe_text(group.map(|id| program.groups[id].name.as_str()));
}

pub(super) fn encode_group(out: &mut Encoder, program: &Program, declared: &Group) {
    out.text(&declared.name);
    fields(out, program, &declared.fields);
    match &declared.members {
        Members::GivenWithThePlayer => out.text("given"),
        Members::AsManyAs(count) => {
            out.text("as many as");
            expression(out, program, count);
        }
        Members::MadeBy { maker, from } => {
            out.text("made by");
            out.text(maker);
            out.count(from.len());
            for node in from {
                out.text(program.name_of(*node));
            }
        }
        Members::Where { of, condition } => {
            out.text("where");
            group(out, program, Some(*of));
            expression(out, program, condition);
        }
    }
}

pub(super) fn encode_model(out: &mut Encoder, program: &Program, model: &Model) {
    out.text(&model.name);
    value_type(out, program, model.value_type);
    out.value(&model.answers_to);
    out.count(model.arguments.len());
    for argument in &model.arguments {
        out.text(&argument.name);
        value_type(out, program, argument.value_type);
        between(out, argument.between.as_ref());
    }
}

fn for_each(out: &mut Encoder, program: &Program, for_each: Option<&ForEach>) {
    group(out, program, for_each.map(|for_each| for_each.group));
    let order = for_each.and_then(|for_each| for_each.order.as_ref());
    maybe(out, program, order.map(|order| &order.key));
    out.flag(order.is_some_and(|order| order.largest_first));
}

pub(super) fn encode_decision(out: &mut Encoder, program: &Program, decision: &Decision) {
    out.text(&decision.name);
    value_type(out, program, decision.value_type);
    for_each(out, program, decision.for_each.as_ref());
    maybe(out, program, decision.only_when.as_ref());
    match &decision.body {
        Body::Table(rows) => {
            out.text("by");
            table(out, program, rows);
        }
        Body::Gives(gives) => {
            out.text("gives");
            expression(out, program, &gives.value);
        }
        Body::Progression(progression) => {
            out.text("along");
            maybe(
                out,
                program,
                progression.kept.as_ref().map(|gives| &gives.value),
            );
            expression(out, program, &progression.first.value);
            match &progression.next {
                None => out.text("no next"),
                Some(NextStep::Gives(gives)) => {
                    out.text("next gives");
                    expression(out, program, &gives.value);
                }
                Some(NextStep::Table(rows)) => {
                    out.text("next by");
                    table(out, program, rows);
                }
            }
            maybe(
                out,
                program,
                progression.last.as_ref().map(|gives| &gives.value),
            );
        }
    }
    out.count(decision.steps.len());
    for step in &decision.steps {
        encode_step(out, program, step);
    }
}

fn encode_step(out: &mut Encoder, program: &Program, step: &Step) {
    match step {
        Step::Table(rows) => {
            out.text("then by");
            table(out, program, rows);
        }
        Step::KeptWithin { low, high, .. } => {
            out.text("kept within");
            expression(out, program, low);
            expression(out, program, high);
        }
        Step::Rounded { rounding, to, .. } => {
            out.text("rounded");
            rounding_word(out, *rounding);
            expression(out, program, to);
        }
        Step::OrIfUnknown { instead, .. } => {
            out.text("or if unknown");
            expression(out, program, instead);
        }
    }
}

fn table(out: &mut Encoder, program: &Program, table: &Table) {
    out.count(table.columns.len());
    for column in &table.columns {
        expression(out, program, &column.value);
        // `not none` and `any` take the same values, and differ in what none comes to.
        out.flag(column.takes_none);
        out.flag(column.takes_unknown);
    }
    out.text(match table.hit_policy {
        HitPolicy::Unique => "unique",
        HitPolicy::First => "first",
    });
    out.flag(table.if_unknown.is_some());
    if let Some(result) = &table.if_unknown {
        row_result(out, program, result);
    }
    out.count(table.rows.len());
    for row in &table.rows {
        out.flag(row.is_otherwise);
        out.count(row.conditions.len());
        for condition in &row.conditions {
            row_condition(out, condition);
        }
        row_result(out, program, &row.result);
    }
}

fn row_condition(out: &mut Encoder, condition: &Condition) {
    out.flag(condition.is_any);
    out.flag(condition.none);
    out.flag(condition.unknown);
    match &condition.values {
        ValueSet::All => out.text("all"),
        ValueSet::Intervals(intervals) => {
            out.text("intervals");
            out.count(intervals.len());
            for interval in intervals {
                bounds(out, interval);
            }
        }
        ValueSet::Words(words) => {
            out.text("words");
            out.count(words.len());
            for word in words {
                out.half_steps(*word);
            }
        }
        ValueSet::Flags(flags) => {
            out.text("flags");
            out.count(flags.len());
            for flag in flags {
                out.flag(*flag);
            }
        }
        ValueSet::Texts(texts) => {
            out.text("texts");
            out.count(texts.len());
            for text in texts {
                out.text(text);
            }
        }
    }
}

fn bounds(out: &mut Encoder, interval: &Interval) {
    for end in [interval.low, interval.high] {
        out.flag(end.is_some());
        if let Some(end) = end {
            out.rational(end.value);
            out.flag(end.is_included);
        }
    }
}

fn row_result(out: &mut Encoder, program: &Program, result: &RowResult) {
    match result {
        RowResult::Gives(value) => {
            out.text("gives");
            expression(out, program, value);
        }
        RowResult::Moves(half_steps) => {
            out.text("moves");
            out.half_steps(*half_steps);
        }
        RowResult::Keeps => out.text("keeps"),
        RowResult::Adds(value) => {
            out.text("adds");
            expression(out, program, value);
        }
        RowResult::TakesOff(value) => {
            out.text("takes off");
            expression(out, program, value);
        }
        RowResult::CannotHappen => out.text("cannot happen"),
    }
}

pub(super) fn encode_choose(out: &mut Encoder, program: &Program, choose: &Choose) {
    let outer = out.candidate_is(Some(choose.part));
    out.text(&choose.name);
    out.text(&program.parts[choose.part].name);
    out.flag(choose.in_each.is_some());
    out.count(choose.in_each.map_or(0, |(field, _)| field));
    for_each(out, program, choose.for_each.as_ref());
    let mut after: Vec<&str> = choose
        .after
        .iter()
        .map(|id| program.name_of(Node::Choose(*id)))
        .collect();
    after.sort_unstable();
    out.count(after.len());
    for name in after {
        out.text(name);
    }
    maybe(out, program, choose.only_when.as_ref());
    out.count(choose.lets.len());
    for let_ in &choose.lets {
        out.text(&let_.name);
        expression(out, program, &let_.value);
    }
    out.number(
        choose
            .takes
            .and_then(|takes| u64::try_from(takes).ok())
            .unwrap_or_default(),
    );
    out.flag(choose.together);
    out.count(choose.agrees_on.len());
    for agrees in &choose.agrees_on {
        candidate_place(out, program, CandidateValue::Field(agrees.field));
        maybe(out, program, agrees.when.as_ref());
    }
    out.count(choose.needs.len());
    for needs in &choose.needs {
        expression(out, program, &needs.condition);
        maybe(out, program, needs.when.as_ref());
    }
    out.count(choose.prefers.len());
    for prefers in &choose.prefers {
        out.rational(prefers.weight);
        maybe(out, program, prefers.when.as_ref());
        preference(out, program, &prefers.what);
    }
    out.count(choose.ties.len());
    for tie in &choose.ties {
        candidate_place(out, program, tie.key);
        out.flag(tie.largest_first);
    }
    out.count(choose.rungs.len());
    for rung in &choose.rungs {
        match &rung.kind {
            RungKind::Orders => out.text("orders"),
            RungKind::LeavesOpen => out.text("leaves open"),
            RungKind::Needs { replaces, needs } => {
                out.text("needs");
                out.flag(replaces.is_some());
                out.count(replaces.unwrap_or_default());
                expression(out, program, &needs.condition);
                maybe(out, program, needs.when.as_ref());
            }
        }
    }
    out.candidate_is(outer);
}

fn preference(out: &mut Encoder, program: &Program, preference: &Preference) {
    match preference {
        Preference::Near {
            value,
            near,
            within,
        } => {
            out.text("near");
            expression(out, program, value);
            expression(out, program, near);
            expression(out, program, within);
        }
        Preference::Holds(condition) => {
            out.text("holds");
            expression(out, program, condition);
        }
    }
}

pub(super) fn encode_limit(out: &mut Encoder, program: &Program, limit: &Limit) {
    out.text(&limit.name);
    group(out, program, limit.for_each);
    expression(out, program, &limit.condition);
    maybe(out, program, limit.only_when.as_ref());
    in_force(out, limit.in_force);
}

pub(super) fn encode_caution(out: &mut Encoder, program: &Program, caution: &Caution) {
    out.text(&caution.name);
    group(out, program, caution.for_each);
    expression(out, program, &caution.condition);
    maybe(out, program, caution.only_when.as_ref());
    in_force(out, caution.in_force);
}

fn in_force(out: &mut Encoder, days: Option<(Date, Option<Date>)>) {
    out.maybe_text(days.map(|(from, _)| from.to_string()).as_deref());
    out.maybe_text(
        days.and_then(|(_, until)| until)
            .map(|until| until.to_string())
            .as_deref(),
    );
}
