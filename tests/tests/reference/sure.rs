//! How sure a page's player is told the answer to be.

use loftwright_engine::recommendation::{Recommendation, Sureness};

/// `43 of 64; high in 20; high at attack_angle -8 deg, 0.5 spreads away` for a decision;
/// `attack_angle` for the next reading; `None` where nothing has the name.
pub(crate) fn told(answer: &Recommendation, name: &str) -> Option<String> {
    if name == "next reading" {
        return Some(answer.next_reading.as_ref()?.input.clone());
    }
    let mut reports = answer.decisions.iter();
    let report = reports.find(|report| report.name == name)?;
    Some(report.sureness.as_ref().map_or("exact".to_owned(), text))
}

fn text(sureness: &Sureness) -> String {
    let mut parts = Vec::new();
    if !sureness.moves {
        parts.push(format!("{} of {}", sureness.same, sureness.of));
    }
    if let Some(other) = &sureness.runner_up {
        parts.push(format!("{} in {}", other.text, other.count));
    }
    if let (true, Some(range)) = (sureness.moves, &sureness.range) {
        parts.push(format!("from {} through {}", range.lowest, range.highest));
    }
    if let Some(change) = &sureness.nearest_change {
        parts.push(format!(
            "{} at {} {}, {} spreads away",
            change.outcome, change.input, change.reading, change.spreads
        ));
    }
    parts.join("; ")
}
