//! The trees that come out.

use loftwright_dsl::syntax::tree::{
    ConditionKind, DecideBody, Declaration, DeclarationKind, Expression, ExpressionKind, Literal,
    LiteralKind, NextStep, Post, Reference, RowConditions, Step, Test,
};

use super::read;

fn declaration(text: &str) -> Declaration {
    let read = read(text);
    assert!(
        read.diagnostics.is_empty(),
        "{text}: {:?}",
        read.diagnostics
    );
    read.declarations
        .into_iter()
        .next()
        .expect("one declaration")
}

/// An expression with every operation in parentheses.
fn shown(expression: &Expression) -> String {
    match &expression.kind {
        ExpressionKind::Literal(literal) => literal_shown(literal),
        ExpressionKind::Reference(reference) => reference_shown(reference),
        ExpressionKind::Negative(value) => format!("(- {})", shown(value)),
        ExpressionKind::Not(value) => format!("(not {})", shown(value)),
        ExpressionKind::Binary {
            operator,
            left,
            right,
        } => {
            format!("({} {operator:?} {})", shown(left), shown(right))
        }
        ExpressionKind::Compare { subject, test } => match test {
            Test::Is {
                negated: false,
                value,
            } => format!("({} is {})", shown(subject), shown(value)),
            Test::Order { relation, bound } => {
                format!("({} {relation:?} {})", shown(subject), shown(bound))
            }
            Test::Within { tolerance, of } => {
                format!(
                    "({} within {} of {})",
                    shown(subject),
                    shown(tolerance),
                    shown(of)
                )
            }
            other => format!("({} {other:?})", shown(subject)),
        },
        ExpressionKind::SizeOf(value) => format!("(size of {})", shown(value)),
        ExpressionKind::Rate { amount, per, of } => {
            format!(
                "({} for each {} of {})",
                literal_shown(amount),
                literal_shown(per),
                shown(of)
            )
        }
        ExpressionKind::Moved {
            value,
            direction,
            half_steps,
        } => {
            format!("({} moved {direction:?} {half_steps}/2)", shown(value))
        }
        ExpressionKind::Post { value, post } => match post.as_ref() {
            Post::Rounded { rounding, to } => {
                format!("({}, {rounding:?} {})", shown(value), shown(to))
            }
            Post::KeptWithin { low, high } => {
                format!("({}, {} to {})", shown(value), shown(low), shown(high))
            }
            Post::OrIfUnknown(other) => format!("({}, or {})", shown(value), shown(other)),
        },
        other => format!("{other:?}"),
    }
}

fn reference_shown(reference: &Reference) -> String {
    let name = reference
        .name
        .as_ref()
        .map_or("", |name| name.text.as_str());
    let field = reference
        .field
        .as_ref()
        .map_or(String::new(), |field| format!(".{}", field.text));
    let previous = if reference.previous { "previous " } else { "" };
    let plus = match reference.plus_half_steps {
        0 => String::new(),
        half_steps => format!(" plus {half_steps}/2"),
    };
    format!("{previous}{name}{field}{plus}")
}

fn literal_shown(literal: &Literal) -> String {
    match &literal.kind {
        LiteralKind::Exact(exact) => format!("{exact:?}")
            .split("value: ")
            .nth(1)
            .and_then(|rest| rest.split([',', ' ']).next())
            .unwrap_or("?")
            .to_owned(),
        LiteralKind::Flag(flag) => flag.to_string(),
        LiteralKind::None => "none".to_owned(),
        LiteralKind::Named { name, .. } => name.text.clone(),
    }
}

fn expression(text: &str, expected: &str) {
    let DeclarationKind::Let(value) = declaration(&format!("let x = {text}")).kind else {
        panic!("{text}: no let");
    };
    assert_eq!(shown(&value.value), expected, "{text}");
}

