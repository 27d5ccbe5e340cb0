//! What is said where rules are not published or not put in force, and who would feel it.

use std::collections::{BTreeMap, BTreeSet};

use loftwright_dsl::program::Program;
use loftwright_proto::v1 as pb;

use super::convert;
use super::recording::{Recording, act_refusal, store_refusal};
use super::refusal::{FieldFault, Refusal};
use super::ruleset::findings;
use super::ruleset_history::not_read;
use crate::audit::leaf::LeafKind;
use crate::files::FileFault;
use crate::registry::{Judged, MOST_REVISIONS, NotActivated, NotPublished, Principal, Registry};
use crate::store::ListFilter;

/// The most recommendations of late that are looked at.
const MOST_LOOKED_AT: usize = 200;

/// Why judged rules are not published, as a caller is told.
pub(super) fn refusal(judged: &Judged, why: NotPublished) -> Refusal {
    match why {
        NotPublished::Refused => Refusal::RulesRefused(
            findings(judged)
                .filter(|finding| convert::is_refusal(finding))
                .map(|finding| convert::finding_fault(&judged.output.folder, finding))
                .collect(),
        ),
        NotPublished::Parts(faults) => parts_unreadable(faults),
        NotPublished::NotRecorded(why) => act_refusal(why),
        NotPublished::TooMany => Refusal::TooManyRevisions {
            most: MOST_REVISIONS,
        },
    }
}

fn parts_unreadable(faults: Vec<FileFault>) -> Refusal {
    let fault = |fault: FileFault| FieldFault {
        field: fault.file.clone(),
        sentence: format!("the parts on hand cannot be read by these rules: {fault}"),
    };
    Refusal::RulesRefused(faults.into_iter().map(fault).collect())
}

/// Why a revision is not put in force, as a caller is told.
pub(super) fn activation_refusal(
    registry: &Registry,
    request: &pb::ActivateRulesetRequest,
    principal: &Principal,
    why: NotActivated,
) -> Refusal {
    let (ruleset, revision) = (&request.ruleset, &request.revision);
    match why {
        NotActivated::UnknownRevision { known } => Refusal::UnknownRevision {
            ruleset: ruleset.clone(),
            sent: revision.clone(),
            known,
        },
        NotActivated::OtherInForce { in_force } => Refusal::OtherRevisionInForce {
            expected: request.expected_revision.clone(),
            in_force: in_force.unwrap_or_default(),
        },
        NotActivated::OwnRevision => Refusal::OwnRevision(principal.name.clone()),
        NotActivated::NotRead(why) => not_read(registry, ruleset, revision, why),
        NotActivated::Parts(faults) => parts_unreadable(faults),
        NotActivated::NotRecorded(why) => act_refusal(why),
    }
}

/// Callers whose readings a revision does not know.
#[derive(Default)]
pub(super) struct CallersOfLate {
    pub(super) callers: Vec<pb::CallerWithUnknownReadings>,
    pub(super) looked_at: u32,
}

/// Who sent readings of late that a program does not know; nobody where nothing is recorded.
pub(super) async fn callers_of_late(
    recording: Option<&Recording>,
    program: &Program,
) -> Result<CallersOfLate, Refusal> {
    let Some(recording) = recording else {
        return Ok(CallersOfLate::default());
    };
    let filter = ListFilter {
        kinds: vec![LeafKind::Recommendation],
        ruleset: Some(program.name.clone()),
        ..ListFilter::default()
    };
    let recent = recording.store.list(&filter, None, MOST_LOOKED_AT).await;
    let names = program.inputs.iter().flat_map(|input| {
        let former = input.formerly.iter().map(String::as_str);
        former.chain([input.name.as_str()])
    });
    let known: BTreeSet<&str> = names.collect();
    let mut looked_at = 0;
    let mut callers: BTreeMap<String, (BTreeSet<String>, u32)> = BTreeMap::new();
    for listed in recent.map_err(store_refusal)? {
        let Some(body) = recording.body_at(listed.position).await? else {
            continue;
        };
        looked_at += 1;
        let sent = body.request.readings.into_keys();
        let unknown: Vec<String> = sent.filter(|name| !known.contains(name.as_str())).collect();
        if !unknown.is_empty() {
            let (readings, count) = callers.entry(listed.principal).or_default();
            readings.extend(unknown);
            *count += 1;
        }
    }
    let callers = callers.into_iter();
    let message = |(principal, (readings, recommendations)): (String, (BTreeSet<String>, u32))| {
        pb::CallerWithUnknownReadings {
            principal,
            readings: readings.into_iter().collect(),
            recommendations,
        }
    };
    Ok(CallersOfLate {
        callers: callers.map(message).collect(),
        looked_at,
    })
}
