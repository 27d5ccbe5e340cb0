//! What the services do with the record: recommendations kept, found again, and read.

use std::collections::BTreeSet;
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};
use std::time::SystemTime;

use loftwright_engine::SEMANTICS_VERSION;
use loftwright_proto::v1 as pb;
use tokio::task::JoinHandle;

use super::convert::body::{Body, outcome, request_content};
pub(super) use super::record_refusals::{act_refusal, keys_refusal};
pub(crate) use super::record_refusals::{damaged, recorder_refusal, store_refusal};
use super::refusal::{FieldFault, Refusal};
use super::replay_pieces::Erasures;
use super::stock_acts::record_the_start;
use crate::audit::act::BuildConfirmed;
use crate::audit::columns::KnownTexts;
use crate::audit::leaf::{Leaf, LeafHeader, LeafKind};
use crate::audit::merkle::Hash;
use crate::audit::note::{KeyRing, VerifierKey};
use crate::parts_snapshot::parts_text;
use crate::registry::{
    KeptRulesets, KeptTexts, NotRead, NotTakenUp, Principal, Principals, Registry, Ruleset,
    hash_of, instant_ms, principals_of_log,
};
use crate::stock::kept::{InLog, NotInLog, of_log};
use crate::store::{
    DataFolder, Entry, EntryFacts, KeptBody, KeyChangeError, KnownRequest, NotRecorded, Notary,
    Placed, Recorder, RecorderSettings, RequestMark, SaltedBody, SqliteStore, Store, keys_of_log,
};
use crate::wiped::WipedBytes;

/// The record that a service writes and reads.
pub struct Recording {
    pub(crate) store: Arc<dyn Store>,
    pub(crate) recorder: Recorder,
    pub(super) verifier: VerifierKey,
    pub(super) kept: KeptRulesets,
    pub(super) texts: Arc<KeptTexts>,
    /// Who may ask what, as the log says.
    pub(super) principals: Arc<Principals>,
    /// The sources of rules and snapshots of parts that were kept already.
    kept_sources: Mutex<BTreeSet<String>>,
    pub(super) erasures: Arc<Erasures>,
}

/// Which stock is in force where a record is gone on from.
#[derive(Clone, Copy, Debug, PartialEq, Eq, clap::ValueEnum)]
pub enum StockFrom {
    /// The one of the record.
    Log,
    /// The one that the service is started with.
    #[value(name = "parts")]
    Start,
}

/// A record that was found.
pub(crate) struct Found {
    pub(crate) reference: pb::RecordReference,
    pub(crate) leaf: Leaf,
    pub(crate) leaf_bytes: Vec<u8>,
    pub(super) body: Option<WipedBytes>,
    /// The texts that the body of a recommendation refers to, or why there are none.
    texts: Result<Arc<KnownTexts>, String>,
}

impl std::fmt::Debug for Recording {
    fn fmt(&self, formatter: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        formatter
            .debug_struct("Recording")
            .field("log", self.store.identity())
            .finish_non_exhaustive()
    }
}

impl Recording {
    /// Opens the record of a data directory. The task that is returned ends once the record is
    /// dropped, with a last checkpoint.
    ///
    /// # Errors
    /// [`NotTakenUp`].
    pub async fn open(
        path: &std::path::Path,
        settings: RecorderSettings,
    ) -> Result<(Self, JoinHandle<()>), NotTakenUp> {
        let folder = DataFolder::open(path)?;
        let key = folder.signing_key()?;
        let verifier = key.verifier().clone();
        let store: Arc<dyn Store> = Arc::new(SqliteStore::open(&folder, &key).await?);
        let principals = Arc::new(principals_of_log(store.as_ref()).await?);
        let notary = Notary::new(Arc::clone(&store), folder, key)?;
        let (recorder, task) = Recorder::start(Arc::clone(&store), notary, settings);
        let recording = Recording {
            kept: KeptRulesets::new(Arc::clone(&store)),
            texts: Arc::new(KeptTexts::new(Arc::clone(&store))),
            store,
            recorder,
            verifier,
            principals,
            kept_sources: Mutex::default(),
            erasures: Arc::default(),
        };
        Ok((recording, task))
    }

