//! Files of people: players, parts folders and folders of rules, from disk or built in.
//!
//! Disk and embedded files come as the same thing, a list of [`TextFile`]s, so that one reader
//! serves both. Reading goes in two steps where the rules are needed to understand a file: the
//! file's own form first ([`PlayerFile`], [`PartsFiles`]), then its values against a checked
//! program. Every step reports all of its faults, each with file, line and key; a file never ends
//! the program. What is wrong inside rules is the checker's to say, not ours.

pub mod built_in;
pub mod limits;
pub mod rules_folder;

mod csv_cells;
mod disk;
mod fault;
mod lines;
mod parts_csv;
mod parts_export;
mod parts_findings;
mod parts_folder;
mod parts_kind;
mod parts_list;
mod parts_places;
mod parts_toml;
mod parts_written;
mod player_file;
mod player_float;
mod player_toml;
mod rewrite;
mod roster;
mod text_file;
mod toml_value;

pub use fault::{FileFault, FileFaultKind, Marked, report};
pub use parts_export::{PartsFormat, WrittenFile, export};
pub(crate) use parts_export::{stock_file, stock_records};
pub use parts_findings::findings;
pub use parts_folder::PartsFiles;
pub use player_file::PlayerFile;
pub use rewrite::replace_text;
pub use roster::{Roster, RosterFile};
pub use text_file::TextFile;
