//! Every name gets its place before any body is looked at.

use super::checker::{Checker, Progress, Symbol};
use super::merge::Entry;
use super::uses::Target;
use crate::diagnostic::{Code, Diagnostic};
use crate::program::{
    Body, Caution, Choose, Decision, Expression, ExpressionKind, ForEach, Gives, Group, Input, Let,
    Limit, Members, Model, ModelArgument, Origin, Part, Shown, Type, Value, Vocabulary,
    VocabularyKind,
};
use crate::quantity::{Dimension, Rational};
use crate::syntax::Span;
use crate::syntax::tree::{self, DeclarationKind};

/// What stands in for a body until its pass.
pub(super) fn placeholder(span: Span) -> Expression {
    Expression {
        kind: ExpressionKind::Constant(Value::Number(Rational::ZERO)),
        value_type: Type::Quantity(Dimension::NUMBER),
        span,
    }
}

impl<'a> Checker<'a> {
    /// Gives every declaration its place: vocabularies first, since types name them, then parts,
    /// then the rest.
    pub(super) fn declare(&mut self) {
        let merged = self.merged;
        for entry in &merged.entries {
            self.declare_vocabulary(entry);
        }
        for entry in &merged.entries {
            if let DeclarationKind::Part(part) = &entry.declaration.kind {
                self.declare_part(entry, part);
            }
        }
        for entry in &merged.entries {
            if let DeclarationKind::Part(part) = &entry.declaration.kind {
                self.fill_part(entry.name, part);
            }
        }
        for entry in &merged.entries {
            if let DeclarationKind::Group(group) = &entry.declaration.kind {
                self.declare_group(entry, group);
            }
        }
        for entry in &merged.entries {
            self.declare_value(entry);
        }
    }

    /// A field of the club at hand is found before a declaration: one of the same name for the
    /// same clubs could never be spoken of.
    pub(super) fn check_hidden_names(&mut self) {
        let lets = self
            .program
            .lets
            .iter()
            .map(|let_| (&let_.name, &let_.origin, let_.for_each));
        let decisions = self.program.decisions.iter().map(|decision| {
            let group = decision.for_each.as_ref().map(|for_each| for_each.group);
            (&decision.name, &decision.origin, group)
        });
        let mut findings = Vec::new();
        for (name, origin, group) in lets.chain(decisions) {
            let Some(group) = group else { continue };
            let identity = self.program.groups[group].identity;
            let hiding = self
                .program
                .groups
                .iter()
                .find(|other| other.identity == identity && other.field_index(name).is_some());
            if let Some(hiding) = hiding {
                findings.push(
                    Diagnostic::error(
                        Code::DeclaredTwice,
                        origin.span,
                        format!(
                            "`{name}` is a field of `{}` too, which hides it",
                            hiding.name
                        ),
                    )
                    .with_help(
                        "inside `for each` the club's field is found first: choose another name",
                    ),
                );
            }
        }
        self.diagnostics.extend(findings);
    }

    fn declare_vocabulary(&mut self, entry: &Entry<'a>) {
        let (words, kind) = match &entry.declaration.kind {
            DeclarationKind::Scale(scale) => (
                &scale.steps,
                VocabularyKind::Scale {
                    in_halves: scale.in_halves,
                },
            ),
            DeclarationKind::Choice(choice) => (&choice.values, VocabularyKind::Choice),
            _ => return,
        };
        let mut texts: Vec<String> = Vec::new();
        for word in words {
            if texts.contains(&word.text) {
                let message = format!("`{}` stands twice in `{}`", word.text, entry.name);
                let _: Option<()> = self.error(Code::DeclaredTwice, word.span, message);
            } else {
                texts.push(word.text.clone());
            }
        }
        let vocabulary = Vocabulary {
            name: entry.name.to_owned(),
            words: texts,
            kind,
            layer: entry.layer,
        };
        let id = self.program.vocabularies.push(vocabulary);
        self.symbols.insert(entry.name, Symbol::Vocabulary(id));
    }

    fn declare_part(&mut self, entry: &Entry<'a>, part: &tree::Part) {
        let plural = part.plural_text();
        let origin = self.origin(entry, part.name.span, None, None);
        let id = self.program.parts.push(Part {
            name: part.name.text.clone(),
            plural: plural.clone(),
            origin,
            fields: Vec::new(),
        });
        self.symbols.insert(entry.name, Symbol::Part(id));
        self.plurals.insert(plural, id);
    }

    fn fill_part(&mut self, name: &str, part: &tree::Part) {
        let Some(Symbol::Part(id)) = self.symbols.get(name).copied() else {
            return;
        };
        let fields = self.fields(&part.fields, true);
        self.program.parts[id].fields = fields;
    }

    fn declare_group(&mut self, entry: &Entry<'a>, group: &tree::Group) {
        let fields = self.fields(&group.fields, false);
        let origin = self.origin(entry, group.name.span, group.about.as_ref(), None);
        let id = self.program.groups.push(Group {
            name: group.name.text.clone(),
            origin,
            members: Members::GivenWithThePlayer,
            fields,
            identity: 0,
        });
        self.symbols.insert(entry.name, Symbol::Group(id));
    }