    /// Lets a registry go on from the record: from the stock that it says is in force, unless
    /// `stock_from` says otherwise, and see [`Registry::take_up`]. Once it was taken up, nothing
    /// more happens.
    ///
    /// # Errors
    /// [`NotTakenUp`].
    pub async fn taken_up_by(
        &self,
        registry: &Registry,
        stock_from: StockFrom,
    ) -> Result<(), NotTakenUp> {
        if registry.is_taken_up() {
            return Ok(());
        }
        let in_log = of_log(self.store.as_ref()).await?;
        let reason = match (&in_log, stock_from) {
            (Some(in_log), StockFrom::Log) => {
                registry.begin_with_stock(&in_log.stock).await;
                None
            }
            (Some(in_log), StockFrom::Start) => {
                let started = registry.workshop();
                let is_other = !in_log.stock.files.says_the_same(&started.stock().files);
                is_other.then_some("the service was started with another stock")
            }
            (None, _) => Some("the stock that the service was started with"),
        };
        registry.take_up(&self.store, &self.recorder).await?;
        if let Some(reason) = reason {
            record_the_start(registry, self, reason).await?;
        }
        Ok(())
    }

    /// The stock that the record says is in force, where it says one.
    ///
    /// # Errors
    /// [`NotInLog`].
    pub async fn stock(&self) -> Result<Option<InLog>, NotInLog> {
        of_log(self.store.as_ref()).await
    }

    /// Who may ask what, as the log said when it was opened.
    pub fn principals(&self) -> &Principals {
        &self.principals
    }

    /// Records an act; it is on the disk when this returns.
    ///
    /// # Errors
    /// [`NotRecorded`].
    pub async fn record(&self, act: Entry) -> Result<Placed, NotRecorded> {
        self.recorder.keep(act).await
    }

    /// The name of the record at a place.
    pub(super) async fn reference_at(&self, position: u64) -> Result<pb::RecordReference, Refusal> {
        let leaf = self.store.leaf(position).await.map_err(store_refusal)?;
        let leaf = leaf.ok_or_else(|| damaged(&format!("record {position} is missing")))?;
        Ok(reference(position, crate::audit::merkle::leaf_hash(&leaf)))
    }

    /// What the recommendation at a place says; `None` where it was erased.
    pub(super) async fn body_at(&self, position: u64) -> Result<Option<Body>, Refusal> {
        match self.at(position).await? {
            Some(found) => found.read_body(),
            None => Ok(None),
        }
    }

    /// The keys that signed the log, each with the sizes that it signed: what others verify by.
    ///
    /// # Errors
    /// [`KeyChangeError`].
    pub(crate) async fn keys(&self) -> Result<KeyRing, KeyChangeError> {
        keys_of_log(self.store.as_ref(), &self.verifier).await
    }

    /// Done once nothing can be recorded any more.
    pub async fn stopped(&self) {
        self.recorder.stopped().await;
    }

    /// What makes a retry of a request recognisable.
    pub(super) fn mark(
        &self,
        principal: &Principal,
        request: &pb::RecommendRequest,
    ) -> Result<RequestMark, Refusal> {
        let content = request_content(&recorded(request)).ok_or(Refusal::OwnFault)?;
        let content = WipedBytes(content);
        let id = request.request_id.to_ascii_lowercase();
        let identity = self.store.identity();
        Ok(identity.request_mark(&principal.name, &id, &content))
    }

    /// The record of a request that was answered before.
    pub(super) async fn answered_before(
        &self,
        request: &pb::RecommendRequest,
        mark: RequestMark,
    ) -> Result<Option<pb::RecommendResponse>, Refusal> {
        match self.store.request(mark.id).await.map_err(store_refusal)? {
            Some(known) => self.again(request, mark, known).await.map(Some),
            None => Ok(None),
        }
    }

    /// The place of the record that a request replaces, where it names one.
    pub(super) async fn superseded(
        &self,
        request: &pb::RecommendRequest,
    ) -> Result<Option<u64>, Refusal> {
        let id = &request.supersedes;
        if id.is_empty() {
            return Ok(None);
        }
        let found = self.find(id).await?;
        if found.leaf.header.kind != LeafKind::Recommendation {
            return Err(Refusal::NoRecommendation(id.clone()));
        }
        let body = found.read_body()?;
        let body = body.ok_or_else(|| Refusal::RecordErased(id.clone()))?;
        // That no subject was sent is a fault of its own.
        if body.request.subject == request.subject || request.subject.is_empty() {
            return Ok(Some(found.reference.position));
        }
        Err(Refusal::Faults(vec![FieldFault {
            field: "supersedes".to_owned(),
            sentence: format!(
                "record `{id}` is of another subject; it is not replaced by this one"
            ),
        }]))
    }

