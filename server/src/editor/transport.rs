//! Frames of the base protocol: a head with `Content-Length`, then that many bytes of JSON.
//!
//! What cannot be read is a finding of its own and the next frame is read: a client's slip ends
//! nothing.

use std::io::{BufRead, Read, Write, copy, sink};
use std::sync::mpsc::SyncSender;

use lsp_server::{ErrorCode, Message};
use serde_json::{Value, json};

/// The largest message that is read: a file of rules has at most 1 MiB, and JSON may take six
/// characters for one.
pub(super) const LARGEST_MESSAGE_BYTES: u64 = 16 * 1024 * 1024;

/// The longest line of a head.
const LONGEST_HEAD_LINE_BYTES: u64 = 4 * 1024;

/// What comes from the client.
#[derive(Debug)]
pub(super) enum Incoming {
    /// A message.
    Message(Message),
    /// What is none: answered with an error that belongs to no request.
    Malformed(ErrorCode, String),
}

/// Reads frames until the input ends or nobody takes them any more.
pub(super) fn read_frames(mut input: impl BufRead, taker: &SyncSender<Incoming>) {
    // An input that fails will not come back: it ends like one that is closed.
    while let Ok(Some(incoming)) = read_frame(&mut input) {
        if taker.send(incoming).is_err() {
            return;
        }
    }
}

fn read_frame(input: &mut impl BufRead) -> std::io::Result<Option<Incoming>> {
    let malformed = |code, message: String| Ok(Some(Incoming::Malformed(code, message)));
    let Some(length) = read_head(input)? else {
        return Ok(None);
    };
    let Some(length) = length else {
        let message = "a message begins with `Content-Length: ` and its number of bytes";
        return malformed(ErrorCode::ParseError, message.to_owned());
    };
    if length > LARGEST_MESSAGE_BYTES {
        copy(&mut input.take(length), &mut sink())?;
        let message =
            format!("a message of {length} bytes; at most {LARGEST_MESSAGE_BYTES} are read");
        return malformed(ErrorCode::InvalidRequest, message);
    }
    let mut content = Vec::new();
    input.take(length).read_to_end(&mut content)?;
    let value: Value = match serde_json::from_slice(&content) {
        Ok(value) => value,
        Err(error) => return malformed(ErrorCode::ParseError, format!("not JSON: {error}")),
    };
    match serde_json::from_value(value) {
        Ok(message) => Ok(Some(Incoming::Message(message))),
        Err(_) => malformed(
            ErrorCode::InvalidRequest,
            "neither a request nor a notification nor a response".to_owned(),
        ),
    }
}

/// The length that a head states; `None` within where it states none, `None` where the input ends.
fn read_head(input: &mut impl BufRead) -> std::io::Result<Option<Option<u64>>> {
    let mut length = None;
    let mut is_begun = false;
    loop {
        let mut line = Vec::new();
        let read = input
            .by_ref()
            .take(LONGEST_HEAD_LINE_BYTES)
            .read_until(b'\n', &mut line)?;
        if read == 0 {
            return Ok(None);
        }
        let line = String::from_utf8_lossy(&line);
        let line = line.trim();
        if line.is_empty() {
            if is_begun {
                return Ok(Some(length));
            }
            continue;
        }
        is_begun = true;
        if let Some((name, value)) = line.split_once(':')
            && name.eq_ignore_ascii_case("content-length")
        {
            length = value.trim().parse().ok();
        }
    }
}

/// Writes an error that belongs to no request.
///
/// # Errors
/// Where nobody reads any more.
pub(super) fn write_malformed(
    output: &mut impl Write,
    code: ErrorCode,
    message: &str,
) -> std::io::Result<()> {
    // The number is the protocol's own.
    let code = code as i32;
    let error = json!({ "code": code, "message": message });
    let text = json!({ "jsonrpc": "2.0", "id": null, "error": error }).to_string();
    write!(output, "Content-Length: {}\r\n\r\n{text}", text.len())?;
    output.flush()
}
