//! What two revisions differ in, as messages.

use loftwright_dsl::analysis::{
    Change, How, LineChange, MOST_REGIONS_SHOWN, Named, OutcomeSide, RegionChange, RowSide,
    Version, compare,
};
use loftwright_proto::v1 as pb;

use super::identity;
use crate::registry::Revised;

/// What two revisions differ in.
pub fn comparison(old: &Revised, new: &Revised) -> pb::CompareRevisionsResponse {
    let [before, after] = [old, new].map(|revised| Version {
        program: &revised.program,
        folder: &revised.folder,
    });
    let compared = compare(before, after, MOST_REGIONS_SHOWN);
    pb::CompareRevisionsResponse {
        old: Some(identity(&old.program, &old.source.revision)),
        new: Some(identity(&new.program, &new.source.revision)),
        same_meaning: compared.same_meaning,
        same_text: compared.same_text,
        changes: compared.changes.into_iter().map(change).collect(),
    }
}

fn change(change: Change) -> pb::DeclarationChange {
    let kind = match change.how {
        How::Added => pb::ChangeKind::Added,
        How::Removed => pb::ChangeKind::Removed,
        How::Changed => pb::ChangeKind::Changed,
        How::Reworded => pb::ChangeKind::Reworded,
    };
    pb::DeclarationChange {
        kind: change.kind.to_owned(),
        name: change.name,
        change: kind.into(),
        lines: change.lines.into_iter().map(line).collect(),
        regions: change.regions.into_iter().map(region).collect(),
        more_regions: count(change.more_regions),
        not_by_regions: change.not_by_regions.unwrap_or_default(),
        dependents: change.dependents,
    }
}

fn line(line: LineChange) -> pb::LineChange {
    pb::LineChange {
        what: line.what.to_owned(),
        old: line.old,
        new: line.new,
    }
}

fn region(region: RegionChange) -> pb::RegionChange {
    pb::RegionChange {
        conditions: region.conditions.into_iter().map(named).collect(),
        player: region.player,
        witness: region.witness.into_iter().map(named).collect(),
        witness_is_readings: region.witness_is_readings,
        old: Some(side(region.old)),
        new: Some(side(region.new)),
    }
}

fn side(side: OutcomeSide) -> pb::RegionOutcome {
    pb::RegionOutcome {
        outcome: side.outcome,
        rows: side.rows.into_iter().map(row).collect(),
    }
}

fn row(row: RowSide) -> pb::DecidingRow {
    pb::DecidingRow {
        table: count(row.table),
        row: row.row.map(count),
        text: row.text,
        because: row.because,
    }
}

fn named(named: Named) -> pb::NamedText {
    pb::NamedText {
        name: named.name,
        text: named.text,
    }
}

fn count(number: usize) -> u32 {
    u32::try_from(number).unwrap_or(u32::MAX)
}
