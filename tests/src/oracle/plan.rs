//! The makers `lofts_on_hand` and `make_up`, again: what could be in the set, and the best of it.

use std::collections::BTreeMap;

use loftwright_dsl::quantity::{Rational, Rounding};

use super::group::Member;
use super::operators::number;
use super::standard_set::KEPT;
use super::{Fields, Oracle, Outcome, Part, Place, State, Undecided, Value};

/// The group of what could be in the set.
pub const CANDIDATE: &str = "candidate";

/// The lofts of a kind without a head, in degrees: first, last, step.
const USUAL: [(&str, i64, i64, i64); 4] = [
    ("fairway", 15, 21, 3),
    ("hybrid", 19, 28, 3),
    ("iron", 20, 48, 1),
    ("wedge", 46, 60, 2),
];

/// A club that could be taken.
#[derive(Clone)]
struct Contender {
    place: usize,
    kind: i32,
    loft: Option<Rational>,
    carry: Rational,
    is_driver: bool,
    is_fixed: bool,
    must: bool,
    reluctance: Rational,
    widest: Option<Rational>,
}

/// What a way costs, and which contenders it takes: the smaller the better.
type Way = ((Rational, Rational, usize, Rational), Vec<usize>);

impl Oracle<'_> {
    /// The driver, every loft on hand, and the clubs that the player keeps.
    pub(super) fn lofts_on_hand(&self) -> Vec<Member> {
        let mut kept = Vec::new();
        for member in 0..self.group(KEPT).unwrap().list.len() {
            let kind = self.club_field(KEPT, member, "kind");
            if kind == self.kind("putter") {
                continue;
            }
            let mut fields = Fields::new();
            fields.insert("kind".to_owned(), kind);
            fields.insert("is_kept".to_owned(), State::Known(Value::Flag(true)));
            fields.insert("loft".to_owned(), self.club_field(KEPT, member, "loft"));
            let carry = self.club_field(KEPT, member, "carry");
            fields.insert("measured_carry".to_owned(), carry);
            fields.insert("on_hand".to_owned(), whole(1));
            kept.push(Member::Candidate {
                fields,
                kept: Some(member),
            });
        }
        let mut list = Vec::new();
        let has_driver = kept.iter().any(|member| match member {
            Member::Candidate { fields, .. } => fields["kind"] == self.kind("driver"),
            _ => false,
        });
        let driver_loft = self.state(&Place {
            name: "driver_target_loft".to_owned(),
            member: None,
        });
        if !has_driver && driver_loft != State::None {
            list.push(self.free("driver", driver_loft, None));
        }
        for (kind, first, last, step) in USUAL {
            let lofts = self.lofts_of(kind);
            if lofts.is_empty() {
                let usual = (first..=last).step_by(usize::try_from(step).unwrap());
                for degrees in usual {
                    let loft = State::Known(Value::Number(Rational::whole(degrees)));
                    list.push(self.free(kind, loft, None));
                }
            }
            for (loft, on_hand) in lofts {
                let loft = State::Known(Value::Number(loft));
                list.push(self.free(kind, loft, Some(on_hand)));
            }
        }
        list.extend(kept);
        list
    }

    fn kind(&self, word: &str) -> State {
        State::Known(self.word("club_kind", word, 0).unwrap())
    }

    fn free(&self, kind: &str, loft: State, on_hand: Option<i64>) -> Member {
        let mut fields = Fields::from([
            ("kind".to_owned(), self.kind(kind)),
            ("is_kept".to_owned(), State::Known(Value::Flag(false))),
            ("loft".to_owned(), loft),
        ]);
        fields.extend(on_hand.map(|on_hand| ("on_hand".to_owned(), whole(on_hand))));
        Member::Candidate { fields, kept: None }
    }

    /// The lofts to which heads of a kind can be brought, with how many there are.
    fn lofts_of(&self, kind: &str) -> BTreeMap<Rational, i64> {
        let mut lofts = BTreeMap::new();
        let hand = self.state(&Place {
            name: "player_hand".to_owned(),
            member: None,
        });
        let State::Known(kind_word) = self.kind(kind) else {
            return lofts;
        };
        for part in self.parts.kinds.get("head").into_iter().flatten() {
            let is_other_hand = match (&hand, part.fields.get("hand")) {
                (State::Known(hand), Some(of_part)) => hand != of_part,
                _ => false,
            };
            if part.fields.get("kind") != Some(&kind_word) || is_other_hand {
                continue;
            }
            for (measured, on_hand) in measured(part) {
                if kind != "iron" {
                    *lofts
                        .entry(number(&part.fields["stamped_loft"]))
                        .or_default() += on_hand;
                    continue;
                }
                let bend = part.fields.get("most_bend").map_or(Rational::ZERO, number);
                let nearest = measured.rounded_to(Rational::ONE, Rounding::Nearest);
                let nearest = nearest.unwrap().to_whole().unwrap();
                for degrees in nearest - 30..=nearest + 30 {
                    let loft = Rational::whole(degrees);
                    let away = loft.minus(measured).unwrap().size();
                    if degrees == nearest || away <= bend {
                        *lofts.entry(loft).or_default() += on_hand;
                    }
                }
            }
        }
        lofts
    }

    /// The set for full swings.
    pub(super) fn make_up(&self, from: &[&str]) -> Result<Vec<Member>, Outcome> {
        let mut merged = Undecided::default();
        let mut is_decided = true;
        let mut numbers = Vec::new();
        for name in &from[from.len() - 2..] {
            let place = Place {
                name: (*name).to_owned(),
                member: None,
            };
            match self.state(&place) {
                State::Known(value) => numbers.push(number(&value)),
                State::Undecided(undecided) => {
                    is_decided = false;
                    merged.merge(&undecided);
                }
                State::None => panic!("a set without `{name}`"),
            }
        }
        if !is_decided {
            return Err(State::Undecided(merged).into_outcome());
        }
        if self.group(CANDIDATE).is_err() {
            return Err(self.group_state(CANDIDATE).into_outcome());
        }
        let (contenders, without_carry) = self.contenders()?;
        let room = numbers[1].to_whole().unwrap() - 1 - without_carry;
        let room = usize::try_from(room.max(0)).unwrap();
        let taken = best_way(&contenders, numbers[0], room);
        let mut list: Vec<Member> = Vec::new();
        for (at, index) in taken.iter().enumerate() {
            let contender = &contenders[*index];
            let of_kind = taken[..=at].iter();
            let of_kind = of_kind.filter(|other| contenders[**other].kind == contender.kind);
            let gap = at.checked_sub(1).map(|before| {
                let longer = contenders[taken[before]].carry;
                State::Known(Value::Number(longer.minus(contender.carry).unwrap()))
            });
            let own = |field| self.club_field(CANDIDATE, contender.place, field);
            let fields = Fields::from([
                ("kind".to_owned(), own("kind")),
                ("is_kept".to_owned(), own("is_kept")),
                ("loft".to_owned(), own("loft")),
                (
                    "number".to_owned(),
                    whole(i64::try_from(of_kind.count()).unwrap()),
                ),
                (
                    "carry".to_owned(),
                    State::Known(Value::Number(contender.carry)),
                ),
                ("gap".to_owned(), gap.unwrap_or(State::None)),
            ]);
            list.push(Member::Planned {
                fields,
                candidate: contender.place,
            });
        }
        Ok(list)
    }

    /// Those that may be taken, and how many settled clubs have no carry.
    fn contenders(&self) -> Result<(Vec<Contender>, i64), Outcome> {
        let count = self.group(CANDIDATE).unwrap().list.len();
        let (mut blocking, mut is_blocked) = (Undecided::default(), false);
        let (mut unplaced, mut is_unplaced) = (Undecided::default(), false);
        let mut contenders = Vec::new();
        let mut without_carry = 0;
        for place in 0..count {
            match self.contender(place) {
                Ok(None) => {}
                Ok(Some((contender, State::Known(_)))) => contenders.push(contender),
                Ok(Some((contender, _))) if contender.is_fixed => without_carry += 1,
                Ok(Some((_, State::Undecided(undecided)))) => {
                    is_unplaced = true;
                    unplaced.merge(&undecided);
                }
                Ok(Some((_, State::None))) => {}
                Err(undecided) => {
                    is_blocked = true;
                    blocking.merge(&undecided);
                }
            }
        }
        if is_blocked {
            return Err(State::Undecided(blocking).into_outcome());
        }
        if is_unplaced && contenders.iter().all(|contender| contender.is_fixed) {
            return Err(State::Undecided(unplaced).into_outcome());
        }
        Ok((contenders, without_carry))
    }

    /// A candidate that may be taken, with the state of its carry; the first of what is asked that
    /// is not decided is told.
    fn contender(&self, place: usize) -> Result<Option<(Contender, State)>, Undecided> {
        let of = |name: &str| {
            let place = Place {
                name: name.to_owned(),
                member: Some(place),
            };
            match self.state(&place) {
                State::Undecided(undecided) => Err(undecided),
                State::Known(value) => Ok(Some(value)),
                State::None => Ok(None),
            }
        };
        let own = |field| self.club_field(CANDIDATE, place, field);
        let State::Known(Value::Word { place: kind, .. }) = own("kind") else {
            panic!("a candidate without a kind");
        };
        let is_driver = own("kind") == self.kind("driver");
        let is_fixed = is_driver || own("is_kept") == flag(true);
        let (mut must, mut reluctance) = (is_fixed, Rational::ZERO);
        if !is_fixed {
            if of("allowed")? != Some(Value::Flag(true)) {
                return Ok(None);
            }
            must = of("required")? == Some(Value::Flag(true));
            reluctance = of("reluctance")?.map_or(Rational::ZERO, |value| number(&value));
        }
        let widest = of("widest_gap")?.map(|value| number(&value));
        let carry = self.state(&Place {
            name: "candidate_carry".to_owned(),
            member: Some(place),
        });
        let contender = Contender {
            place,
            kind,
            loft: match own("loft") {
                State::Known(loft) => Some(number(&loft)),
                _ => None,
            },
            carry: match &carry {
                State::Known(carry) => number(carry),
                _ => Rational::ZERO,
            },
            is_driver,
            is_fixed,
            must,
            reluctance,
            widest,
        };
        Ok(Some((contender, carry)))
    }
}

