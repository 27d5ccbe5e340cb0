//! `PartsService`: the catalogue published, the stock kept up to date, what is on hand.
//!
//! A change takes the right to change what is in force, looks at everything, is recorded, and is in
//! force then: one task that goes on to its end also where its caller does not wait.

use std::sync::Arc;
use std::time::SystemTime;

use loftwright_proto::v1 as pb;
use loftwright_proto::v1::parts_service_server::PartsService;
use tonic::{Request, Response, Status};

use super::convert;
use super::page_token::PageTokens;
use super::parts_list::{MOST_ITEMS, USUAL_ITEMS, items, kinds_on_hand};
use super::parts_source::{check_expected, check_reason, check_stock_name, fault, files};
use super::principal::principal_of;
use super::recording::Recording;
use super::refusal::{FieldFault, Refusal};
use super::stock_acts::{self, StockAct, finding_messages, reader, refused_files, with_stock};
use super::stock_changes;
use crate::audit::act::StockChange;
use crate::audit::leaf::LeafKind;
use crate::files::{FileFault, PartsFiles, TextFile};
use crate::registry::{Registry, Stock, Workshop};

/// The service over the stock in force.
#[derive(Clone, Debug)]
pub struct PartsOnHand {
    registry: Arc<Registry>,
    recording: Option<Arc<Recording>>,
    tokens: PageTokens,
}

/// A change that was asked for and is of good form.
struct Change {
    kind: LeafKind,
    by: String,
    reason: String,
    expected: String,
    validate_only: bool,
    /// Whether pieces that builds took are on hand again.
    pieces_came_back: bool,
    what: What,
}

/// What is to be changed.
enum What {
    /// Files of one side or both, and the name.
    Files {
        catalogue: Option<Vec<TextFile>>,
        stock: Option<Vec<TextFile>>,
        name: Option<String>,
    },
    /// Pieces and counts.
    Pieces(pb::StockChanges),
}

/// What came of it.
struct Changed {
    snapshot: Option<pb::PartsSnapshot>,
    record: Option<pb::RecordReference>,
    findings: Vec<pb::Finding>,
    kinds: Vec<pb::KindOnHand>,
}

impl PartsOnHand {
    /// A service over this registry, that records what it changes.
    pub fn new(registry: Arc<Registry>, recording: Option<Arc<Recording>>) -> Self {
        PartsOnHand {
            registry,
            recording,
            tokens: PageTokens::new(),
        }
    }

    async fn change(&self, change: Change) -> Result<Changed, Refusal> {
        let service = self.clone();
        let task = tokio::spawn(async move { service.change_to_the_end(change).await });
        task.await.map_err(|why| {
            tracing::error!(%why, "a change of the stock did not end");
            Refusal::OwnFault
        })?
    }

    async fn change_to_the_end(&self, change: Change) -> Result<Changed, Refusal> {
        if self.recording.is_none() && !change.validate_only {
            return Err(Refusal::RecordsNotKept);
        }
        let act = self.registry.act().await;
        let before = self.registry.workshop();
        stock_acts::check_expected(&before, &change.expected)?;
        let instant = SystemTime::now();
        let (stock, mut changes, lines) = new_stock(&before, &change.what, instant)?;
        let after = match with_stock(&before, stock).await? {
            Ok(after) => after,
            Err((stock, faults)) => return change.refused(lines, &stock, faults),
        };
        let ruleset = reader(&after)?;
        let mut changed = Changed {
            snapshot: Some(convert::snapshot(&ruleset.stock)),
            record: None,
            findings: Vec::new(),
            kinds: kinds_on_hand(ruleset),
        };
        let Some(recording) = &self.recording else {
            return Ok(changed);
        };
        if let What::Files { stock: Some(_), .. } = &change.what {
            let back = stock_acts::coming_back(recording, &before, &after).await?;
            if !back.is_empty() && !change.pieces_came_back {
                return Err(stock_acts::refused_pieces(recording, &back).await?);
            }
            changes.extend(back.into_iter().map(|(came, _)| came));
        }
        if change.validate_only {
            return Ok(changed);
        }
        let entry = stock_acts::entry(
            &after,
            StockAct {
                kind: change.kind,
                by: &change.by,
                instant,
                reason: &change.reason,
                changes,
                record: None,
            },
        )?;
        changed.record = Some(stock_acts::record(recording, entry).await?);
        let digest = &ruleset.stock.digest;
        tracing::info!(
            by = change.by,
            kind = change.kind.text(),
            digest,
            "parts changed"
        );
        self.registry.put_in_force(&act, after);
        Ok(changed)
    }
}

