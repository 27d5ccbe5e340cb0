//! The assignment against all assignments there are, one by one.

use loftwright_dsl::quantity::Rational;

use super::{Cost, Offered, assign};

/// Numbers that look random and are the same everywhere (the constants are Knuth's, *MMIX*).
struct Numbers(u64);

impl Numbers {
    fn below(&mut self, bound: u64) -> u64 {
        self.0 = self
            .0
            .wrapping_mul(6_364_136_223_846_793_005)
            .wrapping_add(1_442_695_040_888_963_407);
        (self.0 >> 33) % bound
    }
}

/// The cheapest assignment, and of several the smallest read club by club, by looking at all.
fn by_enumeration(clubs: &[Vec<Offered>], left: &[usize]) -> Vec<Option<usize>> {
    let mut best = None;
    enumerate(clubs, &mut left.to_vec(), &mut Vec::new(), &mut best);
    let (_, _, _, order): (usize, i64, Rational, Vec<usize>) = best.unwrap();
    let offer = |(club, place): (&Vec<Offered>, usize)| (place < club.len()).then_some(place);
    clubs.iter().zip(order).map(offer).collect()
}

type Found = Option<(usize, i64, Rational, Vec<usize>)>;

fn enumerate(
    clubs: &[Vec<Offered>],
    left: &mut Vec<usize>,
    chosen: &mut Vec<usize>,
    best: &mut Found,
) {
    let Some(club) = clubs.get(chosen.len()) else {
        let mut cost = (0, 0, Rational::ZERO, chosen.clone());
        for (club, place) in clubs.iter().zip(chosen.iter()) {
            match club.get(*place) {
                Some(offered) => {
                    cost.1 += offered.cost.level;
                    cost.2 = cost.2.plus(offered.cost.minus_score).unwrap();
                }
                None => cost.0 += 1,
            }
        }
        if best.as_ref().is_none_or(|known| cost < *known) {
            *best = Some(cost);
        }
        return;
    };
    for (place, offered) in club.iter().enumerate() {
        if left[offered.item] > 0 {
            left[offered.item] -= 1;
            chosen.push(place);
            enumerate(clubs, left, chosen, best);
            chosen.pop();
            left[offered.item] += 1;
        }
    }
    // Going without comes after every offer.
    chosen.push(club.len());
    enumerate(clubs, left, chosen, best);
    chosen.pop();
}

#[test]
fn no_assignment_is_cheaper_and_of_equals_the_smallest_is_taken() {
    let mut numbers = Numbers(7);
    let mut differ = 0;
    for _ in 0..4000 {
        let club_count = 1 + numbers.below(4);
        let item_count = 1 + numbers.below(5);
        let left: Vec<usize> = (0..item_count)
            .map(|_| usize::try_from(1 + numbers.below(2)).unwrap())
            .collect();
        // Few scores and levels, so that many assignments cost the same.
        let scores = 1 + numbers.below(4);
        let mut club = |_| {
            let mut offers = Vec::new();
            for item in 0..item_count {
                // A piece in several settings is offered several times.
                for _ in 0..numbers.below(3) {
                    let score = i128::from(numbers.below(scores));
                    let score = Rational::fraction(score, 3).unwrap();
                    let level = usize::try_from(numbers.below(2)).unwrap();
                    let item = usize::try_from(item).unwrap();
                    let place = usize::try_from(numbers.below(1 + offers.len() as u64)).unwrap();
                    let cost = Cost::of(level, score);
                    offers.insert(place, Offered { item, cost });
                }
            }
            offers
        };
        let clubs: Vec<Vec<Offered>> = (0..club_count).map(&mut club).collect();
        let wanted = by_enumeration(&clubs, &left);
        let found = assign(&clubs, &left, &mut || Ok(())).unwrap();
        assert_eq!(found, wanted, "{clubs:?} {left:?}");
        let greedy = in_turn(&clubs, &left);
        differ += usize::from(found != greedy);
    }
    // The instances are worth their while: taking in turn often comes to something else.
    assert!(differ > 500, "{differ}");
}

/// Each club takes the best that is left, as without `together`.
fn in_turn(clubs: &[Vec<Offered>], left: &[usize]) -> Vec<Option<usize>> {
    let mut left = left.to_vec();
    let mut take = |club: &Vec<Offered>| {
        let open = club
            .iter()
            .enumerate()
            .filter(|(_, offered)| left[offered.item] > 0);
        let (place, offered) = open.min_by_key(|(place, offered)| (offered.cost, *place))?;
        left[offered.item] -= 1;
        Some(place)
    };
    clubs.iter().map(&mut take).collect()
}

#[test]
fn fourteen_clubs_that_all_want_the_same_take_few_steps() {
    let alike = |item| Offered {
        item,
        cost: Cost::of(0, Rational::ONE),
    };
    let clubs: Vec<Vec<Offered>> = (0..14).map(|_| (0..40).map(alike).collect()).collect();
    let mut steps = 0;
    let found = assign(&clubs, &[1; 40], &mut || {
        steps += 1;
        Ok(())
    });
    let wanted: Vec<Option<usize>> = (0..14).map(Some).collect();
    assert_eq!(found.unwrap(), wanted);
    assert!(steps < 1000, "{steps}");
}