    fn declare_value(&mut self, entry: &Entry<'a>) {
        match &entry.declaration.kind {
            DeclarationKind::Input(input) => self.declare_input(entry, input),
            DeclarationKind::Model(model) => self.declare_model(entry, model),
            DeclarationKind::Let(let_) => self.declare_let(entry, let_),
            DeclarationKind::Decide(decide) => self.declare_decision(entry, decide),
            DeclarationKind::Choose(choose) => self.declare_choose(entry, choose),
            DeclarationKind::Limit(limit) => self.declare_limit(entry, limit),
            DeclarationKind::Caution(caution) => self.declare_caution(entry, caution),
            _ => {}
        }
    }

    fn declare_input(&mut self, entry: &Entry<'a>, input: &tree::Input) {
        let Some(value_type) = self.resolve_plain_type(&input.type_reference) else {
            return;
        };
        let origin = self.origin(entry, input.name.span, input.about.as_ref(), None);
        let between = self.range(input.between.as_ref(), value_type);
        let shown = self
            .shown_in(input.shown_in.as_ref(), value_type)
            .or_else(|| {
                input
                    .between
                    .as_ref()
                    .and_then(|range| Self::shown_by(&range.low))
            })
            .unwrap_or_default();
        let needs_range = matches!(
            value_type,
            Type::Quantity(_) | Type::Count | Type::Temperature | Type::Swingweight
        );
        if needs_range && input.between.is_none() && !entry.declaration.is_damaged {
            let message = format!("the input `{}` has no range", entry.name);
            let finding = Diagnostic::error(Code::BadRange, input.name.span, message)
                .with_help("say which readings are possible: `between A and B`");
            let _: Option<()> = self.report(finding);
        }
        let difference = value_type.dimension().map(Type::Quantity);
        let spread = match (&input.spread, difference) {
            (Some(spread), Some(difference)) => self.literal(spread, difference),
            (Some(spread), None) => {
                let message = format!(
                    "the input `{}` is not measured: it has no spread",
                    entry.name
                );
                self.error(Code::TypeMismatch, spread.span, message)
            }
            (None, _) => None,
        };
        let default = input
            .default
            .as_ref()
            .and_then(|default| self.default(default, value_type, between.as_ref()));
        let id = self.program.inputs.push(Input {
            name: input.name.text.clone(),
            origin,
            value_type,
            shown,
            ask: input.ask.as_ref().map(|text| text.text.clone()),
            between,
            spread,
            strike: input.strike.as_ref().map(|name| name.text.clone()),
            default,
            private: input
                .private
                .as_ref()
                .map(|kind| kind.as_ref().map(|kind| kind.text.clone())),
            only_when: None,
            formerly: input
                .formerly
                .iter()
                .map(|name| name.text.clone())
                .collect(),
            filled_by_the_engine: input.filled_by_the_engine,
        });
        self.symbols.insert(entry.name, Symbol::Input(id));
    }

    /// What is assumed must be a reading that could be given.
    fn default(
        &mut self,
        default: &tree::Literal,
        value_type: Type,
        between: Option<&(Value, Value)>,
    ) -> Option<Value> {
        let value = self.literal(default, value_type)?;
        if between.is_some_and(|(low, high)| value < *low || value > *high) {
            let text = self.text(default.span);
            return self.error(
                Code::OutsideRange,
                default.span,
                format!("the default `{text}` lies outside the input's own range"),
            );
        }
        Some(value)
    }

    fn declare_model(&mut self, entry: &Entry<'a>, model: &tree::Model) {
        let Some(value_type) = self.resolve_plain_type(&model.type_reference) else {
            return;
        };
        let origin = self.origin(
            entry,
            model.name.span,
            model.about.as_ref(),
            model.source.as_ref(),
        );
        let mut arguments = Vec::new();
        for argument in &model.arguments {
            let Some(argument_type) = self.resolve_plain_type(&argument.type_reference) else {
                return;
            };
            arguments.push(ModelArgument {
                name: argument.name.text.clone(),
                value_type: argument_type,
                between: self.range(argument.between.as_ref(), argument_type),
            });
        }
        let difference = value_type.dimension().map_or(value_type, Type::Quantity);
        let answers_to = match &model.answers_to {
            Some(literal) => self.literal(literal, difference),
            None => self.error(
                Code::ClauseCount,
                model.name.span,
                format!(
                    "the model `{}` does not say what it `answers to`",
                    entry.name
                ),
            ),
        };
        let Some(answers_to) = answers_to else { return };
        let id = self.program.models.push(Model {
            name: model.name.text.clone(),
            origin,
            arguments,
            value_type,
            answers_to,
        });
        self.symbols.insert(entry.name, Symbol::Model(id));
    }

