//! Rules become a revision: a leaf with the source beside it, and a line of the ledger.

use std::sync::Arc;

use loftwright_dsl::diagnostic::Severity;
use loftwright_dsl::program::Program;
use loftwright_engine::assure::CaseReport;

use super::ledger::Revision;
use super::log::{Act, ActNotRecorded, RulesOf};
use super::not_read::NotRead;
use super::principals::Principal;
use super::revision::Source;
use super::{Judged, MOST_REVISIONS, Registry, Revised};
use crate::audit::act;
use crate::audit::leaf::LeafKind;
use crate::files::FileFault;

/// What was published.
#[derive(Clone, Debug)]
pub struct Published {
    /// Whether the same source was there before.
    pub was_known: bool,
    /// What is known of the revision.
    pub revision: Revision,
}

/// Why rules are not published.
#[derive(Debug)]
pub enum NotPublished {
    /// The check finds an error, or a case fails.
    Refused,
    /// The parts on hand cannot be read by them.
    Parts(Vec<FileFault>),
    /// So many revisions are kept already.
    TooMany,
    /// It cannot be recorded.
    NotRecorded(ActNotRecorded),
}

impl Registry {
    /// Keeps judged rules as a revision, or only says whether it would.
    ///
    /// # Errors
    /// [`NotPublished`].
    pub async fn publish(
        &self,
        judged: &Judged,
        by: &Principal,
        instant_ms: i64,
        validate_only: bool,
    ) -> Result<Published, NotPublished> {
        let cases = judged.cases.as_ref().filter(|cases| cases.is_passed());
        let (Some(program), Some(cases)) = (&judged.output.program, cases) else {
            return Err(NotPublished::Refused);
        };
        let _act = self.act().await;
        let revision = Revision {
            warnings: Some(warnings(judged)),
            cases: Some(u32::try_from(cases.cases.len()).unwrap_or(u32::MAX)),
            instant_ms,
            ..entry_of(program, &judged.source, &by.name)
        };
        let known = self
            .ledger()
            .revision(&revision.ruleset, &revision.revision)
            .cloned();
        if let Some(revision) = known {
            if !validate_only {
                self.put_back(&judged.source, &revision).await?;
            }
            let was_known = true;
            return Ok(Published {
                was_known,
                revision,
            });
        }
        let parts = self.workshop().stock().files.parts(program);
        parts.map_err(NotPublished::Parts)?;
        let is_full = self.log.get().is_none() && self.ledger().all().count() >= MOST_REVISIONS;
        if is_full {
            return Err(NotPublished::TooMany);
        }
        if validate_only {
            return Ok(Published {
                was_known: false,
                revision,
            });
        }
        let revision = self.record_publication(revision, &judged.source).await?;
        self.ledger().publish(revision.clone());
        self.remember(&Arc::new(Revised {
            program: program.clone(),
            folder: judged.output.folder.clone(),
            source: judged.source.clone(),
        }));
        Ok(Published {
            was_known: false,
            revision,
        })
    }

    /// Keeps the source of a published revision again where it was lost: it is the same to the
    /// byte, since its digest is.
    async fn put_back(&self, source: &Source, revision: &Revision) -> Result<(), NotPublished> {
        let Some(log) = self.log.get() else {
            return Ok(());
        };
        if !matches!(
            log.source(&source.revision).await,
            Err(NotRead::NoSource(_))
        ) {
            return Ok(());
        }
        let (ruleset, digest) = (&revision.ruleset, &revision.revision);
        if let Err(why) = log.store.keep_blob(&source.bytes).await {
            tracing::error!(ruleset, digest, %why, "a lost source is not kept again");
            return Err(NotPublished::NotRecorded(ActNotRecorded::Own));
        }
        tracing::warn!(
            ruleset,
            digest,
            "the source of a revision, lost, is kept again"
        );
        self.ledger().note_fault(ruleset, digest, None);
        Ok(())
    }

    async fn record_publication(
        &self,
        mut revision: Revision,
        source: &Source,
    ) -> Result<Revision, NotPublished> {
        if let Some(log) = self.log.get() {
            let entry = leaf_of(&revision, source).entry();
            let places = match entry {
                Ok(entry) => log.keep(vec![entry]).await,
                Err(why) => Err(why),
            };
            let places = places.map_err(NotPublished::NotRecorded)?;
            revision.position = places.first().copied();
        }
        Ok(revision)
    }
}

fn warnings(judged: &Judged) -> u32 {
    let of_cases = judged
        .cases
        .iter()
        .flat_map(|cases: &CaseReport| &cases.diagnostics);
    let all = judged.output.diagnostics.iter().chain(of_cases);
    let count = all
        .filter(|finding| finding.severity == Severity::Warning)
        .count();
    u32::try_from(count).unwrap_or(u32::MAX)
}

/// The line of the ledger of a program, before anybody counted or recorded anything.
pub(super) fn entry_of(program: &Program, source: &Source, by: &str) -> Revision {
    Revision {
        ruleset: program.name.clone(),
        revision: source.revision.clone(),
        title: program.title.clone(),
        meaning_digest: program.digests.meaning.clone(),
        text_digest: program.digests.text.clone(),
        contract_version: program.contract_version,
        warnings: None,
        cases: None,
        by: by.to_owned(),
        instant_ms: 0,
        position: None,
        fault: None,
    }
}

/// The leaf of a publication, with the source.
pub(super) fn leaf_of<'a>(revision: &'a Revision, source: &'a Source) -> Act<'a> {
    let body = act::Published {
        ruleset: revision.ruleset.clone(),
        title: revision.title.clone(),
        warnings: revision.warnings,
        cases: revision.cases,
    };
    Act {
        kind: LeafKind::Published,
        by: &revision.by,
        instant_ms: revision.instant_ms,
        rules: Some(RulesOf {
            source: Some(&source.bytes),
            ..rules_of(revision)
        }),
        body: body.to_bytes(),
    }
}

/// What the header of an act about a revision says.
pub(super) fn rules_of(revision: &Revision) -> RulesOf<'_> {
    RulesOf {
        ruleset: &revision.ruleset,
        revision: &revision.revision,
        meaning_digest: &revision.meaning_digest,
        text_digest: &revision.text_digest,
        contract_version: revision.contract_version,
        source: None,
    }
}
