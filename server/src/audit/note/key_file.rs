//! The file of a private key: one line, to be read by its owner alone.
//!
//! It is created with mode 0600, and refused when its group or others may read or write it: whoever
//! has the key can sign another history of the log.

use std::fs::{self, File, OpenOptions};
use std::io::{ErrorKind, Read, Write};
use std::path::Path;

use zeroize::Zeroizing;

use super::fault::KeyFault;
use super::signing::SigningKey;

/// The largest key file that is read.
const LARGEST_BYTES: u64 = 4096;

/// Why a key file is not taken, or not written. None of them shows the key.
#[derive(Debug, thiserror::Error)]
pub enum KeyFileError {
    /// It is there already: a key is never written over.
    #[error("the key file `{0}` is there already, and a key is never written over")]
    IsThere(String),
    /// It cannot be read or written.
    #[error("the key file `{file}` cannot be used: {why}")]
    System {
        /// The file.
        file: String,
        /// Why.
        why: std::io::Error,
    },
    /// Not a plain file.
    #[error("the key file `{0}` is not a file")]
    NoFile(String),
    /// Others may read it.
    #[error(
        "the key file `{file}` has mode {mode:04o}: others than its owner may use it; \
         `chmod 600` it, and change the key if they may have read it"
    )]
    OpenToOthers {
        /// The file.
        file: String,
        /// The mode's last nine bits.
        mode: u32,
    },
    /// What it holds is no key.
    #[error("the key file `{file}` holds no key: {fault}")]
    Content {
        /// The file.
        file: String,
        /// What is wrong.
        fault: KeyFault,
    },
}

/// Writes a key to a new file that its owner alone may read, and waits until it is on the disk. The
/// file is there with all of the key, or not at all.
///
/// # Errors
/// [`KeyFileError`].
pub fn create(path: &Path, key: &SigningKey) -> Result<(), KeyFileError> {
    let file = path.display().to_string();
    let beside = path.with_added_extension("unfinished");
    let mut options = OpenOptions::new();
    options.write(true).create_new(true);
    #[cfg(unix)]
    std::os::unix::fs::OpenOptionsExt::mode(&mut options, 0o600);
    let mut text = key.secret_text();
    text.push('\n');
    let written = match fs::remove_file(&beside) {
        // What a program left that was killed; no log was ever signed with it.
        Err(why) if why.kind() != ErrorKind::NotFound => Err(why),
        _ => options.open(&beside).and_then(|mut opened| {
            opened.write_all(text.as_bytes())?;
            opened.sync_all()?;
            // Unlike a renaming it fails where there is one.
            fs::hard_link(&beside, path)
        }),
    };
    written
        .and_then(|()| fs::remove_file(&beside))
        .map_err(|why| match why.kind() {
            ErrorKind::AlreadyExists => KeyFileError::IsThere(file),
            _ => KeyFileError::System { file, why },
        })
}

/// Reads the key of a file.
///
/// # Errors
/// [`KeyFileError`].
pub fn read(path: &Path) -> Result<SigningKey, KeyFileError> {
    let file = path.display().to_string();
    let system = |why| KeyFileError::System {
        file: file.clone(),
        why,
    };
    let opened = File::open(path).map_err(system)?;
    // Of what was opened, not of the path, which may lead elsewhere by now.
    let found = opened.metadata().map_err(system)?;
    if !found.is_file() {
        return Err(KeyFileError::NoFile(file));
    }
    #[cfg(unix)]
    {
        let mode = std::os::unix::fs::PermissionsExt::mode(&found.permissions()) & 0o777;
        if mode & 0o077 != 0 {
            return Err(KeyFileError::OpenToOthers { file, mode });
        }
    }
    let mut text = Zeroizing::new(String::new());
    opened
        .take(LARGEST_BYTES)
        .read_to_string(&mut text)
        .map_err(system)?;
    SigningKey::parse(text.strip_suffix('\n').unwrap_or(&text))
        .map_err(|fault| KeyFileError::Content { file, fault })
}