    /// Records a recommendation, unless its request was recorded meanwhile.
    #[expect(
        clippy::too_many_arguments,
        reason = "a record is made of all of them, here alone"
    )]
    pub(super) async fn keep(
        &self,
        principal: &Principal,
        request: &pb::RecommendRequest,
        mark: RequestMark,
        ruleset: &Ruleset,
        instant: SystemTime,
        recommendation: pb::Recommendation,
        about: Option<u64>,
    ) -> Result<pb::RecommendResponse, Refusal> {
        let (sources, blobs) = self.sources_to_keep(ruleset);
        let body = Body {
            request: recorded(request),
            recommendation,
        };
        let texts = self.texts.of_source(&ruleset.source).ok();
        let bytes = texts.and_then(|texts| body.to_bytes(&texts));
        let bytes = bytes.ok_or_else(|| {
            tracing::error!("a recommendation cannot be written as a record");
            Refusal::OwnFault
        })?;
        let facts = EntryFacts {
            ruleset: Some(ruleset.program.name.clone()),
            outcome: Some(outcome(&body.recommendation)),
            about,
        };
        let entry = Entry {
            header: header(ruleset, instant, principal)?,
            subject: Some(request.subject.clone()),
            body: SaltedBody::new(bytes).map_err(|_| Refusal::OwnFault)?,
            request: Some(mark),
            facts,
            blobs,
        };
        let placed = self.recorder.keep(entry).await;
        match placed.map_err(recorder_refusal)? {
            Placed::New { position, leaf } => {
                self.kept_sources().extend(sources);
                Ok(pb::RecommendResponse {
                    recommendation: Some(viewed(body.recommendation, request.view())),
                    record: Some(reference(position, leaf)),
                })
            }
            Placed::Known(known) => self.again(request, mark, known).await,
        }
    }

    async fn again(
        &self,
        request: &pb::RecommendRequest,
        mark: RequestMark,
        known: KnownRequest,
    ) -> Result<pb::RecommendResponse, Refusal> {
        if known.content != mark.content {
            return Err(Refusal::RequestIdReused(request.request_id.clone()));
        }
        let found = self.at(known.position).await?;
        let found = found.ok_or_else(|| damaged("the record of a known request is missing"))?;
        let body = found.read_body()?;
        let body = body.ok_or_else(|| Refusal::RecordErased(found.reference.id.clone()))?;
        Ok(pb::RecommendResponse {
            recommendation: Some(viewed(body.recommendation, request.view())),
            record: Some(found.reference),
        })
    }

    /// The record of an id.
    pub(crate) async fn find(&self, id: &str) -> Result<Found, Refusal> {
        let unknown = |why| Refusal::UnknownRecord {
            sent: id.to_owned(),
            why,
        };
        let position = id
            .split_once('-')
            .and_then(|(position, _)| position.parse().ok())
            .ok_or_else(|| unknown("an id is a position, a hyphen and 16 hexadecimal digits"))?;
        let found = self.at(position).await?;
        let found = found.ok_or_else(|| unknown("the log does not reach so far"))?;
        if found.reference.id != id {
            return Err(unknown("the record at that position has another id"));
        }
        Ok(found)
    }

    pub(super) async fn at(&self, position: u64) -> Result<Option<Found>, Refusal> {
        let leaf_bytes = self.store.leaf(position).await.map_err(store_refusal)?;
        let Some(leaf_bytes) = leaf_bytes else {
            return Ok(None);
        };
        let leaf = Leaf::parse(&leaf_bytes).map_err(|why| damaged(&why.to_string()))?;
        let body = match self.store.body(position).await.map_err(store_refusal)? {
            KeptBody::Whole { body, .. } => Some(body),
            KeptBody::Erased | KeptBody::NoLeaf => None,
        };
        let is_recommendation = leaf.header.kind == LeafKind::Recommendation && body.is_some();
        let texts = match leaf.header.rules_digest {
            Some(rules) if is_recommendation => match self.texts.of_rules(rules).await {
                Err(NotRead::Store(why)) => return Err(store_refusal(why)),
                texts => texts.map_err(|why| {
                    format!("its body refers to the texts of the rules that decided: {why}")
                }),
            },
            _ => Err("its rules are not named".to_owned()),
        };
        let hash = crate::audit::merkle::leaf_hash(&leaf_bytes);
        Ok(Some(Found {
            reference: reference(position, hash),
            leaf,
            leaf_bytes,
            body,
            texts,
        }))
    }

    /// What a record's digests are of and was not kept yet, to go with it: the rules' exact source
    /// and the parts, with the digests they are known by.
    fn sources_to_keep(&self, ruleset: &Ruleset) -> (Vec<String>, Vec<Arc<[u8]>>) {
        let kept = self.kept_sources();
        let (mut digests, mut blobs) = (Vec::new(), Vec::new());
        if !kept.contains(&ruleset.source.revision) {
            digests.push(ruleset.source.revision.clone());
            blobs.push(Arc::clone(&ruleset.source.bytes));
        }
        if !kept.contains(&ruleset.stock.digest) {
            digests.push(ruleset.stock.digest.clone());
            let text = parts_text(&ruleset.program, &ruleset.parts);
            blobs.push(text.into_bytes().into());
        }
        (digests, blobs)
    }

    fn kept_sources(&self) -> MutexGuard<'_, BTreeSet<String>> {
        // Whoever panicked with it has added what was kept.
        self.kept_sources
            .lock()
            .unwrap_or_else(PoisonError::into_inner)
    }
}

