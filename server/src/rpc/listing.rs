//! Lists of records: the filter, the page, the token of the next one.
//!
//! A token is the place before which the next page begins, sealed under the log's secret together
//! with the filter: one of another log, or one that somebody made up, is told from one of another
//! filter, and neither is taken.

use base64::Engine;
use base64::engine::general_purpose::URL_SAFE_NO_PAD;
use loftwright_dsl::quantity::Date;
use loftwright_engine::intake::nearest;
use loftwright_proto::v1 as pb;

use super::audit::timestamp;
use super::recording::{Recording, damaged, reference, store_refusal};
use super::refusal::{FieldFault, Refusal};
use crate::audit::leaf::LeafKind;
use crate::audit::merkle::{Hash, NodePlace};
use crate::registry::hash_of;
use crate::store::{ListFilter, Listed, LogIdentity, Outcome};

/// The records of a page where no size is asked for.
const USUAL_PAGE: usize = 50;
/// The most records of a page.
const MOST_IN_A_PAGE: usize = 500;
const MILLISECONDS_A_DAY: i64 = 86_400_000;
/// How many bytes of the hash of a filter a token has.
const FILTER_BYTES: usize = 8;
/// How many bytes of its seal.
const SEAL_BYTES: usize = 16;

/// A page of records.
pub(crate) async fn list(
    recording: &Recording,
    request: &pb::ListRecordsRequest,
) -> Result<pb::ListRecordsResponse, Refusal> {
    let store = recording.store.as_ref();
    let mut faults = Vec::new();
    let filter = filter(request, &mut faults);
    let size = page_size(request.page_size, &mut faults);
    let sealer = Sealer::of(store.identity(), request);
    let before = match request.page_token.as_str() {
        "" => None,
        token => match sealer.open(token) {
            Ok(before) => Some(before),
            Err(sentence) => {
                faults.push(fault("page_token", sentence));
                None
            }
        },
    };
    if !faults.is_empty() {
        return Err(Refusal::Faults(faults));
    }
    // One more than the page has says whether there is another page.
    let mut listed = store
        .list(&filter, before, size.saturating_add(1))
        .await
        .map_err(store_refusal)?;
    let is_last = listed.len() <= size;
    listed.truncate(size);
    let next_page_token = match listed.last() {
        Some(last) if !is_last => sealer.seal(last.position),
        _ => String::new(),
    };
    let place = |listed: &Listed| NodePlace {
        level: 0,
        index: listed.position,
    };
    let leaves = store.nodes(&listed.iter().map(place).collect()).await;
    let leaves = leaves.map_err(store_refusal)?;
    let records = listed.iter().map(|listed| {
        let leaf = leaves.get(&place(listed)).copied();
        let leaf = leaf.ok_or_else(|| damaged("a leaf of the list has no hash"))?;
        Ok(summary(listed, leaf))
    });
    Ok(pb::ListRecordsResponse {
        records: records.collect::<Result<_, Refusal>>()?,
        next_page_token,
    })
}

fn summary(listed: &Listed, leaf: Hash) -> pb::RecordSummary {
    pb::RecordSummary {
        record: Some(reference(listed.position, leaf)),
        kind: listed.kind.text().to_owned(),
        instant: timestamp(listed.instant_ms),
        principal: listed.principal.clone(),
        ruleset: listed.ruleset.clone(),
        revision: listed.revision.map(|revision| revision.to_string()),
        outcome: outcome_message(listed.outcome).into(),
        about: listed.about,
        erased: listed.is_erased,
    }
}

/// The message of an outcome.
pub(crate) fn outcome_message(outcome: Option<Outcome>) -> pb::RecordOutcome {
    match outcome {
        None => pb::RecordOutcome::Unspecified,
        Some(Outcome::NeedsReadings) => pb::RecordOutcome::NeedsReadings,
        Some(Outcome::LimitsBroken) => pb::RecordOutcome::LimitsBroken,
        Some(Outcome::Undecided) => pb::RecordOutcome::Undecided,
        Some(Outcome::Complete) => pb::RecordOutcome::Complete,
    }
}

/// The outcome that a message asks for.
pub(crate) fn outcome_of(message: pb::RecordOutcome) -> Option<Outcome> {
    match message {
        pb::RecordOutcome::Unspecified => None,
        pb::RecordOutcome::NeedsReadings => Some(Outcome::NeedsReadings),
        pb::RecordOutcome::LimitsBroken => Some(Outcome::LimitsBroken),
        pb::RecordOutcome::Undecided => Some(Outcome::Undecided),
        pb::RecordOutcome::Complete => Some(Outcome::Complete),
    }
}

