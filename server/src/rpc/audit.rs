//! `AuditService`: what was recorded, the proof that it still is, and erasure.

use std::sync::Arc;
use std::time::SystemTime;
use std::vec::IntoIter;

use loftwright_dsl::quantity::Date;
use loftwright_engine::SEMANTICS_VERSION;
use loftwright_engine::fit::fit_to_depth;
use loftwright_engine::intake;
use loftwright_proto::v1 as pb;
use loftwright_proto::v1::audit_service_server::AuditService;
use tokio_stream::Iter;
use tonic::{Request, Response, Status};

use super::build::build_message;
use super::convert;
use super::convert::body::{Body, differences, erasure_body};
use super::explaining::Explainer;
use super::handing_out::{evidence_of, in_pieces};
use super::listing;
use super::principal::principal_of;
use super::recording::{
    Recording, bare_header, damaged, keys_refusal, recorder_refusal, reference, store_refusal,
};
use super::refusal::{FieldFault, Refusal};
use super::request::{fault_of_reason, together};
use super::ruleset_history::in_force;
use crate::audit::leaf::{LeafHeader, LeafKind};
use crate::audit::merkle::{Hash, leaf_hash, verify_inclusion};
use crate::audit::note::{Checkpoint, SignedNote};
use crate::explain::text::text;
use crate::registry::{NotRead, Registry};
use crate::store::{
    Entry, EntryFacts, Placed, SaltedBody, consistency_proof, inclusion_proof, root_of,
};

/// The most differences that are named.
const MOST_DIFFERENCES: usize = 50;

/// The service over the record, where one is kept.
#[derive(Clone, Debug)]
pub struct Audit {
    registry: Arc<Registry>,
    recording: Option<Arc<Recording>>,
    explainer: Option<Arc<Explainer>>,
}

impl Audit {
    /// A service that reads this record.
    pub fn new(registry: Arc<Registry>, recording: Option<Arc<Recording>>) -> Self {
        let explainer = recording.clone().map(Explainer::new).map(Arc::new);
        Audit {
            registry,
            recording,
            explainer,
        }
    }

    fn recording(&self) -> Result<&Recording, Refusal> {
        self.recording.as_deref().ok_or(Refusal::RecordsNotKept)
    }
}

/// What keeps a record from being evaluated again, and why.
type InTheWay = (pb::Verification, String);

/// The same request by the rules and parts of its record, on its day; and what is in the way.
async fn evaluate_again(
    recording: &Recording,
    header: &LeafHeader,
    body: &Body,
) -> Result<Result<pb::Recommendation, InTheWay>, Refusal> {
    let in_the_way = |verification, why: &str| Ok(Err((verification, why.to_owned())));
    if header.semantics_version != Some(SEMANTICS_VERSION) {
        return in_the_way(pb::Verification::NeedsSemantics, "");
    }
    let Some((rules, parts)) = header.rules_digest.zip(header.parts_digest) else {
        return in_the_way(pb::Verification::NeedsRules, "the record names no rules");
    };
    let contract_version = header.contract_version.unwrap_or_default();
    let ruleset = match recording.kept.ruleset(contract_version, rules, parts).await {
        Ok(ruleset) => ruleset,
        Err(NotRead::Store(why)) => return Err(store_refusal(why)),
        Err(why @ NotRead::Task(_)) => {
            tracing::error!(%why, "a record cannot be evaluated again");
            return Err(Refusal::OwnFault);
        }
        Err(why) => {
            tracing::warn!(%rules, %parts, %why, "a record cannot be evaluated again");
            let needed = match why {
                NotRead::NoParts(_) | NotRead::Parts(_) => pb::Verification::NeedsParts,
                _ => pb::Verification::NeedsRules,
            };
            return in_the_way(needed, &why.to_string());
        }
    };
    let given = &body.recommendation;
    let text = convert::player::player_text(&body.request);
    let player = intake::read_player(&ruleset.program, &text);
    let (Ok(player), Some(day)) = (player, Date::parse(&given.made_on)) else {
        return in_the_way(pb::Verification::Differs, "");
    };
    let view = convert::recorded_view(body.request.view());
    let depth = convert::depth_of(view);
    let fitted = fit_to_depth(&ruleset.program, &ruleset.parts, &player, day, depth);
    let ticket_of = body.request.ticket.then_some(body.request.subject.as_str());
    let mut again = convert::recommendation(&fitted, &ruleset, day, view, ticket_of);
    again.preview = false;
    // What a stock is called and when it was last counted decides nothing.
    again.parts.clone_from(&given.parts);
    Ok(Ok(again))
}

