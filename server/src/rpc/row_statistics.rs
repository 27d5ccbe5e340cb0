//! How often the rows of a revision decided, were borderline, and were overridden.
//!
//! The records are gone through one by one, the newest first, and none is held: so a confirmation
//! that replaced another is met before the one that it replaced. Only counts are kept. The rows
//! that no record names come from the rules: what never decides is what a manager looks for.

use std::collections::{BTreeMap, BTreeSet};

use loftwright_dsl::program::{Decision, Program};
use loftwright_proto::v1 as pb;

use super::convert::body::Body;
use super::recording::{Recording, damaged, store_refusal};
use super::refusal::Refusal;
use crate::audit::act::{BuildConfirmed, Override};
use crate::audit::leaf::LeafKind;
use crate::registry::{Registry, hash_of};
use crate::store::{ListFilter, Listed};

/// How many records are asked for at once.
const RECORDS_AT_ONCE: usize = 256;

/// A row, or a decision without rows: its name, table and row.
type Row = (String, u32, u32);

/// The counts of a revision.
#[derive(Default)]
struct Counts {
    rows: BTreeMap<Row, pb::RowCount>,
    recommendations: u64,
    erased: u64,
    builds: u64,
    /// Confirmations that a later one replaced.
    replaced: BTreeSet<u64>,
}

/// The statistics of a revision.
///
/// # Errors
/// [`Refusal`].
pub(crate) async fn row_statistics(
    registry: &Registry,
    recording: &Recording,
    request: &pb::RowStatisticsRequest,
) -> Result<pb::RowStatisticsResponse, Refusal> {
    let identity = identity(registry, request)?;
    let mut counts = count(recording, &identity.revision).await?;
    let rules_unread = match registry.revised(&identity.name, &identity.revision).await {
        Ok(revised) => {
            counts.rows_of_rules(&revised.program);
            String::new()
        }
        Err(why) => why.to_string(),
    };
    Ok(pb::RowStatisticsResponse {
        ruleset: Some(identity),
        recommendations: counts.recommendations,
        erased: counts.erased,
        builds: counts.builds,
        rows: counts.rows.into_values().collect(),
        rules_unread,
    })
}

/// The revision that is asked for.
fn identity(
    registry: &Registry,
    request: &pb::RowStatisticsRequest,
) -> Result<pb::RulesetIdentity, Refusal> {
    let workshop = registry.workshop();
    let name = match request.ruleset.as_str() {
        "" => workshop
            .reader()
            .map(|usual| usual.program.name.clone())
            .unwrap_or_default(),
        name => name.to_owned(),
    };
    let ledger = registry.ledger();
    let in_force = || {
        ledger
            .in_force(&name)
            .map(|activation| activation.revision.as_str())
    };
    let wanted = match request.revision.as_str() {
        "" => in_force().unwrap_or_default(),
        sent => sent,
    };
    let found = ledger
        .revision(&name, wanted)
        .map(super::ruleset_history::identity);
    if let Some(identity) = found {
        return Ok(identity);
    }
    let known: Vec<String> = ledger.names().map(str::to_owned).collect();
    if !known.contains(&name) {
        return Err(Refusal::UnknownRuleset { sent: name, known });
    }
    let known = ledger
        .revisions(&name)
        .iter()
        .map(|one| one.revision.clone());
    Err(Refusal::UnknownRevision {
        known: known.collect(),
        sent: wanted.to_owned(),
        ruleset: name,
    })
}

async fn count(recording: &Recording, revision: &str) -> Result<Counts, Refusal> {
    let filter = ListFilter {
        kinds: vec![LeafKind::Recommendation, LeafKind::BuildConfirmed],
        revision: hash_of(revision),
        ..ListFilter::default()
    };
    let mut counts = Counts::default();
    let mut before = None;
    loop {
        let page = recording.store.list(&filter, before, RECORDS_AT_ONCE).await;
        let page = page.map_err(store_refusal)?;
        let Some(last) = page.last() else {
            break;
        };
        before = Some(last.position);
        for listed in &page {
            counts.take_in(recording, listed).await?;
        }
    }
    Ok(counts)
}

impl Counts {
    async fn take_in(&mut self, recording: &Recording, listed: &Listed) -> Result<(), Refusal> {
        let found = recording.at(listed.position).await?;
        let found = found.ok_or_else(|| damaged("a record of the list is missing"))?;
        if listed.kind == LeafKind::Recommendation {
            match found.read_body()? {
                Some(body) => self.recommendation(&body),
                None => self.erased += 1,
            }
            return Ok(());
        }
        let Some(build) = found.read_build()? else {
            return Ok(());
        };
        self.replaced.extend(build.supersedes);
        if !self.replaced.remove(&listed.position)
            && let Some(body) = recording.body_at(build.record).await?
        {
            self.build(&build, &body);
        }
        Ok(())
    }

