//! `ConfirmBuild`, from the request to the two leaves.

use std::sync::Arc;
use std::time::SystemTime;

use loftwright_engine::intake::{nearest, quoted};
use loftwright_proto::v1 as pb;

use super::compare::compare;
use super::form::faults_of_form;
use super::taken::{Taking, put_back};
use crate::audit::act::{BuildConfirmed, BuiltClub, Override, StockChange, WhatChanged};
use crate::audit::leaf::{LeafHeader, LeafKind};
use crate::registry::{Principal, Registry, Stock, Workshop, instant_ms};
use crate::rpc::convert;
use crate::rpc::convert::body::{Body, content_of};
use crate::rpc::recording::{
    Found, Recording, damaged, recorder_refusal, reference, store_refusal,
};
use crate::rpc::refusal::{FieldFault, Refusal};
use crate::rpc::request::together;
use crate::rpc::stock_acts::{self, StockAct, reader, refused_files, with_stock};
use crate::stock::Book;
use crate::store::{Entry, EntryFacts, KnownRequest, Placed, RequestMark, SaltedBody};
use crate::wiped::WipedBytes;

/// What a retry is recognised by.
const REQUEST: &str = "loftwright.v1.ConfirmBuildRequest";

/// The request with all that it is about.
struct Confirming {
    recording: Arc<Recording>,
    registry: Arc<Registry>,
    principal: Arc<Principal>,
    request: pb::ConfirmBuildRequest,
    mark: RequestMark,
    record: Found,
    body: Body,
}

/// What was built, found by comparing.
struct Built {
    clubs: Vec<BuiltClub>,
    overrides: Vec<Override>,
    taking: Taking,
}

/// Confirms a build; one task that goes on to its end also where its caller does not wait.
///
/// # Errors
/// [`Refusal`].
pub(in crate::rpc) async fn confirm(
    recording: Arc<Recording>,
    registry: Arc<Registry>,
    principal: Arc<Principal>,
    request: pb::ConfirmBuildRequest,
) -> Result<pb::ConfirmBuildResponse, Refusal> {
    let faults = faults_of_form(&request);
    if !faults.is_empty() {
        return Err(Refusal::Faults(faults));
    }
    let mark = mark(&recording, &principal, &request)?;
    let known = recording.store.request(mark.id).await;
    if let Some(known) = known.map_err(store_refusal)?
        && !request.validate_only
    {
        return again(&recording, &request, mark, known).await;
    }
    let record = recording.find(&request.record_id).await?;
    if record.leaf.header.kind != LeafKind::Recommendation {
        return Err(Refusal::NoRecommendation(request.record_id.clone()));
    }
    let body = record.read_body()?;
    let body = body.ok_or_else(|| Refusal::RecordErased(request.record_id.clone()))?;
    let confirming = Confirming {
        recording,
        registry,
        principal,
        request,
        mark,
        record,
        body,
    };
    let task = tokio::spawn(async move { confirming.run().await });
    task.await.map_err(|why| {
        tracing::error!(%why, "confirming a build did not end");
        Refusal::OwnFault
    })?
}

fn mark(
    recording: &Recording,
    principal: &Principal,
    request: &pb::ConfirmBuildRequest,
) -> Result<RequestMark, Refusal> {
    let said = pb::ConfirmBuildRequest {
        request_id: String::new(),
        validate_only: false,
        ..request.clone()
    };
    let content = WipedBytes(content_of(REQUEST, &said).ok_or(Refusal::OwnFault)?);
    let id = request.request_id.to_ascii_lowercase();
    let identity = recording.store.identity();
    Ok(identity.request_mark(&principal.name, &id, &content))
}

/// The answer to a request that was recorded before.
async fn again(
    recording: &Recording,
    request: &pb::ConfirmBuildRequest,
    mark: RequestMark,
    known: KnownRequest,
) -> Result<pb::ConfirmBuildResponse, Refusal> {
    if known.content != mark.content {
        return Err(Refusal::RequestIdReused(request.request_id.clone()));
    }
    let found = recording.at(known.position).await?;
    let found = found.ok_or_else(|| damaged("the record of a known request is missing"))?;
    let build = found.read_build()?;
    let build = build.ok_or_else(|| Refusal::RecordErased(found.reference.id.clone()))?;
    Ok(pb::ConfirmBuildResponse {
        build: Some(build_message(recording, &build).await?),
        record: Some(found.reference),
        snapshot: None,
    })
}