impl Found {
    /// What the body says; `None` where it was erased, or is that of another act.
    pub(super) fn read_body(&self) -> Result<Option<Body>, Refusal> {
        match &self.body {
            Some(bytes) if self.leaf.header.kind == LeafKind::Recommendation => {
                let texts = self.texts.as_ref().map_err(|why| damaged(why))?;
                let body = Body::of_bytes(bytes, texts);
                body.map(Some)
                    .ok_or_else(|| damaged("its body is of a form that is not known"))
            }
            _ => Ok(None),
        }
    }

    /// Why the rules cannot be had that its body refers to, where they cannot.
    pub(super) fn rules_lacking(&self) -> Option<&str> {
        let is_recommendation = self.leaf.header.kind == LeafKind::Recommendation;
        let why = self.texts.as_ref().err().map(String::as_str);
        why.filter(|_| is_recommendation && self.body.is_some())
    }

    /// What a confirmation says; `None` where it was erased, or is another act.
    pub(super) fn read_build(&self) -> Result<Option<BuildConfirmed>, Refusal> {
        match &self.body {
            Some(bytes) if self.leaf.header.kind == LeafKind::BuildConfirmed => {
                let build = BuildConfirmed::of_bytes(bytes);
                build.map(Some).map_err(|why| damaged(&why.to_string()))
            }
            _ => Ok(None),
        }
    }
}

/// The request as it is recorded: without its id, and no preview.
fn recorded(request: &pb::RecommendRequest) -> pb::RecommendRequest {
    pb::RecommendRequest {
        request_id: String::new(),
        preview: false,
        ..request.clone()
    }
}

/// What a view shows of a recommendation that was recorded with all its decisions.
fn viewed(
    mut recommendation: pb::Recommendation,
    view: pb::RecommendationView,
) -> pb::Recommendation {
    if view == pb::RecommendationView::Basic {
        recommendation.decisions.clear();
    }
    recommendation
}

fn header(
    ruleset: &Ruleset,
    instant: SystemTime,
    principal: &Principal,
) -> Result<LeafHeader, Refusal> {
    let program = &ruleset.program;
    let digest = |hexadecimal: &str| hash_of(hexadecimal).ok_or(Refusal::OwnFault);
    Ok(LeafHeader {
        meaning_digest: Some(digest(&program.digests.meaning)?),
        text_digest: Some(digest(&program.digests.text)?),
        rules_digest: Some(digest(&ruleset.source.revision)?),
        contract_version: Some(program.contract_version),
        semantics_version: Some(SEMANTICS_VERSION),
        parts_digest: Some(digest(&ruleset.stock.digest)?),
        ..bare_header(LeafKind::Recommendation, instant, principal)?
    })
}

/// The header of an act that rests on no rules.
pub(crate) fn bare_header(
    kind: LeafKind,
    instant: SystemTime,
    principal: &Principal,
) -> Result<LeafHeader, Refusal> {
    let instant_ms = instant_ms(instant).ok_or(Refusal::OwnFault)?;
    Ok(LeafHeader::bare(kind, instant_ms, &principal.name))
}

/// The name of the record of a leaf.
pub(crate) fn reference(position: u64, leaf: Hash) -> pb::RecordReference {
    let hash: String = leaf.to_string().chars().take(16).collect();
    pb::RecordReference {
        id: format!("{position}-{hash}"),
        position,
    }
}
