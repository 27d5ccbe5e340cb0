//! The search against trying every set, and against sets that can be worked out by hand.

use super::*;

fn metres(tenths: i64) -> Rational {
    Rational::fraction(i128::from(tenths), 10).unwrap()
}

fn contender(kind: i32, carry_tenths: i64) -> Contender {
    Contender {
        kind,
        loft: None,
        carry: metres(carry_tenths),
        standing: Standing::Free,
        reluctance: Rational::ZERO,
        widest_gap: Some(Rational::whole(WIDEST)),
    }
}

/// The widest gap of the sets by hand.
const WIDEST: i64 = 20;

fn terms(narrowest: i64, most_clubs: usize) -> Terms {
    Terms {
        narrowest_gap: Rational::whole(narrowest),
        most_clubs,
    }
}

fn carries(contenders: &[Contender], made: &MadeUp) -> Vec<String> {
    let carry = |place: &usize| contenders[*place].carry.to_text();
    made.clubs.iter().map(carry).collect()
}

/// Clubs every five metres from 200 to 100, no step wider than 20: six clubs, all steps 20.
#[test]
fn the_fewest_clubs_that_keep_the_steps_and_those_even() {
    let contenders: Vec<Contender> = (0..=20)
        .map(|step| contender(3, 1000 + 50 * step))
        .collect();
    let made = make_up(&contenders, terms(5, 13)).unwrap();
    let all = ["200", "180", "160", "140", "120", "100"];
    assert_eq!(carries(&contenders, &made), all);
    assert_eq!(made.objective.largest_gap_m, Rational::whole(20));
    assert_eq!(made.objective.unevenness_m2, Rational::ZERO);
    assert_eq!(made.objective.beyond_widest_m2, Rational::ZERO);
}

/// The same with room for five only: four steps of 25, each 5 beyond, 4 × 25 in all.
#[test]
fn a_full_bag_shares_out_what_the_steps_exceed() {
    let contenders: Vec<Contender> = (0..=20)
        .map(|step| contender(3, 1000 + 50 * step))
        .collect();
    let made = make_up(&contenders, terms(5, 5)).unwrap();
    let all = ["200", "175", "150", "125", "100"];
    assert_eq!(carries(&contenders, &made), all);
    assert_eq!(made.objective.beyond_widest_m2, Rational::whole(100));
}

#[test]
fn a_settled_club_is_there_and_holds_its_place() {
    let mut contenders: Vec<Contender> = (0..=10)
        .map(|step| contender(3, 1000 + 100 * step))
        .collect();
    contenders.push(Contender {
        standing: Standing::Kept,
        ..contender(2, 1540)
    });
    let made = make_up(&contenders, terms(8, 13)).unwrap();
    assert!(made.clubs.contains(&11));
    // 150 and 160 are nearer than 8 to 154.
    assert_eq!(made.held, [(5, 11), (6, 11)]);
    assert!(!made.clubs.contains(&5) && !made.clubs.contains(&6));
}

#[test]
fn a_hybrid_does_not_stand_below_an_iron_unless_it_is_settled() {
    let set = |standing| {
        let hybrid = Contender {
            standing,
            ..contender(2, 1500)
        };
        let contenders = [contender(3, 1700), hybrid, contender(3, 1300)];
        let made = make_up(&contenders, terms(5, 13)).unwrap();
        carries(&contenders, &made)
    };
    assert_eq!(set(Standing::Free), ["170", "130"]);
    assert_eq!(set(Standing::Kept), ["170", "150", "130"]);
}

/// At a gentle speed more loft carries farther; the weaker club does not come before the stronger.
#[test]
fn lofts_rise_from_club_to_club() {
    let with_loft = |carry, loft| Contender {
        loft: Some(Rational::whole(loft)),
        ..contender(1, carry)
    };
    let contenders = [
        with_loft(1500, 10),
        with_loft(1300, 21),
        with_loft(1200, 15),
        with_loft(1000, 30),
    ];
    let made = make_up(&contenders, terms(5, 13)).unwrap();
    assert_eq!(carries(&contenders, &made), ["150", "130", "100"]);
}

#[test]
fn clubs_that_must_be_there_are_there_even_beyond_the_bag() {
    let contenders: Vec<Contender> = (0..6)
        .map(|step| Contender {
            standing: Standing::Required,
            ..contender(3, 1000 + 10 * step)
        })
        .collect();
    let made = make_up(&contenders, terms(5, 3)).unwrap();
    assert_eq!(made.clubs.len(), 6);
}

#[test]
fn nothing_makes_nothing_and_one_makes_one() {
    assert!(make_up(&[], terms(5, 13)).unwrap().clubs.is_empty());
    let alone = [contender(4, 900)];
    assert_eq!(make_up(&alone, terms(5, 13)).unwrap().clubs, [0]);
}