fn measured(part: &Part) -> Vec<(Rational, i64)> {
    let stamped = number(&part.fields["stamped_loft"]);
    if part.pieces.is_empty() {
        return vec![(stamped, part.on_hand)];
    }
    let pieces = part.pieces.iter();
    pieces
        .map(|piece| (piece.fields.get("measured_loft").map_or(stamped, number), 1))
        .collect()
}

/// The places in `contenders` of the best set, longest first.
fn best_way(contenders: &[Contender], narrowest: Rational, room: usize) -> Vec<usize> {
    let gap = |one: &Contender, other: &Contender| one.carry.minus(other.carry).unwrap();
    let mut order: Vec<usize> = (0..contenders.len())
        .filter(|index| {
            let own = &contenders[*index];
            let mut settled = contenders
                .iter()
                .filter(|other| other.is_fixed && !other.is_driver);
            own.is_fixed || settled.all(|other| gap(own, other).size() >= narrowest)
        })
        .collect();
    order.sort_by_key(|index| {
        let own = &contenders[*index];
        (
            !own.is_driver,
            own.carry.negated(),
            own.kind,
            own.loft,
            *index,
        )
    });
    let must = |at: usize| at == 0 || at + 1 == order.len() || contenders[order[at]].must;
    let musts = (0..order.len()).filter(|at| must(*at)).count();
    // The best way from each place on, for each number of clubs that it may have.
    let mut from: Vec<BTreeMap<usize, Way>> = vec![BTreeMap::new(); order.len()];
    for at in (0..order.len()).rev() {
        let own = &contenders[order[at]];
        if at + 1 == order.len() {
            let alone = (Rational::ZERO, own.reluctance, 1, Rational::ZERO);
            from[at].insert(1, (alone, vec![at]));
            continue;
        }
        let mut ways: BTreeMap<usize, Way> = BTreeMap::new();
        for next in at + 1..order.len() {
            let other = &contenders[order[next]];
            if must(at) && must(next) || may_follow(own, other, narrowest) {
                for (clubs, rest) in &from[next] {
                    let way = with_step(at, own, other, rest);
                    let best = ways.entry(clubs + 1).or_insert_with(|| way.clone());
                    if way < *best {
                        *best = way;
                    }
                }
            }
            if must(next) {
                break;
            }
        }
        from[at] = ways;
    }
    let most = room.max(musts);
    let first = from.into_iter().next().unwrap_or_default();
    let best = first
        .into_iter()
        .filter(|(clubs, _)| *clubs <= most)
        .map(|(_, way)| way)
        .min();
    let places = best.map_or_else(Vec::new, |(_, places)| places);
    places.into_iter().map(|at| order[at]).collect()
}

