//! What an evidence pack must hold: one record, the checkpoint that its proof leads to, and what
//! the record's digests are of.

use sha2::{Digest, Sha256};

use super::super::leaf::Leaf;
use super::super::merkle::{Hash, verify_inclusion};
use super::super::note::Checkpoint;
use super::fault::FaultKind;
use super::head::OlderLog;
use super::write::{ATTACHED_PARTS, ATTACHED_RULES};

/// What was read of a pack so far.
#[derive(Debug)]
pub(super) struct Evidence {
    position: u64,
    size: u64,
    proof: Vec<Hash>,
    older: Option<OlderLog>,
    record: Option<(Leaf, Hash)>,
    has_checkpoint: bool,
    attached: Vec<String>,
}

impl Evidence {
    pub(super) fn new(position: u64, size: u64, proof: Vec<Hash>, older: Option<OlderLog>) -> Self {
        Evidence {
            position,
            size,
            proof,
            older,
            record: None,
            has_checkpoint: false,
            attached: Vec::new(),
        }
    }

    /// The proof that goes on from a log of so many records, where the pack has it.
    pub(super) fn goes_on_from(&self, size: u64) -> Option<&[Hash]> {
        let older = self.older.as_ref().filter(|older| older.size == size)?;
        Some(&older.proof)
    }

    pub(super) fn record(&mut self, leaf: Leaf, hash: Hash) -> Result<(), String> {
        if self.record.is_some() || self.has_checkpoint {
            return Err("an evidence pack has one record, before its checkpoint".to_owned());
        }
        self.record = Some((leaf, hash));
        Ok(())
    }

    /// Whether the proof leads from the record to the checkpoint's root.
    pub(super) fn checkpoint(
        &mut self,
        checkpoint: &Checkpoint,
    ) -> Result<(), (FaultKind, String)> {
        if self.has_checkpoint {
            let message = "an evidence pack has one checkpoint".to_owned();
            return Err((FaultKind::Order, message));
        }
        self.has_checkpoint = true;
        if checkpoint.size != self.size {
            let (of, here) = (checkpoint.size, self.size);
            let message = format!("a checkpoint of {of} records, and the proof is of {here}");
            return Err((FaultKind::Order, message));
        }
        let Some((_, hash)) = &self.record else {
            let message = "the record stands before its checkpoint".to_owned();
            return Err((FaultKind::Order, message));
        };
        verify_inclusion(
            hash,
            self.position,
            self.size,
            &self.proof,
            &checkpoint.root,
        )
        .map_err(|fault| (FaultKind::Proof, fault.to_string()))
    }

    /// Whether an attachment is what the record names.
    pub(super) fn attachment(&mut self, name: &str, content: &[u8]) -> Result<(), String> {
        let Some((leaf, _)) = &self.record else {
            return Err("attachments stand after the record".to_owned());
        };
        let (digest, field) = match name {
            ATTACHED_RULES => (leaf.header.rules_digest, "rules_digest"),
            ATTACHED_PARTS => (leaf.header.parts_digest, "parts_digest"),
            _ => {
                return Err(format!(
                    "an attachment is `{ATTACHED_RULES}` or `{ATTACHED_PARTS}`, and this is `{name}`"
                ));
            }
        };
        if self.attached.iter().any(|other| other == name) {
            return Err(format!("`{name}` is attached twice"));
        }
        self.attached.push(name.to_owned());
        let Some(digest) = digest else {
            return Err(format!(
                "`{name}` is attached, and the record has no `{field}`"
            ));
        };
        let found = Hash(Sha256::digest(content).into());
        if found == digest {
            return Ok(());
        }
        Err(format!(
            "`{name}` has the digest {found}, and the record's `{field}` is {digest}"
        ))
    }

    /// What the pack lacks.
    pub(super) fn is_missing(&self) -> Option<&'static str> {
        if self.record.is_none() {
            return Some("the pack has no record that can be read");
        }
        (!self.has_checkpoint).then_some("the pack has no checkpoint that can be trusted")
    }
}
