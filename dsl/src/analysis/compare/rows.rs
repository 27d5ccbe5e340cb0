//! The rows of two versions of a decision, held against each other region by region.
//!
//! The tables of both versions stand in one joint space. Columns are the same where their
//! expressions are, once names are resolved; what lies behind a name may have changed, and that is
//! said of the name, not here. Every situation and every region of the space has an old worth and a
//! new one; where they differ the region is reported.

use std::collections::BTreeMap;
use std::ops::ControlFlow;

use super::Version;
use crate::analysis::cell_set::CellSet;
use crate::analysis::joint::{Deciding, Joint, Standing};
use crate::analysis::merge::merged;
use crate::analysis::space::Space;
use crate::analysis::sweep::{Region, Swept};
use crate::analysis::worth::{Worth, worth};
use crate::digest::of_expression;
use crate::program::{
    Column, Decision, Expression, ExpressionKind, Program, Table, Type, Vocabulary,
};

/// The most boxes of a comparison.
const MOST_BOXES: usize = 200_000;

/// Two versions of a decision's rows in one space.
#[derive(Clone, Debug)]
pub struct ComparedRows {
    /// The columns of both, each once.
    pub axes: Vec<ComparedAxis>,
    /// The cells of the columns.
    pub space: Space,
    /// Where the outcomes differ; disjoint, in order.
    pub regions: Vec<ComparedRegion>,
    /// The vocabularies of both versions, for the values of `space`.
    pub vocabularies: Program,
    /// A column for each axis, with types of `vocabularies`.
    pub columns: Vec<Column>,
}

/// A column of one version or of both.
#[derive(Clone, Debug)]
pub struct ComparedAxis {
    /// As it is written.
    pub text: String,
    /// The old version's expression, where it has the column.
    pub old: Option<Expression>,
    /// The new version's, where it has the column.
    pub new: Option<Expression>,
}

/// A region in which the outcomes differ.
#[derive(Clone, Debug)]
pub struct ComparedRegion {
    /// What is known on each axis.
    pub standings: Vec<Standing>,
    /// The known values on each axis; everything where none is known.
    pub sets: Vec<CellSet>,
    /// What the old version comes to.
    pub old: Side,
    /// What the new one comes to.
    pub new: Side,
}

/// What one version comes to in a region.
#[derive(Clone, Debug)]
pub struct Side {
    /// The outcome.
    pub worth: Worth,
    /// What each table comes to.
    pub deciding: Vec<Deciding>,
}

