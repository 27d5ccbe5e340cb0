//! The faults of a request that show without its ruleset, what is wrong with what many of them
//! have, and all faults of one together.

use loftwright_proto::v1 as pb;

use tonic::Code;

use super::refusal::{FieldFault, Refusal};
use crate::files::limits::LONGEST_SUBJECT_CHARACTERS;

/// The most characters of a reason.
const LONGEST_REASON_CHARACTERS: usize = 500;

/// The view that is wanted, and the faults of the request's form.
pub(super) fn faults_of_form(
    request: &pb::RecommendRequest,
) -> (pb::RecommendationView, Vec<FieldFault>) {
    let mut faults = Vec::new();
    let mut fault = |field: &str, sentence: String| {
        faults.push(FieldFault {
            field: field.to_owned(),
            sentence,
        });
    };
    let characters = request.subject.chars().count();
    if characters > LONGEST_SUBJECT_CHARACTERS {
        fault(
            "subject",
            format!(
                "a subject of {characters} characters was sent; at most {LONGEST_SUBJECT_CHARACTERS} \
                 are allowed"
            ),
        );
    }
    if request.subject.chars().any(char::is_control) {
        fault(
            "subject",
            "control characters were sent; a subject is one line of plain text".to_owned(),
        );
    }
    if let Some(wrong) = fault_of_request_id(&request.request_id) {
        fault("request_id", wrong.sentence);
    }
    if !request.preview {
        for (field, content) in [
            ("subject", &request.subject),
            ("request_id", &request.request_id),
        ] {
            if content.is_empty() {
                let sentence = "nothing was sent; only a preview may leave it out".to_owned();
                fault(field, sentence);
            }
        }
    }
    let view = pb::RecommendationView::try_from(request.view);
    if view.is_err() {
        fault(
            "view",
            format!(
                "{} was sent; the views are 0, 1 (basic), 2 (full) and 3 (reasons)",
                request.view
            ),
        );
    }
    (view.unwrap_or_default(), faults)
}

/// All that is wrong with a request, told at once: each refusal with the field that it is about.
/// One alone stays what it is, with a code and a reason of its own. Where the fault is ours, the
/// rest is not worth telling.
pub(super) fn together(refusals: Vec<(&str, Refusal)>) -> Refusal {
    let is_empty = |why: &Refusal| matches!(why, Refusal::Faults(faults) if faults.is_empty());
    let mut refusals: Vec<(&str, Refusal)> = refusals
        .into_iter()
        .filter(|(_, why)| !is_empty(why))
        .collect();
    let is_ours = |why: &Refusal| {
        use Code::{DataLoss, Internal, ResourceExhausted, Unavailable};
        matches!(
            why.code(),
            DataLoss | Internal | ResourceExhausted | Unavailable
        )
    };
    let alone = match refusals.len() {
        1 => Some(0),
        _ => refusals.iter().position(|(_, why)| is_ours(why)),
    };
    if let Some(alone) = alone {
        return refusals.swap_remove(alone).1;
    }
    let mut all = Vec::new();
    for (field, why) in refusals {
        match why {
            Refusal::Faults(faults) => all.extend(faults),
            why => all.push(FieldFault {
                field: field.to_owned(),
                sentence: why.to_string(),
            }),
        }
    }
    Refusal::Faults(all)
}

/// What is wrong with a reason, in words.
pub(crate) fn fault_of_reason(reason: &str) -> Option<String> {
    let characters = reason.chars().count();
    if reason.trim().is_empty() {
        return Some("no reason was sent; say why in one line".to_owned());
    }
    if characters > LONGEST_REASON_CHARACTERS {
        return Some(format!(
            "a reason of {characters} characters was sent; at most {LONGEST_REASON_CHARACTERS} are \
             allowed"
        ));
    }
    reason
        .chars()
        .any(char::is_control)
        .then(|| "control characters were sent; a reason is one line of plain text".to_owned())
}

/// The fault of a request id that is sent.
pub(super) fn fault_of_request_id(id: &str) -> Option<FieldFault> {
    (!id.is_empty() && !is_uuid(id)).then(|| FieldFault {
        field: "request_id".to_owned(),
        sentence: format!(
            "`{}` was sent; a request id is a UUID such as \
             `123e4567-e89b-42d3-a456-426614174000`",
            super::status::shortened(id, 60).escape_debug()
        ),
    })
}

/// Whether the text has the form of a UUID: 32 hexadecimal digits in groups of 8-4-4-4-12
/// (RFC 9562, section 4).
fn is_uuid(text: &str) -> bool {
    let groups: Vec<&str> = text.split('-').collect();
    let lengths: Vec<usize> = groups.iter().map(|group| group.len()).collect();
    lengths == [8, 4, 4, 4, 12]
        && groups
            .iter()
            .all(|group| group.bytes().all(|byte| byte.is_ascii_hexdigit()))
}
