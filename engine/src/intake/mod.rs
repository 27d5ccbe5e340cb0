//! Intake: what was sent as text becomes a [`Player`] or [`Parts`], or every fault at once.
//!
//! The player's file, the parts folder and the API all send text in the literals of the rules
//! language, so that no decimal is bent on its way and the same text means the same quantity
//! wherever it stands. One function, [`read_value`], reads them all. A reader never stops at the
//! first fault: a form wants every field that is wrong, each with what was sent, what is allowed
//! and the nearest right name or form.
//!
//! [`Player`]: crate::player::Player
//! [`Parts`]: crate::parts::Parts

mod catalogue;
mod clubs;
mod expected;
mod fault;
mod limits;
mod names;
mod part_fields;
mod parts;
mod player;
mod quote;
mod record;
mod right_form;
mod stock;
mod units;
mod value;
mod words;
mod written;

use std::collections::BTreeMap;

pub use fault::{Fault, FaultKind, first_faults};
pub use limits::*;
pub use names::nearest;
pub use part_fields::{Side, field_names, needed_fields, refused_field};
pub use parts::read_parts;
pub use player::{PlayerReader, read_player};
pub use quote::quoted;
pub use record::unknown_field;
pub use value::{allowed_reading, read_value, text_to_write};
pub use written::written_value;

/// A player as text.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct PlayerText {
    /// The readings by the input's name, or by an earlier name of it.
    pub readings: BTreeMap<String, ReadingText>,
    /// The clubs of each group `given with the player`, such as `kept`: field by field.
    pub given: BTreeMap<String, Vec<BTreeMap<String, String>>>,
}

/// One reading as text.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct ReadingText {
    /// A literal of the language (`34 1/2 in`, `D2`, `2026-05-01`), a word, `yes`, `no` or a count.
    pub value: String,
    /// The standard deviation of a single shot, as a difference of the input's type.
    pub spread: Option<String>,
    /// The number of shots that the value is the mean of; 1 where it is left out.
    pub shots: Option<u32>,
}

/// A reading as text that stands elsewhere.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Sent<'t> {
    /// As [`ReadingText::value`].
    pub value: &'t str,
    /// As [`ReadingText::spread`].
    pub spread: Option<&'t str>,
    /// As [`ReadingText::shots`].
    pub shots: Option<u32>,
}

impl<'t> From<&'t ReadingText> for Sent<'t> {
    fn from(text: &'t ReadingText) -> Self {
        Sent {
            value: &text.value,
            spread: text.spread.as_deref(),
            shots: text.shots,
        }
    }
}

/// Catalogue and stock as text.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct PartsText {
    /// The parts of each kind: the kind's name in the singular (`head`) and its records. A kind may
    /// come more than once.
    pub catalogue: Vec<(String, Vec<RecordText>)>,
    /// The pieces and counts of each kind.
    pub stock: Vec<(String, Vec<RecordText>)>,
}

/// A record of catalogue or stock as text.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct RecordText {
    /// Where it stands, for people: `heads.toml, record 3`, `pieces.csv, line 7`.
    pub place: String,
    /// Its fields.
    pub fields: BTreeMap<String, FieldText>,
}

/// A field of a record as text.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum FieldText {
    /// A value, written as a reading is.
    Text(String),
    /// Records of another part, such as the settings of a head.
    List(Vec<BTreeMap<String, String>>),
    /// The values of a list, each written as a reading is. One text with `;` between the values is
    /// the same.
    Values(Vec<String>),
}
