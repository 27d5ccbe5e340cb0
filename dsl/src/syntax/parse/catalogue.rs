//! Parts, groups, models, and what the engine reads.

use super::clause::{Clause, many, once};
use super::reading::{Node, Reading, child, has, parts};
use crate::diagnostic::{Code, Diagnostic};
use crate::syntax::grammar::Rule;
use crate::syntax::reader::Line;
use crate::syntax::tree::{
    Field, Group, GroupOrigin, Model, ModelArgument, Part, Promise, PromiseAgainst, Reads,
    ReadsWhat,
};

/// What is read, from the fields that it must have.
type WithFields = fn(Vec<Field>) -> ReadsWhat;

const FIELDS: &[Clause] = &[many("has", Rule::field_line)];

const GROUP: &[Clause] = &[
    once("is", Rule::where_line),
    many("has", Rule::field_line),
    once("about", Rule::about_line),
];

const MODEL: &[Clause] = &[
    once("about", Rule::about_line),
    once("source", Rule::source_line),
    once("answers to", Rule::answers_to_line),
    many("never", Rule::promise_line),
    many("tested", Rule::promise_line),
];

impl Reading<'_, '_> {
    pub(super) fn part(&mut self, header: Line, body: &[Line]) -> Option<Part> {
        let node = self.parse(header, Rule::part);
        let names = node.map(|node| self.names_in(&node));
        let fields = self.fields("a `part`", body);
        if fields.is_empty() {
            self.missing(
                self.line_span(header),
                "a part without fields",
                "write at least one line such as `has mass : mass`",
            );
        }
        let mut names = names?.into_iter();
        Some(Part {
            name: names.next()?,
            plural: names.next(),
            fields,
        })
    }

    fn fields(&mut self, kind: &str, body: &[Line]) -> Vec<Field> {
        let mut fields = Vec::new();
        for line in body {
            if let Some(node) = self.clause(kind, FIELDS, *line) {
                fields.extend(self.field(&node));
            }
        }
        fields
    }

    fn field(&mut self, node: &Node<'_>) -> Option<Field> {
        Some(Field {
            name: self.name_in(node)?,
            type_reference: self.type_in(node)?,
            may_be_unknown: has(node, Rule::kw_may_be_unknown),
            of_each_piece: has(node, Rule::kw_of_each_piece),
            between: match child(node, Rule::range) {
                Some(range) => Some(self.range(&range)?),
                None => None,
            },
        })
    }

    pub(super) fn group(&mut self, header: Line, body: &[Line]) -> Option<Group> {
        let built = self.parse(header, Rule::group).and_then(|node| {
            let name = self.name_in(&node)?;
            Some((name, self.header_origin(&node)))
        });
        let (mut where_origin, mut fields, mut about) = (None, Vec::new(), None);
        for line in body {
            let Some(node) = self.clause("a `group`", GROUP, *line) else {
                continue;
            };
            match node.as_rule() {
                Rule::where_line => {
                    where_origin = self.name_in(&node).zip(self.expression_in(&node));
                }
                Rule::about_line => about = self.text_in(&node),
                _ => fields.extend(self.field(&node)),
            }
        }
        let (name, origin) = built?;
        if origin.is_some()
            && let Some(second) = self.clauses.get("is").copied()
        {
            let finding = Diagnostic::error(
                Code::ClauseCount,
                second,
                "a group whose members are said twice",
            )
            .also_at(self.line_span(header), "here already");
            self.fail_with(finding);
        }
        let origin = origin
            .or_else(|| where_origin.map(|(of, condition)| GroupOrigin::Where { of, condition }));
        Some(Group {
            name,
            origin,
            fields,
            about,
        })
    }

    fn header_origin(&self, node: &Node<'_>) -> Option<GroupOrigin> {
        if has(node, Rule::kw_given_with_the_player) {
            return Some(GroupOrigin::GivenWithThePlayer);
        }
        if let Some(as_many_as) = child(node, Rule::as_many_as) {
            return self.name_in(&as_many_as).map(GroupOrigin::AsManyAs);
        }
        let made_by = child(node, Rule::made_by)?;
        let mut names = self.names_in(&made_by).into_iter();
        Some(GroupOrigin::MadeBy {
            maker: names.next()?,
            from: names.collect(),
        })
    }

    pub(super) fn model(&mut self, header: Line, body: &[Line]) -> Option<Model> {
        let built = self.parse(header, Rule::model).and_then(|node| {
            let mut arguments = Vec::new();
            for part in parts(&node) {
                if part.as_rule() == Rule::argument {
                    arguments.push(self.argument(&part)?);
                }
            }
            Some(Model {
                name: self.name_in(&node)?,
                arguments,
                type_reference: self.type_in(&node)?,
                about: None,
                source: None,
                answers_to: None,
                promises: Vec::new(),
            })
        });
        let (mut about, mut source, mut answers_to) = (None, None, None);
        let mut promises = Vec::new();
        for line in body {
            let Some(node) = self.clause("a `model`", MODEL, *line) else {
                continue;
            };
            match node.as_rule() {
                Rule::about_line => about = self.text_in(&node),
                Rule::source_line => source = self.source(&node),
                Rule::answers_to_line => answers_to = self.literal_in(&node),
                _ => promises.extend(self.promise(&node)),
            }
        }
        Some(Model {
            about,
            source,
            answers_to,
            promises,
            ..built?
        })
    }

    fn argument(&mut self, node: &Node<'_>) -> Option<ModelArgument> {
        Some(ModelArgument {
            name: self.name_in(node)?,
            type_reference: self.type_in(node)?,
            between: match child(node, Rule::range) {
                Some(range) => Some(self.range(&range)?),
                None => None,
            },
        })
    }

    pub(super) fn reads(&mut self, header: Line, body: &[Line], next: &str) -> Option<Reads> {
        // A decision may be called `part` or `group`: then a colon follows.
        let with_fields = match next {
            _ if self.text_of(header).contains(':') => None,
            "part" => Some((
                Rule::reads_part,
                "a `reads part`",
                ReadsWhat::Part as WithFields,
            )),
            "group" => Some((
                Rule::reads_group,
                "a `reads group`",
                ReadsWhat::Group as WithFields,
            )),
            _ => None,
        };
        if let Some((rule, what, with_fields)) = with_fields {
            let name = self
                .parse(header, rule)
                .and_then(|node| self.name_in(&node));
            let fields = self.fields(what, body);
            return Some(Reads {
                name: name?,
                what: with_fields(fields),
            });
        }
        let built = self.parse(header, Rule::reads).and_then(|node| {
            let mut names = self.names_in(&node).into_iter();
            Some(Reads {
                name: names.next()?,
                what: ReadsWhat::Value {
                    type_reference: self.type_in(&node)?,
                    for_each: names.next(),
                },
            })
        });
        self.no_clauses("a `reads`", body);
        built
    }

    /// `[tested] never falls as X rises`, `never rises along the bag`.
    pub(super) fn promise(&mut self, node: &Node<'_>) -> Option<Promise> {
        let against = match child(node, Rule::as_other) {
            Some(other) => PromiseAgainst::As {
                what: *self.leaf(&child(&other, Rule::reference)?)?,
                rises: has(&other, Rule::kw_rises),
            },
            None => PromiseAgainst::AlongTheBag,
        };
        Some(Promise {
            span: self.span(node),
            tested: has(node, Rule::kw_tested),
            never_falls: has(node, Rule::kw_falls),
            against,
        })
    }
}