/// Every set of up to eleven contenders, judged one by one by the words of the module's page.
#[test]
fn no_set_is_better_than_the_one_that_is_found() {
    let mut numbers = Numbers(1);
    for round in 0..400 {
        let count = 2 + numbers.below(10);
        let contenders: Vec<Contender> = (0..count)
            .map(|_| Contender {
                kind: i32::try_from(1 + numbers.below(4)).unwrap(),
                loft: Some(Rational::whole(numbers.below(40))),
                carry: metres(1000 + 5 * numbers.below(100)),
                standing: match numbers.below(8) {
                    0 => Standing::Kept,
                    2 => Standing::Driver,
                    1 => Standing::Required,
                    _ => Standing::Free,
                },
                reluctance: metres(5 * numbers.below(3)),
                widest_gap: match numbers.below(14) {
                    0 => None,
                    more => Some(Rational::whole(3 + more)),
                },
            })
            .collect();
        let terms = terms(
            1 + numbers.below(4),
            usize::try_from(2 + numbers.below(9)).unwrap(),
        );
        let made = make_up(&contenders, terms).unwrap();
        let best = best_by_trying(&contenders, terms);
        assert_eq!(made.clubs, best, "round {round}: {contenders:?} {terms:?}");
    }
}

/// A sequence of numbers: D. H. Lehmer's generator, multiplier 48271 modulo 2³¹ − 1.
struct Numbers(i64);

impl Numbers {
    fn below(&mut self, bound: i64) -> i64 {
        self.0 = self.0 * 48_271 % 2_147_483_647;
        self.0 / 7 % bound
    }
}

fn best_by_trying(contenders: &[Contender], terms: Terms) -> Vec<usize> {
    let is_fixed = |place: usize| contenders[place].standing.is_settled();
    let is_kept = |place: usize| contenders[place].standing == Standing::Kept;
    let gap = |one: usize, other: usize| {
        let gap = contenders[one].carry.minus(contenders[other].carry);
        gap.unwrap()
    };
    let all = 0..contenders.len();
    let mut order: Vec<usize> = all
        .clone()
        .filter(|place| {
            is_fixed(*place)
                || all.clone().all(|other| {
                    !is_kept(other) || gap(*place, other).size() >= terms.narrowest_gap
                })
        })
        .collect();
    order.sort_by(|one, other| {
        let key = |place: usize| (contenders[place].kind, contenders[place].loft, place);
        let is_driver = |place: usize| contenders[place].standing == Standing::Driver;
        (is_driver(*other).cmp(&is_driver(*one)))
            .then(gap(*other, *one).cmp(&Rational::ZERO))
            .then(key(*one).cmp(&key(*other)))
    });
    let must = |index: usize| {
        index == 0
            || index + 1 == order.len()
            || contenders[order[index]].standing != Standing::Free
    };
    let musts = (0..order.len()).filter(|index| must(*index)).count();
    let mut best: Option<((Rational, Rational, usize, Rational), Vec<usize>)> = None;
    for chosen in 0..1_u32 << order.len() {
        let way: Vec<usize> = (0..order.len())
            .filter(|index| chosen >> index & 1 == 1)
            .collect();
        if (0..order.len()).any(|index| must(index) && !way.contains(&index))
            || way.len() > terms.most_clubs.max(musts)
        {
            continue;
        }
        let is_allowed = way.windows(2).all(|pair| {
            let [from, to] = [order[pair[0]], order[pair[1]]];
            let [longer, shorter] = [&contenders[from], &contenders[to]];
            let is_in_order = longer.kind <= shorter.kind && longer.loft < shorter.loft
                || is_fixed(from)
                || is_fixed(to);
            must(pair[0]) && must(pair[1]) || gap(from, to) >= terms.narrowest_gap && is_in_order
        });
        if !is_allowed {
            continue;
        }
        let square = |value: Rational| value.times(value).unwrap();
        let sum = |values: Vec<Rational>| {
            let add = |sum: Rational, value: Rational| sum.plus(value).unwrap();
            values.into_iter().fold(Rational::ZERO, add)
        };
        let steps: Vec<(Rational, Option<Rational>)> = way
            .windows(2)
            .map(|pair| {
                let [from, to] = [order[pair[0]], order[pair[1]]];
                (gap(from, to), contenders[to].widest_gap)
            })
            .collect();
        let beyond = |(gap, widest): &(Rational, Option<Rational>)| {
            let beyond = gap.minus((*widest)?).unwrap();
            (beyond > Rational::ZERO).then(|| square(beyond))
        };
        let cost = (
            sum(steps.iter().filter_map(beyond).collect()),
            sum(way
                .iter()
                .map(|index| contenders[order[*index]].reluctance)
                .collect()),
            way.len(),
            sum(steps.iter().map(|(gap, _)| square(*gap)).collect()),
        );
        let is_better = best
            .as_ref()
            .is_none_or(|(least, places)| (cost, &way) < (*least, places));
        if is_better {
            best = Some((cost, way));
        }
    }
    let (_, way) = best.unwrap();
    way.into_iter().map(|index| order[index]).collect()
}
