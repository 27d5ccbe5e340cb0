//! What a name means where it stands, and the vocabulary of what an expression gives.
//!
//! A name is first a value of the type expected, then a field of the candidate or club at hand,
//! then a declaration.

use loftwright_dsl::syntax::tree::{
    Aggregate, Direction, Expression, ExpressionKind, LiteralKind, Post, Reference,
};

use super::{Cause, Node, Oracle, Place, Scope, State, Undecided, Value};

impl Oracle<'_> {
    /// A word of a vocabulary, steps added.
    pub(super) fn word(&self, vocabulary: &str, word: &str, plus: i32) -> Option<Value> {
        let place = self.rules.vocabularies.get(vocabulary)?.place(word)?;
        Some(Value::Word {
            vocabulary: vocabulary.to_owned(),
            place: place + plus,
        })
    }

    /// The vocabulary of an expression's values, where they are words.
    pub(super) fn vocabulary_of(&self, expression: &Expression, scope: &Scope) -> Option<String> {
        match &expression.kind {
            ExpressionKind::Reference(reference) => self.vocabulary_of_reference(reference, scope),
            ExpressionKind::Its(name) => {
                let candidate = scope.candidate?;
                match candidate.let_expression(&name.text) {
                    Some(value) => self.vocabulary_of(value, &candidate.let_scope(scope)),
                    None => self.vocabulary_of_part_field(candidate.kind(), &name.text),
                }
            }
            ExpressionKind::OfMember { name, group, .. } => {
                let inner = Scope {
                    club: Some((group.text.clone(), 0)),
                    ..Scope::default()
                };
                self.vocabulary_of_name(&name.text, &inner)
            }
            ExpressionKind::If {
                then, otherwise, ..
            } => self
                .vocabulary_of(then, scope)
                .or_else(|| self.vocabulary_of(otherwise, scope)),
            ExpressionKind::Extreme { left, right, .. } => self
                .vocabulary_of(left, scope)
                .or_else(|| self.vocabulary_of(right, scope)),
            ExpressionKind::Moved { value, .. } => self.vocabulary_of(value, scope),
            ExpressionKind::Post { value, post } => {
                let found = self.vocabulary_of(value, scope);
                match &**post {
                    Post::OrIfUnknown(other) => found.or_else(|| self.vocabulary_of(other, scope)),
                    _ => found,
                }
            }
            ExpressionKind::Aggregate(Aggregate::ExtremeOf { value, over, .. }) => {
                let group = self.rules.group_of_plural(&over.text)?;
                let inner = Scope {
                    club: Some((group.name.text.clone(), 0)),
                    ..Scope::default()
                };
                self.vocabulary_of_reference(value, &inner)
            }
            _ => None,
        }
    }

    fn vocabulary_of_reference(&self, reference: &Reference, scope: &Scope) -> Option<String> {
        let Some(name) = &reference.name else {
            return self.vocabulary_of_name(scope.owner.as_ref()?, scope);
        };
        let Some(field) = &reference.field else {
            return self.vocabulary_of_name(&name.text, scope);
        };
        if let Some(choose) = self.rules.chooses.get(&name.text) {
            let part = self.rules.part_of_plural(&choose.from.text)?;
            return self.vocabulary_of_part_field(&part.name.text, &field.text);
        }
        if self.rules.groups.contains_key(&name.text) {
            let (_, field) = self.rules.group_field(&name.text, &field.text)?;
            return self.vocabulary_named(&field.type_reference.name.text);
        }
        // `setting.position`: a record of a part's list.
        self.vocabulary_of_part_field(&name.text, &field.text)
    }

    fn vocabulary_of_name(&self, name: &str, scope: &Scope) -> Option<String> {
        if let Some(candidate) = scope.candidate {
            if let Some(value) = candidate.let_expression(name) {
                return self.vocabulary_of(value, &candidate.let_scope(scope));
            }
            let is_field = self.rules.part_field(candidate.kind(), name).is_some();
            if scope.on_candidates_side && is_field {
                return self.vocabulary_of_part_field(candidate.kind(), name);
            }
        }
        let club = scope.club.as_ref();
        if let Some((_, field)) = club.and_then(|(group, _)| self.rules.group_field(group, name)) {
            return self.vocabulary_named(&field.type_reference.name.text);
        }
        match self.rules.node(name)? {
            Node::Input(input) => self.vocabulary_named(&input.type_reference.name.text),
            Node::Decide(decide) => self.vocabulary_named(&decide.type_reference.name.text),
            Node::Let(value) => match &value.type_reference {
                Some(stated) => self.vocabulary_named(&stated.name.text),
                None => {
                    let inner = Scope {
                        club: value
                            .for_each
                            .as_ref()
                            .map(|each| (each.group.text.clone(), 0)),
                        ..Scope::default()
                    };
                    self.vocabulary_of(&value.value, &inner)
                }
            },
            _ => None,
        }
    }

    fn vocabulary_of_part_field(&self, part: &str, field: &str) -> Option<String> {
        let field = self.rules.part_field(part, field)?;
        self.vocabulary_named(&field.type_reference.name.text)
    }

    fn vocabulary_named(&self, name: &str) -> Option<String> {
        self.rules
            .vocabularies
            .contains_key(name)
            .then(|| name.to_owned())
    }

    /// The vocabulary of a literal that may be a word, and its value.
    pub(super) fn literal(&self, kind: &LiteralKind, vocabulary: Option<&str>) -> State {
        match kind {
            LiteralKind::Exact(exact) => State::Known(super::person::literal_value(exact)),
            LiteralKind::Flag(flag) => State::Known(Value::Flag(*flag)),
            LiteralKind::None => State::None,
            LiteralKind::Named {
                name,
                plus_half_steps,
            } => {
                let word = vocabulary
                    .and_then(|vocabulary| self.word(vocabulary, &name.text, *plus_half_steps));
                match word {
                    Some(word) => State::Known(word),
                    // A constant let.
                    None => self.state(&Place {
                        name: name.text.clone(),
                        member: None,
                    }),
                }
            }
        }
    }

    /// The state of a reference.
    pub(super) fn reference(&self, reference: &Reference, scope: &Scope) -> State {
        let plus = reference.plus_half_steps;
        let Some(name) = &reference.name else {
            return self.stepped_up(self.previous_value(scope), plus);
        };
        let scope = if reference.previous {
            match self.neighbour(scope, -1) {
                Some(neighbour) => neighbour,
                None => return State::None,
            }
        } else {
            scope.clone()
        };
        match &reference.field {
            Some(field) => self.stepped_up(self.qualified(&name.text, &field.text, &scope), plus),
            None => {
                let expected = scope.expected.as_deref();
                let word = expected.and_then(|expected| self.word(expected, &name.text, plus));
                word.map_or_else(
                    || self.stepped_up(self.bare(&name.text, &scope), plus),
                    State::Known,
                )
            }
        }
    }

    /// `x plus 1/2`, where x is no word itself.
    fn stepped_up(&self, state: State, half_steps: i32) -> State {
        match half_steps {
            0 => state,
            _ => self.moved_state(state, Direction::Up, half_steps),
        }
    }

    fn bare(&self, name: &str, scope: &Scope) -> State {
        if let Some(candidate) = scope.candidate {
            if candidate.let_expression(name).is_some() {
                return candidate.let_state(self, name);
            }
            let is_field = self.rules.part_field(candidate.kind(), name).is_some();
            if scope.on_candidates_side && is_field {
                return candidate.field(self, name);
            }
        }
        if let Some((group, member)) = &scope.club
            && self.rules.group_field(group, name).is_some()
        {
            return self.club_field(group, *member, name);
        }
        self.declared(name, scope)
    }

    /// The value of a declaration, of the same club where it has one for each.
    pub(super) fn declared(&self, name: &str, scope: &Scope) -> State {
        let node = self.rules.node(name);
        let node = node.unwrap_or_else(|| panic!("`{name}` is declared nowhere"));
        let Some(for_each) = node.for_each() else {
            return self.state(&Place {
                name: name.to_owned(),
                member: None,
            });
        };
        let group = &for_each.group.text;
        if self.group(group).is_err() {
            return self.state(&Place {
                name: name.to_owned(),
                member: None,
            });
        }
        let club = scope.club.as_ref();
        let club = club.unwrap_or_else(|| panic!("`{name}` is asked for without a club"));
        match self.same_club(club, group) {
            Ok(Some(member)) => self.state(&Place {
                name: name.to_owned(),
                member: Some(member),
            }),
            Ok(None) => State::None,
            Err(undecided) => State::Undecided(undecided),
        }
    }

    fn qualified(&self, name: &str, field: &str, scope: &Scope) -> State {
        if let Some(choose) = self.rules.chooses.get(name) {
            return self.field_of_choice(choose, field, scope);
        }
        if self.rules.groups.contains_key(name) {
            let club = scope.club.as_ref();
            let club = club.unwrap_or_else(|| panic!("`{name}.{field}` without a club"));
            if self.group(name).is_err() {
                return self.group_state(name);
            }
            return match self.same_club(club, name) {
                Ok(Some(member)) if self.rules.group_field(name, field).is_some() => {
                    self.club_field(name, member, field)
                }
                Ok(Some(member)) => {
                    let club = Some((name.to_owned(), member));
                    self.declared(
                        field,
                        &Scope {
                            club,
                            ..scope.clone()
                        },
                    )
                }
                Ok(None) => State::None,
                Err(undecided) => State::Undecided(undecided),
            };
        }
        let candidate = scope.candidate;
        let candidate = candidate.unwrap_or_else(|| panic!("`{name}.{field}` means nothing"));
        candidate.setting_field(self, name, field)
    }

    /// A club's field that is not known.
    pub(super) fn unknown_field(group: &str, member: usize, field: &str) -> State {
        let cause = Cause::ClubField(group.to_owned(), member, field.to_owned());
        State::Undecided(Undecided::cause(cause))
    }
}
