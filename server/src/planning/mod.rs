//! The plan of a stock as one document: what `plan --json` prints, and what the tables are drawn
//! from. Field names are stable.

mod text;

use std::collections::BTreeMap;

use loftwright_dsl::program::Program;
use loftwright_dsl::quantity::{Date, Rational, Rounding};
use loftwright_engine::parts::{CataloguePart, OnHand, Parts};
use loftwright_engine::stocking::{
    Draw, Drawer, PartPlace, RESOLUTION, StockPlan, Terms, VisitPlan, WEDGE_LIFE,
};
use serde::Serialize;

pub use text::plan_text;

/// The whole plan.
#[derive(Clone, Debug, Serialize)]
pub struct PlanDocument {
    /// What the roster is called.
    pub title: String,
    /// The ruleset.
    pub ruleset: String,
    /// The digest of the snapshot of parts.
    pub parts: String,
    /// The day the plan is made.
    pub made_on: String,
    /// How likely what is loaded is to suffice, part by part.
    pub confidence: Chance,
    /// Over how many days wedges are replaced; null where that is left out.
    pub horizon_days: Option<String>,
    /// What is to be known about the numbers.
    pub notes: Vec<String>,
    /// Every part that somebody takes or asks for.
    pub drawers: Vec<DrawerLine>,
    /// Every player, in order of arrival.
    pub players: Vec<PlayerLine>,
}

/// A chance.
#[derive(Clone, Debug, Serialize)]
pub struct Chance {
    /// The exact fraction, or its value to the resolution where it cannot be held.
    pub exact: String,
    /// In percent, to a tenth.
    pub percent: String,
}

/// One drawer.
#[derive(Clone, Debug, Serialize)]
pub struct DrawerLine {
    /// The kind of part, in the plural.
    pub kind: String,
    /// The part's code.
    pub part: String,
    /// How many are there.
    pub on_hand: i64,
    /// How many players who come for certain take, in order of arrival.
    pub drawn: i64,
    /// How many of theirs are ordered for want of one on hand.
    pub ordered: i64,
    /// How many are asked for on average, each player being fitted from full drawers.
    pub asked_for: String,
    /// The same as an exact fraction.
    pub asked_for_exact: String,
    /// The chance of each count from 0.
    pub chances: Vec<String>,
    /// Whether these chances are exact.
    pub is_exact: bool,
    /// The chance that more are asked for than there are.
    pub runs_short: Chance,
    /// How many to have, to suffice as likely as was wanted.
    pub load: i64,
    /// How many of these to order.
    pub order: i64,
    /// How long an order takes.
    pub lead_time_days: Option<i64>,
    /// The day from which those on hand no longer suffice.
    pub needed_on: Option<String>,
    /// The last day to order.
    pub order_by: Option<String>,
    /// Whether that day is past.
    pub is_late: bool,
    /// Who asks for it.
    pub wanted_by: Vec<Wanting>,
}

/// A player who asks for a part.
#[derive(Clone, Debug, Serialize)]
pub struct Wanting {
    /// The player.
    pub player: String,
    /// How many he asks for on average.
    pub asked_for: String,
}

/// One player.
#[derive(Clone, Debug, Serialize)]
pub struct PlayerLine {
    /// What he is called.
    pub player: String,
    /// The day he comes.
    pub on: String,
    /// The chance that he comes.
    pub chance: Chance,
    /// Whether any of his readings is uncertain.
    pub is_uncertain: bool,
    /// What he takes, of what those before him left.
    pub takes: Vec<Taking>,
    /// What he goes without.
    pub left_open: Vec<Open>,
    /// What waits for readings.
    pub waits: Vec<Open>,
    /// His wedges with how often each is replaced within the horizon, on average.
    pub replacements: Vec<Replaced>,
}

