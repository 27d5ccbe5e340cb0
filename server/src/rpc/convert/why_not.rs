//! Rows and candidates that were not taken, with what ruled them out in a sentence.

use loftwright_engine::explain::{
    CandidateReport, CandidateStanding, LineScore, RowReport, RowStanding,
};
use loftwright_engine::recommendation::NamedText;
use loftwright_proto::v1 as pb;

use super::value::named_texts;

/// A row of a table.
pub(crate) fn row_not_taken(table: usize, row: &RowReport) -> pb::RowNotTaken {
    let number = |number: usize| u32::try_from(number).unwrap_or(u32::MAX);
    let mut message = pb::RowNotTaken {
        table: number(table),
        row: number(row.row),
        rule: row.text.clone(),
        gives: row.gives.clone(),
        because: row.because.clone(),
        ..pb::RowNotTaken::default()
    };
    message.standing = match &row.standing {
        RowStanding::Decided => "decided".to_owned(),
        RowStanding::Possible => "is not ruled out: readings are missing".to_owned(),
        RowStanding::Behind { row } => format!("was not asked: row {row} comes before it"),
        RowStanding::NotAsked => "was not asked: its table was not looked at".to_owned(),
        RowStanding::RuledOut {
            column,
            reading,
            asks,
        } => {
            message.column = Some(column.clone());
            message.reading = Some(reading.clone());
            message.asks = Some(asks.clone());
            format!("is ruled out: `{column}` was {reading}, and it asks for {asks}")
        }
    };
    message
}

/// A candidate of a choice.
pub(crate) fn candidate_not_taken(report: &CandidateReport) -> pb::CandidateNotTaken {
    use pb::CandidateOutcome as Outcome;
    let setting = report.setting.iter();
    let mut message = pb::CandidateNotTaken {
        code: report.code.clone(),
        setting: setting
            .map(|(name, text)| pb::NamedText {
                name: name.clone(),
                text: text.clone(),
            })
            .collect(),
        ..pb::CandidateNotTaken::default()
    };
    let (outcome, standing) = match &report.standing {
        CandidateStanding::Taken => (Outcome::Taken, "was taken".to_owned()),
        CandidateStanding::NotOnHand => (Outcome::NotOnHand, "was not on hand".to_owned()),
        CandidateStanding::GoneTo { choice, club } => {
            let to = match club {
                Some(club) => format!("the {club}"),
                None => format!("`{choice}`"),
            };
            let sentence = format!("meets the needs, and went to {to}");
            (Outcome::GoneElsewhere, sentence)
        }
        CandidateStanding::Fails {
            needs,
            because,
            looked_at,
        } => {
            message.fails = Some(needs.clone());
            message.looked_at = named_texts(looked_at);
            let mut sentence = format!("fails `needs {}`", without_needs(needs));
            if !looked_at.is_empty() {
                sentence.push_str(&format!(": {}", named(looked_at)));
            }
            if let Some(because) = because {
                sentence.push_str(&format!(". {because}"));
            }
            (Outcome::FailsANeed, sentence)
        }
        CandidateStanding::OfAnotherFamily { agreed } => {
            let sentence = format!(
                "meets the needs; all clubs agree on {}, and it is of another family",
                named(agreed)
            );
            (Outcome::OfAnotherFamily, sentence)
        }
        CandidateStanding::Outscored {
            by,
            less,
            total,
            lines,
        } => {
            message.scores = lines.iter().map(score).collect();
            (Outcome::Outscored, outscored(by, less, total, lines))
        }
        CandidateStanding::NotAsked { why } => {
            (Outcome::NotAsked, format!("was not looked at: {why}"))
        }
    };
    message.outcome = outcome.into();
    message.standing = standing;
    message
}

fn outscored(by: &str, less: &str, total: &str, lines: &[LineScore]) -> String {
    let ahead: Vec<String> = lines
        .iter()
        .filter(|line| line.own != line.taken)
        .filter_map(|line| {
            let (own, taken) = (line.own.as_ref()?, line.taken.as_ref()?);
            Some(format!("`{}` {own} for {taken}", line.prefers))
        })
        .collect();
    let on = match ahead.as_slice() {
        [] => String::new(),
        ahead => format!(": {}", ahead.join(", ")),
    };
    match less {
        "" => format!("meets the needs with a score of {total}; {by} was taken"),
        "0" => format!(
            "meets the needs and scores as much as {by}; `ties by` and the order of the codes \
             decided"
        ),
        less if less.starts_with('-') => format!(
            "meets the needs and scores {} more than {by}; all clubs together do better this \
             way{on}",
            less.trim_start_matches('-')
        ),
        less => format!("meets the needs and scores {less} less than {by}{on}"),
    }
}

fn score(line: &LineScore) -> pb::PreferenceScore {
    pb::PreferenceScore {
        prefers: line.prefers.clone(),
        weight: line.weight.clone(),
        own: line.own.clone(),
        taken: line.taken.clone(),
    }
}

fn named(texts: &[NamedText]) -> String {
    let texts: Vec<String> = texts
        .iter()
        .map(|named| format!("`{}` is {}", named.name, named.text))
        .collect();
    texts.join(", ")
}

/// The line without its opening word, whether or not the text has it.
fn without_needs(text: &str) -> &str {
    text.strip_prefix("needs ").unwrap_or(text)
}
