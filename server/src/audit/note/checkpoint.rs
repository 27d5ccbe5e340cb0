//! A checkpoint: the log's name, its size, its root.

use std::fmt::Write;

use base64::Engine;
use base64::engine::general_purpose::STANDARD;

use super::super::merkle::Hash;
use super::fault::{NoteFault, NoteFaultKind, base64_fault};
use super::key_ring::{KeyRing, TrustFault};
use super::signed::SignedNote;
use super::signing::SigningKey;
use super::verifier::VerifierKey;

/// What a checkpoint says.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Checkpoint {
    /// The log's name: one line, not empty.
    pub origin: String,
    /// How many records it has.
    pub size: u64,
    /// The root over them.
    pub root: Hash,
    /// Further lines, none of them empty. We write none.
    pub extensions: Vec<String>,
}

/// Why a checkpoint is not taken.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum CheckpointError {
    /// It is no checkpoint.
    #[error("not a checkpoint: {0}")]
    Malformed(#[from] NoteFault),
    /// It is not signed as it must be.
    #[error(transparent)]
    Untrusted(#[from] TrustFault),
}

impl Checkpoint {
    /// A checkpoint without further lines.
    pub fn new(origin: &str, size: u64, root: Hash) -> Self {
        Checkpoint {
            origin: origin.to_owned(),
            size,
            root,
            extensions: Vec::new(),
        }
    }

    /// Reads the text of a note.
    ///
    /// # Errors
    /// The first [`NoteFault`].
    pub fn parse(text: &str) -> Result<Self, NoteFault> {
        let fault = |at, kind| NoteFault { at, kind };
        let body = text
            .strip_suffix('\n')
            .ok_or(fault(text.len(), NoteFaultKind::NoLineEnd))?;
        let mut at = 0;
        let mut lines = body.split('\n').map(|line| {
            let start = at;
            at += line.len() + 1;
            (start, line)
        });
        let origin = match lines.next() {
            Some((_, origin)) if !origin.is_empty() => origin.to_owned(),
            _ => return Err(fault(0, NoteFaultKind::NoOrigin)),
        };
        let end = text.len();
        let (start, line) = lines.next().ok_or(fault(end, NoteFaultKind::Size))?;
        let size = parse_size(line).ok_or(fault(start, NoteFaultKind::Size))?;
        let (start, line) = lines.next().ok_or(fault(end, NoteFaultKind::Root))?;
        let root = STANDARD
            .decode(line)
            .map_err(|error| base64_fault(start, line.len(), &error))?;
        let root = Hash::of_slice(&root).ok_or(fault(start, NoteFaultKind::Root))?;
        let mut extensions = Vec::new();
        for (start, line) in lines {
            if line.is_empty() {
                return Err(fault(start, NoteFaultKind::EmptyLine));
            }
            extensions.push(line.to_owned());
        }
        Ok(Checkpoint {
            origin,
            size,
            root,
            extensions,
        })
    }

    /// The text of the note.
    pub fn to_text(&self) -> String {
        let root = STANDARD.encode(self.root.as_bytes());
        let mut text = format!("{}\n{}\n{root}\n", self.origin, self.size);
        for line in &self.extensions {
            let _ = writeln!(text, "{line}");
        }
        text
    }
}

/// Signs a checkpoint. The caller has made sure that it continues the last one it signed.
///
/// # Errors
/// [`NoteFault`], where the name or a further line can stand in no note.
pub fn sign_checkpoint(
    checkpoint: &Checkpoint,
    keys: &[&SigningKey],
) -> Result<SignedNote, NoteFault> {
    let text = checkpoint.to_text();
    if Checkpoint::parse(&text)? != *checkpoint {
        let kind = NoteFaultKind::ControlCharacter;
        return Err(NoteFault { at: 0, kind });
    }
    SignedNote::sign(&text, keys)
}

/// Reads a checkpoint, and the keys of the ring that signed it.
///
/// # Errors
/// [`CheckpointError`].
pub fn open_checkpoint<'ring>(
    note: &[u8],
    ring: &'ring KeyRing,
) -> Result<(Checkpoint, Vec<&'ring VerifierKey>), CheckpointError> {
    let note = SignedNote::parse(note)?;
    let checkpoint = Checkpoint::parse(note.text())?;
    let signers = ring.verify(&note, checkpoint.size)?;
    Ok((checkpoint, signers))
}

/// A number as it is written: digits without leading zeros.
fn parse_size(line: &str) -> Option<u64> {
    let is_digits = line.bytes().all(|byte| byte.is_ascii_digit());
    let has_leading_zero = line.len() > 1 && line.starts_with('0');
    (is_digits && !has_leading_zero)
        .then(|| line.parse().ok())
        .flatten()
}
