//! Reading from disk within the limits.
//!
//! A path is looked at before it is opened: a folder, a device or a pipe is named instead of read,
//! so that no path makes the program wait or fill the memory.

use std::fs::{self, File};
use std::io::{ErrorKind, Read};
use std::path::Path;

use super::fault::{FileFault, FileFaultKind};
use super::limits::{LARGEST_FOLDER_BYTES, MOST_FILES};
use super::lines::Lines;
use super::text_file::TextFile;

/// Reads one file of text of at most `most_bytes`.
pub(super) fn read_text(path: &Path, shown: &str, most_bytes: u64) -> Result<String, FileFault> {
    let found = fs::metadata(path).map_err(|error| unreadable(path, shown, &error))?;
    if !found.is_file() {
        let sort = if found.is_dir() {
            "a folder"
        } else {
            "a device or pipe"
        };
        let message = format!("is {sort}; a file is needed");
        return Err(FileFault::of_file(FileFaultKind::WrongSort, shown, message));
    }
    let mut bytes = Vec::new();
    // It may have grown since: one byte more than allowed is enough to know.
    File::open(path)
        .and_then(|file| {
            file.take(most_bytes.saturating_add(1))
                .read_to_end(&mut bytes)
        })
        .map_err(|error| unreadable(path, shown, &error))?;
    let length = u64::try_from(bytes.len()).unwrap_or(u64::MAX);
    if length > most_bytes {
        let length = found.len().max(length);
        let message = format!("has {length} bytes; at most {most_bytes} are read of such a file");
        return Err(FileFault::of_file(FileFaultKind::TooLarge, shown, message));
    }
    String::from_utf8(bytes).map_err(|error| not_text(shown, &error))
}

fn not_text(shown: &str, error: &std::string::FromUtf8Error) -> FileFault {
    let valid = error.utf8_error().valid_up_to();
    let before = error.as_bytes().get(..valid).unwrap_or_default();
    let line = Lines::of(&String::from_utf8_lossy(before)).line_of(valid);
    let message = "is not UTF-8 text; save it as UTF-8";
    FileFault::of_file(FileFaultKind::NotText, shown, message).at_line(line)
}

fn unreadable(path: &Path, shown: &str, error: &std::io::Error) -> FileFault {
    let is_link = fs::symlink_metadata(path).is_ok_and(|found| found.file_type().is_symlink());
    let (kind, message) = match error.kind() {
        ErrorKind::NotFound if is_link => (
            FileFaultKind::NotFound,
            "is a link to something that is not there".to_owned(),
        ),
        ErrorKind::NotFound => (FileFaultKind::NotFound, "is not there".to_owned()),
        _ => (
            FileFaultKind::CannotBeRead,
            format!("cannot be read: {error}"),
        ),
    };
    FileFault::of_file(kind, shown, message)
}

/// The names of the files and folders in a folder, sorted.
pub(super) fn names_in(folder: &Path, shown: &str) -> Result<Vec<String>, Vec<FileFault>> {
    let found = fs::metadata(folder).map_err(|error| vec![unreadable(folder, shown, &error)])?;
    if !found.is_dir() {
        let message = "is a file; a folder is needed";
        return Err(vec![FileFault::of_file(
            FileFaultKind::WrongSort,
            shown,
            message,
        )]);
    }
    let entries = fs::read_dir(folder).map_err(|error| vec![unreadable(folder, shown, &error)])?;
    let mut names = Vec::new();
    let mut faults = Vec::new();
    for entry in entries {
        match entry.map(|entry| entry.file_name().into_string()) {
            Ok(Ok(name)) => names.push(name),
            Ok(Err(name)) => {
                let name = Path::new(&name).display().to_string();
                let shown = format!("{shown}/{name}");
                let message = "has a name that is not UTF-8";
                faults.push(FileFault::of_file(FileFaultKind::NotText, shown, message));
            }
            Err(error) => faults.push(unreadable(folder, shown, &error)),
        }
    }
    names.sort();
    if faults.is_empty() {
        Ok(names)
    } else {
        Err(faults)
    }
}

/// Reads the wanted files of a folder, sorted by name; `prefix` stands before their names in
/// [`TextFile::path`].
pub(super) fn read_folder(
    folder: &Path,
    prefix: &str,
    most_bytes: u64,
    is_wanted: impl Fn(&str) -> bool,
) -> Result<Vec<TextFile>, Vec<FileFault>> {
    let shown_folder = folder.display().to_string();
    let mut names = names_in(folder, &shown_folder)?;
    names.retain(|name| is_wanted(name));
    if names.len() > MOST_FILES {
        let message = format!("has {} files; at most {MOST_FILES} are read", names.len());
        return Err(vec![FileFault::of_file(
            FileFaultKind::TooMany,
            shown_folder,
            message,
        )]);
    }
    let mut files = Vec::new();
    let mut faults = Vec::new();
    let mut left = LARGEST_FOLDER_BYTES;
    for name in names {
        let path = folder.join(&name);
        let shown = path.display().to_string();
        match read_text(&path, &shown, most_bytes.min(left)) {
            Ok(text) => {
                left = left.saturating_sub(u64::try_from(text.len()).unwrap_or(u64::MAX));
                let path = format!("{prefix}{name}");
                files.push(TextFile { path, shown, text });
            }
            Err(fault) if fault.kind == FileFaultKind::TooLarge && left < most_bytes => {
                let message =
                    format!("is too large; at most {LARGEST_FOLDER_BYTES} bytes are read of it");
                let kind = FileFaultKind::TooLarge;
                faults.push(FileFault::of_file(kind, shown_folder, message));
                return Err(faults);
            }
            Err(fault) => faults.push(fault),
        }
    }
    if faults.is_empty() {
        Ok(files)
    } else {
        Err(faults)
    }
}
