//! Compared regions for people: conditions in the words of rows, a player, outcomes and rows.

use super::rows::{ComparedRegion, ComparedRows, Side, compare_rows};
use super::{Change, Named, OutcomeSide, RegionChange, RowSide, Version};
use crate::analysis::cell_set::CellSet;
use crate::analysis::joint::{Deciding, Standing};
use crate::analysis::landmarks::readings_of;
use crate::analysis::literal_text;
use crate::analysis::row_words::condition_text;
use crate::analysis::sample::inside;
use crate::analysis::sentence::player_sentence;
use crate::analysis::space::Cell;
use crate::analysis::sweep::Region;
use crate::analysis::witness::{Search, find_player};
use crate::analysis::worth::Worth;
use crate::digest::of_decision;
use crate::program::{Column, Decision, Expression, Value};

/// Adds the regions in which a decision differs.
pub(super) fn add(
    change: &mut Change,
    (old, old_decision): (&Version<'_>, &Decision),
    (new, new_decision): (&Version<'_>, &Decision),
    most: usize,
) {
    let has_rows = |decision: &Decision| !decision.tables().is_empty();
    if !has_rows(old_decision) && !has_rows(new_decision) {
        return;
    }
    if of_decision(old.program, old_decision) == of_decision(new.program, new_decision) {
        return;
    }
    if std::mem::discriminant(&old_decision.body) != std::mem::discriminant(&new_decision.body) {
        change.not_by_regions = Some("it is decided in another way".to_owned());
        return;
    }
    let compared = match compare_rows((old, old_decision), (new, new_decision)) {
        Ok(compared) => compared,
        Err(why) => {
            change.not_by_regions = Some(why);
            return;
        }
    };
    let showing = Showing {
        compared: &compared,
        old: (old, old_decision),
        new: (new, new_decision),
    };
    let cut: Vec<ComparedRegion> = compared
        .regions
        .iter()
        .flat_map(|region| showing.cut(region))
        .collect();
    change.regions = cut
        .iter()
        .take(most)
        .map(|region| showing.region(region))
        .collect();
    change.more_regions = cut.len().saturating_sub(most);
}

struct Showing<'s> {
    compared: &'s ComparedRows,
    old: (&'s Version<'s>, &'s Decision),
    new: (&'s Version<'s>, &'s Decision),
}

impl Showing<'_> {
    /// A region cut so that each piece reads as one row.
    fn cut(&self, region: &ComparedRegion) -> Vec<ComparedRegion> {
        let sets = region.sets.clone();
        let pieces = crate::analysis::merge::cut(vec![Region { sets }], &|index, set| match self
            .compared
            .space
            .axes
            .get(index)
        {
            Some(axis) if region.standings.get(index) == Some(&Standing::Known) => axis.pieces(set),
            _ => vec![set.clone()],
        });
        pieces
            .into_iter()
            .map(|piece| ComparedRegion {
                sets: piece.sets,
                ..region.clone()
            })
            .collect()
    }

    fn region(&self, region: &ComparedRegion) -> RegionChange {
        let (witness, player, is_readings) = self.witness(region);
        RegionChange {
            conditions: self.conditions(region),
            player,
            witness,
            witness_is_readings: is_readings,
            old: outcome(self.old, &region.old),
            new: outcome(self.new, &region.new),
        }
    }

    fn conditions(&self, region: &ComparedRegion) -> Vec<Named> {
        let mut conditions = Vec::new();
        for (index, column) in self.compared.columns.iter().enumerate() {
            let (Some(axis), Some(set), Some(standing)) = (
                self.compared.space.axes.get(index),
                region.sets.get(index),
                region.standings.get(index),
            ) else {
                continue;
            };
            let text = match standing {
                Standing::None => "none".to_owned(),
                Standing::Unknown => "unknown".to_owned(),
                Standing::Known if set.is_full(axis.known_len()) => continue,
                Standing::Known => condition_text(&self.compared.vocabularies, column, axis, set),
            };
            conditions.push(Named {
                name: column.text.clone(),
                text,
            });
        }
        conditions
    }

    /// A player of the region: as values, as a sentence, and whether the values are readings.
    fn witness(&self, region: &ComparedRegion) -> (Vec<Named>, String, bool) {
        if let Some((values, player)) = self.found(region) {
            return (values, player, true);
        }
        let values: Vec<Named> = self
            .compared
            .columns
            .iter()
            .enumerate()
            .map(|(index, column)| Named {
                name: column.text.clone(),
                text: self.sample(region, index, column),
            })
            .collect();
        let texts: Vec<String> = values
            .iter()
            .map(|named| format!("`{}` {}", named.name, named.text))
            .collect();
        let player = format!("a player with {}", texts.join(" and "));
        (values, player, false)
    }

    fn sample(&self, region: &ComparedRegion, index: usize, column: &Column) -> String {
        let program = &self.compared.vocabularies;
        let value = || {
            let axis = self.compared.space.axes.get(index)?;
            let set = region.sets.get(index)?;
            match axis.cell(set.first()?)? {
                Cell::Value(value) => Some(value),
                Cell::Point(_) | Cell::Open(..) => {
                    inside(axis, set, &column.shown).map(Value::Number)
                }
                Cell::None | Cell::Unknown => None,
            }
        };
        match region.standings.get(index) {
            Some(Standing::None) => "none".to_owned(),
            Some(Standing::Unknown) => "unknown".to_owned(),
            _ => value().map_or_else(String::new, |value| {
                literal_text(program, &column.shown, column.value.value_type, &value)
            }),
        }
    }

    /// A player by his readings, where the columns are all the new version's, or all the old one's.
    fn found(&self, region: &ComparedRegion) -> Option<(Vec<Named>, String)> {
        let axes = &self.compared.axes;
        let (version, decision, is_new) = if axes.iter().all(|axis| axis.new.is_some()) {
            (self.new.0, self.new.1, true)
        } else if axes.iter().all(|axis| axis.old.is_some()) {
            (self.old.0, self.old.1, false)
        } else {
            return None;
        };
        let columns = axes
            .iter()
            .zip(&self.compared.columns)
            .map(|(axis, column)| {
                let own = if is_new { &axis.new } else { &axis.old };
                let mut column = column.clone();
                if let Some(own) = own {
                    column.value = own.clone();
                }
                column
            });
        let columns: Vec<Column> = columns.collect();
        let mut table = (*decision.tables().first()?).clone();
        table.columns = columns;
        table.rows = Vec::new();
        let mut sets = Vec::new();
        for ((axis, set), standing) in self
            .compared
            .space
            .axes
            .iter()
            .zip(&region.sets)
            .zip(&region.standings)
        {
            sets.push(match standing {
                Standing::Known => set.clone(),
                Standing::None => run_at(axis.none_place()?),
                Standing::Unknown => run_at(axis.unknown_place()?),
            });
        }
        let program = version.program;
        let region = Region { sets };
        match find_player(program, decision, &table, &self.compared.space, &region) {
            Search::Found { given, absent } => {
                let known = given.iter().map(|(id, value)| {
                    let input = &program.inputs[*id];
                    Named {
                        name: input.name.clone(),
                        text: literal_text(program, &input.shown, input.value_type, value),
                    }
                });
                let unknown = absent.iter().map(|id| Named {
                    name: program.inputs[*id].name.clone(),
                    text: "unknown".to_owned(),
                });
                // The sentence leaves out what only makes him a player at all.
                let own: Vec<&Expression> =
                    table.columns.iter().map(|column| &column.value).collect();
                let matter = readings_of(program, &own).inputs;
                let mut said = given.clone();
                said.retain(|(id, _)| matter.contains(id));
                let player = player_sentence(program, &said, &absent);
                Some((known.chain(unknown).collect(), player))
            }
            Search::Impossible | Search::NotFound(_) | Search::NotTried => None,
        }
    }
}

fn run_at(place: usize) -> CellSet {
    CellSet::run(place, place + 1)
}

fn outcome((version, decision): (&Version<'_>, &Decision), side: &Side) -> OutcomeSide {
    let mut rows = Vec::new();
    for (number, (table, deciding)) in decision.tables().iter().zip(&side.deciding).enumerate() {
        let row = match deciding {
            Deciding::Row(row) => table.rows.get(*row).map(|declared| RowSide {
                table: number + 1,
                row: Some(row + 1),
                text: declared.text.clone(),
                because: declared.because.clone(),
            }),
            Deciding::IfUnknown => Some(RowSide {
                table: number + 1,
                row: None,
                text: "if unknown".to_owned(),
                because: None,
            }),
            Deciding::Undecided | Deciding::NoRow | Deciding::DoesNotApply => None,
        };
        rows.extend(row);
    }
    let outcome = match &side.worth {
        Worth::Value(value) => {
            let shown = &decision.shown;
            shown.text(version.program, decision.value_type, value)
        }
        Worth::Formula(_) => "what its rows say".to_owned(),
        Worth::DoesNotApply => "does not apply".to_owned(),
        Worth::Undecided => "not decided: a reading is missing".to_owned(),
        Worth::Contradicted => "cannot happen".to_owned(),
    };
    OutcomeSide { outcome, rows }
}
