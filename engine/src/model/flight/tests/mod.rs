//! What a flight is checked against, each check with its source.

mod air_free;
mod reference;
mod symmetry;
mod tunnel;
