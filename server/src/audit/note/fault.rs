//! What is wrong with a note or a key.

use base64::DecodeError;

use super::signed::{LARGEST_NOTE_BYTES, MOST_SIGNATURES};

/// Why some text is no signed note, or no checkpoint.
#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
#[error("byte {at}: {kind}")]
pub struct NoteFault {
    /// The first byte that is not as it must be, counted from 0.
    pub at: usize,
    /// What is wrong there.
    pub kind: NoteFaultKind,
}

/// What may be wrong at a byte of a note.
#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
pub enum NoteFaultKind {
    /// It is longer than the limit.
    #[error("a note has at most {LARGEST_NOTE_BYTES} bytes")]
    TooLong,
    /// It is not UTF-8.
    #[error("a note is UTF-8 text, and this byte is not")]
    NotText,
    /// A control character.
    #[error("a note has no control characters but line ends")]
    ControlCharacter,
    /// It does not end with a line end.
    #[error("a note ends with a line end")]
    NoLineEnd,
    /// There is no blank line before the signatures.
    #[error("a blank line must part the text from the signatures")]
    NoBlankLine,
    /// There are no signatures.
    #[error("a note has a signature at least")]
    NoSignature,
    /// There are more signatures than the limit.
    #[error("a note has at most {MOST_SIGNATURES} signatures")]
    TooManySignatures,
    /// A line after the blank one is no signature.
    #[error("a signature's line begins with a long dash (U+2014) and a space")]
    NoDash,
    /// The name of a key is not one.
    #[error("a key's name is not empty and has neither spaces nor `+`")]
    KeyName,
    /// Not base64.
    #[error("not the base64 of RFC 4648 section 4, padded and without stray bits")]
    Base64,
    /// A signature too short to name its key.
    #[error("a signature has a key's four bytes and more")]
    ShortSignature,
    /// The log's name is missing.
    #[error("a checkpoint's first line is the log's name")]
    NoOrigin,
    /// The size is not a number as it is written.
    #[error("a checkpoint's second line is the number of records, without leading zeros")]
    Size,
    /// The root is not 32 bytes of base64.
    #[error("a checkpoint's third line is the root, 32 bytes as base64")]
    Root,
    /// An empty line.
    #[error("a checkpoint has no empty line")]
    EmptyLine,
}

/// Why some text is no key. It never shows the text of a secret one.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum KeyFault {
    /// The name is not one.
    #[error("a key's name is not empty and has neither spaces, control characters nor `+`")]
    Name,
    /// A verifier key has another form.
    #[error("a verifier key is written NAME+ID+BASE64, with an id of eight digits 0-9 and a-f")]
    VerifierForm,
    /// A private key has another form.
    #[error("a private key is written PRIVATE+KEY+NAME+ID+BASE64")]
    PrivateForm,
    /// A verifier key where a private one is needed.
    #[error("this is a verifier key; the private one is needed, which begins with `PRIVATE+KEY+`")]
    NotPrivate,
    /// A private key where a verifier key is needed: it is out in the open now.
    #[error("this is a private key; give the verifier key, and keep the private one to its owner")]
    NotPublic,
    /// The last part is not base64 of one byte and 32.
    #[error("a key's last part is the base64 of a byte for its kind and of 32 bytes")]
    Material,
    /// A key of another kind.
    #[error("a key of kind {0}; only Ed25519 is known, which is kind 1")]
    Kind(u8),
    /// The id is not that of the key.
    #[error("the key's id is {found:08x}, and its text says {stated:08x}: it was changed")]
    Id {
        /// What the name and the key come to.
        found: u32,
        /// What the text says.
        stated: u32,
    },
    /// The system gives no random bytes.
    #[error("the system gives no random bytes for a new key")]
    NoRandomness,
}

/// Where in a text that begins at `start` base64 is faulty.
pub(super) fn base64_fault(start: usize, length: usize, error: &DecodeError) -> NoteFault {
    let inside = match error {
        DecodeError::InvalidByte(at, _) | DecodeError::InvalidLastSymbol(at, _) => *at,
        DecodeError::InvalidLength(_) | DecodeError::InvalidPadding => length,
    };
    NoteFault {
        at: start + inside,
        kind: NoteFaultKind::Base64,
    }
}
