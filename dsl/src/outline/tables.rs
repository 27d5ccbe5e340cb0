//! The rows of a decision as a Markdown table.

use super::markdown::{Lines as _, code, escaped};
use super::{StepFact, TableFact};

/// The parts of a decision, one after the other.
pub(super) fn steps(page: &mut String, steps: &[StepFact]) {
    for step in steps {
        match step {
            StepFact::Gives {
                verb,
                value,
                because,
            } => {
                let why = reason(because.as_deref());
                page.line(&format!("{verb} {}{why}", code(value)));
            }
            StepFact::Line { text } => page.line(&code(text)),
            StepFact::Table(rows) => table(page, rows),
        }
        page.line("");
    }
}

fn reason(because: Option<&str>) -> String {
    because.map_or_else(String::new, |text| format!(": {}", escaped(text)))
}

fn table(page: &mut String, table: &TableFact) {
    let columns: Vec<String> = table.columns.iter().map(|column| code(column)).collect();
    let mut header = format!("{} {}", table.opening, columns.join(" and "));
    if table.is_first {
        header.push_str(", the first row that fits");
    }
    if let Some(result) = &table.if_unknown {
        header.push_str(&format!(", if unknown {}", code(result)));
    }
    page.line(&header);
    page.line("");
    let has_reasons = table.rows.iter().any(|row| row.because.is_some());
    let mut heads = vec!["row".to_owned()];
    heads.extend(columns.iter().cloned());
    heads.push(String::new());
    if has_reasons {
        heads.push("because".to_owned());
    }
    line_of(page, &heads);
    line_of(page, &vec!["---".to_owned(); heads.len()]);
    for (number, row) in table.rows.iter().enumerate() {
        let mut cells = vec![(number + 1).to_string()];
        let conditions = row.conditions.iter().map(|condition| code(condition));
        cells.extend(conditions);
        if row.conditions.is_empty() {
            cells.push("otherwise".to_owned());
        }
        cells.resize(table.columns.len() + 1, String::new());
        cells.push(code(&row.result));
        if has_reasons {
            cells.push(escaped(row.because.as_deref().unwrap_or_default()));
        }
        line_of(page, &cells);
    }
}

/// One line of a table.
pub(super) fn line_of(page: &mut String, cells: &[String]) {
    page.line(&format!("| {} |", cells.join(" | ")));
}
