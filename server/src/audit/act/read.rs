//! A person read a record.

use super::super::encoding::EncodeFault;
use super::super::merkle::Hash;
use super::{ActFault, body, fields};

const VERSION: u32 = 1;

/// What the leaf of a read says: which record, and what of it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct RecordRead {
    /// The place of the record.
    pub record: u64,
    /// The hash of its leaf.
    pub record_leaf: Hash,
    /// What was shown of it: `the whole`, `the evidence`, or the name of a decision.
    pub part: String,
}

impl RecordRead {
    /// All of a record.
    pub const WHOLE: &str = "the whole";
    /// The evidence that it is in the log, with all that it says.
    pub const EVIDENCE: &str = "the evidence";

    /// The body.
    ///
    /// # Errors
    /// [`EncodeFault`]: never, unless a text is larger than any.
    pub fn to_bytes(&self) -> Result<Vec<u8>, EncodeFault> {
        body(
            VERSION,
            [
                ("record", Some(self.record.into())),
                ("record_leaf", Some(self.record_leaf.into())),
                ("part", Some(self.part.as_str().into())),
            ],
        )
    }

    /// The act of a body.
    ///
    /// # Errors
    /// [`ActFault`].
    pub fn of_bytes(bytes: &[u8]) -> Result<Self, ActFault> {
        let mut fields = fields(bytes, VERSION)?;
        let act = RecordRead {
            record: fields.needed("record")?,
            record_leaf: fields.needed("record_leaf")?,
            part: fields.needed("part")?,
        };
        fields.none_left()?;
        Ok(act)
    }
}
