//! The editor service: a language server that speaks over standard input and output.
//!
//! One thread reads frames (`transport`), this one answers them in their order (`session`). A
//! folder is checked when something asks for it or when nothing more is waiting: changes that come
//! faster than a check takes are checked once. Nothing of a player is ever read; what is shown of a
//! private input is its declaration.
//!
//! `documents` and `folders` hold what is open and what it comes to, `positions` counts
//! columns as the editor does, and a file each answers what the editor asks.

mod answers;
mod completion;
mod definition;
mod diagnostics;
mod documents;
mod faults;
mod folders;
mod formatting;
mod hover;
mod positions;
mod rename;
mod session;
mod symbols;
mod transport;

use std::io::{BufReader, Read, Write};
use std::sync::mpsc::{TryRecvError, sync_channel};
use std::thread;

use crate::command::cases::NamedFolder;
use session::{Next, Session};

/// How many messages may wait; a client that sends more waits itself.
const MOST_WAITING: usize = 1_024;

/// Serves one client until it leaves. `stocks` are the folders of parts that cases may name.
/// Whether it took its leave as the protocol asks: `shutdown`, then `exit`.
pub fn serve(
    input: impl Read + Send + 'static,
    output: impl Write,
    stocks: Vec<NamedFolder>,
) -> bool {
    let (taker, incoming) = sync_channel(MOST_WAITING);
    thread::spawn(move || transport::read_frames(BufReader::new(input), &taker));
    let mut session = Session::new(output, stocks);
    loop {
        let next = match incoming.try_recv() {
            Ok(next) => Some(next),
            Err(TryRecvError::Empty) => {
                if session.publish().is_err() {
                    return false;
                }
                incoming.recv().ok()
            }
            Err(TryRecvError::Disconnected) => None,
        };
        // A client that closes the line or no longer reads is gone without leave.
        match next.map(|next| session.take(next)) {
            Some(Ok(Next::GoOn)) => {}
            Some(Ok(Next::Leave { was_asked })) => return was_asked,
            Some(Err(_)) | None => return false,
        }
    }
}
