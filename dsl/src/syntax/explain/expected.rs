//! What was expected, as a fitter would call it.

use super::Place;
use crate::syntax::grammar::Rule;
use crate::syntax::keyword::keyword_text;

/// What a rule is called. The order is the order in which a message names them.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
enum Phrase {
    Words(&'static str),
    Keyword(&'static str),
    Unit,
    Operator,
    EndOfLine,
}

/// "a value, `gives` or the end of the line".
pub(super) fn phrases(place: &Place<'_>) -> String {
    const MOST: usize = 6;
    if place.rule == Rule::row_line && place.before.is_empty() {
        return "a row such as `under 5 deg gives low`".to_owned();
    }
    let mut phrases: Vec<Phrase> = place
        .expected
        .iter()
        .filter_map(|rule| phrase(*rule))
        .collect();
    if place.expected.contains(&Rule::result) {
        // A condition may go on in many ways; the row's verb is what is missing.
        phrases.retain(|phrase| {
            !matches!(
                phrase,
                Phrase::Operator
                    | Phrase::Keyword("or" | "or more" | "plus" | "through" | "to" | "to under")
            )
        });
    }
    let has_operators = place.expected.contains(&Rule::plus_sign);
    if has_operators {
        // What may go on with a value is one thing to say, not ten.
        phrases.retain(|phrase| {
            !matches!(
                phrase,
                Phrase::Keyword("and" | "or" | "moved" | "plus" | "of the" | "for each")
            )
        });
        phrases.retain(|phrase| !matches!(phrase, Phrase::Words("`(`")));
    }
    phrases.sort();
    phrases.dedup();
    let mut shown: Vec<String> = phrases.iter().map(text).collect();
    if shown.len() > MOST {
        shown.truncate(MOST);
        shown.push("something else".to_owned());
    }
    match (shown.pop(), shown.is_empty()) {
        (None, _) => "something else".to_owned(),
        (Some(only), true) => only,
        (Some(last), false) => format!("{} or {last}", shown.join(", ")),
    }
}

fn text(phrase: &Phrase) -> String {
    match phrase {
        Phrase::Words(words) => (*words).to_owned(),
        Phrase::Keyword(keyword) => format!("`{keyword}`"),
        Phrase::Unit => "a unit".to_owned(),
        Phrase::Operator => "an operator such as `+` or `under`".to_owned(),
        Phrase::EndOfLine => "the end of the line".to_owned(),
    }
}

fn phrase(rule: Rule) -> Option<Phrase> {
    if let Some(keyword) = keyword_text(rule) {
        return Some(Phrase::Keyword(keyword));
    }
    Some(match rule {
        Rule::EOI => Phrase::EndOfLine,
        Rule::colon => Phrase::Words("`:`"),
        Rule::comma => Phrase::Words("`,`"),
        Rule::equals => Phrase::Words("`=`"),
        Rule::less => Phrase::Words("`<`"),
        Rule::opening | Rule::parentheses => Phrase::Words("`(`"),
        Rule::closing => Phrase::Words("`)`"),
        Rule::plus_sign | Rule::minus | Rule::times | Rule::divide | Rule::comparator => {
            Phrase::Operator
        }
        Rule::unit | Rule::feet | Rule::inches | Rule::unit_name => Phrase::Unit,
        Rule::name | Rule::dotted | Rule::reference => Phrase::Words("a name"),
        Rule::text | Rule::texts => Phrase::Words("a text in quotation marks"),
        Rule::number | Rule::quantity | Rule::index => Phrase::Words("a number"),
        Rule::date => Phrase::Words("a date such as `2026-05-01`"),
        Rule::position => Phrase::Words("`first`, `last`, `next` or `previous`"),
        Rule::type_reference => Phrase::Words("a type"),
        Rule::argument => Phrase::Words("an argument such as `attack : angle`"),
        Rule::column | Rule::table_header => Phrase::Words("a name, or an expression in `( )`"),
        Rule::result => Phrase::Words("a verb of a row such as `gives`"),
        Rule::post => Phrase::Words("`rounded to`, `kept within` or `or if unknown`"),
        Rule::conditions | Rule::cell => Phrase::Words("a condition such as `under 5 deg`"),
        Rule::literal
        | Rule::listed
        | Rule::signed
        | Rule::named
        | Rule::swingweight
        | Rule::expression
        | Rule::condition
        | Rule::comparison
        | Rule::sum
        | Rule::operand
        | Rule::atom
        | Rule::measured
        | Rule::given_value
        | Rule::call
        | Rule::of_member => Phrase::Words("a value"),
        Rule::declaration_word => Phrase::Words("a declaration such as `decide`"),
        Rule::range => Phrase::Keyword("between"),
        Rule::for_each => Phrase::Keyword("for each"),
        Rule::shown_in => Phrase::Keyword("shown in"),
        Rule::because => Phrase::Keyword("because"),
        Rule::when => Phrase::Keyword("when"),
        Rule::hit_first => Phrase::Keyword("first"),
        Rule::if_unknown => Phrase::Keyword("if unknown"),
        Rule::in_each => Phrase::Keyword("in each of its"),
        Rule::after => Phrase::Keyword("after"),
        Rule::as_many_as => Phrase::Keyword("as many as"),
        Rule::made_by => Phrase::Keyword("made by"),
        Rule::needs => Phrase::Keyword("needs"),
        Rule::rung_says => Phrase::Keyword("says"),
        Rule::as_other => Phrase::Keyword("as"),
        Rule::plus_step => Phrase::Keyword("plus"),
        Rule::moved => Phrase::Keyword("moved"),
        Rule::expect_caution
        | Rule::expect_limit
        | Rule::expect_every
        | Rule::expect_needs
        | Rule::expect_cannot_happen
        | Rule::expect_member
        | Rule::expect_values => Phrase::Words("what is expected, such as `wedge_count = 3`"),
        // The others are wholes whose beginnings are named above, or forms that are almost right.
        _ => return None,
    })
}

/// The keywords that may begin where these rules were tried.
pub(super) fn keywords_of(expected: &[Rule]) -> impl Iterator<Item = &'static str> {
    expected.iter().flat_map(|rule| {
        let several: &[&str] = match rule {
            Rule::result => &["gives", "moves", "keeps", "adds", "takes", "cannot"],
            Rule::comparator => &["is", "under", "over", "at", "within", "includes"],
            Rule::post => &["rounded", "kept", "or"],
            Rule::conditions | Rule::cell => {
                &["under", "over", "up", "any", "unknown", "otherwise"]
            }
            Rule::position => &["first", "last", "next", "previous"],
            Rule::largest_first => &["largest", "smallest"],
            Rule::for_each => &["for"],
            Rule::shown_in => &["shown"],
            Rule::range => &["between"],
            Rule::because => &["because"],
            Rule::when => &["when"],
            Rule::in_each => &["in"],
            Rule::after => &["after"],
            Rule::made_by => &["made"],
            Rule::rung_says => &["says"],
            Rule::declaration_word => crate::syntax::keyword::DECLARATION_WORDS,
            _ => &[],
        };
        keyword_text(*rule)
            .into_iter()
            .chain(several.iter().copied())
    })
}
