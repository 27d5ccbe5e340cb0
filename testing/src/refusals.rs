//! What a refusal says to a program.

use tonic::Status;
use tonic_types::StatusExt;

/// The reason of a refusal's `google.rpc.ErrorInfo`.
pub fn reason(refused: &Status) -> String {
    let info = refused.get_details_error_info();
    info.expect("every status has an error info").reason
}

/// The fields that a refusal names, each with its sentence.
pub fn violations(refused: &Status) -> Vec<(String, String)> {
    let bad = refused.get_details_bad_request().expect("violations");
    let violations = bad.field_violations.into_iter();
    violations
        .map(|fault| (fault.field, fault.description))
        .collect()
}
