//! What a name means where it stands: a value of the expected type, then a field of the candidate
//! or club at hand, then a declaration.

use super::checker::{Checker, Progress, Symbol};
use super::expression::typed;
use super::members::field_of;
use super::scope::Scope;
use super::uses::Target;
use crate::diagnostic::{Code, Diagnostic};
use crate::program::{
    CandidateValue, ChooseId, Expression, ExpressionKind, Member, Type, Vocabulary,
};
use crate::syntax::Span;
use crate::syntax::nearest::nearest;
use crate::syntax::tree::{self, Name, Reference};

/// Names of this length and more are slips of the hand where a declared name is near.
const LONG_NAME_CHARACTERS: usize = 6;

impl Checker<'_> {
    /// A name, perhaps with a field, `previous` or steps.
    pub(super) fn reference(
        &mut self,
        reference: &Reference,
        span: Span,
        scope: &Scope,
        expected: Option<Type>,
    ) -> Option<Expression> {
        let steps = reference.plus_half_steps;
        if let (Some(name), None, false, Some(expected)) = (
            &reference.name,
            &reference.field,
            reference.previous,
            expected,
        ) && let Some(word) = self.word(name, steps, expected)
        {
            return Some(typed(ExpressionKind::Constant(word?), expected, span));
        }
        let mut found = match (&reference.name, &reference.field, reference.previous) {
            (None, _, _) => self.previous_value(span, scope)?,
            (Some(group), Some(field), true) => self.previous_field(group, field, span, scope)?,
            (Some(name), None, true) => {
                let message = format!("`previous {}` is a club: say which field of it", name.text);
                return self.error(Code::WrongKind, span, message);
            }
            (Some(name), Some(field), false) => self.qualified(name, field, span, scope)?,
            (Some(name), None, false) => self.plain_name(name, scope, expected)?,
        };
        found.span = span;
        if steps != 0 {
            self.check_steps(found.value_type, steps, span)?;
            let value_type = found.value_type;
            found = typed(
                ExpressionKind::Moved(Box::new(found), steps),
                value_type,
                span,
            );
        }
        Some(found)
    }

    fn previous_value(&mut self, span: Span, scope: &Scope) -> Option<Expression> {
        match scope.previous {
            Some(value_type) => Some(typed(ExpressionKind::PreviousValue, value_type, span)),
            None => self.error(
                Code::OutOfScope,
                span,
                "`previous` has a meaning only on the `next` and `last` lines of a progression",
            ),
        }
    }

    fn previous_field(
        &mut self,
        group: &Name,
        field: &Name,
        span: Span,
        scope: &Scope,
    ) -> Option<Expression> {
        let group_id = self.group_named(group)?;
        self.same_club(group_id, group.span, scope)?;
        let (index, value_type) = self.group_field(group_id, field)?;
        let kind = ExpressionKind::Field {
            group: group_id,
            field: index,
            member: Member::Previous,
        };
        Some(typed(kind, value_type, span))
    }

    /// `name.field`: of a club at hand, of the setting at hand, of a part that was chosen.
    fn qualified(
        &mut self,
        name: &Name,
        field: &Name,
        span: Span,
        scope: &Scope,
    ) -> Option<Expression> {
        if let Some(candidate) = &scope.candidate
            && let Some(setting) = candidate.setting
            && self.program.parts[setting].name == name.text
        {
            self.note_use(name.span, Target::Symbol(Symbol::Part(setting)));
            let (index, value_type) = self.part_field(setting, field)?;
            let kind = ExpressionKind::Candidate(CandidateValue::Setting(index));
            return Some(typed(kind, value_type, span));
        }
        match self.symbol(name) {
            Some(Symbol::Group(group)) => {
                self.same_club(group, name.span, scope)?;
                let (index, value_type) = self.group_field(group, field)?;
                let kind = ExpressionKind::Field {
                    group,
                    field: index,
                    member: Member::Same,
                };
                Some(typed(kind, value_type, span))
            }
            Some(Symbol::Choose(choose)) => self.chosen(choose, name, field, span, scope),
            Some(other) => {
                let message = format!("`{}` is {}: it has no fields", name.text, other.word());
                self.error(Code::WrongKind, name.span, message)
            }
            None => {
                let known = self.declared_names();
                self.unknown_name(name, "declared", known)
            }
        }
    }

    fn chosen(
        &mut self,
        choose: ChooseId,
        name: &Name,
        field: &Name,
        span: Span,
        scope: &Scope,
    ) -> Option<Expression> {
        let for_each = self.program.chooses[choose].for_each.as_ref();
        let member = self.member_at_hand(for_each.map(|for_each| for_each.group), name, scope)?;
        self.ensure_candidate_lets(choose);
        let Some((value, value_type)) = self.chosen_value(choose, field) else {
            // Neither a let nor of the setting: reported as the field that the part lacks.
            let part = self.program.chooses[choose].part;
            return self.part_field(part, field).and(None);
        };
        let kind = ExpressionKind::Chosen {
            choose,
            value,
            member,
        };
        Some(typed(kind, value_type, span))
    }

    /// What of a chosen part a name means: its field, a let of the choice, a field of its setting.
    fn chosen_value(&mut self, id: ChooseId, name: &Name) -> Option<(CandidateValue, Type)> {
        let choose = &self.program.chooses[id];
        let (part, in_each) = (choose.part, choose.in_each);
        let fields = |part| &self.program.parts[part].fields;
        if let Ok((index, value_type)) = field_of(fields(part), &name.text) {
            self.note_use(name.span, Target::PartField(part, index));
            return Some((CandidateValue::Field(index), value_type));
        }
        let mut lets = choose.lets.iter().enumerate();
        if let Some((index, let_)) = lets.find(|(_, let_)| let_.name == name.text) {
            let value_type = let_.value.value_type;
            self.note_use(name.span, Target::CandidateLet(id, index));
            return Some((CandidateValue::Let(index), value_type));
        }
        let (_, setting) = in_each?;
        let (index, value_type) = field_of(fields(setting), &name.text).ok()?;
        self.note_use(name.span, Target::PartField(setting, index));
        Some((CandidateValue::Setting(index), value_type))
    }

    /// `its field`: of the candidate at hand.
    pub(super) fn its(&mut self, name: &Name, scope: &Scope) -> Option<Expression> {
        let Some(candidate) = scope.candidate.clone() else {
            return self.error(
                Code::OutOfScope,
                name.span,
                "`its` speaks of a candidate: it has a meaning only inside `choose`",
            );
        };
        if let Some(found) = self.candidate_value(name, &candidate) {
            return Some(found);
        }
        self.part_field(candidate.part, name)
            .map(|(index, value_type)| {
                typed(
                    ExpressionKind::Candidate(CandidateValue::Field(index)),
                    value_type,
                    name.span,
                )
            })
    }

    fn candidate_value(
        &mut self,
        name: &Name,
        candidate: &super::scope::CandidateScope,
    ) -> Option<Expression> {
        if let Some((index, (_, value_type, _))) = candidate
            .lets
            .iter()
            .enumerate()
            .find(|(_, (let_, _, _))| *let_ == name.text)
        {
            if let Some(choose) = candidate.choose {
                self.note_use(name.span, Target::CandidateLet(choose, index));
            }
            let kind = ExpressionKind::Candidate(CandidateValue::Let(index));
            return Some(typed(kind, *value_type, name.span));
        }
        let part = &self.program.parts[candidate.part];
        let index = part.field_index(&name.text)?;
        let value_type = part.fields.get(index)?.value_type;
        self.note_use(name.span, Target::PartField(candidate.part, index));
        Some(typed(
            ExpressionKind::Candidate(CandidateValue::Field(index)),
            value_type,
            name.span,
        ))
    }

    /// A plain name.
    pub(super) fn plain_name(
        &mut self,
        name: &Name,
        scope: &Scope,
        expected: Option<Type>,
    ) -> Option<Expression> {
        if let Some(candidate) = &scope.candidate {
            let is_local_let = candidate.lets.iter().any(|(let_, _, _)| *let_ == name.text);
            if (candidate.is_subject || is_local_let)
                && let Some(found) = self.candidate_value(name, candidate)
            {
                return Some(found);
            }
        }
        if let Some(group) = scope.group {
            let owner = self.field_owner(group);
            let field = self.program.groups[owner].field_index(&name.text);
            if let Some(index) = field
                && let Some(value_type) = self.program.groups[owner]
                    .fields
                    .get(index)
                    .map(|field| field.value_type)
            {
                self.note_use(name.span, Target::GroupField(owner, index));
                let kind = ExpressionKind::Field {
                    group,
                    field: index,
                    member: Member::Same,
                };
                return Some(typed(kind, value_type, name.span));
            }
        }
        self.declared(name, scope, expected)
    }

    pub(super) fn declared(
        &mut self,
        name: &Name,
        scope: &Scope,
        expected: Option<Type>,
    ) -> Option<Expression> {
        let span = name.span;
        match self.symbol(name) {
            Some(Symbol::Input(input)) => {
                let value_type = self.program.inputs[input].value_type;
                Some(typed(ExpressionKind::Input(input), value_type, span))
            }
            Some(Symbol::Let(id)) => {
                let group = self.program.lets[id].for_each;
                let member = self.member_at_hand(group, name, scope)?;
                if self.ensure_let(id) != Progress::Done {
                    return None;
                }
                let value_type = self.program.lets[id].value_type;
                Some(typed(ExpressionKind::Let(id, member), value_type, span))
            }
            Some(Symbol::Decision(id)) => {
                let decision = &self.program.decisions[id];
                let value_type = decision.value_type;
                let group = decision.for_each.as_ref().map(|for_each| for_each.group);
                let member = self.member_at_hand(group, name, scope)?;
                Some(typed(
                    ExpressionKind::Decision(id, member),
                    value_type,
                    span,
                ))
            }
            Some(other) => {
                let message = format!("`{}` is {}, not a value", name.text, other.word());
                let mut finding = Diagnostic::error(Code::WrongKind, span, message);
                if matches!(other, Symbol::Group(_) | Symbol::Choose(_)) {
                    finding =
                        finding.with_help(format!("say which field of it: `{}.…`", name.text));
                }
                self.report(finding)
            }
            None => self.unknown_value(name, scope, expected),
        }
    }

    fn unknown_value(
        &mut self,
        name: &Name,
        scope: &Scope,
        expected: Option<Type>,
    ) -> Option<Expression> {
        // A club may have a field of the name, where its group is not known whole.
        let at_hand = scope.group.map(|group| &self.program.groups[group].name);
        let may_be_a_field = at_hand.is_some_and(|group| self.is_damaged(group));
        let is_lost = self.is_lost(&name.text) || self.is_of_a_lost_group(name.span);
        if is_lost || may_be_a_field {
            return self.say_nothing(name.span);
        }
        let mut known = self.declared_names();
        if let Some(candidate) = &scope.candidate {
            let part = &self.program.parts[candidate.part];
            known.extend(part.fields.iter().map(|field| field.name.clone()));
            if part.field_index(&name.text).is_some() {
                let finding = Diagnostic::error(
                    Code::OutOfScope,
                    name.span,
                    format!(
                        "`{}` is the candidate's field; what follows the verb is the ruleset's",
                        name.text
                    ),
                )
                .with_help(format!("write `its {}`", name.text));
                return self.report(finding);
            }
        }
        let what = match expected {
            Some(expected) => format!("declared, nor a value of type {}", self.type_name(expected)),
            None => "declared".to_owned(),
        };
        if let Some(expected) = expected {
            let words = self.words_of(expected);
            let near = nearest(&name.text, words.iter().map(String::as_str));
            if near.is_none() && matches!(expected, Type::Choice(_) | Type::Scale(_)) {
                return self.no_such_word(name, expected, &what, &known);
            }
            known.extend(words);
        }
        let help = self.help_on_unknown(name, scope, expected);
        let found: Option<Expression> = self.unknown_name(name, &what, known);
        if let Some(last) = self.diagnostics.last_mut()
            && last.code == Code::UnknownName
            && last.help.is_empty()
        {
            last.help.extend(help);
        }
        found
    }

    /// A word that a vocabulary does not have: those it has. A short word is near to some name
    /// nearly always, so that only a long one is asked whether a declaration was meant.
    fn no_such_word<T>(
        &mut self,
        name: &Name,
        expected: Type,
        what: &str,
        known: &[String],
    ) -> Option<T> {
        let message = format!("`{}` is not {what}", name.text);
        let words = self.words_of(expected).join("`, `");
        let type_name = self.type_name(expected);
        let mut finding = Diagnostic::error(Code::UnknownName, name.span, message)
            .with_help(format!("a value of {type_name} is one of `{words}`"));
        let near = nearest(&name.text, known.iter().map(String::as_str));
        if let Some(near) = near.filter(|_| name.text.len() >= LONG_NAME_CHARACTERS) {
            finding = finding.with_help(format!("did you mean `{near}`?"));
        }
        self.report(finding)
    }

    /// What else is known of a name that nothing declares: a value of another vocabulary, or what
    /// the candidate has instead.
    fn help_on_unknown(
        &self,
        name: &Name,
        scope: &Scope,
        expected: Option<Type>,
    ) -> Option<String> {
        let has_word = |words: &&Vocabulary| words.words.contains(&name.text);
        let mut vocabularies = self.program.vocabularies.entries().map(|(_, words)| words);
        if let Some(vocabulary) = vocabularies.find(has_word) {
            let of = format!("`{}` is a value of `{}`", name.text, vocabulary.name);
            return Some(match expected {
                Some(Type::Flag) => format!(
                    "{of}: several values stand after `is one of`, as in `is one of A, {}`",
                    name.text
                ),
                _ => of,
            });
        }
        let candidate = scope.candidate.as_ref()?;
        let part = &self.program.parts[candidate.part];
        let fields: Vec<&str> = part
            .fields
            .iter()
            .map(|field| field.name.as_str())
            .collect();
        Some(format!("a `{}` has {}", part.name, fields.join(", ")))
    }

    /// A model asked with arguments.
    pub(super) fn call(
        &mut self,
        name: &Name,
        arguments: &[tree::Expression],
        span: Span,
        scope: &Scope,
    ) -> Option<Expression> {
        let Some(Symbol::Model(model)) = self.symbol(name) else {
            let known: Vec<String> = self
                .program
                .models
                .iter()
                .map(|model| model.name.clone())
                .collect();
            return self.unknown_name(name, "a model", known);
        };
        let wanted: Vec<Type> = self.program.models[model]
            .arguments
            .iter()
            .map(|argument| argument.value_type)
            .collect();
        if wanted.len() != arguments.len() {
            let names: Vec<&str> = self.program.models[model]
                .arguments
                .iter()
                .map(|argument| argument.name.as_str())
                .collect();
            let message = format!(
                "`{}` takes {} arguments ({}), and {} are given",
                name.text,
                wanted.len(),
                names.join(", "),
                arguments.len()
            );
            return self.error(Code::Arity, span, message);
        }
        let typed_arguments: Vec<_> = arguments
            .iter()
            .zip(wanted)
            .map(|(argument, wanted)| self.expression_of(argument, scope, wanted))
            .collect();
        let typed_arguments: Option<Vec<_>> = typed_arguments.into_iter().collect();
        let value_type = self.program.models[model].value_type;
        Some(typed(
            ExpressionKind::Model(model, typed_arguments?),
            value_type,
            span,
        ))
    }
}
