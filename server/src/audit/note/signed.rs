//! A signed note: read strictly, written, signed.

use std::fmt::Write;

use base64::Engine;
use base64::engine::general_purpose::STANDARD;

use super::fault::{NoteFault, NoteFaultKind, base64_fault};
use super::signing::SigningKey;
use super::verifier::is_key_name;

/// The largest note that is read.
pub const LARGEST_NOTE_BYTES: usize = 1 << 20;
/// The most signatures of a note; the format asks for 16 at least.
pub const MOST_SIGNATURES: usize = 64;

/// What a signature's line begins with: a long dash and a space.
const DASH: &str = "\u{2014} ";

/// A text with signatures. Nothing is said about whether they are right: ask
/// [`KeyRing::verify`](super::KeyRing::verify).
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct SignedNote {
    text: String,
    signatures: Vec<NoteSignature>,
}

/// A signature as a note carries it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct NoteSignature {
    /// The name of the key.
    pub name: String,
    /// The id of the key.
    pub id: u32,
    /// The signature itself.
    pub bytes: Vec<u8>,
}

impl SignedNote {
    /// Reads a note.
    ///
    /// # Errors
    /// The first [`NoteFault`].
    pub fn parse(note: &[u8]) -> Result<Self, NoteFault> {
        let fault = |at, kind| NoteFault { at, kind };
        if note.len() > LARGEST_NOTE_BYTES {
            return Err(fault(LARGEST_NOTE_BYTES, NoteFaultKind::TooLong));
        }
        let whole = std::str::from_utf8(note)
            .map_err(|error| fault(error.valid_up_to(), NoteFaultKind::NotText))?;
        if let Some(at) = whole.bytes().position(|byte| byte < b' ' && byte != b'\n') {
            return Err(fault(at, NoteFaultKind::ControlCharacter));
        }
        if !whole.ends_with('\n') {
            return Err(fault(whole.len(), NoteFaultKind::NoLineEnd));
        }
        let (text, lines) = whole
            .rsplit_once("\n\n")
            .ok_or(fault(whole.len(), NoteFaultKind::NoBlankLine))?;
        if lines.is_empty() {
            return Err(fault(whole.len(), NoteFaultKind::NoSignature));
        }
        let mut at = text.len() + 2;
        let mut signatures = Vec::new();
        for line in lines.split_terminator('\n') {
            if signatures.len() == MOST_SIGNATURES {
                return Err(fault(at, NoteFaultKind::TooManySignatures));
            }
            signatures.push(parse_line(line, at)?);
            at += line.len() + 1;
        }
        Ok(SignedNote {
            text: format!("{text}\n"),
            signatures,
        })
    }

    /// Signs a text, which ends with a line end and has no control characters but those.
    ///
    /// # Errors
    /// [`NoteFault`], where the text can stand in no note.
    pub fn sign(text: &str, keys: &[&SigningKey]) -> Result<Self, NoteFault> {
        let signature = |key: &&SigningKey| NoteSignature {
            name: key.verifier().name().to_owned(),
            id: key.verifier().id(),
            bytes: key.sign(text.as_bytes()),
        };
        let note = SignedNote {
            text: text.to_owned(),
            signatures: keys.iter().map(signature).collect(),
        };
        // What is not read as it was written is no note.
        let read = SignedNote::parse(note.to_text().as_bytes())?;
        if read == note {
            return Ok(note);
        }
        Err(NoteFault {
            at: text.len(),
            kind: NoteFaultKind::NoLineEnd,
        })
    }

    /// The text that is signed, with its last line end.
    pub fn text(&self) -> &str {
        &self.text
    }

    /// The signatures, in their order.
    pub fn signatures(&self) -> &[NoteSignature] {
        &self.signatures
    }

    /// The note as it is written.
    pub fn to_text(&self) -> String {
        let mut note = format!("{}\n", self.text);
        for signature in &self.signatures {
            let mut bytes = signature.id.to_be_bytes().to_vec();
            bytes.extend(&signature.bytes);
            let base64 = STANDARD.encode(bytes);
            let _ = writeln!(note, "{DASH}{} {base64}", signature.name);
        }
        note
    }
}

/// Reads the line of a signature, which begins at byte `at` of the note.
fn parse_line(line: &str, at: usize) -> Result<NoteSignature, NoteFault> {
    let fault = |at, kind| NoteFault { at, kind };
    let rest = line
        .strip_prefix(DASH)
        .ok_or(fault(at, NoteFaultKind::NoDash))?;
    let at = at + DASH.len();
    let (name, base64) = rest
        .split_once(' ')
        .ok_or(fault(at + rest.len(), NoteFaultKind::Base64))?;
    if !is_key_name(name) {
        return Err(fault(at, NoteFaultKind::KeyName));
    }
    let at = at + name.len() + 1;
    let bytes = STANDARD
        .decode(base64)
        .map_err(|error| base64_fault(at, base64.len(), &error))?;
    match bytes.split_first_chunk::<4>() {
        Some((id, signature)) if !signature.is_empty() => Ok(NoteSignature {
            name: name.to_owned(),
            id: u32::from_be_bytes(*id),
            bytes: signature.to_vec(),
        }),
        _ => Err(fault(at, NoteFaultKind::ShortSignature)),
    }
}
