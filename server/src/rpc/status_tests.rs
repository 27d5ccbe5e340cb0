//! What a status carries.

use super::*;

fn faults(count: usize, sentence: &str) -> Vec<FieldFault> {
    (0..count)
        .map(|number| FieldFault {
            field: format!("readings.r{number}"),
            sentence: sentence.to_owned(),
        })
        .collect()
}

fn violations(refusal: Refusal) -> usize {
    Status::from(refusal)
        .get_error_details()
        .bad_request()
        .map_or(0, |bad| bad.field_violations.len())
}

#[test]
fn fifty_faults_are_listed_and_the_rest_is_counted() {
    assert_eq!(violations(Refusal::Faults(faults(50, "wrong"))), 50);
    let many = Refusal::Faults(faults(51, "wrong"));
    assert_eq!(violations(many.clone()), 50);
    assert_eq!(
        many.to_string(),
        "51 faults, 50 of them listed, 1 more; the first: wrong"
    );
}

#[test]
fn details_stay_below_what_clients_take_as_headers() {
    let sentence = "x".repeat(100_000);
    let status = Status::from(Refusal::Faults(faults(1_000, &sentence)));
    // Four bytes of base64 for three; a kilobyte is left for the other headers.
    let sent = status.details().len().div_ceil(3) * 4 + status.message().len();
    assert!(sent < 8 * 1024 - 512, "{sent} bytes");
}

#[test]
fn a_cut_text_ends_at_a_character() {
    assert_eq!(shortened("abc", 3), "abc");
    assert_eq!(shortened("ééé", 5), "é…");
}
