//! Planning of the stock, on cases that can be counted by hand.
//!
//! The rules are `corpus/base.rules` with a cover of a kind of its own, taken by the driver's flex.
//! The day is the first of May 2026; nothing here is copied from what the program says.

use std::collections::BTreeSet;

use loftwright_dsl::diagnostic::render_for_terminal;
use loftwright_dsl::program::Program;
use loftwright_dsl::quantity::{Date, Rational};
use loftwright_engine::intake::{
    FieldText, PartsText, PlayerText, ReadingText, RecordText, read_parts, read_player,
};
use loftwright_engine::parts::{OnHand, Parts};
use loftwright_engine::stocking::{Drawer, StockPlan, Terms, Visit, plan};
use loftwright_tests::house::checked;

const COVERS: &str = "
part cover
  has flex    : flex
  has rank    : count, between 0 and 9
  has on_hand : count

choose cover_piece from covers
  source  common practice
  takes   1 from on_hand
  needs   flex is shaft_flex
  ties by rank, smallest first
  if none on hand, orders
";

const WEAR: &str = "
decide wedge_life : time, for each wedge
  source common practice
  gives  21 days
";

fn program(rules: &str) -> Program {
    let output = checked("house.rules", rules);
    let shown = render_for_terminal(&output.folder, &output.diagnostics, false);
    output.program.unwrap_or_else(|| panic!("{shown}"))
}

/// `id: field = value, …` a line.
fn records(text: &str) -> Vec<RecordText> {
    let lines = text.lines().map(str::trim).filter(|line| !line.is_empty());
    lines
        .map(|line| {
            let pairs = line.split(',').map(|pair| pair.split_once('=').unwrap());
            let field = |(name, text): (&str, &str)| {
                (
                    name.trim().to_owned(),
                    FieldText::Text(text.trim().to_owned()),
                )
            };
            RecordText {
                place: line.to_owned(),
                fields: pairs.map(field).collect(),
            }
        })
        .collect()
}

fn parts(program: &Program, catalogue: &[(&str, &str)], stock: &[(&str, &str)]) -> Parts {
    let kinds = |kinds: &[(&str, &str)]| {
        let kinds = kinds.iter();
        kinds
            .map(|(kind, text)| ((*kind).to_owned(), records(text)))
            .collect()
    };
    let text = PartsText {
        catalogue: kinds(catalogue),
        stock: kinds(stock),
    };
    read_parts(program, &text).unwrap_or_else(|faults| panic!("{faults:?}"))
}

fn covers(program: &Program, on_hand: &str) -> Parts {
    let catalogue = "id=C-1, flex=regular, rank=1, lead_time_days=7
                     id=C-2, flex=regular, rank=2, lead_time_days=7
                     id=C-3, flex=soft, rank=1";
    parts(program, &[("cover", catalogue)], &[("cover", on_hand)])
}

fn day(text: &str) -> Date {
    Date::parse(text).unwrap()
}

fn fraction(numerator: i128, denominator: i128) -> Rational {
    Rational::fraction(numerator, denominator).unwrap()
}

/// A player whose swing is measured without any doubt: `head_speed` has its spread, but the others
/// are a hundred spreads away from any bound.
fn player(program: &Program, head_speed: &str) -> loftwright_engine::player::Player {
    let readings = [
        ("player_hand", "right"),
        ("head_speed", head_speed),
        ("attack_angle", "-6 deg"),
    ];
    let reading = |(name, value): (&str, &str)| {
        let text = ReadingText {
            value: value.to_owned(),
            ..ReadingText::default()
        };
        (name.to_owned(), text)
    };
    let text = PlayerText {
        readings: readings.into_iter().map(reading).collect(),
        ..PlayerText::default()
    };
    read_player(program, &text).unwrap()
}

fn visit(program: &Program, name: &str, on: &str, chance: Rational, head_speed: &str) -> Visit {
    Visit {
        name: name.to_owned(),
        player: player(program, head_speed),
        on: day(on),
        chance,
        wants: BTreeSet::new(),
    }
}

fn terms(confidence: Rational) -> Terms {
    Terms {
        today: day("2026-05-01"),
        horizon_s: None,
        confidence,
    }
}

fn drawer<'p>(plan: &'p StockPlan, parts: &Parts, id: &str) -> Option<&'p Drawer> {
    let of = |drawer: &&Drawer| parts.of(drawer.part.0)[drawer.part.1].id == id;
    plan.drawers.iter().find(of)
}

