//! Makers: groups of clubs that the engine makes rather than the rules.

pub(crate) mod built;
pub(crate) mod lofts_on_hand;
pub mod make_up;
pub(crate) mod standard_set;
