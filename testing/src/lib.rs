//! What the tests of the service share: one that runs in this process, clients that call it over a
//! real connection, the demo's players, rules to publish, entries of a log, and what a refusal
//! says.

mod asking;
mod players;
mod records;
mod refusals;
mod rules;
mod service;

pub use players::{preview, recorded, uuid};
pub use records::entry;
pub use refusals::{reason, violations};
pub use rules::{house, to_publish};
pub use service::{Begin, Service};