/// What a player of the plan gets, choice by choice.
fn gets(plan: &StockPlan, parts: &Parts, visit: usize, choice: &str) -> Vec<String> {
    let draws = plan.visits[visit].draws.iter();
    draws
        .filter(|draw| draw.choice == choice)
        .map(|draw| {
            let part = &parts.of(draw.part.0)[draw.part.1];
            let piece = match (&part.on_hand, draw.piece) {
                (OnHand::Pieces(pieces), Some(piece)) => format!(" / {}", pieces[piece].id),
                _ => String::new(),
            };
            let ordered = if draw.is_ordered { ", ordered" } else { "" };
            format!("{}{piece}{ordered}", part.id)
        })
        .collect()
}

#[test]
fn the_second_who_wants_the_last_one_gets_the_next_best() {
    let program = program(COVERS);
    let parts = covers(&program, "part=C-1, on_hand=1\npart=C-2, on_hand=5");
    let come = |name: &str, on: &str| visit(&program, name, on, Rational::ONE, "92 mph");
    // Told in another order than they come.
    let visits = [come("second", "2026-05-12"), come("first", "2026-05-10")];
    let plan = plan(&program, &parts, &visits, &terms(fraction(95, 100)));
    let names: Vec<&str> = plan
        .visits
        .iter()
        .map(|visit| visit.name.as_str())
        .collect();
    assert_eq!(names, ["first", "second"]);
    assert_eq!(gets(&plan, &parts, 0, "cover_piece"), ["C-1"]);
    assert_eq!(gets(&plan, &parts, 1, "cover_piece"), ["C-2"]);
    assert!(plan.visits[0].instead.is_empty());
    assert_eq!(plan.visits[1].instead.len(), 1);
    let first = drawer(&plan, &parts, "C-1").unwrap();
    assert_eq!((first.on_hand, first.drawn, first.ordered), (1, 1, 0));
    assert_eq!(first.demand.of(2), Rational::ONE);
    assert_eq!(first.demand.above(1), Rational::ONE);
    // One suffices for the first alone: it is on the second's day that one more must be there.
    assert_eq!((first.load, first.order), (2, 1));
    assert_eq!(first.needed_on, Some(day("2026-05-12")));
    assert_eq!(first.order_by, Some(day("2026-05-05")));
    let next_best = drawer(&plan, &parts, "C-2").unwrap();
    assert_eq!(
        (next_best.drawn, next_best.load, next_best.order),
        (1, 0, 0)
    );
}

#[test]
fn without_a_next_best_it_is_ordered() {
    let program = program(COVERS);
    let parts = covers(&program, "part=C-1, on_hand=1");
    let come = |name: &str| visit(&program, name, "2026-05-10", Rational::ONE, "92 mph");
    let visits = [come("first"), come("second")];
    let plan = plan(&program, &parts, &visits, &terms(fraction(1, 2)));
    assert_eq!(gets(&plan, &parts, 0, "cover_piece"), ["C-1"]);
    assert_eq!(gets(&plan, &parts, 1, "cover_piece"), ["C-1, ordered"]);
    let cover = drawer(&plan, &parts, "C-1").unwrap();
    assert_eq!((cover.drawn, cover.ordered, cover.order), (1, 1, 1));
    assert_eq!(cover.order_by, Some(day("2026-05-03")));
}

/// n players who each come with chance p: the binomial distribution.
#[test]
fn uncertain_players_are_a_binomial_distribution_and_take_nothing_away() {
    let program = program(COVERS);
    let parts = covers(&program, "part=C-1, on_hand=2");
    let visits: Vec<Visit> = (0..5)
        .map(|_| visit(&program, "guest", "2026-05-10", fraction(2, 5), "92 mph"))
        .collect();
    let plan = plan(&program, &parts, &visits, &terms(fraction(95, 100)));
    let cover = drawer(&plan, &parts, "C-1").unwrap();
    let ways = [1, 5, 10, 10, 5, 1];
    for (count, ways) in ways.into_iter().enumerate() {
        let heads = 2_i128.pow(u32::try_from(count).unwrap());
        let tails = 3_i128.pow(u32::try_from(5 - count).unwrap());
        assert_eq!(
            cover.demand.of(count),
            fraction(ways * heads * tails, 3_125)
        );
    }
    assert!(cover.demand.is_exact());
    // P(> 2) = (720 + 240 + 32) / 3125... by hand: 10·8·9 + 5·16·3 + 32.
    assert_eq!(cover.demand.above(2), fraction(720 + 240 + 32, 3_125));
    // P(> 3) = 272/3125 = 8.7 %, P(> 4) = 32/3125 = 1 %: four suffice with 95 percent.
    assert_eq!((cover.load, cover.order, cover.drawn), (4, 2, 0));
    assert_eq!(cover.demand.expected(), Rational::whole(2));
    assert_eq!(gets(&plan, &parts, 4, "cover_piece"), ["C-1"]);
}

