//! The catalogue or the stock was changed: what both are from then on.

use std::collections::BTreeMap;

use super::super::encoding::{EncodeFault, Fields, Value};
use super::super::merkle::Hash;
use super::{ActFault, body, fields, map};

const VERSION: u32 = 1;

/// What the leaf of a catalogue or stock says beside its header, whose `parts_digest` is that of
/// the snapshot. It says all that holds from then on, so that the last one is enough.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct PartsChanged {
    /// What the stock is called.
    pub stock: String,
    /// The files of catalogue and stock by their paths (`catalogue/heads.toml`): SHA-256 of each,
    /// under which it is kept.
    pub files: BTreeMap<String, Hash>,
    /// When the stock was brought up to date, where that is known: milliseconds of UTC since 1970
    /// began.
    pub as_of_ms: Option<i64>,
    /// Why.
    pub reason: String,
    /// What was changed of the stock. Where files were replaced as a whole only this: the pieces
    /// that builds had taken and that came back.
    pub changes: Vec<StockChange>,
    /// The place of the recommendation that was built of the pieces; its confirmation stands
    /// directly before this leaf.
    pub record: Option<u64>,
}

/// One change of a stock.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct StockChange {
    /// The kind of part, in the singular: `head`.
    pub kind: String,
    /// The part's code.
    pub part: String,
    /// What happened to it.
    pub what: WhatChanged,
}

/// What happened to a part's stock.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum WhatChanged {
    /// A piece came.
    Added(Piece),
    /// A piece went.
    Removed(Piece),
    /// The count was another before.
    Counted {
        /// Before; absent where none was ever counted.
        before: Option<i64>,
        /// After.
        after: i64,
    },
}

/// A piece as the stock has it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Piece {
    /// Its code.
    pub id: String,
    /// What is measured of it, as it is written in a file of the stock.
    pub fields: BTreeMap<String, String>,
}

impl PartsChanged {
    /// The body.
    ///
    /// # Errors
    /// [`EncodeFault`]: never, unless a text is larger than any.
    pub fn to_bytes(&self) -> Result<Vec<u8>, EncodeFault> {
        let files = self
            .files
            .iter()
            .map(|(path, digest)| (path.as_str(), Value::from(*digest)));
        let changes = self.changes.iter().map(StockChange::to_value);
        body(
            VERSION,
            [
                ("stock", Some(self.stock.as_str().into())),
                ("files", Some(Value::map(files))),
                ("as_of_ms", self.as_of_ms.map(Into::into)),
                ("reason", Some(self.reason.as_str().into())),
                ("changes", Some(Value::List(changes.collect()))),
                ("record", self.record.map(Into::into)),
            ],
        )
    }

    /// The act of a body.
    ///
    /// # Errors
    /// [`ActFault`].
    pub fn of_bytes(bytes: &[u8]) -> Result<Self, ActFault> {
        let mut fields = fields(bytes, VERSION)?;
        let changes: Vec<Fields<'_>> = fields.needed("changes")?;
        let act = PartsChanged {
            stock: fields.needed("stock")?,
            files: fields.needed("files")?,
            as_of_ms: fields.optional("as_of_ms")?,
            reason: fields.needed("reason")?,
            changes: changes
                .into_iter()
                .map(StockChange::of_fields)
                .collect::<Result<_, _>>()?,
            record: fields.optional("record")?,
        };
        fields.none_left()?;
        Ok(act)
    }
}

impl StockChange {
    pub(super) fn to_value(&self) -> Value {
        let (what, piece, before, after) = match &self.what {
            WhatChanged::Added(piece) => ("piece added", Some(piece), None, None),
            WhatChanged::Removed(piece) => ("piece removed", Some(piece), None, None),
            WhatChanged::Counted { before, after } => ("counted", None, *before, Some(*after)),
        };
        map([
            ("kind", Some(self.kind.as_str().into())),
            ("part", Some(self.part.as_str().into())),
            ("what", Some(what.into())),
            ("piece", piece.map(|piece| piece.id.as_str().into())),
            ("fields", piece.map(|piece| texts(&piece.fields))),
            ("before", before.map(Into::into)),
            ("after", after.map(Into::into)),
        ])
    }

    pub(super) fn of_fields(mut fields: Fields<'_>) -> Result<Self, ActFault> {
        let what: String = fields.needed("what")?;
        let mut piece = || -> Result<Piece, ActFault> {
            Ok(Piece {
                id: fields.needed("piece")?,
                fields: fields.needed("fields")?,
            })
        };
        let what = match what.as_str() {
            "piece added" => WhatChanged::Added(piece()?),
            "piece removed" => WhatChanged::Removed(piece()?),
            "counted" => WhatChanged::Counted {
                before: fields.optional("before")?,
                after: fields.needed("after")?,
            },
            _ => {
                return Err(ActFault::Word {
                    name: "what",
                    sent: what,
                });
            }
        };
        let change = StockChange {
            kind: fields.needed("kind")?,
            part: fields.needed("part")?,
            what,
        };
        fields.none_left()?;
        Ok(change)
    }
}

/// Texts by name, as a value.
pub(super) fn texts(texts: &BTreeMap<String, String>) -> Value {
    let values = texts.iter();
    Value::map(values.map(|(name, text)| (name.as_str(), Value::from(text.as_str()))))
}
