//! Candidates: a part, perhaps one piece of it, perhaps one setting of that.
//!
//! They come in the order of part id, piece id and setting, which is the order in which parts and
//! pieces lie in [`crate::parts::Parts`]. A field of each piece overlies the part's.

use std::borrow::Cow;

use loftwright_dsl::program::{CandidateValue, Choose, PartId, Record, Value};
use loftwright_dsl::quantity::Rational;

use crate::evaluate::algebra::not_known;
use crate::evaluate::expression::World;
use crate::outcome::{Cause, ChosenPart, State};
use crate::parts::{CataloguePart, OnHand};
use crate::shelf::recorded;

/// Marks a field that is not known of the candidate at hand itself, to tell it from the same field
/// of a part that was chosen before.
const OWN: usize = 1 << (usize::BITS - 1);

/// One thing that could be taken.
#[derive(Clone, Debug)]
pub(in crate::evaluate) struct Candidate<'e> {
    /// The kind of part.
    kind: PartId,
    /// The field of the part that says how many are on hand.
    on_hand_field: Option<usize>,
    /// The part's index in its kind.
    pub(super) part: usize,
    /// The piece's index.
    pub(super) piece: Option<usize>,
    /// The setting's index.
    pub(super) setting: Option<usize>,
    pub(super) record: &'e CataloguePart,
    measured: Option<&'e Record>,
    settings: Option<(PartId, &'e Record)>,
    /// [`OWN`] while it is a candidate.
    mark: usize,
    /// The candidate's lets, as far as they are computed.
    pub(super) lets: Vec<State>,
}

impl<'e> Candidate<'e> {
    pub(super) fn of_part(
        world: World<'e>,
        kind: PartId,
        part: usize,
        record: &'e CataloguePart,
    ) -> Self {
        Candidate {
            kind,
            on_hand_field: world.prepared.on_hand(kind),
            part,
            piece: None,
            setting: None,
            record,
            measured: None,
            settings: None,
            mark: 0,
            lets: Vec::new(),
        }
    }

    /// A candidate of which nothing is known.
    pub(super) fn nobody(world: World<'e>, choose: &Choose) -> Self {
        let (record, setting) = world.prepared.unknown();
        let mut candidate = Candidate::of_part(world, choose.part, 0, record).tried();
        candidate.on_hand_field = None;
        candidate.settings = choose.in_each.map(|(_, part)| (part, setting));
        let unknown = |index| not_known(candidate.unknown(choose.part, index));
        candidate.lets = (0..choose.lets.len()).map(unknown).collect();
        candidate
    }

    /// From here on what it does not know is its own.
    pub(super) fn tried(mut self) -> Self {
        self.mark = OWN;
        self
    }

    /// What was chosen, to look at its fields; its lets are in the outcome.
    pub(in crate::evaluate) fn of_chosen(
        world: World<'e>,
        choose: &Choose,
        chosen: &ChosenPart,
    ) -> Option<Self> {
        let record = world.parts.of(choose.part).get(chosen.part)?;
        let mut candidate = Candidate::of_part(world, choose.part, chosen.part, record);
        candidate.piece = chosen.piece;
        candidate.measured = chosen.piece.and_then(|piece| match &record.on_hand {
            OnHand::Pieces(pieces) => pieces.get(piece).map(|piece| &piece.fields),
            OnHand::Counted(_) => None,
        });
        candidate.setting = chosen.setting;
        candidate.settings = chosen.setting.and_then(|setting| {
            let (field, part) = choose.in_each?;
            Some((part, record.settings(field).get(setting)?))
        });
        Some(candidate)
    }

    /// Everything on hand of a kind, each with how often it is there; nothing is taken.
    pub(in crate::evaluate) fn on_hand(
        world: World<'e>,
        kind: PartId,
    ) -> impl Iterator<Item = (Candidate<'e>, Rational)> {
        let parts = world.parts.of(kind).iter().enumerate();
        parts.flat_map(move |(part, record)| {
            let candidate = Candidate::of_part(world, kind, part, record);
            let mut found = Vec::new();
            match &record.on_hand {
                OnHand::Counted(count) if *count > 0 => {
                    found.push((candidate, Rational::whole(*count)));
                }
                OnHand::Counted(_) => {}
                OnHand::Pieces(pieces) => {
                    found.extend(pieces.iter().enumerate().map(|(index, piece)| {
                        let piece_at_hand = candidate.clone().with_piece(index, &piece.fields);
                        (piece_at_hand, Rational::ONE)
                    }))
                }
            }
            found
        })
    }

