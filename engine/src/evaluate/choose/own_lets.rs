//! Lets of a choice that rest on nothing but the part itself: worked out once, with the shelves.
//!
//! What a sleeve makes of a head's loft in each of its settings is the same for every player. The
//! lets of a choice that speak of the candidate and its settings alone are worked out when the
//! parts are laid out, for every part and piece in each setting. Such a let stands on the shelf
//! like a field, and is asked there.

use std::collections::BTreeMap;

use loftwright_dsl::check::children;
use loftwright_dsl::program::{
    CandidateValue, Choose, ChooseId, Expression, ExpressionKind, Node, Program,
};
use loftwright_dsl::quantity::Date;

use super::candidate::Candidate;
use crate::evaluate::expression::{Asker, At, World};
use crate::evaluate::prepare::Evaluator;
use crate::evaluate::state::Evaluation;
use crate::outcome::{Place, State};
use crate::parts::{CataloguePart, OnHand, Parts};
use crate::player::Player;
use crate::shelf::{Column, Item, Spot};
use crate::trace::NoTrace;

/// A choice whose parts have more to work out than this is left to be worked out when it is asked:
/// a workshop has a few thousand.
const MOST_STATES: usize = 200_000;

/// What the lets of all choices are that rest on the part alone.
#[derive(Clone, Debug, Default)]
pub(crate) struct OwnLets {
    chooses: BTreeMap<ChooseId, OfChoose>,
}

/// Those of one choice.
#[derive(Clone, Debug)]
struct OfChoose {
    /// Where the rows of each part begin: the part itself, then its pieces, each in every setting.
    starts: Vec<usize>,
    /// The number of settings of each part; 1 where the choice does not look at them.
    settings: Vec<usize>,
    /// How many lets the choice has.
    width: usize,
    /// By row, then by let: what it is, where it rests on the part alone and has an answer.
    states: Vec<Option<State>>,
    /// By let: how it stands on the shelves, where every part has an answer.
    columns: Vec<Option<Columns>>,
}

/// A let as it stands on the shelves of the stock and of the catalogue.
#[derive(Clone, Debug)]
struct Columns {
    stock: Column,
    catalogue: Column,
    /// Whether nothing is missing for any part.
    is_known_of_all: bool,
}

impl OwnLets {
    /// Those of every choice of a program that has some.
    pub(crate) fn of(program: &Program, parts: &Parts) -> Self {
        let evaluator = Evaluator::new(program);
        let nobody = Player::default();
        let world = World {
            program,
            prepared: &evaluator,
            parts,
            player: &nobody,
            today: Date::from_days(0),
            flown: None,
        };
        let of_choose = |(id, choose): (ChooseId, &Choose)| {
            let are_own = are_own(choose);
            let rows = parts
                .of(choose.part)
                .iter()
                .map(|part| rows_of(choose, part));
            let states = rows
                .fold(0, usize::saturating_add)
                .saturating_mul(are_own.len());
            (are_own.contains(&true) && states <= MOST_STATES)
                .then(|| (id, OfChoose::of(world, id, choose, &are_own)))
        };
        OwnLets {
            chooses: program.chooses.entries().filter_map(of_choose).collect(),
        }
    }

    /// A let of a candidate of a choice, where it is worked out.
    pub(super) fn get(
        &self,
        id: ChooseId,
        candidate: &Candidate<'_>,
        index: usize,
    ) -> Option<&State> {
        let item = Item {
            part: candidate.part,
            piece: candidate.piece,
        };
        self.chooses
            .get(&id)?
            .get(item, candidate.setting.unwrap_or(0), index)
    }

    /// A let of a choice on the shelf of the stock; one that is not known stands nowhere.
    pub(super) fn on_stock(&self, id: ChooseId, index: usize) -> Option<&Column> {
        Some(&self.chooses.get(&id)?.columns(index)?.stock)
    }

    /// A let of a choice on the shelf of the catalogue; one that is not known stands nowhere.
    /// `known_of_all`: only where there is none of which it is not known.
    pub(super) fn on_catalogue(
        &self,
        id: ChooseId,
        index: usize,
        known_of_all: bool,
    ) -> Option<&Column> {
        let columns = self.chooses.get(&id)?.columns(index)?;
        (columns.is_known_of_all || !known_of_all).then_some(&columns.catalogue)
    }
}