#[tonic::async_trait]
impl AuditService for Audit {
    async fn get_record(
        &self,
        request: Request<pb::GetRecordRequest>,
    ) -> Result<Response<pb::GetRecordResponse>, Status> {
        let recording = self.recording()?;
        let found = recording.find(&request.get_ref().id).await?;
        let body = found.read_body()?;
        let header = &found.leaf.header;
        let is_of_a_subject = matches!(
            header.kind,
            LeafKind::Recommendation | LeafKind::BuildConfirmed
        );
        let is_readable = found.body.is_some() || !is_of_a_subject;
        let (request, recommendation) = match body {
            Some(body) => (Some(body.request), Some(body.recommendation)),
            None => (None, None),
        };
        let build = match found.read_build()? {
            Some(build) => Some(build_message(recording, &build).await?),
            None => None,
        };
        let about = match (&build, &request) {
            (Some(build), _) => build.record_id.clone(),
            (None, Some(request)) => request.supersedes.clone(),
            (None, None) => String::new(),
        };
        let later = later(recording, found.reference.position).await?;
        let record = pb::Record {
            reference: Some(found.reference),
            kind: header.kind.text().to_owned(),
            instant: timestamp(header.instant_ms),
            principal: header.principal.clone(),
            erased: !is_readable,
            request,
            recommendation,
            build,
            about,
            later,
        };
        Ok(Response::new(pb::GetRecordResponse {
            record: Some(record),
        }))
    }

    async fn list_records(
        &self,
        request: Request<pb::ListRecordsRequest>,
    ) -> Result<Response<pb::ListRecordsResponse>, Status> {
        let page = listing::list(self.recording()?, request.get_ref()).await?;
        Ok(Response::new(page))
    }

    async fn explain_record(
        &self,
        request: Request<pb::ExplainRecordRequest>,
    ) -> Result<Response<pb::ExplainRecordResponse>, Status> {
        let explainer = self.explainer.as_ref().ok_or(Refusal::RecordsNotKept)?;
        let request = request.into_inner();
        let explanation = explainer.explain(&request.id, request.question).await?;
        Ok(Response::new(pb::ExplainRecordResponse {
            text: text(&explanation, false),
            explanation: Some(explanation),
        }))
    }

    type ExportRecordStream = Iter<IntoIter<Result<pb::ExportRecordResponse, Status>>>;

    async fn export_record(
        &self,
        request: Request<pb::ExportRecordRequest>,
    ) -> Result<Response<Self::ExportRecordStream>, Status> {
        let who = principal_of(&request)?;
        let request = request.get_ref();
        let recording = self.recording()?;
        let pack = evidence_of(recording, &who, &request.id, &request.since).await?;
        let pieces: Vec<_> = in_pieces(&pack).into_iter().map(Ok).collect();
        Ok(Response::new(tokio_stream::iter(pieces)))
    }

    async fn get_checkpoint(
        &self,
        _request: Request<pb::GetCheckpointRequest>,
    ) -> Result<Response<pb::GetCheckpointResponse>, Status> {
        let recording = self.recording()?;
        let note = recording.recorder.checkpoint().await;
        let keys = recording.keys().await.map_err(keys_refusal)?;
        Ok(Response::new(pb::GetCheckpointResponse {
            note: note.map_err(recorder_refusal)?,
            verifier_key: recording.verifier.to_string(),
            verifier_keys: keys.to_string(),
        }))
    }

    async fn get_inclusion_proof(
        &self,
        request: Request<pb::GetInclusionProofRequest>,
    ) -> Result<Response<pb::GetInclusionProofResponse>, Status> {
        let recording = self.recording()?;
        let found = recording.find(&request.get_ref().id).await?;
        let position = found.reference.position;
        let (size, note) = size_or_all(recording, "size", request.get_ref().size).await?;
        if position >= size {
            let sentence = format!("{size} was sent; the record is number {position}");
            return Err(field_fault("size", sentence).into());
        }
        let store = recording.store.as_ref();
        let proof = inclusion_proof(store, position, size).await;
        let proof = proof.map_err(store_refusal)?;
        let root = root_of(store, size).await.map_err(store_refusal)?;
        // A proof that does not hold is never handed out.
        verify_inclusion(&leaf_hash(&found.leaf_bytes), position, size, &proof, &root)
            .map_err(|why| damaged(&format!("record {position}: {why}")))?;
        Ok(Response::new(pb::GetInclusionProofResponse {
            record: Some(found.reference),
            leaf: found.leaf_bytes,
            size,
            hashes: bytes_of(&proof),
            note,
        }))
    }

    async fn get_consistency_proof(
        &self,
        request: Request<pb::GetConsistencyProofRequest>,
    ) -> Result<Response<pb::GetConsistencyProofResponse>, Status> {
        let recording = self.recording()?;
        let older = request.get_ref().older_size;
        let newer = request.get_ref().newer_size;
        let (newer, note) = size_or_all(recording, "newer_size", newer).await?;
        if older > newer {
            let sentence = format!("{older} was sent, and the newer log has {newer} records");
            return Err(field_fault("older_size", sentence).into());
        }
        let proof = consistency_proof(recording.store.as_ref(), older, newer).await;
        Ok(Response::new(pb::GetConsistencyProofResponse {
            newer_size: newer,
            hashes: bytes_of(&proof.map_err(store_refusal)?),
            note,
        }))
    }