    pub(super) fn with_piece(mut self, index: usize, measured: &'e Record) -> Self {
        self.piece = Some(index);
        self.measured = Some(measured);
        self
    }

    /// The candidate in each of its settings, where the choice looks at those.
    pub(super) fn in_each_setting(self, choose: &Choose, hand_on: &mut impl FnMut(Self)) {
        let Some((field, part)) = choose.in_each else {
            return hand_on(self);
        };
        for (index, setting) in self.record.settings(field).iter().enumerate() {
            let mut candidate = self.clone();
            candidate.setting = Some(index);
            candidate.settings = Some((part, setting));
            hand_on(candidate);
        }
    }

    /// The candidate in one of its settings, where the choice looks at those.
    pub(super) fn in_setting(mut self, choose: &Choose, index: usize) -> Option<Self> {
        let (field, part) = choose.in_each?;
        self.setting = Some(index);
        self.settings = Some((part, self.record.settings(field).get(index)?));
        Some(self)
    }

    /// A value of the candidate.
    pub(in crate::evaluate) fn state(&self, value: CandidateValue) -> State {
        match value {
            CandidateValue::Field(field) => self.field(field),
            CandidateValue::Let(index) => self.lets.get(index).cloned().unwrap_or(State::None),
            CandidateValue::Setting(field) => match self.settings {
                Some((part, record)) => match record.get(field) {
                    Some(Some(value)) => State::Known(value.clone()),
                    _ => not_known(self.unknown(part, field)),
                },
                None => State::None,
            },
        }
    }

    /// A value of the candidate that is known and need not be computed.
    pub(in crate::evaluate) fn known(&self, value: CandidateValue) -> Option<&Value> {
        match value {
            CandidateValue::Field(field) if self.on_hand_field != Some(field) => {
                self.recorded(field)
            }
            CandidateValue::Field(_) => None,
            CandidateValue::Let(index) => match self.lets.get(index)? {
                State::Known(value) => Some(value),
                State::None | State::Undecided(_) => None,
            },
            CandidateValue::Setting(field) => self.settings?.1.get(field)?.as_ref(),
        }
    }

    /// A value of the candidate, where it is known.
    pub(super) fn value(&self, value: CandidateValue) -> Option<Cow<'_, Value>> {
        if let Some(known) = self.known(value) {
            return Some(Cow::Borrowed(known));
        }
        match self.state(value) {
            State::Known(value) => Some(Cow::Owned(value)),
            State::None | State::Undecided(_) => None,
        }
    }

    /// What the piece's or the part's record says.
    fn recorded(&self, field: usize) -> Option<&Value> {
        recorded(&self.record.fields, self.measured, field)
    }

    fn field(&self, field: usize) -> State {
        if self.on_hand_field == Some(field) {
            let count = Rational::whole(self.record.on_hand.count());
            return State::Known(Value::Number(count));
        }
        match self.recorded(field) {
            Some(value) => State::Known(value.clone()),
            None => not_known(self.unknown(self.kind, field)),
        }
    }

    fn unknown(&self, part: PartId, field: usize) -> Cause {
        Cause::PartField {
            part,
            field: field | self.mark,
        }
    }
}

/// Whether a field is not known of the candidate at hand itself.
pub(super) fn is_own_field(cause: &Cause) -> bool {
    matches!(cause, Cause::PartField { field, .. } if field & OWN != 0)
}

/// A cause without the mark of the candidate at hand.
pub(super) fn unmarked(cause: Cause) -> Cause {
    match cause {
        Cause::PartField { part, field } => Cause::PartField {
            part,
            field: field & !OWN,
        },
        other => other,
    }
}

/// A candidate's state as the rest of the rules see it.
pub(super) fn seen_from_outside(state: State) -> State {
    let State::Undecided(mut undecided) = state else {
        return state;
    };
    undecided.causes = undecided.causes.into_iter().map(unmarked).collect();
    State::Undecided(undecided)
}
