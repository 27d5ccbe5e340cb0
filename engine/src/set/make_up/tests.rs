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

/// What a set costs, the first figure first; and its contenders by their places in the order.
type Judged = ((Rational, Rational, usize, Rational), Vec<usize>);

/// The rules of the module's page, one after the other, for every set.
struct Trying<'a> {
    contenders: &'a [Contender],
    terms: Terms,
    order: Vec<usize>,
}

fn best_by_trying(contenders: &[Contender], terms: Terms) -> Vec<usize> {
    let trying = Trying {
        contenders,
        terms,
        order: Vec::new(),
    };
    let order = trying.in_order();
    let trying = Trying { order, ..trying };
    let sets = 0..1_u32 << trying.order.len();
    let best = sets.filter_map(|chosen| trying.judged(chosen)).min();
    let (_, way) = best.unwrap();
    way.into_iter().map(|index| trying.order[index]).collect()
}

impl Trying<'_> {
    fn is_fixed(&self, place: usize) -> bool {
        self.contenders[place].standing.is_settled()
    }

    fn gap(&self, one: usize, other: usize) -> Rational {
        let gap = self.contenders[one]
            .carry
            .minus(self.contenders[other].carry);
        gap.unwrap()
    }

    fn in_order(&self) -> Vec<usize> {
        let all = 0..self.contenders.len();
        let is = |place: usize, standing| self.contenders[place].standing == standing;
        let has_room = |place: usize| {
            all.clone().all(|other| {
                !is(other, Standing::Kept)
                    || self.gap(place, other).size() >= self.terms.narrowest_gap
            })
        };
        let mut order: Vec<usize> = all
            .clone()
            .filter(|place| self.is_fixed(*place) || has_room(*place))
            .collect();
        order.sort_by(|one, other| {
            let of = |place: usize| &self.contenders[place];
            let key = |place: usize| (of(place).kind, of(place).loft, place);
            let is_driver = |place: usize| is(place, Standing::Driver);
            (is_driver(*other).cmp(&is_driver(*one)))
                .then(self.gap(*other, *one).cmp(&Rational::ZERO))
                .then(key(*one).cmp(&key(*other)))
        });
        order
    }

    fn must(&self, index: usize) -> bool {
        index == 0
            || index + 1 == self.order.len()
            || self.contenders[self.order[index]].standing != Standing::Free
    }

    /// A set as the bits of a number; `None` where it is not allowed.
    fn judged(&self, chosen: u32) -> Option<Judged> {
        let all = 0..self.order.len();
        let way: Vec<usize> = all
            .clone()
            .filter(|index| chosen >> index & 1 == 1)
            .collect();
        let musts: Vec<usize> = all.filter(|index| self.must(*index)).collect();
        let has_all = musts.iter().all(|index| way.contains(index));
        let has_room = way.len() <= self.terms.most_clubs.max(musts.len());
        let may_follow = |pair: &[usize]| {
            let [from, to] = [self.order[pair[0]], self.order[pair[1]]];
            let [longer, shorter] = [&self.contenders[from], &self.contenders[to]];
            let is_in_order = longer.kind <= shorter.kind && longer.loft < shorter.loft
                || self.is_fixed(from)
                || self.is_fixed(to);
            self.must(pair[0]) && self.must(pair[1])
                || self.gap(from, to) >= self.terms.narrowest_gap && is_in_order
        };
        let is_allowed = has_all && has_room && way.windows(2).all(may_follow);
        is_allowed.then(|| (self.cost(&way), way))
    }

    fn cost(&self, way: &[usize]) -> (Rational, Rational, usize, Rational) {
        let square = |value: Rational| value.times(value).unwrap();
        let sum = |values: Vec<Rational>| {
            let add = |sum: Rational, value: Rational| sum.plus(value).unwrap();
            values.into_iter().fold(Rational::ZERO, add)
        };
        let pairs = way.windows(2);
        let steps: Vec<(Rational, Option<Rational>)> = pairs
            .map(|pair| {
                let [from, to] = [self.order[pair[0]], self.order[pair[1]]];
                (self.gap(from, to), self.contenders[to].widest_gap)
            })
            .collect();
        let beyond = |(gap, widest): &(Rational, Option<Rational>)| {
            let beyond = gap.minus((*widest)?).unwrap();
            (beyond > Rational::ZERO).then(|| square(beyond))
        };
        let reluctance = |index: &usize| self.contenders[self.order[*index]].reluctance;
        (
            sum(steps.iter().filter_map(beyond).collect()),
            sum(way.iter().map(reluctance).collect()),
            way.len(),
            sum(steps.iter().map(|(gap, _)| square(*gap)).collect()),
        )
    }
}
