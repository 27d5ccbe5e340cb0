//! The maker `assemble` at work: the pieces of every club, and the clubs as they leave the bench.

use loftwright_dsl::program::{CandidateValue, GroupId, Member, Node, Value};
use loftwright_dsl::quantity::Rational;

use super::algebra::{merge, undecided_for};
use super::expression::{Asker, At};
use super::group::{Identity, NewGroup};
use super::reference::add_club;
use crate::contract::{AssembleNames, BuildNames, PieceNames};
use crate::outcome::{Cause, Outcome, Place, State, Undecided};
use crate::set::built::{ClubToBuild, MatchedBy};
use crate::trace::TraceSink;

impl<S: TraceSink> Asker<'_, S> {
    /// Every club as it leaves the bench.
    pub(super) fn make_assembled(&mut self, id: GroupId, names: &AssembleNames) -> NewGroup {
        let Some(clubs) = self.evaluation.members(names.club) else {
            let blocked = self.evaluation.not_made(names.club);
            return NewGroup::without_clubs(Outcome::Blocked(blocked));
        };
        let identities = clubs.iter().map(|club| Identity::Same(*club)).collect();
        let mut fields = Vec::with_capacity(clubs.len().saturating_mul(names.width));
        let mut notes = Vec::with_capacity(clubs.len());
        for member in 0..clubs.len() {
            notes.push(self.add_built(id, names, member, &mut fields));
        }
        let mut made = NewGroup::made(identities, fields, names.width);
        made.state.notes = notes;
        made
    }

    /// Adds the fields of one club; a note where it could not be worked out.
    fn add_built(
        &self,
        id: GroupId,
        names: &AssembleNames,
        member: usize,
        fields: &mut Vec<Option<State>>,
    ) -> Option<String> {
        let of_club = |field| {
            self.evaluation
                .field(names.club, member, field)
                .unwrap_or(State::None)
        };
        let [kind, is_kept, loft, length, worked_out @ ..] = names.fields;
        let mut known = vec![
            (kind, of_club(names.club_kind)),
            (is_kept, of_club(names.club_is_kept)),
            (loft, of_club(names.club_loft)),
        ];
        // Nothing is built of a kept club: its length is known at most.
        if of_club(names.club_is_kept) == State::Known(Value::Flag(true)) {
            known.push((length, of_club(names.club_kept_length)));
            known.extend(worked_out.map(|field| (field, State::None)));
            add_club(names.width, known.into_iter(), fields);
            return None;
        }
        let at = Some((names.club, member));
        known.push((length, self.read(names.club_length, at)));
        let (states, note) = self.built(id, names, member);
        known.extend(worked_out.into_iter().zip(states));
        add_club(names.width, known.into_iter(), fields);
        note
    }

    /// Mass, balance, swingweight, moment; the change of the head's mass; the shaft as cut and both
    /// cuts; the weights in the tip and on the head.
    fn built(
        &self,
        id: GroupId,
        names: &AssembleNames,
        member: usize,
    ) -> ([State; 10], Option<String>) {
        let club = match self.to_build(names, member) {
            Ok(club) => club,
            Err(open) => return (std::array::from_fn(|_| open.clone()), None),
        };
        let built = match club.build() {
            Ok(built) => built,
            Err(note) => {
                let refused = refused(id, member);
                return (std::array::from_fn(|_| refused.clone()), Some(note));
            }
        };
        let number = |number| State::Known(Value::Number(number));
        let to_target = |(target, most_tip_weight_kg)| {
            club.work_for_target(target, most_tip_weight_kg)
                .map_err(|note| (refused(id, member), Some(note)))
        };
        let asked = self.target(names, member).map_err(|open| (open, None));
        let ([change, tip_weight, lead], note) = match asked.and_then(to_target) {
            Ok(done) => {
                let masses = [done.head_mass_change_kg, done.tip_weight_kg, done.lead_kg];
                (masses.map(number), None)
            }
            Err((open, note)) => ([open.clone(), open.clone(), open], note),
        };
        let states = [
            number(built.mass_kg),
            number(built.balance_m),
            number(built.swingweight_points),
            number(built.moment_kg_m2),
            change,
            number(built.shaft_length_m),
            number(club.tip_trim_m),
            number(built.butt_cut_m),
            tip_weight,
            lead,
        ];
        (states, note)
    }

    /// What a club is matched by, and the most that goes into its tip: its moment, where one is
    /// wanted, else its swingweight.
    fn target(&self, names: &AssembleNames, member: usize) -> Result<(MatchedBy, Rational), State> {
        let at = Some((names.club, member));
        let matched: fn(Rational) -> MatchedBy;
        let target = match self.read(names.target_moment, at) {
            State::None => {
                matched = MatchedBy::SwingweightPoints;
                self.read(names.target_swingweight, at)
            }
            moment => {
                matched = MatchedBy::MomentKgM2;
                moment
            }
        };
        let most_tip_weight = zero_where_none(self.read(names.most_tip_weight, at));
        let [target, most_tip_weight_kg] = all_numbers([target, most_tip_weight])?;
        Ok((matched(target), most_tip_weight_kg))
    }

    /// What the pieces of a club are, or why that is not known.
    fn to_build(&self, names: &AssembleNames, member: usize) -> Result<ClubToBuild, State> {
        let at = Some((names.club, member));
        let kind = self.evaluation.field(names.club, member, names.club_kind);
        let of_kind = |build: &&BuildNames| kind == Some(State::Known(Value::Word(build.kind)));
        let build = names.builds.iter().find(of_kind).ok_or(State::None)?;
        let [head_mass] = self.piece(build.head, names.club, member);
        let [shaft_mass, shaft_length, shaft_balance] = self.piece(build.shaft, names.club, member);
        let [grip_mass] = self.piece(names.grip, names.club, member);
        let [
            length_m,
            head_mass_kg,
            shaft_mass_kg,
            shaft_length_m,
            shaft_balance_m,
            tip_trim_m,
            grip_mass_kg,
            wraps,
        ] = all_numbers([
            self.read(names.club_length, at),
            head_mass,
            shaft_mass,
            shaft_length,
            shaft_balance,
            zero_where_none(self.read(names.tip_trim, at)),
            grip_mass,
            self.read(names.grip_wraps, at),
        ])?;
        Ok(ClubToBuild {
            length_m,
            head_mass_kg,
            shaft_mass_kg,
            shaft_length_m,
            shaft_balance_m,
            tip_trim_m,
            grip_mass_kg,
            wraps,
        })
    }

    fn piece<const N: usize>(
        &self,
        names: PieceNames<N>,
        group: GroupId,
        member: usize,
    ) -> [State; N] {
        names.fields.map(|field| {
            let value = CandidateValue::Field(field);
            self.of_chosen(names.choose, value, Member::Same, At::club(group, member))
        })
    }
}

/// What does not apply to a club is not done to it.
fn zero_where_none(state: State) -> State {
    match state {
        State::None => State::Known(Value::Number(Rational::ZERO)),
        state => state,
    }
}

/// Every number, or the state that the values make together.
fn all_numbers<const N: usize>(states: [State; N]) -> Result<[Rational; N], State> {
    let mut numbers = [Rational::ZERO; N];
    let mut is_none = false;
    let mut undecided: Option<Box<Undecided>> = None;
    for (number, state) in numbers.iter_mut().zip(states) {
        match state {
            State::Known(Value::Number(known)) => *number = known,
            State::Known(_) | State::None => is_none = true,
            State::Undecided(more) => merge(undecided.get_or_insert_default(), *more),
        }
    }
    match (is_none, undecided) {
        (true, _) => Err(State::None),
        (false, Some(undecided)) => Err(State::Undecided(undecided)),
        (false, None) => Ok(numbers),
    }
}

/// The maker could not work this club out; a note says why.
fn refused(group: GroupId, member: usize) -> State {
    let place = Place {
        node: Node::Group(group),
        member: Some(member),
    };
    State::Undecided(undecided_for(place, Cause::Ended(place)))
}
