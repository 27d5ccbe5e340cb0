//! The program: commands, gRPC services, files.
//!
//! [`command`] has a file a subcommand. [`rpc`] has a file a service. [`files`]
//! brings rules, parts and players in from disk or from the program itself, [`load`] makes a
//! [`registry`] of them. [`sheet`], [`ticket`] and [`json`] show an answer, `explain`
//! a record, [`pages`] show it in a browser. [`audit`] is the
//! tamper-evident record, [`store`] where it is kept.

pub mod audit;
pub mod command;
pub mod describe;
pub mod editor;
pub mod ending;
mod explain;
pub mod exporting;
pub mod files;
pub mod json;
pub mod load;
pub mod pages;
pub mod parts_snapshot;
pub mod planning;
pub mod plot;
pub mod registry;
pub mod replay;
pub mod rpc;
pub mod sheet;
pub mod stock;
pub mod store;
pub mod ticket;
pub mod wiped;
