//! A player for whom a decision is said to come to nothing, confirmed by running him.

use loftwright_dsl::program::{DecisionId, Node, Program};
use loftwright_dsl::quantity::Date;

use crate::evaluate::evaluate;
use crate::explain::{View, quoted, unsettled_sentence, value_of};
use crate::outcome::Outcome;
use crate::parts::Parts;
use crate::player::Player;
use crate::trace::{CompactTrace, Entry};

/// What a witness came to.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum WitnessAnswer {
    /// The decision has no value for this player: one sentence for each club, or one.
    NotDecided(Vec<String>),
    /// It has a value after all: the values, so the finding is wrong.
    Decided(Vec<String>),
    /// It is asked for no club of this player, so nothing is shown either way.
    NotAsked,
}

/// Evaluates a player and answers whether the decision comes to a value for him.
///
/// A gap of a table is confirmed by [`WitnessAnswer::NotDecided`]: at run time a player who matches
/// no row has a decision without a value. No parts are there, so a decision that rests on a chosen
/// part is not decided for want of it; such a decision has no witness of readings alone.
pub fn confirm_witness(
    program: &Program,
    decision: DecisionId,
    player: &Player,
    today: Date,
) -> WitnessAnswer {
    let parts = Parts::default();
    let mut trace = CompactTrace::default();
    let evaluation = evaluate(program, &parts, player, today, &mut trace);
    let view = View::new(program, &parts, player, today, &evaluation, &trace);
    let entries: Vec<&Entry> = view
        .entries_of(Node::Decision(decision))
        .filter(|entry| entry.outcome != Outcome::DoesNotApply)
        .collect();
    let named = |entry: &Entry, text: String| match view.club_of(entry.place) {
        Some(club) => format!("the {club}: {text}"),
        None => format!("{}: {text}", quoted(view.name_of(entry.place.node))),
    };
    let values: Vec<String> = entries
        .iter()
        .filter_map(|entry| Some(named(entry, value_of(&view, entry)?.text)))
        .collect();
    if entries.is_empty() {
        WitnessAnswer::NotAsked
    } else if values.is_empty() {
        let sentence = |entry: &&Entry| Some(named(entry, unsettled_sentence(&view, entry)?));
        WitnessAnswer::NotDecided(entries.iter().filter_map(sentence).collect())
    } else {
        WitnessAnswer::Decided(values)
    }
}