impl Confirming {
    async fn run(self) -> Result<pb::ConfirmBuildResponse, Refusal> {
        let built = self.compare();
        let act = self.registry.act().await;
        let earlier = self.earlier().await;
        let (built, earlier) = match (built, earlier) {
            (Ok(built), Ok(earlier)) => (built, earlier),
            (built, earlier) => {
                let built = built.err().map(|why| ("clubs", why));
                let earlier = earlier.err().map(|why| ("supersedes", why));
                return Err(together(built.into_iter().chain(earlier).collect()));
            }
        };
        let before = self.registry.workshop();
        let (stock, all, taken) = self.take(&before, earlier.as_ref(), built.taking)?;
        let build = BuildConfirmed {
            record: self.record.reference.position,
            record_leaf: self.record.leaf.hash().map_err(|_| Refusal::OwnFault)?,
            supersedes: earlier.as_ref().map(|(position, _)| *position),
            clubs: built.clubs,
            overrides: built.overrides,
            stock: taken,
        };
        let message = build_message(&self.recording, &build).await?;
        let after = match with_stock(&before, stock).await? {
            Ok(after) => after,
            Err((stock, faults)) => return Err(refused_files(&stock, &faults)),
        };
        if self.request.validate_only {
            return Ok(pb::ConfirmBuildResponse {
                build: Some(message),
                record: None,
                snapshot: None,
            });
        }
        let mut entries = vec![self.entry(&build)?];
        if !all.is_empty() {
            let of = StockAct {
                kind: LeafKind::Stock,
                by: &self.principal.name,
                instant: SystemTime::now(),
                reason: "a build was confirmed",
                changes: all,
                record: Some(build.record),
            };
            entries.push(stock_acts::entry(&after, of)?);
        }
        let is_changed = entries.len() > 1;
        let placed = self.recording.recorder.keep_together(entries).await;
        let placed = placed.map_err(recorder_refusal)?;
        let (position, leaf) = match placed.first() {
            Some(Placed::New { position, leaf }) => (*position, *leaf),
            Some(Placed::Known(known)) => {
                return again(&self.recording, &self.request, self.mark, *known).await;
            }
            None => return Err(Refusal::OwnFault),
        };
        let snapshot = convert::snapshot(&reader(&after)?.stock);
        if is_changed {
            self.registry.put_in_force(&act, after);
        }
        Ok(pb::ConfirmBuildResponse {
            build: Some(message),
            record: Some(reference(position, leaf)),
            snapshot: Some(snapshot),
        })
    }

    /// Every club of the recommendation beside what was said of it.
    fn compare(&self) -> Result<Built, Refusal> {
        let recommendation = &self.body.recommendation;
        let mut faults = self.unknown_clubs();
        let mut built = Built {
            clubs: Vec::new(),
            overrides: Vec::new(),
            taking: Taking::default(),
        };
        for club in recommendation.clubs.iter().filter(|club| !club.is_kept) {
            let mut sent = self.request.clubs.iter().enumerate();
            let sent = sent.find(|(_, sent)| sent.name == club.name);
            if let Some((_, sent)) = sent
                && !sent.not_built.trim().is_empty()
            {
                built.not_built(&club.name, &sent.not_built);
                continue;
            }
            let sent = sent.map(|(place, sent)| (format!("clubs[{place}]"), sent));
            let sent = sent.as_ref().map(|(path, sent)| (path.as_str(), *sent));
            match compare(recommendation, club, sent) {
                Ok(compared) => {
                    built.taking.club(&club.name, &compared.parts);
                    built.clubs.push(compared.built);
                    built.overrides.extend(compared.overrides);
                }
                Err(more) => faults.extend(more),
            }
        }
        match faults.is_empty() {
            true => Ok(built),
            false => Err(Refusal::Faults(faults)),
        }
    }

    /// The faults of clubs that are not in the recommendation, or of which nothing is built.
    fn unknown_clubs(&self) -> Vec<FieldFault> {
        let clubs = &self.body.recommendation.clubs;
        let fault = |(place, sent): (usize, &pb::BuiltClub)| {
            let found = clubs.iter().find(|club| club.name == sent.name);
            let sentence = match found {
                Some(club) if !club.is_kept => return None,
                Some(_) => format!("the player keeps the {}: nothing is built", sent.name),
                None => {
                    let names: Vec<&str> = clubs.iter().map(|club| club.name.as_str()).collect();
                    let near = nearest(&sent.name, names.iter().copied());
                    let near = near.map_or_else(String::new, |near| {
                        format!("did you mean {}? ", quoted(near))
                    });
                    let list: Vec<String> = names.iter().map(|name| quoted(name)).collect();
                    let sent = quoted(&sent.name);
                    match list.is_empty() {
                        true => format!("{sent} was sent; the recommendation has no clubs"),
                        false => {
                            format!("{sent} was sent; {near}the clubs are {}", list.join(", "))
                        }
                    }
                }
            };
            let field = format!("clubs[{place}].name");
            Some(FieldFault { field, sentence })
        };
        self.request
            .clubs
            .iter()
            .enumerate()
            .filter_map(fault)
            .collect()
    }

    /// The confirmation that this one replaces: its place, and what it says.
    async fn earlier(&self) -> Result<Option<(u64, BuildConfirmed)>, Refusal> {
        let position = self.record.reference.position;
        let later = self.recording.store.about(position).await;
        let mut last = None;
        for place in later.map_err(store_refusal)? {
            let found = self.recording.at(place).await?;
            let found = found.ok_or_else(|| damaged("a record that another names is missing"))?;
            if found.leaf.header.kind == LeafKind::BuildConfirmed {
                last = Some(found);
            }
        }
        let sent = &self.request.supersedes;
        match last {
            None if sent.is_empty() => Ok(None),
            None => Err(supersedes_fault(format!(
                "{} was sent; no build of this record was confirmed",
                quoted(sent)
            ))),
            Some(found) if sent.is_empty() => Err(Refusal::BuiltAlready {
                record: self.request.record_id.clone(),
                confirmation: found.reference.id,
            }),
            Some(found) if found.reference.id != *sent => Err(supersedes_fault(format!(
                "{} was sent; the confirmation in force is {}",
                quoted(sent),
                quoted(&found.reference.id)
            ))),
            Some(found) => {
                let build = found.read_build()?;
                let build = build.ok_or_else(|| Refusal::RecordErased(sent.clone()))?;
                Ok(Some((found.reference.position, build)))
            }
        }
    }

