//! `limit` and `caution`: the same lines, in any order; a caution may say at which work it stands.

use super::clause::{Clause, once};
use super::reading::{Node, Reading, parts};
use crate::syntax::grammar::Rule;
use crate::syntax::reader::Line;
use crate::syntax::tree::{Caution, Expression, ForEach, InForce, Limit, Name, Source, Text};

const LIMIT_CLAUSES: &[Clause] = &[
    once("says", Rule::says_line),
    once("source", Rule::source_line),
    once("about", Rule::about_line),
    once("only when", Rule::only_when_line),
    once("in force from", Rule::in_force_line),
];

const CAUTION_CLAUSES: &[Clause] = &[
    once("at", Rule::at_line),
    once("says", Rule::says_line),
    once("source", Rule::source_line),
    once("about", Rule::about_line),
    once("only when", Rule::only_when_line),
    once("in force from", Rule::in_force_line),
];

/// What a limit and a caution have in common.
#[derive(Debug)]
struct Named {
    name: Name,
    for_each: Option<ForEach>,
    condition: Expression,
}

#[derive(Debug, Default)]
struct Lines {
    says: Option<Text>,
    source: Option<Source>,
    about: Option<Text>,
    only_when: Option<Expression>,
    in_force: Option<InForce>,
    at: Vec<Name>,
}

impl Reading<'_, '_> {
    pub(super) fn limit(&mut self, header: Line, body: &[Line]) -> Option<Limit> {
        let named = self.named_condition(header, Rule::limit);
        let lines = self.limit_lines("a `limit`", LIMIT_CLAUSES, body);
        let named = named?;
        Some(Limit {
            name: named.name,
            for_each: named.for_each,
            condition: named.condition,
            source: lines.source,
            about: lines.about,
            says: lines.says,
            only_when: lines.only_when,
            in_force: lines.in_force,
        })
    }

    pub(super) fn caution(&mut self, header: Line, body: &[Line]) -> Option<Caution> {
        let named = self.named_condition(header, Rule::caution);
        let lines = self.limit_lines("a `caution`", CAUTION_CLAUSES, body);
        let named = named?;
        Some(Caution {
            name: named.name,
            for_each: named.for_each,
            condition: named.condition,
            says: lines.says,
            source: lines.source,
            about: lines.about,
            only_when: lines.only_when,
            in_force: lines.in_force,
            at: lines.at,
        })
    }

    fn named_condition(&mut self, header: Line, rule: Rule) -> Option<Named> {
        let node = self.parse(header, rule)?;
        Some(Named {
            name: self.name_in(&node)?,
            for_each: self.for_each_in(&node),
            condition: self.expression_in(&node)?,
        })
    }

    fn limit_lines(&mut self, kind: &str, clauses: &[Clause], body: &[Line]) -> Lines {
        let mut lines = Lines::default();
        for line in body {
            let Some(node) = self.clause(kind, clauses, *line) else {
                continue;
            };
            match node.as_rule() {
                Rule::at_line => lines.at = self.names_in(&node),
                Rule::says_line => lines.says = self.text_in(&node),
                Rule::source_line => lines.source = self.source(&node),
                Rule::about_line => lines.about = self.text_in(&node),
                Rule::only_when_line => lines.only_when = self.expression_in(&node),
                _ => lines.in_force = self.in_force(&node),
            }
        }
        lines
    }

    fn in_force(&mut self, node: &Node<'_>) -> Option<InForce> {
        let mut dates = parts(node);
        let from = self.date(&dates.next()?)?;
        let until = match dates.next() {
            Some(until) => Some(self.date(&until)?),
            None => None,
        };
        Some(InForce {
            from,
            until,
            span: self.span(node),
        })
    }
}