/// Compares the rows; an error says why they cannot be held against each other.
pub fn compare_rows(
    (old, old_decision): (&Version<'_>, &Decision),
    (new, new_decision): (&Version<'_>, &Decision),
) -> Result<ComparedRows, String> {
    let mut types = Types::new(old.program, new.program);
    let old_type = of_old(old_decision.value_type)?;
    if old_type != types.of_new(new_decision.value_type)? {
        return Err("its type is another".to_owned());
    }
    let mut axes: Vec<(String, ComparedAxis)> = Vec::new();
    let mut tables: Vec<Table> = Vec::new();
    let old_count = old_decision.tables().len();
    let all = old_decision
        .tables()
        .into_iter()
        .chain(new_decision.tables());
    for (number, table) in all.enumerate() {
        let is_old = number < old_count;
        let program = if is_old { old.program } else { new.program };
        let mut table = table.clone();
        for column in &mut table.columns {
            let key = of_expression(program, &column.value);
            note_axis(&mut axes, &key, column, is_old);
            column.value.value_type = match is_old {
                true => of_old(column.value.value_type)?,
                false => types.of_new(column.value.value_type)?,
            };
            column.text = key;
        }
        tables.push(table);
    }
    same_ranges(&axes, &mut tables)?;
    let vocabularies = types.into_program();
    let (space, columns) = {
        let refs: Vec<&Table> = tables.iter().collect();
        let space = Space::of_tables(&vocabularies, &refs);
        let columns = axes
            .iter()
            .filter_map(|(key, axis)| {
                let columns = tables.iter().flat_map(|table| &table.columns);
                let mut column = columns
                    .into_iter()
                    .find(|column| column.text == *key)?
                    .clone();
                column.text.clone_from(&axis.text);
                Some(column)
            })
            .collect();
        (space, columns)
    };
    let axes: Vec<ComparedAxis> = axes.into_iter().map(|(_, axis)| axis).collect();
    let refs: Vec<&Table> = tables.iter().collect();
    let joint = Joint::new(refs, space.clone());
    let comparing = Comparing {
        old: (old.program, old_decision),
        new: (new.program, new_decision),
        old_count,
        axes: &axes,
    };
    let regions = comparing.regions(&joint)?;
    Ok(ComparedRows {
        axes,
        space,
        regions,
        vocabularies,
        columns,
    })
}

fn note_axis(axes: &mut Vec<(String, ComparedAxis)>, key: &str, column: &Column, is_old: bool) {
    let known = axes.iter().position(|(known, _)| known == key);
    let index = known.unwrap_or_else(|| {
        let axis = ComparedAxis {
            text: column.text.clone(),
            old: None,
            new: None,
        };
        axes.push((key.to_owned(), axis));
        axes.len().saturating_sub(1)
    });
    if let Some((_, axis)) = axes.get_mut(index) {
        let side = if is_old { &mut axis.old } else { &mut axis.new };
        side.get_or_insert_with(|| column.value.clone());
    }
}

/// Both versions are held against each other where both have a range.
fn same_ranges(axes: &[(String, ComparedAxis)], tables: &mut [Table]) -> Result<(), String> {
    for (key, axis) in axes {
        let columns = || tables.iter().flat_map(|table| &table.columns);
        let ranges = columns()
            .filter(|column| column.text == *key)
            .filter_map(|column| column.between);
        let narrowest = ranges.reduce(|one, two| (one.0.max(two.0), one.1.min(two.1)));
        if narrowest.is_some_and(|(low, high)| low > high) {
            return Err(format!("the ranges of `{}` do not meet", axis.text));
        }
        for table in tables.iter_mut() {
            let own = table
                .columns
                .iter_mut()
                .filter(|column| column.text == *key);
            for column in own {
                column.between = narrowest;
            }
        }
    }
    Ok(())
}

/// Whether a column is always known: a reading with a default, or one that the engine fills.
fn is_always_known(program: &Program, value: &Expression) -> bool {
    match &value.kind {
        ExpressionKind::Input(id) => {
            let input = &program.inputs[*id];
            (input.default.is_some() || input.filled_by_the_engine) && input.only_when.is_none()
        }
        ExpressionKind::Constant(_) => true,
        _ => false,
    }
}

struct Comparing<'c> {
    old: (&'c Program, &'c Decision),
    new: (&'c Program, &'c Decision),
    old_count: usize,
    axes: &'c [ComparedAxis],
}

/// What a group of regions has in common: what is known, what each table comes to.
type Group = (Vec<Standing>, Vec<Deciding>);

impl Comparing<'_> {
    fn regions(&self, joint: &Joint<'_>) -> Result<Vec<ComparedRegion>, String> {
        if !joint.has_cells() {
            return Err("a column of texts has no regions".to_owned());
        }
        let may_be_unknown = |axis: usize| {
            self.axes.get(axis).is_none_or(|axis| {
                let known = |program, value: &Option<Expression>| {
                    value
                        .as_ref()
                        .is_none_or(|value| is_always_known(program, value))
                };
                !(known(self.old.0, &axis.old) && known(self.new.0, &axis.new))
            })
        };
        let situations = joint
            .situations(&may_be_unknown)
            .ok_or("its columns can be unknown in very many ways at once")?;
        let mut groups: BTreeMap<Group, Vec<Region>> = BTreeMap::new();
        let mut sides: BTreeMap<Vec<Deciding>, (Side, Side)> = BTreeMap::new();
        for standings in situations {
            let swept = joint.visit(&standings, None, MOST_BOXES, &mut |region, deciding| {
                let sides = sides
                    .entry(deciding.to_vec())
                    .or_insert_with(|| self.sides(deciding));
                if sides.0.worth != sides.1.worth {
                    let sets = region.sets.clone();
                    let group = (standings.clone(), deciding.to_vec());
                    groups.entry(group).or_default().push(Region { sets });
                }
                ControlFlow::Continue(())
            });
            if swept == Swept::OverBudget {
                return Err(format!("its rows cross in more than {MOST_BOXES} boxes"));
            }
        }
        let mut regions = Vec::new();
        for ((standings, deciding), found) in groups {
            for region in merged(found) {
                let (old, new) = self.sides(&deciding);
                regions.push(ComparedRegion {
                    standings: standings.clone(),
                    sets: region.sets,
                    old,
                    new,
                });
            }
        }
        Ok(regions)
    }

    fn sides(&self, deciding: &[Deciding]) -> (Side, Side) {
        let (old, new) = deciding.split_at(self.old_count.min(deciding.len()));
        let side = |(program, decision): (&Program, &Decision), deciding: &[Deciding]| Side {
            worth: worth(program, decision, deciding),
            deciding: deciding.to_vec(),
        };
        (side(self.old, old), side(self.new, new))
    }
}

/// One set of types for two programs: the old one's, and the new one's own after them.
struct Types<'p> {
    program: Program,
    new: &'p Program,
}

impl<'p> Types<'p> {
    fn new(old: &Program, new: &'p Program) -> Self {
        Types {
            program: Program::of_vocabularies(old.vocabularies.clone()),
            new,
        }
    }

    fn into_program(self) -> Program {
        self.program
    }

    fn of_new(&mut self, value_type: Type) -> Result<Type, String> {
        let (id, make): (_, fn(_) -> Type) = match value_type {
            Type::Choice(id) => (id, Type::Choice),
            Type::Scale(id) => (id, Type::Scale),
            Type::List(_) => return Err("a list has no regions".to_owned()),
            other => return Ok(other),
        };
        let wanted = &self.new.vocabularies[id];
        let known = self
            .program
            .vocabularies
            .entries()
            .find(|(_, vocabulary)| vocabulary.name == wanted.name);
        match known {
            Some((id, vocabulary)) if is_same(vocabulary, wanted) => Ok(make(id)),
            Some(_) => Err(format!("the words of `{}` are others", wanted.name)),
            None => Ok(make(self.program.vocabularies.push(wanted.clone()))),
        }
    }
}

fn of_old(value_type: Type) -> Result<Type, String> {
    match value_type {
        Type::List(_) => Err("a list has no regions".to_owned()),
        other => Ok(other),
    }
}

fn is_same(one: &Vocabulary, other: &Vocabulary) -> bool {
    one.words == other.words && one.kind == other.kind
}
