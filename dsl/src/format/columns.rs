//! Where the columns of a line begin.

use pest::iterators::Pair;

use super::token::Token;
use crate::syntax::grammar::Rule;

/// The places in the file where the second and each later column of a line begin.
pub(super) fn columns(node: &Pair<'_, Rule>, base: usize, tokens: &[Token]) -> Vec<usize> {
    let place = |part: &Pair<'_, Rule>| base + part.as_span().start();
    let all = |parent: Option<Pair<'_, Rule>>, rule: Rule| -> Vec<usize> {
        let inner = parent.into_iter().flat_map(Pair::into_inner);
        inner
            .filter(|part| part.as_rule() == rule)
            .map(|part| place(&part))
            .collect()
    };
    let word = |number: usize| tokens.get(number).map(|token| token.start);
    let mut columns: Vec<usize> = match node.as_rule() {
        Rule::row_line => {
            let mut columns = all(child(node, Rule::conditions), Rule::kw_and);
            columns.extend(child(node, Rule::result).map(|result| place(&result)));
            columns
        }
        Rule::by_line | Rule::then_by_line | Rule::next_by_line => {
            all(child(node, Rule::table_header), Rule::kw_and)
        }
        Rule::choice | Rule::scale => first_places(node, base, &[Rule::name, Rule::kw_is]),
        Rule::field_line | Rule::reads => first_places(node, base, &[Rule::colon]),
        Rule::let_value => first_places(node, base, &[Rule::colon, Rule::equals]),
        Rule::let_line => first_places(node, base, &[Rule::name, Rule::equals]),
        Rule::prefers_line => {
            let mut columns: Vec<usize> = word(1).into_iter().collect();
            columns.extend(first_places(node, base, &[Rule::kw_weight]));
            columns
        }
        Rule::needs_line => {
            let mut columns: Vec<usize> = word(1).into_iter().collect();
            let needs = child(node, Rule::needs);
            columns.extend(
                needs
                    .and_then(|needs| child(&needs, Rule::when))
                    .map(|when| place(&when)),
            );
            columns
        }
        Rule::kept_line | Rule::first_line | Rule::next_line | Rule::last_line => {
            word(1).into_iter().collect()
        }
        Rule::builds_on_line => word(2).into_iter().collect(),
        rule if is_clause_of_one_word(rule) => word(1).into_iter().collect(),
        _ => Vec::new(),
    };
    columns.dedup();
    columns
}

/// Clauses whose word is padded to the widest of the block.
pub(super) fn is_padded_clause(rule: Rule) -> bool {
    is_clause_of_one_word(rule)
        || matches!(
            rule,
            Rule::builds_on_line | Rule::let_line | Rule::prefers_line | Rule::needs_line
        )
}

fn is_clause_of_one_word(rule: Rule) -> bool {
    matches!(
        rule,
        Rule::about_line
            | Rule::source_line
            | Rule::says_line
            | Rule::at_line
            | Rule::gives_line
            | Rule::ask_line
            | Rule::between_line
            | Rule::spread_line
            | Rule::default_line
            | Rule::private_line
            | Rule::takes_line
            | Rule::given_line
            | Rule::expect_line
            | Rule::title_line
            | Rule::language_line
    )
}

/// The first part of each rule that is there, in order.
fn first_places(node: &Pair<'_, Rule>, base: usize, rules: &[Rule]) -> Vec<usize> {
    let found = rules.iter().filter_map(|rule| child(node, *rule));
    found.map(|part| base + part.as_span().start()).collect()
}

fn child<'a>(node: &Pair<'a, Rule>, rule: Rule) -> Option<Pair<'a, Rule>> {
    node.clone()
        .into_inner()
        .find(|part| part.as_rule() == rule)
}