impl Change {
    /// What comes of a stock that the rules cannot read.
    fn refused(
        &self,
        lines: Option<Lines>,
        stock: &Stock,
        faults: Vec<FileFault>,
    ) -> Result<Changed, Refusal> {
        match (&self.what, lines) {
            (What::Pieces(changes), Some(lines)) => {
                Err(stock_changes::refused(&lines, changes, faults))
            }
            _ if self.validate_only => Ok(Changed {
                snapshot: None,
                record: None,
                findings: finding_messages(stock, &faults),
                kinds: Vec::new(),
            }),
            _ => Err(refused_files(stock, &faults)),
        }
    }
}

/// Where the added pieces stand in the files that were written of them.
type Lines = std::collections::BTreeMap<(String, usize), (String, String)>;

/// The stock that is wanted, and for single changes what they are and where they stand.
fn new_stock(
    before: &Workshop,
    what: &What,
    instant: SystemTime,
) -> Result<(Stock, Vec<StockChange>, Option<Lines>), Refusal> {
    let current = before.stock();
    let stock = |name: String, files: PartsFiles| Stock {
        name,
        files,
        as_of: Some(instant),
    };
    match what {
        What::Files {
            catalogue,
            stock: pieces,
            name,
        } => {
            let kept = |side: &str| {
                let files = current.files.files().iter();
                let of_side = files.filter(|file| file.folder_and_name().0 == side);
                // Where the service once read them is nothing to its callers.
                let as_sent = |file: &TextFile| TextFile {
                    shown: file.path.clone(),
                    ..file.clone()
                };
                of_side.map(as_sent).collect::<Vec<_>>()
            };
            let mut files = catalogue.clone().unwrap_or_else(|| kept("catalogue"));
            files.extend(pieces.clone().unwrap_or_else(|| kept("stock")));
            let name = name.clone().unwrap_or_else(|| current.name.clone());
            Ok((stock(name, PartsFiles::of(files)), Vec::new(), None))
        }
        What::Pieces(changes) => {
            let ruleset = reader(before)?;
            let changed = stock_changes::apply(ruleset, &current.files, changes)?;
            let stock = stock(current.name.clone(), changed.files);
            Ok((stock, changed.changes, Some(changed.lines)))
        }
    }
}

#[tonic::async_trait]
impl PartsService for PartsOnHand {
    async fn publish_catalogue(
        &self,
        request: Request<pb::PublishCatalogueRequest>,
    ) -> Result<Response<pb::PublishCatalogueResponse>, Status> {
        let by = principal_of(&request)?.name.clone();
        let request = request.into_inner();
        let mut faults = Vec::new();
        check_reason("reason", &request.reason, &mut faults);
        check_expected(&request.expected_digest, &mut faults);
        check_stock_name(&request.stock_name, &mut faults);
        let catalogue = request.catalogue.unwrap_or_default();
        if catalogue.files.is_empty() {
            let sentence = "no file was sent; a catalogue has one for each kind of part";
            faults.push(fault("catalogue.files", sentence.to_owned()));
        }
        let catalogue = files("catalogue", "catalogue", &catalogue, &mut faults);
        let stock = request.stock.as_ref();
        let stock = stock.map(|sent| files("stock", "stock", sent, &mut faults));
        good_form(faults)?;
        let change = Change {
            kind: LeafKind::Catalogue,
            by,
            reason: request.reason,
            expected: request.expected_digest,
            validate_only: request.validate_only,
            pieces_came_back: request.pieces_came_back,
            what: What::Files {
                catalogue: Some(catalogue),
                stock,
                name: Some(request.stock_name).filter(|name| !name.is_empty()),
            },
        };
        let changed = self.change(change).await?;
        Ok(Response::new(pb::PublishCatalogueResponse {
            snapshot: changed.snapshot,
            record: changed.record,
            findings: changed.findings,
            kinds: changed.kinds,
        }))
    }