    fn recommendation(&mut self, body: &Body) {
        self.recommendations += 1;
        let recommendation = &body.recommendation;
        for report in &recommendation.decisions {
            for row in rows_of(report) {
                self.row(row, report).decided += 1;
            }
        }
        // Several readings may be near a bound of one decision.
        let near: BTreeSet<_> = recommendation
            .borderlines
            .iter()
            .map(|near| (near.decision.as_str(), near.club.as_deref()))
            .collect();
        for (decision, club) in near {
            let mut reports = recommendation.decisions.iter();
            let report =
                reports.find(|report| report.name == decision && report.club.as_deref() == club);
            if let Some(report) = report
                && let Some(row) = rows_of(report).into_iter().next()
            {
                self.row(row, report).borderline += 1;
            }
        }
    }

    fn build(&mut self, build: &BuildConfirmed, body: &Body) {
        self.builds += 1;
        let is_built = |club: Option<&str>| {
            club.is_none_or(|name| {
                let mut clubs = build.clubs.iter();
                clubs.any(|club| club.name == name && !club.fields.is_empty())
            })
        };
        for report in &body.recommendation.decisions {
            let club = report.club.as_deref();
            if !is_built(club) {
                continue;
            }
            let is_of_it = |one: &&Override| {
                one.decision.as_deref() == Some(&report.name)
                    && club.is_none_or(|club| club == one.club)
            };
            let is_overridden = build.overrides.iter().any(|one| is_of_it(&one));
            for row in rows_of(report) {
                let count = self.row(row, report);
                count.built += 1;
                count.overridden += u64::from(is_overridden);
            }
        }
    }

    fn row(&mut self, row: Row, report: &pb::DecisionReport) -> &mut pb::RowCount {
        let rule = || rule_of(report, row.1, row.2);
        self.rows
            .entry(row.clone())
            .or_insert_with(|| uncounted(&row, rule()))
    }

    /// Lists every row of the rules; those that no record names have no counts.
    fn rows_of_rules(&mut self, program: &Program) {
        let choices = program.chooses.iter();
        let choices = choices.map(|choice| ((choice.name.clone(), 0, 0), String::new()));
        let written = program.decisions.iter().flat_map(rows_as_written);
        for (row, rule) in written.chain(choices) {
            let count = uncounted(&row, rule);
            self.rows.entry(row).or_insert(count);
        }
    }
}

fn uncounted((decision, table, row): &Row, rule: String) -> pb::RowCount {
    pb::RowCount {
        decision: decision.clone(),
        table: *table,
        row: *row,
        rule,
        ..pb::RowCount::default()
    }
}

/// The rows of a decision as they are written; of one that has none, the decision itself.
fn rows_as_written(decision: &Decision) -> Vec<(Row, String)> {
    let from_one = |index: usize| u32::try_from(index).unwrap_or(u32::MAX).saturating_add(1);
    let tables = decision.tables();
    if tables.is_empty() {
        return vec![((decision.name.clone(), 0, 0), String::new())];
    }
    let mut written = Vec::new();
    for (table, rows) in tables.into_iter().enumerate() {
        for (row, found) in rows.rows.iter().enumerate() {
            let row = (decision.name.clone(), from_one(table), from_one(row));
            written.push((row, found.text.clone()));
        }
    }
    written
}

/// The rows that gave a decision its value, in their order; of one that has none, the decision
/// itself. None where it came to nothing.
fn rows_of(report: &pb::DecisionReport) -> Vec<Row> {
    let is_settled = matches!(
        report.ending(),
        pb::Ending::Decided | pb::Ending::Chosen | pb::Ending::Ordered
    );
    if !is_settled {
        return Vec::new();
    }
    let steps = report.steps.iter();
    let rows: Vec<Row> = steps
        .filter_map(|step| Some((report.name.clone(), step.table?, step.row?)))
        .collect();
    match rows.is_empty() {
        true => vec![(report.name.clone(), 0, 0)],
        false => rows,
    }
}

fn rule_of(report: &pb::DecisionReport, table: u32, row: u32) -> String {
    let mut steps = report.steps.iter();
    let step = steps.find(|step| step.table == Some(table) && step.row == Some(row));
    step.map_or_else(String::new, |step| step.rule.clone())
}