/// A part for a club.
#[derive(Clone, Debug, Serialize)]
pub struct Taking {
    /// The choice.
    pub choice: String,
    /// The club.
    pub club: String,
    /// The part's code.
    pub part: String,
    /// The piece's code.
    pub piece: Option<String>,
    /// Whether it is to be ordered.
    pub is_ordered: bool,
    /// What he would have had from full drawers, where that is something else.
    pub in_place_of: Option<String>,
    /// What the ladder says.
    pub says: Option<String>,
}

/// A place without a part.
#[derive(Clone, Debug, Serialize)]
pub struct Open {
    /// The choice.
    pub choice: String,
    /// The club.
    pub club: String,
}

/// A wedge that wears out.
#[derive(Clone, Debug, Serialize)]
pub struct Replaced {
    /// The club.
    pub club: String,
    /// How often it is replaced on average.
    pub times: String,
}

/// What a plan is about.
pub struct About<'a> {
    /// The rules.
    pub program: &'a Program,
    /// The parts.
    pub parts: &'a Parts,
    /// Their digest.
    pub digest: &'a str,
    /// What the roster is called.
    pub title: &'a str,
    /// What the plan is for.
    pub terms: &'a Terms,
}

/// A plan as a document.
pub fn document(about: &About<'_>, plan: &StockPlan) -> PlanDocument {
    let terms = about.terms;
    PlanDocument {
        title: about.title.to_owned(),
        ruleset: about.program.name.clone(),
        parts: about.digest.to_owned(),
        made_on: terms.today.to_string(),
        confidence: chance(terms.confidence),
        horizon_days: terms.horizon_s.map(|horizon| {
            let days = horizon.over(Rational::whole(86_400));
            days.map_or_else(|_| horizon.to_string(), |days| days.to_string())
        }),
        notes: notes(about, plan),
        drawers: plan
            .drawers
            .iter()
            .map(|drawer| drawer_line(about, plan, drawer))
            .collect(),
        players: plan
            .visits
            .iter()
            .map(|visit| player_line(about, visit))
            .collect(),
    }
}

fn notes(about: &About<'_>, plan: &StockPlan) -> Vec<String> {
    let mut notes = vec![
        "drawn: by players who come for certain, in order of arrival, each fitted against what \
         those before him left"
            .to_owned(),
        "asked for: by all players, each fitted from full drawers with 64 plausible sets of \
         readings; players are taken to be independent of each other"
            .to_owned(),
    ];
    if plan.drawers.iter().any(|drawer| !drawer.demand.is_exact()) {
        notes.push(format!(
            "chances that cannot be held as fractions are rounded to one part in {RESOLUTION}"
        ));
    }
    let with_horizon = about.terms.horizon_s.is_some();
    match (with_horizon, plan.knows_wedge_life) {
        (true, true) => notes.push(
            "a wedge is replaced horizon / life times, as a whole club and each by itself: the whole \
             part for certain, the rest as the chance of one more at the end of the horizon"
                .to_owned(),
        ),
        (true, false) => notes.push(format!(
            "the ruleset {} knows no wedge life (`decide {WEDGE_LIFE} : time, for each wedge`), so \
             no wedge is replaced",
            about.program.name
        )),
        (false, true) => {
            notes.push("the roster has no `horizon`, so no wedge is replaced".to_owned())
        }
        (false, false) => {}
    }
    notes
}

fn drawer_line(about: &About<'_>, plan: &StockPlan, drawer: &Drawer) -> DrawerLine {
    let expected = drawer.demand.expected();
    let wanting = |(place, expected): &(usize, Rational)| Wanting {
        player: plan
            .visits
            .get(*place)
            .map(|visit| visit.name.clone())
            .unwrap_or_default(),
        asked_for: hundredths(*expected),
    };
    let counts = 0..=drawer.demand.highest();
    DrawerLine {
        kind: about.program.parts[drawer.part.0].plural.clone(),
        part: code(about.parts, drawer.part),
        on_hand: drawer.on_hand,
        drawn: drawer.drawn,
        ordered: drawer.ordered,
        asked_for: hundredths(expected),
        asked_for_exact: fraction(expected),
        chances: counts
            .map(|count| fraction(drawer.demand.of(count)))
            .collect(),
        is_exact: drawer.demand.is_exact(),
        runs_short: chance(drawer.demand.above(drawer.on_hand)),
        load: drawer.load,
        order: drawer.order,
        lead_time_days: drawer.lead_time_days,
        needed_on: drawer.needed_on.as_ref().map(Date::to_string),
        order_by: drawer.order_by.as_ref().map(Date::to_string),
        is_late: drawer.order_by.is_some_and(|day| day < about.terms.today),
        wanted_by: drawer.wanted_by.iter().map(wanting).collect(),
    }
}