fn filter(request: &pb::ListRecordsRequest, faults: &mut Vec<FieldFault>) -> ListFilter {
    let first = day("first_day", &request.first_day, faults);
    let last = day("last_day", &request.last_day, faults);
    if let (Some(first), Some(last)) = (first, last)
        && first > last
    {
        let sentence = format!(
            "{} was sent, which is before the first day {}",
            request.last_day, request.first_day
        );
        faults.push(fault("last_day", sentence));
    }
    let begin = |day: Date| day.days().saturating_mul(MILLISECONDS_A_DAY);
    let revision = match request.revision.as_str() {
        "" => None,
        revision => {
            let found = hash_of(revision);
            if found.is_none() {
                let sentence = "a revision has 64 hexadecimal digits".to_owned();
                faults.push(fault("revision", sentence));
            }
            found
        }
    };
    if pb::RecordOutcome::try_from(request.outcome).is_err() {
        let sentence = format!("{} was sent, which names no outcome", request.outcome);
        faults.push(fault("outcome", sentence));
    }
    ListFilter {
        kinds: kinds(&request.kinds, faults),
        first_instant_ms: first.map(begin),
        last_instant_ms: last.map(|day| begin(day).saturating_add(MILLISECONDS_A_DAY - 1)),
        ruleset: (!request.ruleset.is_empty()).then(|| request.ruleset.clone()),
        revision,
        outcome: outcome_of(request.outcome()),
    }
}

fn kinds(sent: &[String], faults: &mut Vec<FieldFault>) -> Vec<LeafKind> {
    let mut kinds = Vec::new();
    for (index, text) in sent.iter().enumerate() {
        match LeafKind::of_text(text) {
            Some(kind) => kinds.push(kind),
            None => {
                let known: Vec<&str> = LeafKind::ALL.iter().map(|kind| kind.text()).collect();
                let help = match nearest(text, known.iter().copied()) {
                    Some(near) => format!("did you mean `{near}`?"),
                    None => format!("there are `{}`", known.join("`, `")),
                };
                let sentence = format!("`{text}` is no kind of record; {help}");
                faults.push(fault(&format!("kinds[{index}]"), sentence));
            }
        }
    }
    kinds
}

fn day(field: &str, text: &str, faults: &mut Vec<FieldFault>) -> Option<Date> {
    if text.is_empty() {
        return None;
    }
    let day = Date::parse(text);
    if day.is_none() {
        let sentence = format!("`{text}` is no day; write it as 2026-05-01");
        faults.push(fault(field, sentence));
    }
    day
}

fn page_size(sent: i32, faults: &mut Vec<FieldFault>) -> usize {
    match usize::try_from(sent) {
        Ok(0) => USUAL_PAGE,
        Ok(size) => size.min(MOST_IN_A_PAGE),
        Err(_) => {
            let sentence = format!("{sent} was sent; 0 through {MOST_IN_A_PAGE} are allowed");
            faults.push(fault("page_size", sentence));
            USUAL_PAGE
        }
    }
}

fn fault(field: &str, sentence: String) -> FieldFault {
    FieldFault {
        field: field.to_owned(),
        sentence,
    }
}

/// Seals the places of tokens for one filter.
struct Sealer<'a> {
    identity: &'a LogIdentity,
    filter: Vec<u8>,
}

impl<'a> Sealer<'a> {
    fn of(identity: &'a LogIdentity, request: &pb::ListRecordsRequest) -> Self {
        // Each part with its length before it, so that no two filters share their bytes.
        let outcome = request.outcome.to_string();
        let mut parts = vec![
            request.first_day.as_str(),
            &request.last_day,
            &request.ruleset,
            &request.revision,
            &outcome,
        ];
        parts.extend(request.kinds.iter().map(String::as_str));
        let mut bytes = b"filter\n".to_vec();
        for part in parts {
            bytes.extend(part.len().to_string().as_bytes());
            bytes.push(b'\n');
            bytes.extend(part.as_bytes());
        }
        let hash = identity.page_mark(&bytes);
        Sealer {
            identity,
            filter: hash.as_bytes().iter().take(FILTER_BYTES).copied().collect(),
        }
    }

    fn seal(&self, before: u64) -> String {
        let mut bytes = before.to_be_bytes().to_vec();
        bytes.extend(&self.filter);
        bytes.extend(self.seal_of(&bytes));
        URL_SAFE_NO_PAD.encode(bytes)
    }

    /// The place of a token, or what is wrong with it.
    fn open(&self, token: &str) -> Result<u64, String> {
        let foreign = || "this is no page token of this log; begin again without one".to_owned();
        let bytes = URL_SAFE_NO_PAD.decode(token).map_err(|_| foreign())?;
        let sealed = bytes.len().checked_sub(SEAL_BYTES).ok_or_else(foreign)?;
        let (content, seal) = bytes.split_at_checked(sealed).ok_or_else(foreign)?;
        let (place, filter) = content.split_first_chunk().ok_or_else(foreign)?;
        if seal != self.seal_of(content) {
            return Err(foreign());
        }
        if filter != self.filter {
            return Err(
                "this page token is of another filter: send the filter that the first \
                        page was asked with, or begin again without a token"
                    .to_owned(),
            );
        }
        Ok(u64::from_be_bytes(*place))
    }

    fn seal_of(&self, content: &[u8]) -> Vec<u8> {
        let mut sealed = b"token\n".to_vec();
        sealed.extend(content);
        let hash = self.identity.page_mark(&sealed);
        hash.as_bytes().iter().take(SEAL_BYTES).copied().collect()
    }
}
