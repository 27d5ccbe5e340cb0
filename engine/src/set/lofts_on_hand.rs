//! `lofts_on_hand`: the lofts that heads can be brought to, with how many heads there are for each.
//!
//! Irons are bent: a head stands for every whole degree as far from what the piece measures as its
//! maker lets it be bent, and in any case for the nearest. (A degree is worth two or three yards,
//! which is finer than a carry is known.) Fairway woods, hybrids and wedges stand
//! for the loft they are stamped with: the first two are not bent, and a wedge's bounce would move
//! with its loft. A part of which nothing is on hand stands for its lofts with none.
//!
//! A kind of which the catalogue has no head at all gets the lofts that are usual in the trade
//! (*common practice, no source*), so that a set can be planned before there is a catalogue.

use std::collections::BTreeMap;

use loftwright_dsl::quantity::{ArithmeticFault, Rational, Rounding};

/// Of which kinds lofts are gathered, by their words.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Kinds {
    pub(crate) fairway: i32,
    pub(crate) hybrid: i32,
    pub(crate) iron: i32,
    pub(crate) wedge: i32,
}

/// A head, or several alike.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Heads {
    pub(crate) kind: i32,
    /// What a piece measures; what it is stamped with where nobody measured it.
    pub(crate) loft: Rational,
    /// What it is stamped with.
    pub(crate) stamped_loft: Rational,
    /// How far its maker lets it be bent; zero where that is not known.
    pub(crate) most_bend: Rational,
    /// How many of them are on hand.
    pub(crate) on_hand: i64,
}

/// A loft that a head can have.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) struct LoftOnHand {
    pub(crate) kind: i32,
    pub(crate) loft: Rational,
    /// How many heads on hand can be brought to it; `None` where there is no catalogue to tell.
    pub(crate) on_hand: Option<i64>,
}

/// Degrees that are usual: first, last and step. *Common practice, no source.*
const USUAL_FAIRWAYS: (i64, i64, i64) = (15, 21, 3);
const USUAL_HYBRIDS: (i64, i64, i64) = (19, 28, 3);
const USUAL_IRONS: (i64, i64, i64) = (20, 48, 1);
const USUAL_WEDGES: (i64, i64, i64) = (46, 60, 2);

/// The lofts by kind and by size.
///
/// # Errors
/// An arithmetic fault, where a loft is no number of degrees that can be held.
pub(crate) fn lofts_on_hand(
    kinds: Kinds,
    heads: impl Iterator<Item = Heads>,
) -> Result<Vec<LoftOnHand>, ArithmeticFault> {
    let mut stamped: BTreeMap<(i32, Rational), i64> = BTreeMap::new();
    let mut reached = Reached::default();
    for head in heads {
        if head.kind == kinds.iron {
            reached.add(&head)?;
        } else if [kinds.fairway, kinds.hybrid, kinds.wedge].contains(&head.kind) {
            let on_hand = stamped.entry((head.kind, head.stamped_loft)).or_default();
            *on_hand = on_hand.saturating_add(head.on_hand);
        }
    }
    let mut lofts = Vec::new();
    let usual = [
        (kinds.fairway, USUAL_FAIRWAYS),
        (kinds.hybrid, USUAL_HYBRIDS),
        (kinds.iron, USUAL_IRONS),
        (kinds.wedge, USUAL_WEDGES),
    ];
    for (kind, usual) in usual {
        let before = lofts.len();
        if kind == kinds.iron {
            reached.lofts(kind, &mut lofts);
        } else {
            let of_kind = stamped.iter().filter(|((known, _), _)| *known == kind);
            lofts.extend(of_kind.map(|((_, loft), on_hand)| LoftOnHand {
                kind,
                loft: *loft,
                on_hand: Some(*on_hand),
            }));
        }
        if lofts.len() == before {
            lofts.extend(usual_lofts(kind, usual));
        }
    }
    Ok(lofts)
}

fn usual_lofts(
    kind: i32,
    (first, last, step): (i64, i64, i64),
) -> impl Iterator<Item = LoftOnHand> {
    let lofts = (0..).map(move |number| first + number * step);
    lofts
        .take_while(move |loft| *loft <= last)
        .map(move |degrees| LoftOnHand {
            kind,
            loft: Rational::whole(degrees),
            on_hand: None,
        })
}

/// The degrees that heads reach. Where a stretch begins or ends, what changes is noted; the sum up
/// to a degree is what reaches it.
#[derive(Default)]
struct Reached {
    /// By degrees: how many stretches more, and how many heads on hand more.
    changes: BTreeMap<i64, (i64, i64)>,
}

