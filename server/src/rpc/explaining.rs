//! Explanations of records, for the service and for the pages.

use std::collections::VecDeque;
use std::sync::{Arc, Mutex, PoisonError};

use loftwright_dsl::check::check;
use loftwright_dsl::outline::{Outline, outline};
use loftwright_engine::CONTRACT_VERSION;
use loftwright_proto::v1 as pb;
use pb::explain_record_request::Question;

use super::audit::timestamp;
use super::convert::body::Body;
use super::recording::{Found, Recording, store_refusal};
use super::refusal::{FieldFault, Refusal};
use crate::audit::leaf::LeafKind;
use crate::audit::merkle::Hash;
use crate::explain::{self, Facts, Rules};
use crate::registry::{NotRead, Ruleset, layers_of_source};

/// How many outlines are remembered.
const MOST_REMEMBERED: usize = 8;

/// Explains the records of a log.
#[derive(Debug)]
pub(crate) struct Explainer {
    recording: Arc<Recording>,
    /// The outline of a revision; the one used last stands first.
    outlines: Mutex<VecDeque<(String, Arc<Outline>)>>,
}

/// A record that can be explained, with the rules that decided it or why they are not there.
pub(crate) struct Explainable {
    pub(crate) reference: pb::RecordReference,
    pub(crate) instant: Option<prost_types::Timestamp>,
    pub(crate) body: Body,
    pub(crate) rules: Result<Rules, String>,
}

impl Explainer {
    /// Of a log.
    pub(crate) fn new(recording: Arc<Recording>) -> Self {
        Explainer {
            recording,
            outlines: Mutex::default(),
        }
    }

    /// The record of an id with its rules.
    pub(crate) async fn explainable(&self, id: &str) -> Result<Explainable, Refusal> {
        let found = self.recording.find(id).await?;
        let kind = found.leaf.header.kind;
        if kind != LeafKind::Recommendation {
            return Err(Refusal::Faults(vec![FieldFault {
                field: "id".to_owned(),
                sentence: format!(
                    "record `{id}` is of the kind `{kind}`; only a recommendation is explained"
                ),
            }]));
        }
        let Some(body) = found.read_body()? else {
            return Err(Refusal::RecordErased(found.reference.id));
        };
        let rules = self.rules_of(&found).await;
        Ok(Explainable {
            instant: timestamp(found.leaf.header.instant_ms),
            reference: found.reference,
            body,
            rules,
        })
    }

    /// The explanation of a record.
    pub(crate) async fn explain(
        &self,
        id: &str,
        question: Option<Question>,
    ) -> Result<pb::Explanation, Refusal> {
        let explainable = self.explainable(id).await?;
        explainable.explain(question).await
    }

    async fn rules_of(&self, found: &Found) -> Result<Rules, String> {
        let header = &found.leaf.header;
        let digests = header.rules_digest.zip(header.parts_digest);
        let (rules, parts) = digests.ok_or("the record names no rules")?;
        let contract_version = header.contract_version.unwrap_or_default();
        let kept = &self.recording.kept;
        let ruleset = kept.ruleset(contract_version, rules, parts).await;
        let ruleset = ruleset.map_err(|why| why.to_string())?;
        let outline = self.outline_of(&ruleset).await?;
        Ok(Rules { ruleset, outline })
    }

    async fn outline_of(&self, ruleset: &Arc<Ruleset>) -> Result<Arc<Outline>, String> {
        let revision = &ruleset.source.revision;
        if let Some(known) = self.remembered(revision) {
            return Ok(known);
        }
        self.read_outline(revision, Arc::clone(&ruleset.source.bytes))
            .await
    }

