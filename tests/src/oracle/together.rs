//! A stock shared among clubs: every assignment is looked at, but for those that cannot be better.

use std::collections::BTreeMap;

use loftwright_dsl::quantity::Rational;
use loftwright_dsl::syntax::tree::{Choose, Needs, RungKind};

use super::candidate::Candidate;
use super::choose::{Found, Source, Supply, Taken, Weighed, replaced, take};
use super::{Oracle, Outcome, Scope};

/// A candidate of a club: the lowest level that it passes, and its score.
struct Entrant<'a> {
    level: usize,
    weighed: Weighed<'a>,
}

/// A club that takes part, its candidates in order.
struct Club<'a> {
    member: usize,
    scope: Scope<'a>,
    entrants: Vec<Entrant<'a>>,
}

/// Clubs without a candidate, the sum of levels, minus the sum of scores.
type Cost = (usize, usize, Rational);

impl<'a> Oracle<'a> {
    /// The choice for all its clubs at once.
    pub(super) fn together(&self, choose: &'a Choose, supply: &Supply) -> BTreeMap<usize, Found> {
        let levels = levels(choose);
        let mut found: BTreeMap<usize, Found> = BTreeMap::new();
        let mut clubs = Vec::new();
        for place in self.places_in_order(choose) {
            let member = place.member.unwrap();
            let scope = self.scope_of(&place, choose.for_each.as_ref());
            let entrants = match self.only_when(choose.only_when.as_ref(), &scope) {
                Some(ended) => Err(ended),
                None => self.entrants(choose, &levels, supply, &scope),
            };
            match entrants {
                Ok(entrants) => clubs.push(Club {
                    member,
                    scope,
                    entrants,
                }),
                Err(ended) => {
                    found.insert(member, ended.into());
                }
            }
        }
        let assignment = self.assign(choose, &clubs, &supply.taken);
        let mut supply = supply.clone();
        for (club, entrant) in clubs.iter().zip(&assignment) {
            if let Some(entrant) = entrant.map(|entrant| &club.entrants[entrant]) {
                let rung = entrant.level.checked_sub(1);
                let chosen = Found {
                    outcome: Outcome::Chosen(entrant.weighed.candidate.picked(rung)),
                    score: entrant.weighed.score,
                };
                take(choose, &chosen.outcome, &mut supply.taken);
                found.insert(club.member, chosen);
            }
        }
        for (club, _) in clubs
            .iter()
            .zip(&assignment)
            .filter(|(_, one)| one.is_none())
        {
            let rest = self.climb(choose, &club.scope, &supply, Some(levels.len() - 1));
            take(choose, &rest.outcome, &mut supply.taken);
            found.insert(club.member, rest);
        }
        found
    }

    /// A club's candidates in order, each with the lowest level that it passes.
    fn entrants(
        &self,
        choose: &'a Choose,
        levels: &[Vec<&Needs>],
        supply: &Supply,
        scope: &Scope<'a>,
    ) -> Result<Vec<Entrant<'a>>, Outcome> {
        let nobody = self.nobody(choose, scope);
        let mut asked = Vec::new();
        for lines in levels {
            asked.push(self.lines_asked(lines, &nobody)?);
        }
        let prefers = self.preferences_asked(choose, &nobody)?;
        let mut entrants = Vec::new();
        for candidate in self.candidates(choose, Source::OnHand, supply, scope) {
            let mut passed = None;
            for (level, lines) in asked.iter().enumerate() {
                if self.meets(lines, &candidate, false)? {
                    passed = Some(level);
                    break;
                }
            }
            if let Some(level) = passed {
                let score = self.score(&prefers, &candidate)?;
                let weighed = Weighed { candidate, score };
                entrants.push(Entrant { level, weighed });
            }
        }
        entrants.sort_by(|left, right| {
            self.in_order(choose, &left.weighed.candidate, &right.weighed.candidate)
        });
        Ok(entrants)
    }

    /// The assignment of least cost; of several the first, clubs and candidates in their order.
    fn assign(&self, choose: &Choose, clubs: &[Club], taken: &Taken) -> Vec<Option<usize>> {
        let kind = &self
            .rules
            .part_of_plural(&choose.from.text)
            .unwrap()
            .name
            .text;
        let on_hand = |part: usize| self.parts.kinds[kind][part].on_hand;
        let mut search = Search {
            clubs,
            on_hand: &on_hand,
            taken: taken.clone(),
            chosen: Vec::new(),
            best: None,
        };
        search.look((0, 0, Rational::ZERO));
        search.best.map_or_else(Vec::new, |(_, chosen)| chosen)
    }
}

struct Search<'s, 'a> {
    clubs: &'s [Club<'a>],
    /// How many of a part lie in the drawer.
    on_hand: &'s dyn Fn(usize) -> i64,
    taken: Taken,
    chosen: Vec<Option<usize>>,
    best: Option<(Cost, Vec<Option<usize>>)>,
}

impl Search<'_, '_> {
    /// Gives the next club each of its candidates in turn, and none after them all.
    fn look(&mut self, so_far: Cost) {
        let place = self.chosen.len();
        let rest = self.clubs[place..].iter().map(at_least);
        let bound = rest.fold(so_far, plus);
        if self.best.as_ref().is_some_and(|(best, _)| *best <= bound) {
            return;
        }
        let clubs = self.clubs;
        let Some(club) = clubs.get(place) else {
            self.best = Some((so_far, self.chosen.clone()));
            return;
        };
        for (number, entrant) in club.entrants.iter().enumerate() {
            let key = key(&entrant.weighed.candidate);
            let most = if key.1.is_some() {
                1
            } else {
                (self.on_hand)(key.0)
            };
            let gone = self.taken.get(&key).copied().unwrap_or(0);
            if gone >= most {
                continue;
            }
            self.taken.insert(key, gone + 1);
            self.chosen.push(Some(number));
            self.look(plus(so_far, cost_of(entrant)));
            self.chosen.pop();
            self.taken.insert(key, gone);
        }
        self.chosen.push(None);
        self.look(plus(so_far, (1, 0, Rational::ZERO)));
        self.chosen.pop();
    }
}

fn key(candidate: &Candidate) -> (usize, Option<usize>) {
    let (part, _) = candidate.part.unwrap();
    (part, candidate.piece.map(|(piece, _)| piece))
}

fn cost_of(entrant: &Entrant) -> Cost {
    (0, entrant.level, entrant.weighed.score.negated())
}

/// What a club costs at least, each of the three by itself.
fn at_least(club: &Club) -> Cost {
    let levels = club.entrants.iter().map(|entrant| entrant.level);
    let scores = club.entrants.iter().map(|entrant| entrant.weighed.score);
    match (levels.min(), scores.max()) {
        (Some(level), Some(score)) => (0, level, score.negated()),
        _ => (1, 0, Rational::ZERO),
    }
}

fn plus(one: Cost, other: Cost) -> Cost {
    (
        one.0 + other.0,
        one.1 + other.1,
        one.2.plus(other.2).unwrap(),
    )
}

/// The original needs, then those of each rung before the first that orders or leaves open.
fn levels(choose: &Choose) -> Vec<Vec<&Needs>> {
    let mut levels = vec![choose.needs.iter().collect()];
    for rung in &choose.rungs {
        let RungKind::Needs(replacement) = &rung.kind else {
            break;
        };
        levels.push(replaced(choose, replacement));
    }
    levels
}
