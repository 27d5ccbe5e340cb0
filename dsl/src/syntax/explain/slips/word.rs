//! Words of other languages, words too many, and lists joined by something else.

use super::{from_token, literal, near_miss, translated};
use crate::diagnostic::Diagnostic;
use crate::quantity::unit_named;
use crate::syntax::Span;
use crate::syntax::explain::Place;
use crate::syntax::grammar::Rule;
use crate::syntax::keyword::CLAUSE_WORDS;
use crate::syntax::reader::{first_word, short};

/// Words between a subject and what it is compared with, and what is written here.
const COMPARATORS: &[(&str, &str)] = &[
    ("exceeds", "over"),
    ("exceeding", "over"),
    ("beneath", "under"),
    ("contains", "includes"),
    ("has", "includes"),
    ("isnt", "is not"),
    ("unknown", "is not known"),
    ("known", "is known"),
    ("exists", "is known"),
];

/// What may stand after `the`.
const AFTER_THE: &[&str] = &["larger", "smaller", "size", "largest", "smallest", "total"];

/// The finding for a word that is known, or `None`.
pub(super) fn slip(place: &Place<'_>) -> Option<Diagnostic> {
    comparator(place)
        .or_else(|| in_a_row(place))
        .or_else(|| after_a_value(place))
        .or_else(|| in_a_header(place))
}

/// `turf unknown`, `turf is unknown`, `turf in (soft, firm)`, `head_speed exceeds 100 mph`
fn comparator(place: &Place<'_>) -> Option<Diagnostic> {
    let expects = |rule| place.expected.contains(&rule);
    if place.token == "unknown" {
        let is_negated = place.before.ends_with(" is not");
        let verb = if is_negated { "is not" } else { "is" };
        if place.before.ends_with(&format!(" {verb}")) {
            let span = Span {
                start: place.span.start.checked_sub(place.gap + verb.len())?,
                ..place.span
            };
            let right = if is_negated {
                "is known"
            } else {
                "is not known"
            };
            return Some(near_miss(span, &format!("{verb} unknown"), right));
        }
    }
    // An operator may stand here: a value is complete.
    if !expects(Rule::plus_sign) {
        return None;
    }
    if place.token == "in" && !in_halves(place) {
        let is_list = place
            .after
            .trim_start_matches("in")
            .trim_start()
            .starts_with('(');
        return is_list.then(|| near_miss(place.span, "in", "is one of"));
    }
    if place.token == "x" {
        return Some(near_miss(place.span, "x", "*"));
    }
    let right = translated(COMPARATORS, place.token)?;
    Some(near_miss(place.span, place.token, right))
}

/// `if under 5 deg gives low`, `until 5 deg`, `from 5 deg`
fn in_a_row(place: &Place<'_>) -> Option<Diagnostic> {
    if place.rule != Rule::row_line {
        return None;
    }
    if place.before.is_empty() && matches!(place.token, "if" | "when") {
        let finding = near_miss(place.span, place.token, "under 5 deg gives low");
        let help = format!(
            "a row begins with its conditions, without `{}`",
            place.token
        );
        return Some(Diagnostic {
            help: vec![help],
            ..finding
        });
    }
    let (word, literal) = place.before.split_once(' ')?;
    if word == "from" && first_word(place.token) == "gives" {
        let span = Span {
            start: place
                .span
                .start
                .checked_sub(place.gap + place.before.len())?,
            end: place.span.start.checked_sub(place.gap)?,
            ..place.span
        };
        let right = format!("{} or more", literal.trim());
        return Some(near_miss(span, place.before, &short(&right)));
    }
    None
}

/// `, if unknown 30 in`, `or if unknown 30 in` without its comma, `0 to 10` after `between`
fn after_a_value(place: &Place<'_>) -> Option<Diagnostic> {
    let expects = |rule| place.expected.contains(&rule);
    if place.token == "if" && expects(Rule::post) && begins_with(place.after, &["if", "unknown"]) {
        let length = place.after.find("unknown")? + "unknown".len();
        let span = from_token(place, length);
        return Some(near_miss(span, "if unknown", "or if unknown"));
    }
    if place.token == "unknown" && place.before.ends_with(" or if") {
        let start = place.span.start.checked_sub(place.gap + "or if".len())?;
        let span = Span {
            start,
            ..place.span
        };
        return Some(near_miss(span, "or if unknown", ", or if unknown"));
    }
    let is_range = first_word(place.before) == "between" || place.before.contains(" between ");
    if matches!(place.token, "to" | "through") && expects(Rule::kw_and) && is_range {
        return Some(near_miss(place.span, place.token, "and"));
    }
    None
}

/// `for every wedge`, `length in mm`, `if none in stock`
fn in_a_header(place: &Place<'_>) -> Option<Diagnostic> {
    let expects = |rule| place.expected.contains(&rule);
    if place.rule == Rule::rung_line && place.before.is_empty() {
        let end = place.after.find(',').unwrap_or(place.after.len());
        let written = place.after.get(..end)?.trim_end();
        return Some(near_miss(
            from_token(place, written.len()),
            written,
            "if none on hand",
        ));
    }
    if expects(Rule::for_each) || expects(Rule::kw_for_each) {
        let (written, length) = match place.token {
            "for" => {
                let rest = place.after.get("for".len()..)?;
                let second = first_word(rest.trim_start());
                let length = rest.find(second)? + second.len() + "for".len();
                (format!("for {second}"), length)
            }
            "per" | "each" | "every" => (place.token.to_owned(), place.token.len()),
            _ => return None,
        };
        return Some(near_miss(from_token(place, length), &written, "for each"));
    }
    let has_unit = matches!(place.rule, Rule::input | Rule::decide) && expects(Rule::comma);
    if place.token == "in" && has_unit {
        let unit = first_word(place.after.get("in".len()..)?.trim_start());
        let written = format!("in {unit}");
        return unit_named(unit)
            .map(|_| near_miss(place.span, &written, &format!(", shown in {unit}")));
    }
    None
}