fn may_follow(own: &Contender, other: &Contender, narrowest: Rational) -> bool {
    let lofts_rise = match (own.loft, other.loft) {
        (Some(longer), Some(shorter)) => longer < shorter,
        _ => true,
    };
    let in_order = own.kind <= other.kind && lofts_rise || own.is_fixed || other.is_fixed;
    own.carry.minus(other.carry).unwrap() >= narrowest && in_order
}

/// The way that begins at a place and goes on as another does.
fn with_step(at: usize, own: &Contender, other: &Contender, (rest, places): &Way) -> Way {
    let step = own.carry.minus(other.carry).unwrap();
    let beyond = other.widest.map_or(Rational::ZERO, |widest| {
        step.minus(widest).unwrap().max(Rational::ZERO)
    });
    let cost = (
        rest.0.plus(beyond.times(beyond).unwrap()).unwrap(),
        rest.1.plus(own.reluctance).unwrap(),
        rest.2 + 1,
        rest.3.plus(step.times(step).unwrap()).unwrap(),
    );
    let mut along = vec![at];
    along.extend(places);
    (cost, along)
}

fn whole(value: i64) -> State {
    State::Known(Value::Number(Rational::whole(value)))
}

fn flag(value: bool) -> State {
    State::Known(Value::Flag(value))
}
