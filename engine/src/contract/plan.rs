//! What the makers of the plan read and write: the lofts that could be, and the set made up of
//! them.

use loftwright_dsl::program::{GroupId, Node, PartId};

use super::{From, MissingName, part_fields};
use crate::set::lofts_on_hand::Kinds;

/// What `lofts_on_hand` reads and writes.
#[derive(Clone, Debug)]
pub(crate) struct LoftsOnHandNames {
    pub(crate) player_hand: Node,
    pub(crate) driver_target_loft: Node,
    pub(crate) driver: i32,
    pub(crate) putter: i32,
    pub(crate) kinds: Kinds,
    pub(crate) kept: GroupId,
    pub(crate) kept_kind: usize,
    pub(crate) kept_loft: usize,
    pub(crate) kept_carry: usize,
    pub(crate) head: PartId,
    /// The fields of a head by their places: kind, hand, stamped_loft, measured_loft, most_bend.
    pub(crate) head_fields: [usize; 5],
    /// The fields of the made group by their places: kind, is_kept, loft, measured_carry, on_hand.
    pub(crate) fields: [usize; 5],
    pub(crate) width: usize,
}

/// What `make_up` reads and writes.
#[derive(Clone, Debug)]
pub(crate) struct MakeUpNames {
    pub(crate) candidate: GroupId,
    /// Of a candidate: kind, is_kept, loft.
    pub(crate) candidate_fields: [usize; 3],
    pub(crate) driver: i32,
    pub(crate) iron: i32,
    pub(crate) wedge: i32,
    pub(crate) candidate_carry: Node,
    pub(crate) allowed: Node,
    pub(crate) required: Node,
    pub(crate) reluctance: Node,
    pub(crate) widest_gap: Node,
    pub(crate) narrowest_gap: Node,
    pub(crate) most_in_bag: Node,
    /// The fields of the made group by their places: kind, is_kept, loft, number, carry, gap.
    pub(crate) fields: [usize; 6],
    pub(crate) width: usize,
}

impl LoftsOnHandNames {
    pub(super) fn of(from: &From<'_>, made: GroupId) -> Result<Self, MissingName> {
        let kinds = from.kinds(made)?;
        let kept = from.group("kept")?;
        let [kept_kind, kept_loft, kept_carry] = from.fields(kept, ["kind", "loft", "carry"])?;
        let head = from.part("head")?;
        let of_head = ["kind", "hand", "stamped_loft", "measured_loft", "most_bend"];
        let of_made = ["kind", "is_kept", "loft", "measured_carry", "on_hand"];
        Ok(LoftsOnHandNames {
            player_hand: from.node("player_hand")?,
            driver_target_loft: from.node("driver_target_loft")?,
            driver: from.kind(kinds, "driver")?,
            putter: from.kind(kinds, "putter")?,
            kinds: Kinds {
                fairway: from.kind(kinds, "fairway")?,
                hybrid: from.kind(kinds, "hybrid")?,
                iron: from.kind(kinds, "iron")?,
                wedge: from.kind(kinds, "wedge")?,
            },
            kept,
            kept_kind,
            kept_loft,
            kept_carry,
            head,
            head_fields: part_fields(from.program, head, of_head)?,
            fields: from.fields(made, of_made)?,
            width: from.width(made),
        })
    }
}

impl MakeUpNames {
    pub(super) fn of(from: &From<'_>, made: GroupId) -> Result<Self, MissingName> {
        let kinds = from.kinds(made)?;
        let candidate = from.group("candidate")?;
        let of_made = ["kind", "is_kept", "loft", "number", "carry", "gap"];
        Ok(MakeUpNames {
            candidate,
            candidate_fields: from.fields(candidate, ["kind", "is_kept", "loft"])?,
            driver: from.kind(kinds, "driver")?,
            iron: from.kind(kinds, "iron")?,
            wedge: from.kind(kinds, "wedge")?,
            candidate_carry: from.node("candidate_carry")?,
            allowed: from.node("allowed")?,
            required: from.node("required")?,
            reluctance: from.node("reluctance")?,
            widest_gap: from.node("widest_gap")?,
            narrowest_gap: from.node("narrowest_gap")?,
            most_in_bag: from.node("most_in_bag")?,
            fields: from.fields(made, of_made)?,
            width: from.width(made),
        })
    }
}
