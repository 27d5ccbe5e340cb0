//! `choose`: a part for a club.

use super::clause::{Clause, many, once};
use super::declaration::is_largest_first;
use super::reading::{Node, Reading, child, has, parts};
use crate::syntax::grammar::Rule;
use crate::syntax::reader::Line;
use crate::syntax::tree::{
    AgreesOn, CandidateLet, Choose, Needs, Preference, Prefers, Rung, RungKind, Takes, TieBreak,
};

const CLAUSES: &[Clause] = &[
    once("about", Rule::about_line),
    once("source", Rule::source_line),
    once("only when", Rule::only_when_line),
    many("let", Rule::let_line),
    once("takes", Rule::takes_line),
    many("agrees on", Rule::agrees_on_line),
    many("needs", Rule::needs_line),
    many("prefers", Rule::prefers_line),
    once("ties by", Rule::ties_by_line),
    many("if none on hand", Rule::rung_line),
];

impl Reading<'_, '_> {
    pub(super) fn choose(&mut self, header: Line, body: &[Line]) -> Option<Choose> {
        let mut choose = self
            .parse(header, Rule::choose)
            .and_then(|node| self.choose_header(&node));
        for line in body {
            let Some(node) = self.clause("a `choose`", CLAUSES, *line) else {
                continue;
            };
            match choose.as_mut() {
                Some(choose) => {
                    if self.choose_clause(choose, &node).is_none() {
                        self.damage();
                    }
                }
                None => self.damage(),
            }
        }
        choose
    }

    fn choose_header(&mut self, node: &Node<'_>) -> Option<Choose> {
        let mut names = self.names_in(node).into_iter();
        let mut after = Vec::new();
        for part in parts(node).filter(|part| part.as_rule() == Rule::after) {
            after.extend(self.names_in(&part));
        }
        Some(Choose {
            name: names.next()?,
            from: names.next()?,
            in_each: child(node, Rule::in_each).and_then(|part| self.name_in(&part)),
            for_each: self.for_each_in(node),
            after,
            about: None,
            source: None,
            only_when: None,
            lets: Vec::new(),
            takes: None,
            agrees_on: Vec::new(),
            needs: Vec::new(),
            prefers: Vec::new(),
            ties: Vec::new(),
            rungs: Vec::new(),
        })
    }

    fn choose_clause(&mut self, choose: &mut Choose, node: &Node<'_>) -> Option<()> {
        match node.as_rule() {
            Rule::about_line => choose.about = self.text_in(node),
            Rule::source_line => choose.source = self.source(node),
            Rule::only_when_line => choose.only_when = Some(self.expression_in(node)?),
            Rule::let_line => choose.lets.push(CandidateLet {
                name: self.name_in(node)?,
                value: self.expression_in(node)?,
            }),
            Rule::takes_line => {
                choose.takes = Some(Takes {
                    count: self.number(&child(node, Rule::number)?)?,
                    from: self.name_in(node)?,
                    together: child(node, Rule::kw_together).map(|word| self.span(&word)),
                });
            }
            Rule::agrees_on_line => choose.agrees_on.push(AgreesOn {
                span: self.span(node),
                field: self.name_in(node)?,
                when: self.when_in(node)?,
            }),
            Rule::needs_line => {
                let needs = self.needs_in(node)?;
                choose.needs.push(needs);
            }
            Rule::prefers_line => {
                let prefers = self.prefers(node)?;
                choose.prefers.push(prefers);
            }
            Rule::ties_by_line => {
                for tie in parts(node) {
                    choose.ties.push(TieBreak {
                        by: self.name_in(&tie)?,
                        largest_first: is_largest_first(&tie),
                    });
                }
            }
            _ => {
                let rung = self.rung(node)?;
                choose.rungs.push(rung);
            }
        }
        Some(())
    }

    /// `when C` among the parts of a node; `None` where it is there and cannot be read.
    fn when_in(&mut self, node: &Node<'_>) -> Option<Option<crate::syntax::tree::Expression>> {
        match child(node, Rule::when) {
            None => Some(None),
            Some(when) => Some(Some(self.condition(&child(&when, Rule::condition)?)?)),
        }
    }

    fn needs_in(&mut self, node: &Node<'_>) -> Option<Needs> {
        let node = child(node, Rule::needs)?;
        Some(Needs {
            span: self.span(&node),
            condition: self.expression_in(&node)?,
            when: self.when_in(&node)?,
            because: self.because_in(&node),
        })
    }

    fn prefers(&mut self, node: &Node<'_>) -> Option<Prefers> {
        let what = match child(node, Rule::preferred_near) {
            Some(near) => {
                let mut sums = parts(&near);
                Preference::Near {
                    value: self.sum(&sums.next()?)?,
                    near: self.sum(&sums.next()?)?,
                    within: self.sum(&sums.next()?)?,
                }
            }
            None => Preference::Holds(self.condition(&child(node, Rule::condition)?)?),
        };
        Some(Prefers {
            span: self.span(node),
            what,
            weight: self.number(&child(node, Rule::number)?)?,
            when: self.when_in(node)?,
            because: self.because_in(node),
        })
    }

    fn rung(&mut self, node: &Node<'_>) -> Option<Rung> {
        let kind = if has(node, Rule::kw_orders) {
            RungKind::Orders
        } else if has(node, Rule::kw_leaves_open) {
            RungKind::LeavesOpen
        } else {
            RungKind::Needs(self.needs_in(node)?)
        };
        Some(Rung {
            span: self.span(node),
            kind,
            says: child(node, Rule::rung_says).and_then(|says| self.text_in(&says)),
        })
    }
}
