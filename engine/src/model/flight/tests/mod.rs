//! What a flight is checked against, each check with its source.

mod air_free;
mod symmetry;
mod tunnel;
