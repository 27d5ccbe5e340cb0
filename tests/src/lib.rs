//! What the tests of Loftwright share: the naive oracle, and the folders of the repository.
//!
//! The tests themselves stand in `tests/tests/`, their corpora in `tests/corpus/` and
//! `tests/golden/`. Nothing here is shipped.

pub mod engine_side;
pub mod fuzz;
pub mod generator;
pub mod house;
pub mod layout;
pub mod made_up;
pub mod mutator;
pub mod oracle;
pub mod program_generator;
pub mod sides;
pub mod tables;
pub mod workshop;
