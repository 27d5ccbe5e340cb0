//! What the benches measure: rules of any size, written on the spot.

pub mod rules;