/// What else helps where something was expected.
pub(in crate::syntax::explain) fn help(place: &Place<'_>) -> Option<String> {
    let expects = |rule| place.expected.contains(&rule);
    if place.token.is_empty() {
        return at_the_end(place);
    }
    let first = place.token.chars().next()?;
    if (expects(Rule::text) || expects(Rule::texts)) && first.is_alphanumeric() {
        return Some(in_quotation_marks(place));
    }
    if place.token == "can" && expects(Rule::kw_cannot_happen) {
        return Some("write `cannot happen`".to_owned());
    }
    if first.is_ascii_uppercase() || first == '_' {
        let lower = place.token.trim_start_matches('_').to_lowercase();
        return Some(format!("names begin with a small letter: `{lower}`"));
    }
    if place.token == "-" && expects(Rule::colon) && place.gap == 0 {
        return Some("names are of letters, digits and `_`".to_owned());
    }
    if place.token == "the" {
        return after_the(place);
    }
    if let Some(number) = literal::number_of_word(place.token).filter(|_| expects(Rule::number)) {
        return Some(format!("write `{number}`"));
    }
    if place.token == "if" && expects(Rule::plus_sign) {
        return Some("a value that depends begins with it: `if … then … otherwise …`".to_owned());
    }
    if let Some(help) = joined_otherwise(place) {
        return Some(help);
    }
    let begins_a_line = CLAUSE_WORDS.contains(&place.token) && !place.before.is_empty();
    (begins_a_line && expects(Rule::EOI) && !matches!(place.token, "because" | "if" | "in" | "is"))
        .then(|| format!("`{}` begins a line of its own, below", place.token))
}

/// `ask How far?`: the rest of the line is the text.
fn in_quotation_marks(place: &Place<'_>) -> String {
    let text = place.after.trim().trim_matches('"');
    let before: Vec<&str> = place.before.split_whitespace().collect();
    if text.contains('"') || text.contains('\\') {
        return "a text stands between two quotation marks".to_owned();
    }
    let lead = match before.as_slice() {
        [] | [_, _, _, ..] => String::new(),
        words => format!("{} ", words.join(" ")),
    };
    format!("write `{lead}\"{}\"`", short(text))
}

/// The line ends too early.
fn at_the_end(place: &Place<'_>) -> Option<String> {
    let expects = |rule| place.expected.contains(&rule);
    if expects(Rule::kw_weight) {
        return Some("a `prefers` line says how much it counts: `weight 2`".to_owned());
    }
    if place.rule == Rule::prefers_line && expects(Rule::comma) {
        return Some("say how far it counts, and how much: `, within 2 deg weight 1`".to_owned());
    }
    if expects(Rule::kw_otherwise) {
        return Some("say what holds if not: `otherwise …`".to_owned());
    }
    if expects(Rule::colon) && matches!(place.rule, Rule::decide | Rule::input | Rule::model) {
        return Some("its type stands after the name, such as `: length`".to_owned());
    }
    None
}

fn after_the(place: &Place<'_>) -> Option<String> {
    let next = first_word(place.after.get("the".len()..)?.trim_start());
    Some(
        if next.is_empty() || AFTER_THE.contains(&next) || next == "bigger" {
            "after `the` comes one of: larger of, smaller of, size of, largest, smallest, total"
                .to_owned()
        } else {
            format!("write `{}` without `the`", short(next))
        },
    )
}

/// Lists and columns that are joined by something else than what joins them here.
fn joined_otherwise(place: &Place<'_>) -> Option<String> {
    let expects = |rule| place.expected.contains(&rule);
    let is_table = matches!(
        place.rule,
        Rule::by_line | Rule::then_by_line | Rule::next_by_line
    );
    match place.token {
        "," if place.rule == Rule::row_line => Some(
            "the conditions of a row are joined by `and`, several values of one column by `or`"
                .to_owned(),
        ),
        "," if place.rule == Rule::given_line => {
            Some("each reading stands on a `given` line of its own".to_owned())
        }
        _ if is_table && (expects(Rule::hit_first) || expects(Rule::kw_first)) => {
            Some("the columns of a table are joined by `and`".to_owned())
        }
        "or" if place.rule == Rule::choice => {
            Some("the values of a choice are joined by `,`".to_owned())
        }
        _ if place.rule == Rule::scale && expects(Rule::kw_in_halves) => {
            Some("the steps of a scale are joined by `<`, lowest first".to_owned())
        }
        "in" if in_halves(place) && expects(Rule::comma) => {
            Some("a `,` stands before `in halves`".to_owned())
        }
        "rounded" | "kept" | "shown" | "may" | "for" | "together" | "within"
            if expects(Rule::comma) =>
        {
            Some(format!("a `,` stands before `{}`", place.token))
        }
        _ => None,
    }
}

fn in_halves(place: &Place<'_>) -> bool {
    begins_with(place.after, &["in", "halves"])
}

fn begins_with(text: &str, words: &[&str]) -> bool {
    let mut found = text.split_whitespace();
    words.iter().all(|word| found.next() == Some(*word))
}
