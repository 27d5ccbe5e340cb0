//! Writing a file anew, whole or not at all.

use std::fs::{self, OpenOptions};
use std::io::{self, Write};
use std::path::Path;

use super::fault::{FileFault, FileFaultKind};

/// Puts a text in the place of a file's: it is written beside it under another name, and takes its
/// name when it is on disk. The file keeps its rights.
///
/// # Errors
/// Where the file is a link (what it leads to is for somebody else to change) or the folder cannot
/// be written to; the file is as it was then.
pub fn replace_text(path: &Path, shown: &str, text: &str) -> Result<(), FileFault> {
    let cannot = |why: &io::Error| {
        let message = format!("cannot be written: {why}");
        FileFault::of_file(FileFaultKind::CannotBeWritten, shown, message)
    };
    let found = fs::symlink_metadata(path).map_err(|why| cannot(&why))?;
    if !found.is_file() {
        let message = "is a link; only files are written";
        return Err(FileFault::of_file(FileFaultKind::WrongSort, shown, message));
    }
    let name = path.file_name().unwrap_or_default().to_string_lossy();
    // Hidden, so that nobody reads it as rules meanwhile.
    let beside = path.with_file_name(format!(".{name}.{}.new", std::process::id()));
    let written = OpenOptions::new()
        .write(true)
        .create_new(true)
        .open(&beside)
        .and_then(|mut file| {
            file.write_all(text.as_bytes())?;
            file.set_permissions(found.permissions())?;
            file.sync_all()
        })
        .and_then(|()| fs::rename(&beside, path));
    written.map_err(|why| {
        // It may not be there; then there is nothing to remove.
        let _ = fs::remove_file(&beside);
        cannot(&why)
    })
}
