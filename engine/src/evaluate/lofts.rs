//! The lofts on hand for a player of each hand: nobody's readings change them, so they are worked
//! out once, with the shelves.

use std::collections::BTreeMap;

use loftwright_dsl::program::{GroupId, Program, Record, Value};
use loftwright_dsl::quantity::{ArithmeticFault, Rational};

use super::prepare::Evaluator;
use crate::contract::{LoftsOnHandNames, Maker};
use crate::parts::{CataloguePart, OnHand, Parts};
use crate::set::lofts_on_hand::{Heads, LoftOnHand, lofts_on_hand};

type Lofts = Result<Vec<LoftOnHand>, ArithmeticFault>;

/// The lofts on hand by the group that is made of them, and by the player's hand.
#[derive(Clone, Debug, Default)]
pub(crate) struct LoftsByHand {
    groups: BTreeMap<GroupId, BTreeMap<Option<Value>, Lofts>>,
}

impl LoftsByHand {
    /// Those of every group of a program that has some, for each hand that a head is made for and
    /// for a player whose hand nobody knows.
    pub(crate) fn of(program: &Program, parts: &Parts) -> Self {
        let evaluator = Evaluator::new(program);
        let of_group = |(id, _)| match evaluator.maker(id)? {
            Ok(Maker::LoftsOnHand(names)) => Some((id, by_hand(parts, names))),
            _ => None,
        };
        LoftsByHand {
            groups: program.groups.entries().filter_map(of_group).collect(),
        }
    }

    /// Those of a group for a hand, where they were worked out.
    pub(super) fn get(&self, group: GroupId, hand: Option<&Value>) -> Option<&Lofts> {
        self.groups.get(&group)?.get(&hand.cloned())
    }
}

fn by_hand(parts: &Parts, names: &LoftsOnHandNames) -> BTreeMap<Option<Value>, Lofts> {
    let [_, hand, ..] = names.head_fields;
    let heads = parts.of(names.head).iter();
    let hands = heads.map(|head| value(&head.fields, hand).cloned());
    let mut lofts = BTreeMap::new();
    for hand in hands.chain([None]) {
        let found = lofts.entry(hand);
        found.or_insert_with_key(|hand| lofts_for(parts, names, hand.as_ref()));
    }
    lofts
}

/// The lofts that the heads for a hand can be brought to; of all heads, where it is not known.
pub(super) fn lofts_for(parts: &Parts, names: &LoftsOnHandNames, hand: Option<&Value>) -> Lofts {
    let parts = parts.of(names.head).iter();
    let fitting = parts.filter(|part| {
        let [_, of_part, ..] = names.head_fields.map(|field| value(&part.fields, field));
        let is_other = |hand| of_part.is_some_and(|of_part| of_part != hand);
        !hand.is_some_and(is_other)
    });
    let heads = fitting.flat_map(|part| heads(part, names.head_fields));
    lofts_on_hand(names.kinds, heads)
}

/// The pieces of a part, or those that are only counted.
fn heads(part: &CataloguePart, fields: [usize; 5]) -> Vec<Heads> {
    let [kind, _, stamped_loft, measured_loft, most_bend] = fields;
    let number = |record: &Record, field| value(record, field).and_then(Value::number);
    let (Some(Value::Word(kind)), Some(stamped_loft)) = (
        value(&part.fields, kind),
        number(&part.fields, stamped_loft),
    ) else {
        return Vec::new();
    };
    let alike = |loft, on_hand| Heads {
        kind: *kind,
        loft,
        stamped_loft,
        most_bend: number(&part.fields, most_bend).unwrap_or(Rational::ZERO),
        on_hand,
    };
    match &part.on_hand {
        OnHand::Pieces(pieces) if !pieces.is_empty() => pieces
            .iter()
            .map(|piece| {
                let measured = number(&piece.fields, measured_loft);
                alike(measured.unwrap_or(stamped_loft), 1)
            })
            .collect(),
        OnHand::Pieces(_) => vec![alike(stamped_loft, 0)],
        OnHand::Counted(count) => vec![alike(stamped_loft, *count)],
    }
}

fn value(record: &Record, field: usize) -> Option<&Value> {
    record.get(field).and_then(Option::as_ref)
}