    async fn erase_subject(
        &self,
        request: Request<pb::EraseSubjectRequest>,
    ) -> Result<Response<pb::EraseSubjectResponse>, Status> {
        let recording = self.recording()?;
        let principal = principal_of(&request)?;
        let request = request.into_inner();
        let mut faults = Vec::new();
        if request.subject.is_empty() {
            let sentence = "nothing was sent; send the subject whose records are to be erased";
            faults.push(("subject", field_fault("subject", sentence.to_owned())));
        }
        let reason = fault_of_reason(&request.reason);
        faults.extend(reason.map(|sentence| ("reason", field_fault("reason", sentence))));
        if !faults.is_empty() {
            return Err(together(faults).into());
        }
        let body = erasure_body(&request.reason).ok_or(Refusal::OwnFault)?;
        let entry = Entry {
            header: bare_header(LeafKind::Erasure, SystemTime::now(), &principal)?,
            subject: Some(request.subject),
            body: SaltedBody::new(body).map_err(|_| Refusal::OwnFault)?,
            request: None,
            facts: EntryFacts::default(),
            blobs: Vec::new(),
        };
        let placed = recording.recorder.erase(entry).await;
        // Also of one that is not finished the key is gone.
        recording.erasures.note();
        let record = match placed.map_err(recorder_refusal)? {
            Placed::New { position, leaf } => Some(reference(position, leaf)),
            // It has no request that could be known.
            Placed::Known(_) => None,
        };
        Ok(Response::new(pb::EraseSubjectResponse { record }))
    }

    async fn in_force(
        &self,
        request: Request<pb::InForceRequest>,
    ) -> Result<Response<pb::InForceResponse>, Status> {
        let recording = self.recording.as_deref();
        let answer = in_force(&self.registry, recording, request.get_ref()).await?;
        Ok(Response::new(answer))
    }

    async fn verify_record(
        &self,
        request: Request<pb::VerifyRecordRequest>,
    ) -> Result<Response<pb::VerifyRecordResponse>, Status> {
        let recording = self.recording()?;
        let found = recording.find(&request.get_ref().id).await?;
        let semantics_version = found.leaf.header.semantics_version.unwrap_or_default();
        let answer = |verification: pb::Verification, differences, why: &str| {
            Ok(Response::new(pb::VerifyRecordResponse {
                verification: verification.into(),
                differences,
                semantics_version,
                why: why.to_owned(),
            }))
        };
        if let Some(why) = found.rules_lacking() {
            return answer(pb::Verification::NeedsRules, Vec::new(), why);
        }
        let Some(body) = found.read_body()? else {
            return answer(pb::Verification::Erased, Vec::new(), "");
        };
        match evaluate_again(recording, &found.leaf.header, &body).await? {
            Err((verification, why)) => answer(verification, Vec::new(), &why),
            Ok(again) => {
                let found = differences(&body.recommendation, &again, MOST_DIFFERENCES);
                let found = found.ok_or(Refusal::OwnFault)?;
                match found.is_empty() {
                    true => answer(pb::Verification::Identical, found, ""),
                    false => answer(pb::Verification::Differs, found, ""),
                }
            }
        }
    }
}

/// The later records that speak of one.
async fn later(recording: &Recording, position: u64) -> Result<Vec<pb::LaterRecord>, Refusal> {
    let places = recording.store.about(position).await;
    let mut later = Vec::new();
    for place in places.map_err(store_refusal)? {
        let found = recording.at(place).await?;
        let found = found.ok_or_else(|| damaged("a record that speaks of another is missing"))?;
        later.push(pb::LaterRecord {
            kind: found.leaf.header.kind.text().to_owned(),
            reference: Some(found.reference),
        });
    }
    Ok(later)
}

/// The size that was asked for; where it was 0, all of the log and its checkpoint.
async fn size_or_all(
    recording: &Recording,
    field: &str,
    asked: u64,
) -> Result<(u64, String), Refusal> {
    if asked == 0 {
        let note = recording.recorder.checkpoint().await;
        let note = note.map_err(recorder_refusal)?;
        let text = SignedNote::parse(note.as_bytes()).map_err(|why| damaged(&why.to_string()))?;
        let checkpoint = Checkpoint::parse(text.text()).map_err(|why| damaged(&why.to_string()))?;
        return Ok((checkpoint.size, note));
    }
    let held = recording.store.size().await.map_err(store_refusal)?;
    if asked > held {
        let sentence = format!("{asked} was sent; the log has {held} records");
        return Err(field_fault(field, sentence));
    }
    Ok((asked, String::new()))
}

fn field_fault(field: &str, sentence: String) -> Refusal {
    Refusal::Faults(vec![FieldFault {
        field: field.to_owned(),
        sentence,
    }])
}

fn bytes_of(hashes: &[Hash]) -> Vec<Vec<u8>> {
    hashes.iter().map(|hash| hash.as_bytes().to_vec()).collect()
}

pub(super) fn timestamp(instant_ms: i64) -> Option<prost_types::Timestamp> {
    Some(prost_types::Timestamp {
        seconds: instant_ms.div_euclid(1000),
        nanos: i32::try_from(instant_ms.rem_euclid(1000) * 1_000_000).ok()?,
    })
}
