//! Makers: groups of clubs that the engine makes rather than the rules.

pub(crate) mod built;
pub(crate) mod standard_set;