impl Reached {
    fn add(&mut self, head: &Heads) -> Result<(), ArithmeticFault> {
        let degrees = |loft: Rational, rounding| {
            let whole = loft.rounded_to(Rational::ONE, rounding)?.to_whole();
            whole.ok_or(ArithmeticFault::Overflow)
        };
        let nearest = degrees(head.loft, Rounding::Nearest)?;
        let first = degrees(head.loft.minus(head.most_bend)?, Rounding::Up)?.min(nearest);
        let last = degrees(head.loft.plus(head.most_bend)?, Rounding::Down)?.max(nearest);
        self.change(first, 1, head.on_hand);
        self.change(last.saturating_add(1), -1, head.on_hand.saturating_neg());
        Ok(())
    }

    fn change(&mut self, at: i64, stretches: i64, on_hand: i64) {
        let change = self.changes.entry(at).or_default();
        change.0 = change.0.saturating_add(stretches);
        change.1 = change.1.saturating_add(on_hand);
    }

    fn lofts(&self, kind: i32, into: &mut Vec<LoftOnHand>) {
        let (mut stretches, mut on_hand) = (0_i64, 0_i64);
        let ends = self.changes.keys().skip(1).copied().chain([i64::MIN]);
        for ((start, change), end) in self.changes.iter().zip(ends) {
            stretches = stretches.saturating_add(change.0);
            on_hand = on_hand.saturating_add(change.1);
            if stretches > 0 {
                into.extend((*start..end).map(|degrees| LoftOnHand {
                    kind,
                    loft: Rational::whole(degrees),
                    on_hand: Some(on_hand),
                }));
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const KINDS: Kinds = Kinds {
        fairway: 1,
        hybrid: 2,
        iron: 3,
        wedge: 4,
    };

    fn tenths(value: i64) -> Rational {
        Rational::fraction(i128::from(value), 10).unwrap()
    }

    fn head(kind: i32, loft_tenths: i64, bend_tenths: i64, on_hand: i64) -> Heads {
        Heads {
            kind,
            loft: tenths(loft_tenths),
            stamped_loft: tenths(loft_tenths),
            most_bend: tenths(bend_tenths),
            on_hand,
        }
    }

    fn of_kind(kind: i32, heads: &[Heads]) -> Vec<(String, Option<i64>)> {
        let lofts = lofts_on_hand(KINDS, heads.iter().copied()).unwrap();
        let of_kind = lofts.iter().filter(|loft| loft.kind == kind);
        of_kind
            .map(|loft| (loft.loft.to_text(), loft.on_hand))
            .collect()
    }

    fn texts(lofts: &[(&str, i64)]) -> Vec<(String, Option<i64>)> {
        let owned = |(loft, on_hand): &(&str, i64)| ((*loft).to_owned(), Some(*on_hand));
        lofts.iter().map(owned).collect()
    }

    /// 30.2 ± 2: from 28.2 to 32.2 lie 29, 30, 31 and 32. 31.4 ± 0.5: 31.
    #[test]
    fn irons_reach_the_degrees_that_they_can_be_bent_to() {
        assert_eq!(
            of_kind(3, &[head(3, 302, 20, 2), head(3, 314, 5, 1)]),
            texts(&[("29", 2), ("30", 2), ("31", 3), ("32", 2)])
        );
    }

    #[test]
    fn a_head_that_may_not_be_bent_stands_for_the_nearest_degree() {
        assert_eq!(of_kind(3, &[head(3, 302, 0, 1)]), texts(&[("30", 1)]));
        assert_eq!(of_kind(3, &[head(3, 306, 0, 0)]), texts(&[("31", 0)]));
    }

    #[test]
    fn two_stretches_apart_leave_a_gap_between_them() {
        assert_eq!(
            of_kind(3, &[head(3, 250, 0, 1), head(3, 300, 0, 1)]),
            texts(&[("25", 1), ("30", 1)])
        );
    }

    #[test]
    fn wedges_stand_for_their_stamp_and_are_counted_together() {
        let measured = Heads {
            loft: tenths(563),
            ..head(4, 560, 20, 2)
        };
        assert_eq!(
            of_kind(4, &[measured, head(4, 560, 0, 1), head(4, 600, 0, 0)]),
            texts(&[("56", 3), ("60", 0)])
        );
    }

    #[test]
    fn a_kind_without_any_head_has_the_usual_lofts() {
        let unknown = |loft: &str| (loft.to_owned(), None);
        assert_eq!(of_kind(1, &[]), ["15", "18", "21"].map(unknown));
        let wedges = of_kind(4, &[]);
        assert_eq!(wedges.len(), 8);
        assert_eq!(wedges[7], unknown("60"));
    }
}