    /// The stock without the pieces; all changes of it, and what this build alone takes.
    fn take(
        &self,
        before: &Workshop,
        earlier: Option<&(u64, BuildConfirmed)>,
        taking: Taking,
    ) -> Result<(Stock, Vec<StockChange>, Vec<StockChange>), Refusal> {
        let ruleset = reader(before)?;
        let mut book = Book::new(&ruleset.program, &ruleset.parts);
        if let Some((_, earlier)) = earlier {
            put_back(&mut book, &earlier.stock).map_err(Refusal::Faults)?;
        }
        let put_back = book.changes();
        taking.take(&mut book).map_err(Refusal::PiecesGone)?;
        let changed = book.finish(&before.stock().files);
        let taken = changed.changes.iter().skip(put_back).cloned().collect();
        let stock = Stock {
            name: before.stock().name.clone(),
            files: changed.files,
            as_of: Some(SystemTime::now()),
        };
        Ok((stock, changed.changes, taken))
    }

    fn entry(&self, build: &BuildConfirmed) -> Result<Entry, Refusal> {
        let of = &self.record.leaf.header;
        let instant = SystemTime::now();
        let identity = self.body.recommendation.ruleset.as_ref();
        Ok(Entry {
            header: LeafHeader {
                position: 0,
                instant_ms: instant_ms(instant).ok_or(Refusal::OwnFault)?,
                kind: LeafKind::BuildConfirmed,
                principal: self.principal.name.clone(),
                request_id_hash: None,
                subject_commitment: None,
                ..of.clone()
            },
            subject: Some(self.body.request.subject.clone()),
            body: SaltedBody::new(build.to_bytes().map_err(|_| Refusal::OwnFault)?)
                .map_err(|_| Refusal::OwnFault)?,
            request: Some(self.mark),
            facts: EntryFacts {
                ruleset: identity.map(|identity| identity.name.clone()),
                outcome: None,
                about: Some(build.record),
            },
            blobs: Vec::new(),
        })
    }
}

impl Built {
    fn not_built(&mut self, club: &str, reason: &str) {
        self.clubs.push(BuiltClub {
            name: club.to_owned(),
            fields: std::collections::BTreeMap::new(),
        });
        self.overrides.push(Override {
            club: club.to_owned(),
            field: None,
            recommended: None,
            built: None,
            reason: reason.trim().to_owned(),
            decision: None,
            row: None,
        });
    }
}

fn supersedes_fault(sentence: String) -> Refusal {
    Refusal::Faults(vec![FieldFault {
        field: "supersedes".to_owned(),
        sentence,
    }])
}

/// A build as a message.
pub(in crate::rpc) async fn build_message(
    recording: &Recording,
    build: &BuildConfirmed,
) -> Result<pb::Build, Refusal> {
    let supersedes = match build.supersedes {
        Some(position) => recording.reference_at(position).await?.id,
        None => String::new(),
    };
    let club = |club: &BuiltClub| pb::ConfirmedClub {
        name: club.name.clone(),
        fields: club
            .fields
            .iter()
            .map(|(name, text)| pb::NamedText {
                name: name.clone(),
                text: text.clone(),
            })
            .collect(),
    };
    Ok(pb::Build {
        record_id: reference(build.record, build.record_leaf).id,
        supersedes,
        clubs: build.clubs.iter().map(club).collect(),
        overrides: build.overrides.iter().map(override_message).collect(),
        stock: build.stock.iter().map(movement).collect(),
    })
}

fn override_message(difference: &Override) -> pb::BuildOverride {
    let text = |text: &Option<String>| text.clone().unwrap_or_default();
    pb::BuildOverride {
        club: difference.club.clone(),
        field: text(&difference.field),
        recommended: text(&difference.recommended),
        built: text(&difference.built),
        reason: difference.reason.clone(),
        decision: text(&difference.decision),
        table: difference.row.map_or(0, |row| row.table),
        row: difference.row.map_or(0, |row| row.row),
    }
}

fn movement(change: &StockChange) -> pb::StockMovement {
    let (piece_id, change_by) = match &change.what {
        WhatChanged::Added(piece) => (Some(piece.id.clone()), 1),
        WhatChanged::Removed(piece) => (Some(piece.id.clone()), -1),
        WhatChanged::Counted { before, after } => (None, after.saturating_sub(before.unwrap_or(0))),
    };
    pb::StockMovement {
        kind: change.kind.clone(),
        part_id: change.part.clone(),
        piece_id,
        change_by,
    }
}
