//! One client from `initialize` to `exit`: what it may send when, and who answers it.

use std::collections::{BTreeMap, BTreeSet};
use std::io::{Result as Written, Write};
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::path::{Path, PathBuf};

use loftwright_dsl::syntax::FileId;
use lsp_server::{ErrorCode, Message, Notification, Request, Response, ResponseError};
use lsp_types::{
    DidChangeTextDocumentParams, DidCloseTextDocumentParams, DidOpenTextDocumentParams,
    DidSaveTextDocumentParams, Position, PublishDiagnosticsParams, TextDocumentPositionParams, Uri,
};
use serde_json::json;

use super::diagnostics;
use super::documents::Document;
use super::faults::{fault, not_open, path, read};
use super::folders::{Checked, Folder};
use super::positions::Encoding;
use super::transport::{Incoming, write_malformed};
use crate::command::cases::{NamedFolder, run_cases_of};

/// What is to be done after a message.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Next {
    /// Take the next.
    GoOn,
    /// End.
    Leave {
        /// Whether `shutdown` came before `exit`.
        was_asked: bool,
    },
}

/// A place in a file that is open.
pub(super) struct Place<'a> {
    /// Its folder.
    pub(super) checked: &'a Checked,
    /// The file.
    pub(super) file: FileId,
    /// The byte.
    pub(super) offset: usize,
}

/// How far a client has come.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Life {
    /// `initialize` is awaited.
    Awaited,
    /// It asks and tells.
    Running,
    /// `shutdown` was asked for.
    ShutDown,
}

/// A client.
pub(super) struct Session<W> {
    output: W,
    stocks: Vec<NamedFolder>,
    pub(super) life: Life,
    pub(super) encoding: Encoding,
    /// Whether the client watches files for us where it is asked to.
    pub(super) can_watch: bool,
    documents: BTreeMap<PathBuf, Document>,
    folders: BTreeMap<PathBuf, Folder>,
}

impl<W: Write> Session<W> {
    /// A client that has not said anything yet.
    pub(super) fn new(output: W, stocks: Vec<NamedFolder>) -> Self {
        Session {
            output,
            stocks,
            life: Life::Awaited,
            encoding: Encoding::default(),
            can_watch: false,
            documents: BTreeMap::new(),
            folders: BTreeMap::new(),
        }
    }

    /// Takes what came from the client.
    ///
    /// # Errors
    /// Where the client no longer reads.
    pub(super) fn take(&mut self, incoming: Incoming) -> Written<Next> {
        match incoming {
            Incoming::Malformed(code, message) => {
                tracing::warn!(message, "a message that cannot be read");
                write_malformed(&mut self.output, code, &message)?;
            }
            Incoming::Message(Message::Request(request)) => {
                let id = request.id.clone();
                let method = request.method.clone();
                // A slip of ours costs one answer, not the editor's session.
                let answer = catch_unwind(AssertUnwindSafe(|| self.answer(request)))
                    .unwrap_or_else(|_| Err(fault(ErrorCode::InternalError, "our own fault")));
                if let Err(error) = &answer {
                    tracing::info!(method, error = error.message, "refused");
                }
                let response_result = answer;
                self.send(Response {
                    id,
                    response_result,
                })?;
            }
            Incoming::Message(Message::Notification(notification)) => {
                if notification.method == "exit" {
                    let was_asked = self.life == Life::ShutDown;
                    return Ok(Next::Leave { was_asked });
                }
                let method = notification.method.clone();
                if self.life == Life::Running {
                    if method == "initialized" {
                        self.watch()?;
                    }
                    let done = catch_unwind(AssertUnwindSafe(|| self.note(notification)));
                    match done {
                        Ok(Ok(())) => {}
                        Ok(Err(error)) => tracing::warn!(method, error = error.message, "ignored"),
                        Err(_) => tracing::error!(method, "our own fault"),
                    }
                    self.forget_closed()?;
                }
            }
            // We ask for nothing but to watch files, and go on whatever the answer is.
            Incoming::Message(Message::Response(_)) => {}
        }
        Ok(Next::GoOn)
    }

