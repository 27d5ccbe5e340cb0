//! Errors as the protocol has them, and what may fail on the way in and out.

use std::path::PathBuf;

use loftwright_dsl::index::RenameRefusal;
use lsp_server::{ErrorCode, ResponseError};
use lsp_types::Uri;
use serde::de::DeserializeOwned;
use serde_json::Value;

use super::documents::path_of;

/// What a request is answered with.
pub(super) type Answer = Result<Value, ResponseError>;

/// The parameters of a message.
pub(super) fn read<T: DeserializeOwned>(params: Value) -> Result<T, ResponseError> {
    serde_json::from_value(params)
        .map_err(|error| fault(ErrorCode::InvalidParams, error.to_string()))
}

/// An answer.
pub(super) fn written(answer: impl serde::Serialize) -> Answer {
    serde_json::to_value(answer).map_err(|error| fault(ErrorCode::InternalError, error.to_string()))
}

/// The path of an address.
pub(super) fn path(uri: &Uri) -> Result<PathBuf, ResponseError> {
    path_of(uri).ok_or_else(|| {
        let message = format!("`{}` is not a file on this machine", uri.as_str());
        fault(ErrorCode::InvalidParams, message)
    })
}

/// The file is not open.
pub(super) fn not_open(uri: &Uri) -> ResponseError {
    let message = format!("`{}` is not open", uri.as_str());
    fault(ErrorCode::InvalidParams, message)
}

/// A name is not changed.
pub(super) fn refused(refusal: &RenameRefusal) -> ResponseError {
    fault(ErrorCode::RequestFailed, refusal.to_string())
}

/// An error of the protocol.
pub(super) fn fault(code: ErrorCode, message: impl Into<String>) -> ResponseError {
    ResponseError {
        // The number is the protocol's own.
        code: code as i32,
        message: message.into(),
        data: None,
    }
}