    /// The outline of a revision of a ruleset that is kept here; `None` where it is not. Its
    /// contract's version is known of one that was published.
    pub(crate) async fn outline_of_revision(
        &self,
        ruleset: &str,
        digest: Hash,
        contract_version: Option<u32>,
    ) -> Result<Option<Arc<Outline>>, Refusal> {
        let revision = digest.to_string();
        if let Some(known) = self.remembered(&revision) {
            return Ok(Some(known));
        }
        let source = self.recording.store.blob(digest).await;
        let source = source.map_err(store_refusal)?;
        let unreadable = |why: String| Refusal::RevisionUnreadable {
            ruleset: ruleset.to_owned(),
            revision: revision.clone(),
            why,
        };
        let Some(source) = source else {
            let lost = contract_version.map(|_| NotRead::NoSource(digest));
            return lost.map_or(Ok(None), |why| Err(unreadable(why.to_string())));
        };
        if let Some(version) = contract_version {
            let ours = NotRead::unless_contract_is_ours(version);
            ours.map_err(|why| unreadable(why.to_string()))?;
        }
        let outline = self.read_outline(&revision, source.into()).await;
        outline.map(Some).map_err(unreadable)
    }

    async fn read_outline(
        &self,
        revision: &str,
        source: Arc<[u8]>,
    ) -> Result<Arc<Outline>, String> {
        let read = tokio::task::spawn_blocking(move || {
            let layers = layers_of_source(&source).map_err(|why| why.to_string())?;
            let output = check(&layers, CONTRACT_VERSION);
            let program = output.program.as_ref();
            let program = program.ok_or(
                "this release does not accept the rules; use the release that published them",
            )?;
            Ok::<_, String>(Arc::new(outline(program, &output.folder)))
        });
        let found = read.await.map_err(|why| why.to_string())??;
        let mut outlines = self.outlines.lock().unwrap_or_else(PoisonError::into_inner);
        outlines.push_front((revision.to_owned(), Arc::clone(&found)));
        outlines.truncate(MOST_REMEMBERED);
        Ok(found)
    }

    fn remembered(&self, revision: &str) -> Option<Arc<Outline>> {
        let mut outlines = self.outlines.lock().unwrap_or_else(PoisonError::into_inner);
        let place = outlines.iter().position(|(known, _)| known == revision)?;
        let found = outlines.remove(place)?;
        let outline = Arc::clone(&found.1);
        outlines.push_front(found);
        Some(outline)
    }
}

impl Explainable {
    /// Answers a question; evaluating again takes its time on a thread of its own.
    pub(crate) async fn explain(
        self,
        question: Option<Question>,
    ) -> Result<pb::Explanation, Refusal> {
        let explained = tokio::task::spawn_blocking(move || {
            let rules = self.rules.as_ref().map_err(String::as_str);
            explain::explain(&self.facts(), rules, question.as_ref())
        });
        let explained = explained.await.map_err(|why| {
            tracing::error!(%why, "an explanation did not end");
            Refusal::OwnFault
        })?;
        explained.map_err(|why| {
            Refusal::Faults(vec![FieldFault {
                field: why.field.to_owned(),
                sentence: why.sentence,
            }])
        })
    }

    /// Looks into the record for a decision and a club, on a thread of its own.
    pub(crate) async fn look<T: Send + 'static>(
        self,
        decision: &str,
        club: &str,
        look: impl FnOnce(&Facts<'_>, Option<&Rules>, &str, Option<&str>) -> T + Send + 'static,
    ) -> Result<T, Refusal> {
        let (decision, club) = (decision.to_owned(), club.to_owned());
        let looked = tokio::task::spawn_blocking(move || {
            let club = (!club.is_empty()).then_some(club.as_str());
            look(&self.facts(), self.rules.as_ref().ok(), &decision, club)
        });
        looked.await.map_err(|why| {
            tracing::error!(%why, "a record could not be looked into");
            Refusal::OwnFault
        })
    }

    /// What the record holds.
    pub(crate) fn facts(&self) -> Facts<'_> {
        Facts {
            reference: self.reference.clone(),
            instant: self.instant,
            request: &self.body.request,
            recommendation: &self.body.recommendation,
        }
    }
}