/// At the very bound of a row half of the plausible readings fall on either side: each reading is
/// as often above its value as below it.
#[test]
fn a_reading_on_a_bound_asks_half_for_each() {
    let program = program(COVERS);
    let parts = covers(&program, "part=C-1, on_hand=1\npart=C-3, on_hand=1");
    let on_the_bound = visit(&program, "doubtful", "2026-05-10", Rational::ONE, "85 mph");
    let plan = plan(&program, &parts, &[on_the_bound], &terms(fraction(1, 2)));
    assert!(plan.visits[0].is_uncertain);
    for id in ["C-1", "C-3"] {
        let cover = drawer(&plan, &parts, id).unwrap();
        assert_eq!(cover.demand.of(1), fraction(1, 2), "{id}");
        assert_eq!(cover.demand.of(0), fraction(1, 2), "{id}");
    }
    // As they come he is taken at his word: 85 mph is regular.
    assert_eq!(gets(&plan, &parts, 0, "cover_piece"), ["C-1"]);
}

const WEDGES: &str = "id=W-1, kind=wedge, hand=right, stamped_loft=50 deg, mass=290 g, \
                      lie=63 deg, bounce=standard, lead_time_days=7";

/// A wedge that lasts 21 days is replaced 28/21 times in 28 days: once for certain, on the 21st,
/// and once more with chance 1/3. Two wedges from one drawer: 4, 5 or 6 with 4/9, 4/9, 1/9.
#[test]
fn wedges_are_replaced_by_their_life() {
    let program = program(&format!("{COVERS}{WEAR}"));
    let catalogue = [("head", WEDGES), ("grip", "id=G-1, mass=50 g")];
    let pieces = "id=N1, part=W-1\nid=N2, part=W-1\nid=N3, part=W-1";
    let stock = [("head", pieces), ("grip", "part=G-1, on_hand=90")];
    let parts = parts(&program, &catalogue, &stock);
    let mut comes = visit(&program, "daily", "2026-05-10", Rational::ONE, "92 mph");
    comes.wants = BTreeSet::from(["wedge".to_owned()]);
    let of = |confidence: Rational, horizon_days: Option<i64>| {
        let terms = Terms {
            horizon_s: horizon_days.map(|days| Rational::whole(days * 86_400)),
            ..terms(confidence)
        };
        plan(&program, &parts, std::slice::from_ref(&comes), &terms)
    };
    let plan = of(fraction(95, 100), Some(28));
    assert!(plan.knows_wedge_life);
    let times: Vec<Rational> = plan.visits[0]
        .replacements
        .iter()
        .map(|(_, times)| *times)
        .collect();
    assert_eq!(times, [fraction(4, 3), fraction(4, 3)]);
    for id in ["W-1", "G-1"] {
        let demand = &drawer(&plan, &parts, id).unwrap().demand;
        let chances = [3, 4, 5, 6, 7].map(|count| demand.of(count));
        let expected = [(0, 1), (4, 9), (4, 9), (1, 9), (0, 1)];
        assert_eq!(chances, expected.map(|(a, b)| fraction(a, b)), "{id}");
        assert_eq!(demand.expected(), fraction(14, 3));
    }
    let head = drawer(&plan, &parts, "W-1").unwrap();
    assert_eq!(
        (head.on_hand, head.drawn, head.load, head.order),
        (3, 2, 6, 3)
    );
    assert_eq!(head.needed_on, Some(day("2026-05-31")));
    assert_eq!(head.order_by, Some(day("2026-05-24")));
    // With 80 percent five suffice: six are wanted with 1/9 only.
    assert_eq!(
        drawer(&of(fraction(80, 100), Some(28)), &parts, "W-1")
            .unwrap()
            .load,
        5
    );
    // A horizon shorter than a life: each once more with chance 14/21, at its end.
    let short = of(fraction(95, 100), Some(14));
    let head = drawer(&short, &parts, "W-1").unwrap();
    assert_eq!(head.demand.of(2), fraction(1, 9));
    assert_eq!(head.demand.of(4), fraction(4, 9));
    assert_eq!(head.needed_on, Some(day("2026-05-24")));
    // Without a horizon nothing wears out.
    assert_eq!(
        drawer(&of(fraction(95, 100), None), &parts, "W-1")
            .unwrap()
            .load,
        2
    );
}

