//! A candidate of a choice: a part, perhaps a piece of it, perhaps a setting of its sleeve.
//!
//! What a candidate does not know is a cause of its own (`its head`), so that a line that fails for
//! the candidate is told from one that rests on a missing reading.

use std::cell::RefCell;
use std::collections::BTreeMap;

use loftwright_dsl::quantity::Rational;
use loftwright_dsl::syntax::tree::{Choose, Expression};

use super::{Cause, Oracle, Part, Pick, Piece, Scope, State, Undecided, Value};

/// One candidate.
pub struct Candidate<'c> {
    kind: String,
    /// The part's index and record; `None` for the candidate of whom nothing is known.
    pub(super) part: Option<(usize, &'c Part)>,
    /// The piece's index and record.
    pub(super) piece: Option<(usize, &'c Piece)>,
    /// The setting's index and fields.
    pub(super) setting: Option<(usize, &'c BTreeMap<String, Value>)>,
    choose: Option<&'c Choose>,
    /// The scope of the club.
    club: Scope<'c>,
    lets: RefCell<BTreeMap<String, State>>,
}

/// What a candidate's own causes begin with.
const OWN: &str = "its ";

/// Whether a cause is a field of the candidate itself.
pub fn is_own(cause: &Cause) -> bool {
    matches!(cause, Cause::PartField(part, _) if part.starts_with(OWN))
}

/// A candidate's state as the rest of the rules see it.
pub fn seen_from_outside(state: State) -> State {
    let State::Undecided(undecided) = state else {
        return state;
    };
    let outside = |cause: Cause| match cause {
        Cause::PartField(part, field) => {
            Cause::PartField(part.strip_prefix(OWN).unwrap_or(&part).to_owned(), field)
        }
        other => other,
    };
    State::Undecided(Undecided {
        causes: undecided.causes.into_iter().map(outside).collect(),
        ..undecided
    })
}

impl<'c> Candidate<'c> {
    /// A candidate for a club.
    pub(super) fn new(
        kind: &str,
        part: Option<(usize, &'c Part)>,
        piece: Option<(usize, &'c Piece)>,
        setting: Option<(usize, &'c BTreeMap<String, Value>)>,
        choose: &'c Choose,
        club: &Scope<'c>,
    ) -> Self {
        Candidate {
            kind: kind.to_owned(),
            part,
            piece,
            setting,
            choose: Some(choose),
            club: club.clone(),
            lets: RefCell::default(),
        }
    }

    /// Something on hand, for an aggregate.
    pub(super) fn on_hand(kind: &str, part: &'c Part, piece: Option<(usize, &'c Piece)>) -> Self {
        Candidate {
            kind: kind.to_owned(),
            part: Some((0, part)),
            piece,
            setting: None,
            choose: None,
            club: Scope::default(),
            lets: RefCell::default(),
        }
    }

    /// What it is as a pick.
    pub(super) fn picked(&self, rung: Option<usize>) -> Pick {
        let (part, record) = self.part.unwrap();
        let piece = self.piece.map_or("", |(_, piece)| &piece.id);
        Pick {
            part,
            piece: self.piece.map(|(piece, _)| piece),
            setting: self.setting.map(|(setting, _)| setting),
            rung,
            codes: format!("{} {piece}", record.id),
        }
    }

    /// What orders candidates that are equal otherwise: part, piece and setting.
    pub(super) fn codes(&self) -> (Option<&str>, Option<&str>, Option<usize>) {
        let part = self.part.map(|(_, part)| part.id.as_str());
        let piece = self.piece.map(|(_, piece)| piece.id.as_str());
        (part, piece, self.setting.map(|(setting, _)| setting))
    }

    /// The kind of part.
    pub(super) fn kind(&self) -> &str {
        &self.kind
    }

    /// The scope in which its lines stand.
    pub(super) fn scope(&'c self) -> Scope<'c> {
        Scope {
            candidate: Some(self),
            ..self.club.clone()
        }
    }

    /// The expression of one of its lets.
    pub(super) fn let_expression(&self, name: &str) -> Option<&'c Expression> {
        let lets = &self.choose?.lets;
        lets.iter()
            .find(|own| own.name.text == name)
            .map(|own| &own.value)
    }

    /// The scope of its lets.
    pub(super) fn let_scope<'s>(&'s self, _: &Scope<'s>) -> Scope<'s> {
        Scope {
            candidate: Some(self),
            on_candidates_side: false,
            ..self.club.clone()
        }
    }

    /// One of its lets; one that ends without a value is not known.
    pub(super) fn let_state(&self, oracle: &Oracle, name: &str) -> State {
        if let Some(known) = self.lets.borrow().get(name) {
            return known.clone();
        }
        if self.part.is_none() {
            // Of nobody nothing is known: what a let rests on shows with the candidates.
            return self.unknown(name);
        }
        let expression = self.let_expression(name).unwrap();
        let state = oracle.evaluate(expression, &self.let_scope(&Scope::default()));
        let state = state.unwrap_or_else(|_| self.unknown(name));
        self.lets
            .borrow_mut()
            .insert(name.to_owned(), state.clone());
        state
    }

    /// One of its lets or fields.
    pub(super) fn let_or_field(&self, oracle: &Oracle, name: &str) -> State {
        match self.let_expression(name) {
            Some(_) => self.let_state(oracle, name),
            None => self.field(oracle, name),
        }
    }

    /// One of its fields: the piece's own over the part's.
    pub(super) fn field(&self, oracle: &Oracle, name: &str) -> State {
        let Some((_, part)) = self.part else {
            return self.unknown(name);
        };
        let field = oracle.rules.part_field(&self.kind, name);
        let field = field.unwrap_or_else(|| panic!("no field `{name}` of {}", self.kind));
        let value = if name == "on_hand" {
            let pieces = i64::try_from(part.pieces.len()).unwrap();
            Some(Value::Number(Rational::whole(part.on_hand + pieces)))
        } else if field.of_each_piece {
            self.piece
                .and_then(|(_, piece)| piece.fields.get(name).cloned())
        } else {
            part.fields.get(name).cloned()
        };
        value.map_or_else(|| self.unknown(name), State::Known)
    }

    /// A field of the setting at hand.
    pub(super) fn setting_field(&self, oracle: &Oracle, record: &str, field: &str) -> State {
        let list = self
            .choose
            .and_then(|choose| choose.in_each.as_ref())
            .unwrap();
        let declared = oracle.rules.part_field(&self.kind, &list.text).unwrap();
        assert_eq!(declared.type_reference.name.text, record);
        match self.setting.and_then(|(_, fields)| fields.get(field)) {
            Some(value) => State::Known(value.clone()),
            None => self.unknown(&format!("{record}.{field}")),
        }
    }

    fn unknown(&self, field: &str) -> State {
        let cause = Cause::PartField(format!("{OWN}{}", self.kind), field.to_owned());
        State::Undecided(Undecided::cause(cause))
    }
}
