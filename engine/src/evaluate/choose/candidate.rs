//! Candidates: a part, perhaps one piece of it, perhaps one setting of that.
//!
//! They come in the order of part id, piece id and setting, which is the order in which parts and
//! pieces lie in [`crate::parts::Parts`]. A field of each piece overlies the part's.

use loftwright_dsl::program::{CandidateValue, Choose, PartId, Record, Value};
use loftwright_dsl::quantity::Rational;

use crate::evaluate::algebra::not_known;
use crate::evaluate::expression::World;
use crate::outcome::{Cause, ChosenPart, State};
use crate::parts::{CataloguePart, OnHand};

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
            lets: Vec::new(),
        }
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
            Some((part, settings_of(record, field).get(setting)?))
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
        for (index, setting) in settings_of(self.record, field).iter().enumerate() {
            let mut candidate = self.clone();
            candidate.setting = Some(index);
            candidate.settings = Some((part, setting));
            hand_on(candidate);
        }
    }

    /// A value of the candidate.
    pub(in crate::evaluate) fn state(&self, value: CandidateValue) -> State {
        match value {
            CandidateValue::Field(field) => self.field(field),
            CandidateValue::Let(index) => self.lets.get(index).cloned().unwrap_or(State::None),
            CandidateValue::Setting(field) => match self.settings {
                Some((part, record)) => match record.get(field) {
                    Some(Some(value)) => State::Known(value.clone()),
                    _ => not_known(Cause::PartField { part, field }),
                },
                None => State::None,
            },
        }
    }

    /// A value of the candidate that is known and need not be computed.
    pub(super) fn known(&self, value: CandidateValue) -> Option<&Value> {
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

    /// What the piece's or the part's record says.
    fn recorded(&self, field: usize) -> Option<&Value> {
        let measured = self.measured.and_then(|record| record.get(field)?.as_ref());
        measured.or_else(|| self.record.fields.get(field)?.as_ref())
    }

    fn field(&self, field: usize) -> State {
        if self.on_hand_field == Some(field) {
            let count = match &self.record.on_hand {
                OnHand::Counted(count) => *count,
                OnHand::Pieces(pieces) => i64::try_from(pieces.len()).unwrap_or(i64::MAX),
            };
            return State::Known(Value::Number(Rational::whole(count)));
        }
        match self.recorded(field) {
            Some(value) => State::Known(value.clone()),
            None => not_known(Cause::PartField {
                part: self.kind,
                field,
            }),
        }
    }

    /// Whether the cause is something that is not known of this candidate itself.
    pub(super) fn is_own(&self, cause: &Cause) -> bool {
        match cause {
            Cause::PartField { part, .. } => {
                *part == self.kind || self.settings.is_some_and(|(settings, _)| settings == *part)
            }
            _ => false,
        }
    }
}

fn settings_of(record: &CataloguePart, field: usize) -> &[Record] {
    match record.fields.get(field) {
        Some(Some(Value::List(settings))) => settings,
        _ => &[],
    }
}
