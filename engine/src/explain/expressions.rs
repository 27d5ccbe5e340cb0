//! All expressions that a declaration looks at.

use loftwright_dsl::program::{
    Aggregate, Body, Choose, Decision, Expression, NextStep, Preference, Progression, RowResult,
    RungKind, Step, Table,
};

/// All that a decision looks at, its order along the bag aside.
pub(crate) fn of_decision(decision: &Decision) -> Vec<&Expression> {
    let mut found: Vec<&Expression> = decision.only_when.iter().collect();
    match &decision.body {
        Body::Table(_) => {}
        Body::Gives(gives) => found.push(&gives.value),
        Body::Progression(progression) => of_progression(progression, &mut found),
    }
    for table in decision.tables() {
        of_table(table, &mut found);
    }
    for step in &decision.steps {
        match step {
            Step::Table(_) => {}
            Step::KeptWithin { low, high, .. } => found.extend([low, high]),
            Step::Rounded { to, .. } => found.push(to),
            Step::OrIfUnknown { instead, .. } => found.push(instead),
        }
    }
    found
}

fn of_progression<'e>(progression: &'e Progression, found: &mut Vec<&'e Expression>) {
    let next = match &progression.next {
        Some(NextStep::Gives(gives)) => Some(gives),
        Some(NextStep::Table(_)) | None => None,
    };
    let clauses = [
        progression.kept.as_ref(),
        Some(&progression.first),
        next,
        progression.last.as_ref(),
    ];
    found.extend(clauses.into_iter().flatten().map(|gives| &gives.value));
}

fn of_table<'e>(table: &'e Table, found: &mut Vec<&'e Expression>) {
    found.extend(table.columns.iter().map(|column| &column.value));
    let results = table.rows.iter().map(|row| &row.result);
    for result in results.chain(&table.if_unknown) {
        match result {
            RowResult::Gives(value) | RowResult::Adds(value) | RowResult::TakesOff(value) => {
                found.push(value);
            }
            RowResult::Moves(_) | RowResult::Keeps | RowResult::CannotHappen => {}
        }
    }
}

/// All that a choice looks at.
pub(crate) fn of_choose(choose: &Choose) -> Vec<&Expression> {
    let mut found: Vec<&Expression> = choose.only_when.iter().collect();
    found.extend(choose.lets.iter().map(|declared| &declared.value));
    let rungs = choose.rungs.iter().filter_map(|rung| match &rung.kind {
        RungKind::Needs { needs, .. } => Some(&**needs),
        RungKind::Orders | RungKind::LeavesOpen => None,
    });
    for needs in choose.needs.iter().chain(rungs) {
        found.push(&needs.condition);
        found.extend(&needs.when);
    }
    for prefers in &choose.prefers {
        found.extend(&prefers.when);
        match &prefers.what {
            Preference::Holds(condition) => found.push(condition),
            Preference::Near {
                value,
                near,
                within,
            } => found.extend([value, near, within]),
        }
    }
    found
}

/// What an aggregate asks of each member.
pub(crate) fn of_aggregate(aggregate: &Aggregate) -> Option<&Expression> {
    match aggregate {
        Aggregate::NumberOf(_, condition) => condition.as_ref(),
        Aggregate::ExtremeOf(_, _, value)
        | Aggregate::TotalOf(_, value)
        | Aggregate::AnyWhere(_, value) => Some(value),
    }
}
