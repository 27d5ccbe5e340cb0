//! `never falls as X rises`, `never rises along the bag`: typed, and proved or refused.

use super::checker::Checker;
use super::scope::Scope;
use crate::analysis::{
    AlongProof, CounterExample, Player, PromiseProof, prove_along, prove_promise,
};
use crate::diagnostic::{Code, Diagnostic};
use crate::program::{Decision, DecisionId, Program, Promise, PromiseAgainst, Shown, Type};
use crate::syntax::tree;

impl Checker<'_> {
    /// A promise with its names and types resolved.
    pub(super) fn promise(
        &mut self,
        promise: &tree::Promise,
        decide: &tree::Decide,
        scope: &Scope,
        value_type: Type,
    ) -> Option<Promise> {
        let text = self.text(promise.span);
        if !value_type.is_ordered() {
            let name = self.type_name(value_type);
            let message = format!(
                "`{}` is of type {name}, whose values have no order: none falls or rises",
                decide.name.text
            );
            return self.error(Code::TypeMismatch, promise.span, message);
        }
        let against = match &promise.against {
            tree::PromiseAgainst::AlongTheBag => {
                if decide.for_each.is_none() {
                    let message = format!(
                        "`{}` is not decided along the bag: it is for no group",
                        decide.name.text
                    );
                    let finding = Diagnostic::error(Code::ClauseCount, promise.span, message)
                        .with_help("write `, for each GROUP in order of FIELD` in the header");
                    return self.report(finding);
                }
                PromiseAgainst::AlongTheBag
            }
            tree::PromiseAgainst::As { what, rises } => {
                let value = self.expression(what, scope, None)?;
                if !value.value_type.is_ordered() {
                    let (text, name) = (self.text(what.span), self.type_name(value.value_type));
                    let message =
                        format!("`{text}` is of type {name}, whose values neither rise nor fall");
                    return self.error(Code::TypeMismatch, what.span, message);
                }
                let shown = self.shown_of(&value);
                PromiseAgainst::As {
                    what: Box::new(value),
                    text: self.text(what.span),
                    shown,
                    rises: *rises,
                }
            }
        };
        Some(Promise {
            span: promise.span,
            text,
            is_tested: promise.tested,
            never_falls: promise.never_falls,
            against,
        })
    }

    /// Proves the promises of a decision whose tables are proved; those that are only tested are
    /// left to the engine.
    pub(super) fn prove_promises(&mut self, id: DecisionId) {
        let decision = &self.program.decisions[id];
        let to_prove = decision
            .promises
            .iter()
            .filter(|promise| !promise.is_tested);
        let findings: Vec<Diagnostic> = to_prove
            .filter_map(|promise| prove(&self.program, decision, promise))
            .collect();
        self.diagnostics.extend(findings);
    }
}

fn prove(program: &Program, decision: &Decision, promise: &Promise) -> Option<Diagnostic> {
    match &promise.against {
        PromiseAgainst::As {
            what, text, shown, ..
        } => match prove_promise(program, decision, promise, what) {
            PromiseProof::Proved => None,
            PromiseProof::Broken(found) => {
                let x = (text.as_str(), what.value_type, shown);
                Some(broken(program, decision, promise, x, &found))
            }
            PromiseProof::NotProvable(why, span) => Some(not_provable(promise, &why, span)),
        },
        PromiseAgainst::AlongTheBag => match prove_along(program, decision, promise) {
            AlongProof::Proved => None,
            AlongProof::Broken(why, span) => {
                let message = format!("`{}` is not kept by `{}`", promise.text, decision.name);
                let finding = Diagnostic::error(Code::PromiseBroken, span, message)
                    .labelled(why)
                    .also_at(promise.span, "this is promised");
                Some(finding)
            }
            AlongProof::BrokenByRows(found) => {
                let order = decision.for_each.as_ref()?.order.as_ref()?;
                let shown = Shown::default();
                let x = (order.text.as_str(), order.key.value_type, &shown);
                Some(broken(program, decision, promise, x, &found))
            }
            AlongProof::NotProvable(why, span) => Some(not_provable(promise, &why, span)),
        },
    }
}

fn not_provable(promise: &Promise, why: &str, span: Option<crate::syntax::Span>) -> Diagnostic {
    let message = format!("`{}` cannot be proved", promise.text);
    let mut finding = Diagnostic::error(Code::PromiseNotProvable, promise.span, message);
    match span {
        Some(span) => finding = finding.also_at(span, why),
        None => finding = finding.labelled(why),
    }
    finding.with_help(format!(
        "write `tested {}`: it is then tried at players",
        promise.text
    ))
}

/// Two players, the rows that decide for them, and what stays the same.
fn broken(
    program: &Program,
    decision: &Decision,
    promise: &Promise,
    (name, value_type, shown): (&str, Type, &Shown),
    found: &CounterExample,
) -> Diagnostic {
    let at = |player: &Player| shown.text(program, value_type, &player.at);
    let gives = |player: &Player| {
        let shown = &decision.shown;
        shown.text(program, decision.value_type, &player.gives)
    };
    let others: Vec<String> = found
        .others
        .iter()
        .map(|(column, value)| format!("`{column}` {value}"))
        .collect();
    let with = match others.as_slice() {
        [] => String::new(),
        others => format!("with {}, ", others.join(" and ")),
    };
    let (lower, higher) = (&found.lower, &found.higher);
    let message = format!(
        "`{}` is not kept: {with}`{name}` of {} gives {}, and of {} gives {}",
        promise.text,
        at(lower),
        gives(lower),
        at(higher),
        gives(higher)
    );
    let mut finding =
        Diagnostic::error(Code::PromiseBroken, promise.span, message).labelled("this is promised");
    for (number, table) in decision.tables().into_iter().enumerate() {
        let row = |player: &Player| {
            let row = player.rows.get(number).copied().flatten();
            row.and_then(|row| table.rows.get(row))
        };
        let spans = (
            row(lower).map(|row| row.span),
            row(higher).map(|row| row.span),
        );
        if spans.0 == spans.1 {
            continue;
        }
        for (span, player) in [(spans.0, lower), (spans.1, higher)] {
            if let Some(span) = span {
                finding = finding.also_at(span, format!("`{name}` of {}", at(player)));
            }
        }
    }
    finding
}
