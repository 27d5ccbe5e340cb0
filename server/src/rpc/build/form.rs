//! The form of what is said of a build: what shows without its record.

use std::collections::BTreeSet;

use loftwright_engine::intake::quoted;
use loftwright_proto::v1 as pb;

use crate::rpc::refusal::FieldFault;
use crate::rpc::request::fault_of_request_id;

/// The most clubs of one build: more than any bag holds.
const MOST_CLUBS: usize = 64;
/// The most fields of one club.
const MOST_FIELDS: usize = 128;
/// The most characters of a name, a value or a code.
const LONGEST_VALUE_CHARACTERS: usize = 200;
/// The most characters of a reason.
const LONGEST_REASON_CHARACTERS: usize = 500;

/// The faults of the form.
pub(super) fn faults_of_form(request: &pb::ConfirmBuildRequest) -> Vec<FieldFault> {
    let mut faults = Vec::new();
    if request.record_id.is_empty() {
        let sentence = "nothing was sent; send the id of the record of the recommendation";
        note(&mut faults, "record_id", sentence.to_owned());
    }
    match request.request_id.as_str() {
        "" if request.validate_only => {}
        "" => {
            let sentence = "nothing was sent; only with `validate_only` may it be left out";
            note(&mut faults, "request_id", sentence.to_owned());
        }
        id => faults.extend(fault_of_request_id(id)),
    }
    if request.clubs.len() > MOST_CLUBS {
        let count = request.clubs.len();
        let sentence = format!("{count} clubs were sent; at most {MOST_CLUBS} are read");
        note(&mut faults, "clubs", sentence);
        return faults;
    }
    let mut names = BTreeSet::new();
    for (place, club) in request.clubs.iter().enumerate() {
        let path = format!("clubs[{place}]");
        if !names.insert(&club.name) {
            let sentence = format!("{} was sent twice", quoted(&club.name));
            note(&mut faults, &format!("{path}.name"), sentence);
        }
        club_form(club, &path, &mut faults);
    }
    faults
}

fn club_form(club: &pb::BuiltClub, path: &str, faults: &mut Vec<FieldFault>) {
    text(
        &format!("{path}.name"),
        &club.name,
        LONGEST_VALUE_CHARACTERS,
        faults,
    );
    let reason = format!("{path}.not_built");
    text(&reason, &club.not_built, LONGEST_REASON_CHARACTERS, faults);
    if club.fields.len() > MOST_FIELDS {
        let count = club.fields.len();
        let sentence = format!("{count} fields were sent; at most {MOST_FIELDS} are read");
        return note(faults, &format!("{path}.fields"), sentence);
    }
    if !club.not_built.is_empty() && !club.fields.is_empty() {
        let sentence = "a club that was not built has no fields; send one or the other";
        note(faults, &reason, sentence.to_owned());
    }
    for (place, field) in club.fields.iter().enumerate() {
        let path = format!("{path}.fields[{place}]");
        text(
            &format!("{path}.name"),
            &field.name,
            LONGEST_VALUE_CHARACTERS,
            faults,
        );
        text(
            &format!("{path}.value"),
            &field.value,
            LONGEST_VALUE_CHARACTERS,
            faults,
        );
        text(
            &format!("{path}.reason"),
            &field.reason,
            LONGEST_REASON_CHARACTERS,
            faults,
        );
    }
}

fn text(field: &str, text: &str, longest: usize, faults: &mut Vec<FieldFault>) {
    let characters = text.chars().count();
    if characters > longest {
        let sentence = format!("{characters} characters were sent; at most {longest} are allowed");
        note(faults, field, sentence);
    } else if text.chars().any(char::is_control) {
        let sentence = "control characters were sent; one line of plain text is needed";
        note(faults, field, sentence.to_owned());
    }
}

fn note(faults: &mut Vec<FieldFault>, field: &str, sentence: String) {
    faults.push(FieldFault {
        field: field.to_owned(),
        sentence,
    });
}
