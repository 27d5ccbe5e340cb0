//! The first frame: what the file is of.

use super::super::encoding::{Borrowed, FieldFault, Fields, Value};
use super::super::merkle::Hash;

/// What a file says it is of. None of it is believed before a signed root bears it out.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Head {
    /// The log's name.
    pub origin: String,
    /// How many records the log has at the checkpoint with which the file ends.
    pub size: u64,
    /// Which of them are here.
    pub kind: HeadKind,
}

/// The two sorts of files.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum HeadKind {
    /// The records from `first` on, up to the log's size.
    Log {
        /// The first record.
        first: u64,
        /// The [frontier](super::super::merkle::Frontier) of the records before it.
        peaks: Vec<Hash>,
    },
    /// One record, with the proof that it is in the log.
    Evidence {
        /// The record.
        position: u64,
        /// Its inclusion proof.
        proof: Vec<Hash>,
        /// The proof that an older log is the beginning of the one of the checkpoint, for whoever
        /// kept a checkpoint of it.
        older: Option<OlderLog>,
    },
}

/// An older log, and the proof that the newer continues it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct OlderLog {
    /// How many records it has.
    pub size: u64,
    /// The consistency proof.
    pub proof: Vec<Hash>,
}

impl Head {
    /// The head as a value.
    pub(super) fn to_value(&self) -> Value {
        let hashes =
            |hashes: &[Hash]| Value::List(hashes.iter().map(|hash| (*hash).into()).collect());
        let (what, mut of_kind) = match &self.kind {
            HeadKind::Log { first, peaks } => (
                "log",
                vec![("first", (*first).into()), ("peaks", hashes(peaks))],
            ),
            HeadKind::Evidence {
                position, proof, ..
            } => (
                "evidence",
                vec![("position", (*position).into()), ("proof", hashes(proof))],
            ),
        };
        if let HeadKind::Evidence {
            older: Some(older), ..
        } = &self.kind
        {
            of_kind.push(("older_size", older.size.into()));
            of_kind.push(("older_proof", hashes(&older.proof)));
        }
        let common = [
            ("origin", self.origin.as_str().into()),
            ("size", self.size.into()),
            ("what", what.into()),
        ];
        Value::map(common.into_iter().chain(of_kind))
    }

    /// The head of a value.
    pub(super) fn of_value(value: Borrowed<'_>) -> Result<Self, FieldFault> {
        let mut fields = Fields::of(value)?;
        let origin = fields.needed("origin")?;
        let size = fields.needed("size")?;
        let what: String = fields.needed("what")?;
        let kind = match what.as_str() {
            "log" => HeadKind::Log {
                first: fields.needed("first")?,
                peaks: fields.needed("peaks")?,
            },
            "evidence" => HeadKind::Evidence {
                position: fields.needed("position")?,
                proof: fields.needed("proof")?,
                older: match fields.optional("older_size")? {
                    Some(size) => Some(OlderLog {
                        size,
                        proof: fields.needed("older_proof")?,
                    }),
                    None => None,
                },
            },
            _ => {
                return Err(FieldFault::Form {
                    name: "what",
                    what: "`log` or `evidence`",
                });
            }
        };
        fields.none_left()?;
        Ok(Head { origin, size, kind })
    }
}
