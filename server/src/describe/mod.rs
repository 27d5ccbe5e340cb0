//! What a ruleset asks: which inputs each decision rests on, and a schema of the readings.

mod depends;
mod schema;

pub use depends::Dependencies;
pub use schema::{readings_schema, words};