    fn declare_let(&mut self, entry: &Entry<'a>, let_: &'a tree::Let) {
        let declared = let_
            .type_reference
            .as_ref()
            .map(|reference| self.resolve_type(reference));
        let progress = if declared == Some(None) {
            Progress::Failed
        } else {
            Progress::Waiting
        };
        let for_each = let_
            .for_each
            .as_ref()
            .and_then(|for_each| self.group_named(&for_each.group));
        let origin = self.origin(entry, let_.name.span, None, None);
        let id = self.program.lets.push(Let {
            name: let_.name.text.clone(),
            origin,
            value_type: declared
                .flatten()
                .unwrap_or(Type::Quantity(Dimension::NUMBER)),
            shown: Shown::default(),
            for_each,
            value: placeholder(let_.name.span),
            constant: None,
        });
        self.let_trees.push((let_, progress));
        self.symbols.insert(entry.name, Symbol::Let(id));
    }

    fn declare_decision(&mut self, entry: &Entry<'a>, decide: &tree::Decide) {
        let Some(value_type) = self.resolve_plain_type(&decide.type_reference) else {
            return;
        };
        let origin = self.origin(
            entry,
            decide.name.span,
            decide.about.as_ref(),
            decide.source.as_ref(),
        );
        let shown = self
            .shown_in(decide.shown_in.as_ref(), value_type)
            .or_else(|| super::decide::first_unit(decide, value_type))
            .unwrap_or_default();
        let for_each = self.for_each_shell(decide.for_each.as_ref());
        let span = decide.name.span;
        let id = self.program.decisions.push(Decision {
            name: decide.name.text.clone(),
            origin,
            value_type,
            shown,
            for_each,
            only_when: None,
            body: Body::Gives(Gives {
                value: placeholder(span),
                text: String::new(),
                because: None,
            }),
            steps: Vec::new(),
            promises: Vec::new(),
        });
        self.symbols.insert(entry.name, Symbol::Decision(id));
    }

    /// The group of a `for each`; the order is filled in with the body.
    fn for_each_shell(&mut self, for_each: Option<&tree::ForEach>) -> Option<ForEach> {
        let group = self.group_named(&for_each?.group)?;
        Some(ForEach { group, order: None })
    }

    fn declare_choose(&mut self, entry: &Entry<'a>, choose: &tree::Choose) {
        let Some(part) = self.plurals.get(&choose.from.text).copied() else {
            let plurals: Vec<String> = self.plurals.keys().cloned().collect();
            let _: Option<()> = self.unknown_name(&choose.from, "the plural of a part", plurals);
            return;
        };
        self.note_use(choose.from.span, Target::Plural(Symbol::Part(part)));
        let origin = self.origin(
            entry,
            choose.name.span,
            choose.about.as_ref(),
            choose.source.as_ref(),
        );
        let in_each = choose
            .in_each
            .as_ref()
            .and_then(|field| self.list_field(part, field));
        let for_each = self.for_each_shell(choose.for_each.as_ref());
        let id = self.program.chooses.push(Choose {
            name: choose.name.text.clone(),
            origin,
            part,
            in_each,
            for_each,
            after: Vec::new(),
            only_when: None,
            lets: Vec::new(),
            takes: None,
            together: false,
            agrees_on: Vec::new(),
            needs: Vec::new(),
            prefers: Vec::new(),
            ties: Vec::new(),
            rungs: Vec::new(),
        });
        self.symbols.insert(entry.name, Symbol::Choose(id));
    }

    fn declare_limit(&mut self, entry: &Entry<'a>, limit: &tree::Limit) {
        let origin: Origin = self.origin(
            entry,
            limit.name.span,
            limit.about.as_ref(),
            limit.source.as_ref(),
        );
        let for_each = limit
            .for_each
            .as_ref()
            .and_then(|for_each| self.group_named(&for_each.group));
        let id = self.program.limits.push(Limit {
            name: limit.name.text.clone(),
            origin,
            for_each,
            condition: placeholder(limit.name.span),
            text: self.text(limit.condition.span),
            only_when: None,
            in_force: limit.in_force.as_ref().map(|days| (days.from, days.until)),
            says: Vec::new(),
        });
        self.symbols.insert(entry.name, Symbol::Limit(id));
    }

    fn declare_caution(&mut self, entry: &Entry<'a>, caution: &tree::Caution) {
        let origin = self.origin(
            entry,
            caution.name.span,
            caution.about.as_ref(),
            caution.source.as_ref(),
        );
        let for_each = caution
            .for_each
            .as_ref()
            .and_then(|for_each| self.group_named(&for_each.group));
        let id = self.program.cautions.push(Caution {
            name: caution.name.text.clone(),
            origin,
            for_each,
            condition: placeholder(caution.name.span),
            text: self.text(caution.condition.span),
            only_when: None,
            in_force: caution
                .in_force
                .as_ref()
                .map(|days| (days.from, days.until)),
            says: Vec::new(),
            at: Vec::new(),
        });
        self.symbols.insert(entry.name, Symbol::Caution(id));
    }
}