#[test]
fn a_ruleset_without_wedge_life_says_so_and_what_is_not_wanted_is_not_taken() {
    let program = program(COVERS);
    let catalogue = [("head", WEDGES), ("grip", "id=G-1, mass=50 g")];
    let pieces = "id=N1, part=W-1\nid=N2, part=W-1";
    let stock = [("head", pieces), ("grip", "part=G-1, on_hand=90")];
    let parts = parts(&program, &catalogue, &stock);
    let mut comes = visit(&program, "putter", "2026-05-10", Rational::ONE, "92 mph");
    comes.wants = BTreeSet::from(["putter".to_owned()]);
    let terms = Terms {
        horizon_s: Some(Rational::whole(28 * 86_400)),
        ..terms(fraction(95, 100))
    };
    let plan = plan(&program, &parts, &[comes], &terms);
    assert!(!plan.knows_wedge_life);
    // One grip, for the putter; no wedge, and no cover, which is for no club.
    let grip = drawer(&plan, &parts, "G-1").unwrap();
    assert_eq!((grip.drawn, plan.drawers.len()), (1, 1));
    // Putter head and shaft are not in the catalogue at all.
    let left: Vec<&str> = plan.visits[0]
        .left
        .iter()
        .map(|left| left.choice.as_str())
        .collect();
    assert_eq!(left, ["putter_head", "putter_shaft"]);
}

/// Each player takes another piece, told by its place in the full drawer; the fourth finds none.
#[test]
fn single_pieces_are_taken_once() {
    let program = program(COVERS);
    let driver = "id=D-1, kind=driver, hand=right, stamped_loft=10 deg, mass=200 g, lie=58 deg";
    let pieces = "id=N1, part=D-1\nid=N2, part=D-1\nid=N3, part=D-1";
    let parts = parts(&program, &[("head", driver)], &[("head", pieces)]);
    let visits: Vec<Visit> = (0..4)
        .map(|_| visit(&program, "one", "2026-05-10", Rational::ONE, "92 mph"))
        .collect();
    let plan = plan(&program, &parts, &visits, &terms(fraction(95, 100)));
    let taken: Vec<Vec<String>> = (0..4)
        .map(|place| gets(&plan, &parts, place, "driver_head"))
        .collect();
    assert_eq!(taken[..3], [["D-1 / N1"], ["D-1 / N2"], ["D-1 / N3"]]);
    assert!(taken[3].is_empty());
    let open = |visit: usize| {
        let mut left = plan.visits[visit].left.iter();
        left.any(|left| left.choice == "driver_head" && !left.waits)
    };
    assert!(open(3) && !open(2));
    let drawer = drawer(&plan, &parts, "D-1").unwrap();
    assert_eq!((drawer.drawn, drawer.load, drawer.order), (3, 4, 1));
}

#[test]
fn the_same_roster_is_the_same_plan() {
    let program = program(&format!("{COVERS}{WEAR}"));
    let on_hand = "part=C-1, on_hand=1\npart=C-2, on_hand=3\npart=C-3, on_hand=1";
    let parts = covers(&program, on_hand);
    let visits: Vec<Visit> = ["84 mph", "85 mph", "86 mph", "87 mph"]
        .into_iter()
        .enumerate()
        .map(|(place, speed)| {
            let chance = [Rational::ONE, fraction(7, 10)][place % 2];
            visit(&program, speed, "2026-05-10", chance, speed)
        })
        .collect();
    let planned = || {
        format!(
            "{:?}",
            plan(&program, &parts, &visits, &terms(fraction(9, 10)))
        )
    };
    assert_eq!(planned(), planned());
    let reversed: Vec<Visit> = visits.iter().rev().cloned().collect();
    let reversed = plan(&program, &parts, &reversed, &terms(fraction(9, 10)));
    let given = plan(&program, &parts, &visits, &terms(fraction(9, 10)));
    // Who comes first on one day changes nothing of what is asked for.
    let asked = |plan: &StockPlan| {
        let drawers = plan.drawers.iter();
        drawers
            .map(|drawer| drawer.demand.clone())
            .collect::<Vec<_>>()
    };
    assert_eq!(asked(&given), asked(&reversed));
}
