//! The maker `lofts_on_hand` at work: the heads of the workshop and the player's own clubs become
//! the clubs that could be in the set.

use loftwright_dsl::program::{GroupId, Value};
use loftwright_dsl::quantity::Rational;

use super::algebra::{Ended, outcome_of};
use super::expression::Asker;
use super::group::{Identity, NewGroup};
use super::lofts::lofts_for;
use super::reference::add_club;
use crate::contract::LoftsOnHandNames;
use crate::outcome::State;
use crate::set::lofts_on_hand::LoftOnHand;
use crate::trace::TraceSink;

/// A club on its way into the group: which it is, and its fields in the order of
/// [`LoftsOnHandNames::fields`].
type Candidate = (Identity, [State; 5]);

impl<S: TraceSink> Asker<'_, S> {
    /// Every club that could be in the set: the driver, the lofts on hand, what the player keeps.
    pub(super) fn make_candidates(&mut self, id: GroupId, names: &LoftsOnHandNames) -> NewGroup {
        if self.evaluation.members(names.kept).is_none() {
            let undecided = self.evaluation.not_made(names.kept);
            return NewGroup::without_clubs(outcome_of(State::Undecided(undecided)));
        }
        let hand = match self.read(names.player_hand, None) {
            State::Known(hand) => Some(hand),
            State::None | State::Undecided(_) => None,
        };
        let lofts = match self.world.parts.lofts().get(id, hand.as_ref()) {
            Some(known) => known.clone(),
            None => lofts_for(self.world.parts, names, hand.as_ref()),
        };
        let lofts = match lofts {
            Ok(lofts) => lofts,
            Err(fault) => return NewGroup::without_clubs(Ended::from(fault).into()),
        };
        let kept = self.kept_candidates(names);
        let is_driver = |(_, [kind, ..]): &Candidate| *kind == word(names.driver);
        let mut candidates: Vec<Candidate> = Vec::with_capacity(lofts.len() + kept.len() + 1);
        if !kept.iter().any(is_driver) {
            candidates.extend(self.driver_candidate(names));
        }
        candidates.extend(lofts.into_iter().map(loft_candidate));
        candidates.extend(kept);
        let mut identities = Vec::with_capacity(candidates.len());
        let mut fields = Vec::with_capacity(candidates.len().saturating_mul(names.width));
        for (identity, values) in candidates {
            identities.push(identity);
            let known = names.fields.into_iter().zip(values);
            let known = known.filter(|(_, value)| *value != State::None);
            add_club(names.width, known, &mut fields);
        }
        NewGroup::made(identities, fields, names.width)
    }

    /// The driver that the rules plan; none where its loft does not apply.
    fn driver_candidate(&self, names: &LoftsOnHandNames) -> Option<Candidate> {
        let loft = self.read(names.driver_target_loft, None);
        let fields = [
            word(names.driver),
            State::Known(Value::Flag(false)),
            loft.clone(),
            State::None,
            State::None,
        ];
        (loft != State::None).then_some((Identity::New, fields))
    }

    fn kept_candidates(&self, names: &LoftsOnHandNames) -> Vec<Candidate> {
        let clubs = self.evaluation.members(names.kept).unwrap_or_default();
        let candidate = |(member, club): (usize, &_)| {
            let field = |field| {
                let field = self.evaluation.field(names.kept, member, field);
                field.unwrap_or(State::None)
            };
            let kind = field(names.kept_kind);
            let fields = [
                kind.clone(),
                State::Known(Value::Flag(true)),
                field(names.kept_loft),
                field(names.kept_carry),
                whole(1),
            ];
            (kind != word(names.putter)).then_some((Identity::Same(*club), fields))
        };
        clubs.iter().enumerate().filter_map(candidate).collect()
    }
}

fn loft_candidate(loft: LoftOnHand) -> Candidate {
    let fields = [
        word(loft.kind),
        State::Known(Value::Flag(false)),
        State::Known(Value::Number(loft.loft)),
        State::None,
        loft.on_hand.map_or(State::None, whole),
    ];
    (Identity::New, fields)
}

fn word(word: i32) -> State {
    State::Known(Value::Word(word))
}

fn whole(number: i64) -> State {
    State::Known(Value::Number(Rational::whole(number)))
}
