//! The gRPC services: one file a service, one place where messages and domain meet ([`convert`]),
//! one where refusals become statuses ([`status`]), one where limits are kept ([`limits`]).

pub mod audit;
mod build;
pub mod checking;
pub mod convert;
pub(crate) mod explaining;
pub mod fitting;
pub(crate) mod handing_out;
pub mod limits;
pub(crate) mod listing;
mod page_token;
pub mod parts;
mod parts_list;
mod parts_source;
pub mod principal;
mod principal_table;
mod record_refusals;
pub mod recording;
pub mod refusal;
mod replay_pieces;
mod replay_reading;
pub(crate) mod request;
pub(crate) mod row_statistics;
pub mod ruleset;
pub(crate) mod ruleset_acts;
mod ruleset_history;
mod ruleset_replay;
mod ruleset_source;
pub mod serve;
pub mod status;
mod stock_acts;
mod stock_changes;
