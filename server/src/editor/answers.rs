//! What a client may ask, and who answers it.

use std::io::Write;

use loftwright_dsl::format::NotFormatted;
use lsp_server::{ErrorCode, Request};
use lsp_types::{
    CompletionOptions, CompletionParams, DocumentFormattingParams, DocumentSymbolParams,
    DocumentSymbolResponse, GotoDefinitionParams, HoverParams, HoverProviderCapability,
    InitializeParams, InitializeResult, OneOf, Position, ReferenceParams, RenameOptions,
    RenameParams, SaveOptions, ServerCapabilities, ServerInfo, TextDocumentPositionParams,
    TextDocumentSyncCapability, TextDocumentSyncKind, TextDocumentSyncOptions,
    TextDocumentSyncSaveOptions, WorkDoneProgressOptions,
};
use serde_json::Value;

use super::faults::{Answer, fault, read, refused, written};
use super::positions::Encoding;
use super::session::{Life, Session};
use super::{completion, definition, formatting, hover, rename, symbols};

impl<W: Write> Session<W> {
    /// Answers a request.
    ///
    /// # Errors
    /// Why it cannot be answered.
    pub(super) fn answer(&mut self, request: Request) -> Answer {
        let Request { method, params, .. } = request;
        match (self.life, method.as_str()) {
            (Life::Awaited, "initialize") => self.initialize(params),
            (Life::Awaited, _) => Err(fault(
                ErrorCode::ServerNotInitialized,
                "`initialize` comes first",
            )),
            (Life::Running, "initialize") => {
                Err(fault(ErrorCode::InvalidRequest, "`initialize` came before"))
            }
            (Life::Running, "shutdown") => {
                self.life = Life::ShutDown;
                Ok(Value::Null)
            }
            (Life::Running, method) => self.answer_on_documents(method, params),
            (Life::ShutDown, _) => Err(fault(
                ErrorCode::InvalidRequest,
                "after `shutdown` only `exit` follows",
            )),
        }
    }

    /// Answers what an editor asks of a document.
    fn answer_on_documents(&mut self, method: &str, params: Value) -> Answer {
        match method {
            "textDocument/hover" => {
                let params: HoverParams = read(params)?;
                let place = self.place(&params.text_document_position_params)?;
                written(hover::hover(&place))
            }
            "textDocument/definition" => {
                let params: GotoDefinitionParams = read(params)?;
                let place = self.place(&params.text_document_position_params)?;
                written(definition::definition(&place))
            }
            "textDocument/references" => {
                let params: ReferenceParams = read(params)?;
                let place = self.place(&params.text_document_position)?;
                let declarations = params.context.include_declaration;
                written(definition::references(&place, declarations))
            }
            "textDocument/prepareRename" => {
                let params: TextDocumentPositionParams = read(params)?;
                let place = self.place(&params)?;
                written(rename::prepare(&place).map_err(|refusal| refused(&refusal))?)
            }
            "textDocument/rename" => {
                let params: RenameParams = read(params)?;
                let place = self.place(&params.text_document_position)?;
                let renamed = rename::rename(&place, &params.new_name);
                written(renamed.map_err(|refusal| refused(&refusal))?)
            }
            "textDocument/completion" => {
                let params: CompletionParams = read(params)?;
                let place = self.place(&params.text_document_position)?;
                written(completion::complete(&place))
            }
            "textDocument/documentSymbol" => {
                let params: DocumentSymbolParams = read(params)?;
                let place = self.place_in(&params.text_document.uri, Position::new(0, 0))?;
                let symbols = symbols::symbols(place.checked, place.file);
                written(DocumentSymbolResponse::Nested(symbols))
            }
            "textDocument/formatting" => {
                let params: DocumentFormattingParams = read(params)?;
                let place = self.place_in(&params.text_document.uri, Position::new(0, 0))?;
                let laid_out = formatting::format(&place);
                let left = |reason: NotFormatted| {
                    let message = format!("the file is left as it is: {reason}");
                    fault(ErrorCode::RequestFailed, message)
                };
                written(laid_out.map_err(left)?)
            }
            _ => Err(fault(
                ErrorCode::MethodNotFound,
                format!("`{method}` is not known"),
            )),
        }
    }

    fn initialize(&mut self, params: Value) -> Answer {
        let params: InitializeParams = read(params)?;
        let general = params.capabilities.general.unwrap_or_default();
        self.encoding = Encoding::agreed(general.position_encodings.as_deref());
        let workspace = params.capabilities.workspace.unwrap_or_default();
        let watched = workspace.did_change_watched_files.unwrap_or_default();
        self.can_watch = watched.dynamic_registration.unwrap_or(false);
        self.life = Life::Running;
        written(InitializeResult {
            capabilities: capabilities(self.encoding),
            server_info: Some(ServerInfo {
                name: "loftwright".to_owned(),
                version: Some(env!("CARGO_PKG_VERSION").to_owned()),
            }),
        })
    }
}

fn capabilities(encoding: Encoding) -> ServerCapabilities {
    let sync = TextDocumentSyncOptions {
        open_close: Some(true),
        change: Some(TextDocumentSyncKind::INCREMENTAL),
        save: Some(TextDocumentSyncSaveOptions::SaveOptions(SaveOptions {
            include_text: Some(false),
        })),
        ..TextDocumentSyncOptions::default()
    };
    let triggers = [" ", ".", ":", "="];
    ServerCapabilities {
        position_encoding: Some(encoding.kind()),
        text_document_sync: Some(TextDocumentSyncCapability::Options(sync)),
        hover_provider: Some(HoverProviderCapability::Simple(true)),
        definition_provider: Some(OneOf::Left(true)),
        references_provider: Some(OneOf::Left(true)),
        document_symbol_provider: Some(OneOf::Left(true)),
        document_formatting_provider: Some(OneOf::Left(true)),
        rename_provider: Some(OneOf::Right(RenameOptions {
            prepare_provider: Some(true),
            work_done_progress_options: WorkDoneProgressOptions::default(),
        })),
        completion_provider: Some(CompletionOptions {
            trigger_characters: Some(triggers.map(str::to_owned).to_vec()),
            ..CompletionOptions::default()
        }),
        ..ServerCapabilities::default()
    }
}