    async fn update_stock(
        &self,
        request: Request<pb::UpdateStockRequest>,
    ) -> Result<Response<pb::UpdateStockResponse>, Status> {
        use pb::update_stock_request::Update;
        let by = principal_of(&request)?.name.clone();
        let request = request.into_inner();
        let mut faults = Vec::new();
        check_reason("reason", &request.reason, &mut faults);
        check_expected(&request.expected_digest, &mut faults);
        let what = match request.update {
            Some(Update::Whole(sent)) => What::Files {
                catalogue: None,
                stock: Some(files("whole", "stock", &sent, &mut faults)),
                name: None,
            },
            Some(Update::Changes(changes)) => {
                stock_changes::check(&changes, &mut faults);
                What::Pieces(changes)
            }
            None => {
                let sentence = "nothing was sent; send the whole stock, or changes of it";
                faults.push(fault("update", sentence.to_owned()));
                What::Pieces(pb::StockChanges::default())
            }
        };
        good_form(faults)?;
        let change = Change {
            kind: LeafKind::Stock,
            by,
            reason: request.reason,
            expected: request.expected_digest,
            validate_only: request.validate_only,
            pieces_came_back: request.pieces_came_back,
            what,
        };
        let changed = self.change(change).await?;
        Ok(Response::new(pb::UpdateStockResponse {
            snapshot: changed.snapshot,
            record: changed.record,
            findings: changed.findings,
            kinds: changed.kinds,
        }))
    }

    async fn list_stock(
        &self,
        request: Request<pb::ListStockRequest>,
    ) -> Result<Response<pb::ListStockResponse>, Status> {
        let request = request.get_ref();
        let workshop = self.registry.workshop();
        let ruleset = reader(&workshop)?;
        let wanted = match usize::try_from(request.page_size) {
            Ok(0) => USUAL_ITEMS,
            Ok(wanted) => wanted.min(MOST_ITEMS),
            Err(_) => {
                let sentence = format!("{} was sent; a page has 0 or more", request.page_size);
                return Err(Refusal::Faults(vec![fault("page_size", sentence)]).into());
            }
        };
        // What the pages rest on: the filter, and the stock as it is.
        let list = [&ruleset.stock.digest, &request.kind, &request.part].map(String::as_str);
        let list = list.join("\n");
        let first = self.tokens.open(&list, &request.page_token)?.unwrap_or(0);
        let first = usize::try_from(first).map_err(|_| Refusal::OwnFault)?;
        let mut found = items(ruleset, &request.kind, &request.part)?.skip(first);
        let items: Vec<pb::StockItem> = found.by_ref().take(wanted).collect();
        let next = match found.next() {
            None => String::new(),
            Some(_) => {
                let place = u64::try_from(first + items.len()).map_err(|_| Refusal::OwnFault)?;
                self.tokens.seal(&list, place)?
            }
        };
        Ok(Response::new(pb::ListStockResponse {
            items,
            next_page_token: next,
            snapshot: Some(convert::snapshot(&ruleset.stock)),
            kinds: kinds_on_hand(ruleset),
        }))
    }
}

fn good_form(faults: Vec<FieldFault>) -> Result<(), Refusal> {
    match faults.is_empty() {
        true => Ok(()),
        false => Err(Refusal::Faults(faults)),
    }
}
