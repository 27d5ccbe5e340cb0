//! What is open in the editor, and how paths and addresses of files belong together.

use std::path::{Path, PathBuf};
use std::str::FromStr;

use lsp_types::{TextDocumentContentChangeEvent, Uri};

use super::positions::{Encoding, Lines};

/// A file that is open in the editor.
#[derive(Clone, Debug)]
pub(super) struct Document {
    /// Its address as the client writes it.
    pub(super) uri: Uri,
    /// The client's number of this state of it.
    pub(super) version: i32,
    /// Its text, saved or not.
    pub(super) text: String,
}

impl Document {
    /// Makes the changes one after the other; one without a range is the whole text.
    pub(super) fn change(
        &mut self,
        changes: Vec<TextDocumentContentChangeEvent>,
        encoding: Encoding,
    ) {
        for change in changes {
            let Some(range) = change.range else {
                self.text = change.text;
                continue;
            };
            let lines = Lines::new(&self.text, encoding);
            let (start, end) = (lines.offset(range.start), lines.offset(range.end));
            self.text
                .replace_range(start.min(end)..start.max(end), &change.text);
        }
    }
}

/// The path of a file's address; none of what is not a file on this machine.
pub(super) fn path_of(uri: &Uri) -> Option<PathBuf> {
    let rest = uri.as_str().strip_prefix("file://")?;
    let path = rest.strip_prefix("localhost").unwrap_or(rest);
    let path = decoded(path)?;
    let path = match path.strip_prefix('/') {
        // `/C:/rules` is `C:/rules` there.
        Some(inside) if cfg!(windows) => inside.to_owned(),
        Some(_) => path,
        None => return None,
    };
    Some(PathBuf::from(path))
}

/// The address of a file.
pub(super) fn uri_of(path: &Path) -> Option<Uri> {
    let text = path.to_str()?;
    let mut address = String::from("file://");
    if cfg!(windows) {
        address.push('/');
    }
    for byte in text.bytes() {
        let character = char::from(byte);
        match character {
            '/' | '-' | '.' | '_' | '~' => address.push(character),
            _ if character.is_ascii_alphanumeric() => address.push(character),
            '\\' if cfg!(windows) => address.push('/'),
            _ => address.push_str(&format!("%{byte:02X}")),
        }
    }
    Uri::from_str(&address).ok()
}

fn decoded(text: &str) -> Option<String> {
    let mut bytes = Vec::new();
    let mut rest = text.bytes();
    while let Some(byte) = rest.next() {
        if byte != b'%' {
            bytes.push(byte);
            continue;
        }
        let mut digit = || char::from(rest.next()?).to_digit(16);
        let (high, low) = (digit()?, digit()?);
        bytes.push(u8::try_from(high * 16 + low).ok()?);
    }
    String::from_utf8(bytes).ok()
}

#[cfg(test)]
mod tests {
    use std::path::Path;
    use std::str::FromStr;

    use super::{path_of, uri_of};
    use lsp_types::Uri;

    #[test]
    fn a_path_comes_back_from_its_address() {
        let path = Path::new("/rules of the house/grün/50% #1.rules");
        let uri = uri_of(path).unwrap();
        assert_eq!(
            uri.as_str(),
            "file:///rules%20of%20the%20house/gr%C3%BCn/50%25%20%231.rules"
        );
        assert_eq!(path_of(&uri).unwrap(), path);
    }

    #[test]
    fn what_is_no_file_here_has_no_path() {
        for address in ["untitled:one", "file://elsewhere/one.rules", "file:///%zz"] {
            let path = Uri::from_str(address).ok().and_then(|uri| path_of(&uri));
            assert_eq!(path, None, "{address}");
        }
    }
}