impl OfChoose {
    fn of(world: World<'_>, id: ChooseId, choose: &Choose, are_own: &[bool]) -> Self {
        let evaluation = Evaluation::new(world.program);
        let place = Place {
            node: Node::Choose(id),
            member: None,
        };
        let mut no_trace = NoTrace;
        let mut found = OfChoose {
            starts: Vec::new(),
            settings: Vec::new(),
            width: choose.lets.len(),
            states: Vec::new(),
            columns: Vec::new(),
        };
        for (part, record) in world.parts.of(choose.part).iter().enumerate() {
            found.starts.push(found.states.len() / found.width.max(1));
            found.settings.push(settings_count(choose, record));
            for candidate in candidates(world, choose, part, record) {
                candidate.in_each_setting(choose, &mut |mut candidate| {
                    let mut asker = Asker::new(world, &evaluation, &mut no_trace, place);
                    let mut has_answers = true;
                    for (own, computed) in are_own.iter().zip(&choose.lets) {
                        let at = At {
                            candidate: Some(&candidate),
                            ..At::default()
                        };
                        let is_asked = *own && has_answers;
                        let state = is_asked.then(|| asker.ask(&computed.value, at).ok());
                        let state = state.flatten();
                        // What comes after one without an answer may rest on it.
                        has_answers &= !own || state.is_some();
                        candidate.lets.push(state.clone().unwrap_or(State::None));
                        found.states.push(state);
                    }
                });
            }
        }
        let lets = 0..found.width;
        found.columns = lets
            .map(|index| found.on_shelves(world, choose, index))
            .collect();
        found
    }

    /// A let as it stands on the shelves.
    fn on_shelves(&self, world: World<'_>, choose: &Choose, index: usize) -> Option<Columns> {
        let mut states = self.states.iter().skip(index).step_by(self.width.max(1));
        let mut is_known_of_all = true;
        if !states.all(|state| {
            is_known_of_all &= matches!(state, Some(State::Known(_)));
            state.is_some()
        }) {
            return None;
        }
        let value = |spot: Spot| match self.get(spot.item, spot.setting.unwrap_or(0), index) {
            Some(State::Known(value)) => Some(value.clone()),
            _ => None,
        };
        let shelves = world.parts.shelves(choose)?;
        Some(Columns {
            stock: shelves.stock.worked_out(value),
            catalogue: shelves.catalogue.worked_out(value),
            is_known_of_all,
        })
    }

    fn columns(&self, index: usize) -> Option<&Columns> {
        self.columns.get(index)?.as_ref()
    }

    fn get(&self, item: Item, setting: usize, index: usize) -> Option<&State> {
        let start = self.starts.get(item.part)?;
        let settings = self.settings.get(item.part)?;
        let piece = item.piece.map_or(0, |piece| piece + 1);
        let row = start + piece * settings + setting;
        self.states.get(row * self.width + index)?.as_ref()
    }
}

/// The number of settings of a part; 1 where the choice does not look at them.
fn settings_count(choose: &Choose, record: &CataloguePart) -> usize {
    let settings = choose.in_each;
    settings.map_or(1, |(field, _)| record.settings(field).len())
}

/// The part itself and its pieces, each in every setting.
fn rows_of(choose: &Choose, record: &CataloguePart) -> usize {
    let pieces = match &record.on_hand {
        OnHand::Pieces(pieces) => pieces.len(),
        OnHand::Counted(_) => 0,
    };
    (pieces + 1).saturating_mul(settings_count(choose, record))
}

/// A part itself and its pieces, without a setting.
fn candidates<'e>(
    world: World<'e>,
    choose: &Choose,
    part: usize,
    record: &'e CataloguePart,
) -> Vec<Candidate<'e>> {
    let itself = Candidate::of_part(world, choose.part, part, record).tried();
    let mut found = vec![itself.clone()];
    if let OnHand::Pieces(pieces) = &record.on_hand {
        let pieces = pieces.iter().enumerate();
        found.extend(pieces.map(|(index, piece)| itself.clone().with_piece(index, &piece.fields)));
    }
    found
}

/// Which lets of a choice rest on the part alone. One that rests on a let that does not, or that
/// has no answer, does not either.
fn are_own(choose: &Choose) -> Vec<bool> {
    let mut are_own: Vec<bool> = Vec::with_capacity(choose.lets.len());
    for computed in &choose.lets {
        let own = is_own(&computed.value, &are_own);
        are_own.push(own);
    }
    are_own
}

fn is_own(expression: &Expression, lets: &[bool]) -> bool {
    let itself = match &expression.kind {
        ExpressionKind::Candidate(CandidateValue::Let(index)) => lets.get(*index) == Some(&true),
        ExpressionKind::Input(_)
        | ExpressionKind::Let(..)
        | ExpressionKind::Decision(..)
        | ExpressionKind::Field { .. }
        | ExpressionKind::Chosen { .. }
        | ExpressionKind::PreviousValue
        | ExpressionKind::Aggregate(_) => false,
        _ => true,
    };
    itself
        && children(expression)
            .into_iter()
            .all(|child| is_own(child, lets))
}
