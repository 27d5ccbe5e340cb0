//! Why this assignment, and why this family: what a choice for all clubs was judged by.

use loftwright_dsl::program::{Choose, Part};

use super::selection::score_text;
use super::view::View;
use super::words::{listed, quoted};
use crate::recommendation::StepReport;
use crate::trace::{FamilyTotals, Selection, Totals};

/// What the assignment comes to for all clubs.
pub(super) fn assignment(totals: Totals) -> StepReport {
    StepReport {
        rule: "no other assignment does better".to_owned(),
        value: Some(totals_text(totals, "piece")),
        ..StepReport::default()
    }
}

/// The family that all clubs agree on, and those that came next.
pub(super) fn families(view: &View<'_>, choose: &Choose, selection: &Selection) -> Vec<StepReport> {
    let part = &view.program.parts[choose.part];
    let told = selection.families.iter().enumerate();
    let step = |(place, family): (usize, &FamilyTotals)| {
        let named = family_text(view, part, family);
        StepReport {
            rule: match place {
                0 => format!("all clubs agree on {named}"),
                _ => format!("{named} came next"),
            },
            value: Some(totals_text(family.totals, "part")),
            ..StepReport::default()
        }
    };
    told.map(step).collect()
}

/// `` `family` `ridge` ``; a tuple is a list.
fn family_text(view: &View<'_>, part: &Part, family: &FamilyTotals) -> String {
    let fields = family.fields.iter().zip(family.values.iter());
    let text = |(index, value): (&usize, &_)| {
        let field = part.fields.get(*index)?;
        let shown = field.shown.text(view.program, field.value_type, value);
        Some(format!("{} {}", quoted(&field.name), quoted(&shown)))
    };
    let texts: Vec<String> = fields.filter_map(text).collect();
    listed(&texts)
}

fn totals_text(totals: Totals, what: &str) -> String {
    let mut clauses = vec![match totals.without {
        0 => format!("every club has a {what}"),
        1 => format!("1 club goes without a {what}"),
        count => format!("{count} clubs go without a {what}"),
    }];
    if totals.ordered > 0 {
        clauses.push(format!("{} to be ordered", totals.ordered));
    }
    match totals.levels {
        0 => {}
        1 => clauses.push("1 rung down the ladder".to_owned()),
        levels => clauses.push(format!("{levels} rungs down the ladder in all")),
    }
    clauses.push(format!("score {} in all", score_text(totals.score)));
    clauses.join(", ")
}
