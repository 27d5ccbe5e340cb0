//! `case` and `drop case`.

use super::clause::{Clause, many, once};
use super::node::position;
use super::reading::{Node, Reading, child, has, only, parts};
use crate::diagnostic::Code;
use crate::syntax::grammar::Rule;
use crate::syntax::reader::Line;
use crate::syntax::tree::{Case, DropCase, Expect, ExpectKind, Given, GivenValue};

const CLAUSES: &[Clause] = &[
    many("given", Rule::given_line),
    many("expect", Rule::expect_line),
    once("with stock", Rule::with_stock_line),
];

impl Reading<'_, '_> {
    pub(super) fn case(&mut self, header: Line, body: &[Line]) -> Option<Case> {
        let title = self
            .parse(header, Rule::case)
            .and_then(|node| self.text_in(&node));
        let (mut given, mut expect, mut with_stock) = (Vec::new(), Vec::new(), None);
        for line in body {
            let Some(node) = self.clause("a `case`", CLAUSES, *line) else {
                continue;
            };
            match node.as_rule() {
                Rule::given_line => given.extend(self.given(&node)),
                Rule::with_stock_line => with_stock = self.text_in(&node),
                _ => expect.extend(self.expect(&node)),
            }
        }
        if expect.is_empty() {
            self.missing(
                self.line_span(header),
                "a case that expects nothing",
                "write at least one line such as `expect wedge_count = 3`",
            );
        }
        Some(Case {
            title: title?,
            given,
            with_stock,
            expect,
        })
    }

    fn given(&mut self, node: &Node<'_>) -> Option<Given> {
        let member = match child(node, Rule::member) {
            Some(member) => {
                let index = child(&member, Rule::index)?;
                let span = self.span(&index);
                let Some(number) = index.as_str().parse().ok().filter(|number| *number > 0) else {
                    self.fail(
                        Code::BadLiteral,
                        span,
                        format!(
                            "`{}` is no number of a club; they count from 1",
                            index.as_str()
                        ),
                    );
                    return None;
                };
                Some((number, self.name_in(&member)?))
            }
            None => None,
        };
        let mut literals = parts(node).filter(|part| part.as_rule() == Rule::literal);
        let value = match (literals.next(), literals.next()) {
            (None, _) => GivenValue::Unknown,
            (Some(exact), None) => GivenValue::Exact(self.literal(&exact)?),
            (Some(low), Some(high)) => {
                let (low, high) = self.bounds(&low, &high)?;
                GivenValue::Through(low, high)
            }
        };
        Some(Given {
            span: self.span(node),
            name: self.name_in(node)?,
            member,
            value,
        })
    }

    fn expect(&mut self, node: &Node<'_>) -> Option<Expect> {
        let inner = only(node)?;
        let mut names = self.names_in(&inner).into_iter();
        let name = names.next()?;
        let kind = match inner.as_rule() {
            Rule::expect_caution => ExpectKind::Caution {
                raised: !has(&inner, Rule::kw_no),
                name,
            },
            Rule::expect_limit => ExpectKind::Limit {
                broken: !has(&inner, Rule::kw_no),
                name,
            },
            Rule::expect_every => ExpectKind::Every {
                name,
                value: self.literal_in(&inner)?,
            },
            Rule::expect_needs => ExpectKind::Needs {
                name,
                reading: names.next()?,
            },
            Rule::expect_cannot_happen => ExpectKind::CannotHappen { name },
            Rule::expect_member => ExpectKind::OfMember {
                name,
                position: position(&child(&inner, Rule::position)?),
                group: names.next()?,
                value: self.literal_in(&inner)?,
            },
            _ => {
                let mut values = Vec::new();
                for part in parts(&inner).filter(|part| part.as_rule() == Rule::literal) {
                    values.push(self.literal(&part)?);
                }
                ExpectKind::Values { name, values }
            }
        };
        Some(Expect {
            span: self.span(node),
            kind,
        })
    }

    pub(super) fn drop_case(&mut self, header: Line, body: &[Line]) -> Option<DropCase> {
        let built = self.parse(header, Rule::drop_case).and_then(|node| {
            Some(DropCase {
                title: self.text_in(&node)?,
                because: self.because_in(&node)?,
            })
        });
        self.no_clauses("a `drop case`", body);
        built
    }
}
