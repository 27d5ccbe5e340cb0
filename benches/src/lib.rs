//! What the benches measure: rules and stocks of any size, made on the spot.

pub mod bag;
pub mod record;
pub mod rules;
pub mod stock;