    /// Checks what is stale and tells the client what came out.
    ///
    /// # Errors
    /// Where the client no longer reads.
    pub(super) fn publish(&mut self) -> Written<()> {
        let waiting = self.folders.iter();
        let waiting = waiting.filter(|(_, folder)| folder.is_stale || folder.is_unpublished);
        let paths: Vec<PathBuf> = waiting.map(|(path, _)| path.clone()).collect();
        for path in paths {
            let done = catch_unwind(AssertUnwindSafe(|| self.refresh(&path, true)));
            if done.is_err() {
                tracing::error!("our own fault while checking {}", path.display());
            }
            self.publish_folder(&path)?;
        }
        Ok(())
    }

    /// What the client says without waiting for an answer.
    fn note(&mut self, notification: Notification) -> Result<(), ResponseError> {
        let Notification { method, params } = notification;
        match method.as_str() {
            "textDocument/didOpen" => {
                let params: DidOpenTextDocumentParams = read(params)?;
                let opened = params.text_document;
                let path = path(&opened.uri)?;
                let document = Document {
                    uri: opened.uri,
                    version: opened.version,
                    text: opened.text,
                };
                self.folders.entry(folder_of(&path)).or_default();
                self.documents.insert(path, document);
                self.grow_stale();
            }
            "textDocument/didChange" => {
                let params: DidChangeTextDocumentParams = read(params)?;
                let encoding = self.encoding;
                let document = self.document(&params.text_document.uri)?;
                document.version = params.text_document.version;
                document.change(params.content_changes, encoding);
                self.grow_stale();
            }
            "textDocument/didSave" => {
                let params: DidSaveTextDocumentParams = read(params)?;
                let path = path(&params.text_document.uri)?;
                if let (Some(text), Ok(document)) =
                    (params.text, self.document(&params.text_document.uri))
                {
                    document.text = text;
                }
                self.grow_stale();
                if let Some(folder) = self.folders.get_mut(&folder_of(&path)) {
                    folder.wants_cases = true;
                }
            }
            "textDocument/didClose" => {
                let params: DidCloseTextDocumentParams = read(params)?;
                self.documents.remove(&path(&params.text_document.uri)?);
                self.grow_stale();
            }
            "workspace/didChangeWatchedFiles" => self.grow_stale(),
            // What a server does not know of these it may leave.
            _ => {}
        }
        Ok(())
    }

    /// Any file may lie in a layer under any folder, and a check is cheap: all are checked again.
    fn grow_stale(&mut self) {
        for folder in self.folders.values_mut() {
            folder.is_stale = true;
        }
    }

    /// Drops the folders in which nothing is open any more, and clears what was said of them.
    fn forget_closed(&mut self) -> Written<()> {
        let open: BTreeSet<PathBuf> = self.documents.keys().map(|path| folder_of(path)).collect();
        let closed: Vec<PathBuf> = self
            .folders
            .keys()
            .filter(|path| !open.contains(*path))
            .cloned()
            .collect();
        for path in closed {
            let folder = self.folders.remove(&path).unwrap_or_default();
            for (file, told) in folder.published {
                if !told.is_empty() {
                    self.tell(&file, Vec::new())?;
                }
            }
        }
        Ok(())
    }

    fn document(&mut self, uri: &Uri) -> Result<&mut Document, ResponseError> {
        self.documents
            .get_mut(&path(uri)?)
            .ok_or_else(|| not_open(uri))
    }