fn player_line(about: &About<'_>, visit: &VisitPlan) -> PlayerLine {
    let instead: &BTreeMap<usize, PartPlace> = &visit.instead;
    let taking = |(place, draw): (usize, &Draw)| Taking {
        choice: draw.choice.clone(),
        club: draw.club.clone(),
        part: code(about.parts, draw.part),
        piece: piece(about.parts, draw),
        is_ordered: draw.is_ordered,
        in_place_of: instead.get(&place).map(|part| code(about.parts, *part)),
        says: draw.says.clone(),
    };
    let open = |waits: bool| {
        let left = visit.left.iter().filter(move |left| left.waits == waits);
        left.map(|left| Open {
            choice: left.choice.clone(),
            club: left.club.clone(),
        })
        .collect()
    };
    PlayerLine {
        player: visit.name.clone(),
        on: visit.on.to_string(),
        chance: chance(visit.chance),
        is_uncertain: visit.is_uncertain,
        takes: visit.draws.iter().enumerate().map(taking).collect(),
        left_open: open(false),
        waits: open(true),
        replacements: visit
            .replacements
            .iter()
            .map(|(club, times)| Replaced {
                club: club.clone(),
                times: hundredths(*times),
            })
            .collect(),
    }
}

fn part(parts: &Parts, place: PartPlace) -> Option<&CataloguePart> {
    parts.of(place.0).get(place.1)
}

fn code(parts: &Parts, place: PartPlace) -> String {
    part(parts, place)
        .map(|part| part.id.clone())
        .unwrap_or_default()
}

fn piece(parts: &Parts, draw: &Draw) -> Option<String> {
    match &part(parts, draw.part)?.on_hand {
        OnHand::Pieces(pieces) => Some(pieces.get(draw.piece?)?.id.clone()),
        OnHand::Counted(_) => None,
    }
}

fn chance(chance: Rational) -> Chance {
    Chance {
        exact: fraction(chance),
        percent: percent(chance),
    }
}

/// `3/32`, `1`, `0`.
fn fraction(number: Rational) -> String {
    match number.to_whole() {
        Some(whole) => whole.to_string(),
        None => format!("{}/{}", number.numerator(), number.denominator()),
    }
}

/// In percent to a tenth; what is not nothing, and what is not certain, never reads as if it were.
fn percent(chance: Rational) -> String {
    let tenth = Rational::fraction(1, 1_000).unwrap_or(Rational::ONE);
    let rounded = chance
        .rounded_to(tenth, Rounding::Nearest)
        .unwrap_or(chance);
    if rounded.is_zero() && !chance.is_zero() {
        return "< 0.1".to_owned();
    }
    if rounded == Rational::ONE && chance != Rational::ONE {
        return "> 99.9".to_owned();
    }
    let percent = rounded.times(Rational::whole(100));
    percent.map_or_else(|_| fraction(chance), |percent| percent.to_string())
}

fn hundredths(number: Rational) -> String {
    let unit = Rational::fraction(1, 100).unwrap_or(Rational::ONE);
    let rounded = number.rounded_to(unit, Rounding::Nearest).unwrap_or(number);
    match rounded.is_zero() && !number.is_zero() {
        true => "< 0.01".to_owned(),
        false => rounded.to_string(),
    }
}