#[test]
fn operators_bind_as_on_paper() {
    expression("a + b * c", "(a Plus (b Times c))");
    expression("a - b - c", "((a Minus b) Minus c)");
    expression("a * b / c - d", "(((a Times b) Over c) Minus d)");
    expression("a / b / c", "((a Over b) Over c)");
    expression("(a - b) * -c", "((a Minus b) Times (- c))");
    expression("a or b and not c", "(a Or (b And (not c)))");
    expression("a and b or c and d", "((a And b) Or (c And d))");
    expression("not not a is b", "(not (not (a is b)))");
    expression("a + 1 under b * 2", "((a Plus 1) Under (b Times 2))");
    expression("a within b + 1 of c", "(a within (b Plus 1) of c)");
    expression("the size of a - b", "((size of a) Minus b)");
    expression(
        "a - 2 for each 4 of b - c",
        "((a Minus (2 for each 4 of b)) Minus c)",
    );
    expression("previous moved down 1/2", "(previous  moved Down 1/2)");
    expression(
        "a + b, rounded up to 1, or if unknown c",
        "(((a Plus b), Up 1), or c)",
    );
    expression("(a, kept within 1 and 2) + b", "((a, 1 to 2) Plus b)");
    expression("regular plus 1 1/2", "regular plus 3/2");
}

#[test]
fn numbers_are_read_as_fitters_write_them() {
    expression("1/2", "0.5");
    expression("35 1/4", "35.25");
    expression("1 / 2", "(1 Over 2)");
    expression("-1/2 + 3 - -2", "((-0.5 Plus 3) Minus -2)");
    expression("- a", "(- a)");
    expression("7/8 in", "0.022225");
    expression("5 ft 10 in", "1.778");
    expression("90 km/h", "25");
}

#[test]
fn spans_are_the_users_text_without_spaces_around() {
    let text = "let x =   ( a   +  b )  * c   # end";
    let DeclarationKind::Let(value) = declaration(text).kind else {
        panic!("no let");
    };
    let ExpressionKind::Binary { left, .. } = &value.value.kind else {
        panic!("no product");
    };
    let at = |expression: &Expression| &text[expression.span.start..expression.span.end];
    assert_eq!(at(&value.value), "( a   +  b )  * c");
    assert_eq!(at(left), "( a   +  b )");
}

#[test]
fn rows_belong_to_their_table() {
    let text = "decide a : mass, for each wood\n  first gives 1 g\n  next by b\n    last or first gives 2 g\n    other gives 3 g\n  last gives 4 g\n  then by c\n    any adds 1 g\n  then rounded to 1 g, kept within 1 g and 9 g\n";
    let DeclarationKind::Decide(decide) = declaration(text).kind else {
        panic!("no decide");
    };
    let DecideBody::Progression(progression) = &decide.body else {
        panic!("no progression");
    };
    let Some(NextStep::Table(next)) = &progression.next else {
        panic!("no table");
    };
    assert_eq!(next.rows.len(), 2);
    assert!(progression.last.is_some());
    assert_eq!(decide.steps.len(), 3);
    assert!(matches!(&decide.steps[0], Step::Table(table) if table.rows.len() == 1));
}

#[test]
fn the_unit_at_the_end_serves_both_bounds() {
    let text = "decide a : mass\n  by b\n    5 through 8 deg gives 1 g\n    75 to under 85 mph gives 2 g\n    over 5 through 8 deg gives 3 g\n    1/2 through 1 gives 4 g\n    over 75 to under 85 mph gives 5 g\n";
    let DeclarationKind::Decide(decide) = declaration(text).kind else {
        panic!("no decide");
    };
    let DecideBody::Table(table) = &decide.body else {
        panic!("no table");
    };
    let bounds: Vec<String> = table
        .rows
        .iter()
        .map(|row| match &row.conditions {
            RowConditions::Each(each) => match &each[0].kind {
                ConditionKind::Through(low, high)
                | ConditionKind::ToUnder(low, high)
                | ConditionKind::OverToUnder(low, high)
                | ConditionKind::OverThrough(low, high) => {
                    format!("{} {}", literal_shown(low), literal_shown(high))
                }
                other => format!("{other:?}"),
            },
            RowConditions::Otherwise => "otherwise".to_owned(),
        })
        .collect();
    // 75 mph = 33.528 m/s and 85 mph = 37.9984 m/s: 1 mph is 0.44704 m/s exactly (NIST SP 811).
    assert_eq!(
        bounds,
        ["5 8", "33.528 37.9984", "5 8", "0.5 1", "33.528 37.9984"]
    );
}

#[test]
fn texts_are_joined_and_their_marks_taken_off() {
    let text = "input a : flag\n  ask \"One \"\n      \"two \\\"three\\\" \\\\ \" \"four\"\n";
    let DeclarationKind::Input(input) = declaration(text).kind else {
        panic!("no input");
    };
    assert_eq!(input.ask.expect("a text").text, "One two \"three\" \\ four");
}