    /// The place that a request speaks of, its folder checked.
    pub(super) fn place(
        &mut self,
        at: &TextDocumentPositionParams,
    ) -> Result<Place<'_>, ResponseError> {
        self.place_in(&at.text_document.uri, at.position)
    }

    /// As [`Self::place`], of its parts.
    pub(super) fn place_in(&mut self, uri: &Uri, at: Position) -> Result<Place<'_>, ResponseError> {
        let path = path(uri)?;
        if !self.documents.contains_key(&path) {
            return Err(not_open(uri));
        }
        let folder = folder_of(&path);
        self.refresh(&folder, false);
        let state = self
            .folders
            .get(&folder)
            .and_then(|found| found.state.as_ref());
        let checked = match state {
            Some(Ok(checked)) => checked,
            Some(Err(faults)) => {
                let lines = crate::files::report(faults);
                return Err(fault(ErrorCode::RequestFailed, lines.join("; ")));
            }
            None => return Err(not_open(uri)),
        };
        let file = checked.file_of(&path).ok_or_else(|| {
            let message = format!("`{}` is not a file of rules", uri.as_str());
            fault(ErrorCode::RequestFailed, message)
        })?;
        let offset = checked.lines(file).offset(at);
        Ok(Place {
            checked,
            file,
            offset,
        })
    }

    /// Checks a folder that is stale; runs its cases too where they are asked for and `with_cases`.
    fn refresh(&mut self, path: &Path, with_cases: bool) {
        let Some(folder) = self.folders.get_mut(path) else {
            return;
        };
        if folder.is_stale {
            // First, so that a check that fails for our own fault is not tried for ever.
            folder.is_stale = false;
            folder.is_unpublished = true;
            folder.state = Some(Checked::of_folder(path, &self.documents, self.encoding));
        }
        if with_cases && folder.wants_cases {
            folder.wants_cases = false;
            let Some(Ok(checked)) = &mut folder.state else {
                return;
            };
            let Some(program) = checked.index.program() else {
                return;
            };
            match run_cases_of(program, &self.stocks) {
                Ok(report) => checked.case_findings = report.diagnostics,
                Err(error) => tracing::warn!(%error, "the cases were not run"),
            }
        }
    }

    fn publish_folder(&mut self, path: &Path) -> Written<()> {
        let Some(folder) = self.folders.get_mut(path) else {
            return Ok(());
        };
        folder.is_unpublished = false;
        let open = self
            .documents
            .keys()
            .filter(|file| file.parent() == Some(path));
        let open: BTreeSet<PathBuf> = open.cloned().collect();
        let mut found = match &folder.state {
            Some(Ok(checked)) => diagnostics::of_folder(checked),
            Some(Err(faults)) => {
                let said = diagnostics::of_faults(faults);
                open.iter()
                    .map(|file| (file.clone(), vec![said.clone()]))
                    .collect()
            }
            None => BTreeMap::new(),
        };
        for file in folder.published.keys().chain(&open) {
            found.entry(file.clone()).or_default();
        }
        // Of what is open the client wants to know for each state; of the rest, what is new.
        let told = std::mem::take(&mut folder.published);
        let news: Vec<(PathBuf, Vec<lsp_types::Diagnostic>)> = found
            .iter()
            .filter(|(file, now)| {
                let before = told.get(*file).map_or(&[][..], Vec::as_slice);
                open.contains(*file) || before != now.as_slice()
            })
            .map(|(file, now)| (file.clone(), now.clone()))
            .collect();
        folder.published = found;
        for (file, now) in news {
            self.tell(&file, now)?;
        }
        Ok(())
    }

    fn tell(&mut self, file: &Path, diagnostics: Vec<lsp_types::Diagnostic>) -> Written<()> {
        let open = self.documents.get(file);
        let uri = open.map(|document| document.uri.clone());
        let Some(uri) = uri.or_else(|| super::documents::uri_of(file)) else {
            return Ok(());
        };
        let version = open.map(|document| document.version);
        let params = PublishDiagnosticsParams::new(uri, diagnostics, version);
        self.send(Notification {
            method: "textDocument/publishDiagnostics".to_owned(),
            params: json!(params),
        })
    }

    /// Asks the client to say when a file of rules changes on disk.
    fn watch(&mut self) -> Written<()> {
        if !self.can_watch {
            return Ok(());
        }
        let options = json!({ "watchers": [{ "globPattern": "**/*.rules" }] });
        let registration = json!({
            "id": "rules", "method": "workspace/didChangeWatchedFiles", "registerOptions": options,
        });
        self.send(Request {
            id: "watch".to_owned().into(),
            method: "client/registerCapability".to_owned(),
            params: json!({ "registrations": [registration] }),
        })
    }

    fn send(&mut self, message: impl Into<Message>) -> Written<()> {
        message.into().write(&mut self.output)
    }
}

fn folder_of(path: &Path) -> PathBuf {
    path.parent().map(Path::to_path_buf).unwrap_or_default()
}
