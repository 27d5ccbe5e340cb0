//! A build confirmed: what differs from the recommendation, which pieces it takes, and both kept in
//! one transaction with the stock that is left.

mod compare;
mod confirm;
mod fields;
mod form;
mod taken;

pub(super) use confirm::{build_message, confirm};
