//! Frames: how a file is cut into pieces, and how damage to one is found at once.
//!
//! After [`MAGIC`] a file is a sequence of frames: a letter for the kind, the length of the content
//! in four bytes, largest first, the content in the canonical [encoding](super::super::encoding),
//! and a check of 16 bytes. The check is the beginning of SHA-256 of `loftwright frame 1`, a line
//! end, the check of the frame before (of the first: zeros), the letter, the length and the
//! content.
//!
//! Checks find accidents, and where they happened. They prove nothing, since anybody can compute
//! them: what proves is the signed root.

use std::io::{self, ErrorKind, Read};

use sha2::{Digest, Sha256};

/// What a file begins with.
pub const MAGIC: &[u8; 20] = b"loftwright export 1\n";
/// The largest content of a frame.
pub const LARGEST_FRAME_BYTES: u32 = 1 << 24;

/// The length of a check.
pub(super) const CHECK_BYTES: usize = 16;
/// The letter and the length.
const HEAD_BYTES: usize = 5;

/// The kinds of frames.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum FrameKind {
    /// What the file is of. The first.
    Head,
    /// A verifier key that the log has used. For people: it is not trusted for being there.
    Key,
    /// A record.
    Record,
    /// A checkpoint over the records so far.
    Checkpoint,
    /// What a record's digests are of.
    Attachment,
    /// How much there was. The last.
    End,
}

impl FrameKind {
    /// All of them.
    pub const ALL: [FrameKind; 6] = [
        FrameKind::Head,
        FrameKind::Key,
        FrameKind::Record,
        FrameKind::Checkpoint,
        FrameKind::Attachment,
        FrameKind::End,
    ];

    /// The letter that stands for it.
    pub fn letter(self) -> u8 {
        match self {
            FrameKind::Head => b'H',
            FrameKind::Key => b'K',
            FrameKind::Record => b'R',
            FrameKind::Checkpoint => b'C',
            FrameKind::Attachment => b'A',
            FrameKind::End => b'E',
        }
    }

    /// What it is, in words.
    pub fn name(self) -> &'static str {
        match self {
            FrameKind::Head => "head",
            FrameKind::Key => "key",
            FrameKind::Record => "record",
            FrameKind::Checkpoint => "checkpoint",
            FrameKind::Attachment => "attachment",
            FrameKind::End => "end",
        }
    }
}

/// A frame as it was read.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct Frame {
    /// The byte of the file at which it begins.
    pub(super) at: u64,
    pub(super) kind: FrameKind,
    pub(super) content: Vec<u8>,
    /// Whether its check is right.
    pub(super) is_intact: bool,
}

/// Why no frame can be read. What follows cannot be read either.
#[derive(Debug, thiserror::Error)]
pub(super) enum FrameFault {
    #[error("the file ends inside a frame that begins at byte {0}")]
    CutShort(u64),
    #[error("no frame begins with the byte {letter:#04x}")]
    NoFrame { at: u64, letter: u8 },
    #[error("the frame says it has {length} bytes, and at most {LARGEST_FRAME_BYTES} are read")]
    TooLarge { at: u64, length: u32 },
    #[error("the file cannot be read: {0}")]
    System(#[from] io::Error),
}

/// Reads frames one by one.
pub(super) struct FrameReader<R> {
    input: R,
    at: u64,
    /// What the check of the frame before is and what it should be: where the two differ either
    /// may have been changed, and the next frame goes on from the other.
    before: [[u8; CHECK_BYTES]; 2],
}

impl<R: Read> FrameReader<R> {
    /// The frames of an input that begins with [`MAGIC`]; none if it does not.
    pub(super) fn open(mut input: R) -> io::Result<Option<Self>> {
        let mut magic = Vec::new();
        let wanted = length_of(MAGIC);
        input.by_ref().take(wanted).read_to_end(&mut magic)?;
        if magic != MAGIC {
            return Ok(None);
        }
        Ok(Some(FrameReader {
            input,
            at: wanted,
            before: [[0; CHECK_BYTES]; 2],
        }))
    }

    /// The byte of the file up to which it was read.
    pub(super) fn at(&self) -> u64 {
        self.at
    }

    /// The next frame; none at the end of the file.
    pub(super) fn next(&mut self) -> Result<Option<Frame>, FrameFault> {
        let at = self.at;
        let mut head = [0; HEAD_BYTES];
        let read = self.fill(&mut head)?;
        if read == 0 {
            return Ok(None);
        }
        let [letter, length @ ..] = head;
        let kind = FrameKind::ALL
            .into_iter()
            .find(|kind| kind.letter() == letter)
            .ok_or(FrameFault::NoFrame { at, letter })?;
        if read < HEAD_BYTES {
            return Err(FrameFault::CutShort(at));
        }
        let length = u32::from_be_bytes(length);
        if length > LARGEST_FRAME_BYTES {
            return Err(FrameFault::TooLarge { at, length });
        }
        let mut content = Vec::new();
        let read = self
            .input
            .by_ref()
            .take(length.into())
            .read_to_end(&mut content)?;
        self.at += length_of(&content);
        let mut stated = [0; CHECK_BYTES];
        if u32::try_from(read) != Ok(length) || self.fill(&mut stated)? < CHECK_BYTES {
            return Err(FrameFault::CutShort(at));
        }
        let [first, second] = self.before;
        let found = check_of(&first, &head, &content);
        let is_intact = found == stated || check_of(&second, &head, &content) == stated;
        self.before = [stated, found];
        Ok(Some(Frame {
            at,
            kind,
            content,
            is_intact,
        }))
    }

    /// Reads until the buffer is full or the file ends, and says how much.
    fn fill(&mut self, buffer: &mut [u8]) -> io::Result<usize> {
        let mut filled = 0;
        while let Some(rest) = buffer.get_mut(filled..).filter(|rest| !rest.is_empty()) {
            match self.input.read(rest) {
                Ok(0) => break,
                Ok(count) => filled += count,
                Err(error) if error.kind() == ErrorKind::Interrupted => {}
                Err(error) => return Err(error),
            }
        }
        self.at += u64::try_from(filled).unwrap_or(u64::MAX);
        Ok(filled)
    }
}

/// The bytes of a frame, and its check, which the next one takes up. None where it is too large.
pub(super) fn frame_bytes(
    kind: FrameKind,
    content: &[u8],
    before: &[u8; CHECK_BYTES],
) -> Option<(Vec<u8>, [u8; CHECK_BYTES])> {
    let length = u32::try_from(content.len()).ok()?;
    if length > LARGEST_FRAME_BYTES {
        return None;
    }
    let mut bytes = vec![kind.letter()];
    bytes.extend(length.to_be_bytes());
    let check = check_of(before, &bytes, content);
    bytes.extend(content);
    bytes.extend(check);
    Some((bytes, check))
}

fn check_of(before: &[u8; CHECK_BYTES], head: &[u8], content: &[u8]) -> [u8; CHECK_BYTES] {
    let mut hash = Sha256::new();
    hash.update(b"loftwright frame 1\n");
    hash.update(before);
    hash.update(head);
    hash.update(content);
    let mut check = [0; CHECK_BYTES];
    for (to, from) in check.iter_mut().zip(hash.finalize()) {
        *to = from;
    }
    check
}

fn length_of(bytes: &[u8]) -> u64 {
    u64::try_from(bytes.len()).unwrap_or(u64::MAX)
}
