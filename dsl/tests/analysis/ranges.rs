//! Ranges, guards and divisors: against known ends, and against computing every point of a grid.

use loftwright_dsl::diagnostic::{Code, Severity};
use loftwright_dsl::quantity::Rational;

use crate::numbers::Numbers;
use crate::tables::check_rules;

/// Two readings: one with zero inside, one without.
const READINGS: &str = "input a : number\n  between -2 and 3\ninput b : number\n  between 1 and 4\n\
    input n : count\n  between 0 and 5\n";

/// The range of the value of a let, as the column of a table has it.
fn range_of(expression: &str) -> Option<(Rational, Rational)> {
    let rules = format!(
        "{READINGS}let c = {expression}\ndecide d : number\n  by c, first\n    under 0 gives 1\n    \
         otherwise gives 2\n"
    );
    let output = check_rules(&rules);
    let program = output
        .program
        .unwrap_or_else(|| panic!("{rules}: {:#?}", output.diagnostics));
    let decision = program.decisions.iter().next()?;
    decision.tables().first()?.columns.first()?.between
}

fn codes(rules: &str) -> Vec<Code> {
    let findings = check_rules(&format!("{READINGS}{rules}")).diagnostics;
    let grave = findings
        .iter()
        .filter(|finding| finding.severity != Severity::Note);
    grave.map(|finding| finding.code).collect()
}

#[test]
fn ends_are_as_worked_out_by_hand() {
    let cases = [
        ("a + b", Some((-1, 7))),
        ("a - b", Some((-6, 2))),
        ("a * b", Some((-8, 12))),
        ("a * a", Some((-6, 9))),
        ("a / b", Some((-2, 3))),
        ("b / (a - 4)", Some((-4, 0))),
        ("-a", Some((-3, 2))),
        ("the size of a", Some((0, 3))),
        ("the size of -b", Some((1, 4))),
        ("the size of (a - 4)", Some((1, 6))),
        ("the larger of a and b", Some((1, 4))),
        ("the smaller of a and b", Some((-2, 3))),
        ("a, kept within 0 and 2", Some((0, 2))),
        ("a, kept within 5 and 1", Some((5, 5))),
        ("a, rounded to 2", Some((-2, 4))),
        ("a, rounded down to 2", Some((-2, 2))),
        ("b, rounded up to 3", Some((3, 6))),
        ("if a over 0 then a otherwise b", Some((0, 4))),
        ("if a over 0 then b otherwise a", Some((-2, 4))),
        (
            "if a at most 1 and b over 2 then a + b otherwise 2",
            Some((0, 5)),
        ),
        ("if not (a under 1) then a otherwise 2", Some((1, 3))),
        (
            "if a at most 1 or b over 2 then 2 otherwise a + b",
            Some((2, 5)),
        ),
        // Of an `or` that holds, and an `and` that does not, nothing is known of either side.
        ("if a over 0 or b over 2 then a otherwise 2", Some((-2, 3))),
        (
            "if a at most 0 and b over 2 then 2 otherwise a",
            Some((-2, 3)),
        ),
        ("if 1 over a then a otherwise 0", Some((-2, 1))),
        ("if a is 2 then a otherwise 0", Some((0, 2))),
        ("a, or if unknown 9", Some((-2, 9))),
        ("(a, kept within 0 and 2) * 10 - n", Some((-5, 20))),
    ];
    for (expression, expected) in cases {
        let expected = expected.map(|(low, high)| (Rational::whole(low), Rational::whole(high)));
        let found = range_of(expression);
        // Of `b / (a - 4)` the upper end is -1/6: the whole number above stands for it.
        let found = match found {
            Some((low, high)) if expression == "b / (a - 4)" => {
                assert_eq!(high, Rational::fraction(-1, 6).unwrap());
                Some((low, Rational::ZERO))
            }
            other => other,
        };
        assert_eq!(found, expected, "{expression}");
    }
}

#[test]
fn decisions_and_their_steps_have_ranges_too() {
    let rules = "decide inner : number\n  by n\n    under 2 gives a\n    2 or more gives b * 10\n  \
        then by b, first\n    over 3 adds 100\n    under 2 takes off 5\n    otherwise keeps\n";
    let range = |more: &str| {
        let text = format!(
            "{READINGS}{rules}{more}decide outer : number\n  by inner, first\n    under 0 gives 1\n    \
             otherwise gives 2\n"
        );
        let program = check_rules(&text)
            .program
            .unwrap_or_else(|| panic!("{text}"));
        let outer = program
            .decisions
            .iter()
            .find(|decision| decision.name == "outer");
        outer.and_then(|outer| {
            outer
                .tables()
                .first()
                .and_then(|table| table.columns[0].between)
        })
    };
    let whole = |low, high| Some((Rational::whole(low), Rational::whole(high)));
    assert_eq!(range(""), whole(-7, 140));
    assert_eq!(range("  then kept within 0 and 50\n"), whole(0, 50));
    assert_eq!(range("  then rounded up to 100\n"), whole(0, 200));
}

#[test]
fn a_divisor_that_may_be_zero_is_refused_unless_guarded() {
    let refused = [
        "let c = 1 / a",
        "let c = 1 / n",
        "let c = 7, rounded to n",
        "let c = if a at least 0 then 1 / a otherwise 0",
        "let c = if a over 0 then 0 otherwise 1 / a",
        "let c = if a over -1 then 1 / a otherwise 0",
        "let c = if a under 1 then 1 / a otherwise 0",
        "let c = if a over 0 or n over 0 then 1 / a otherwise 0",
        "let c = if a is not 1 then 1 / a otherwise 0",
        "let c = if b over 0 then 1 / a otherwise 0",
        "let c = if a over 0 then 1 / (a - 1) otherwise 0",
        "let c = 1 / the larger of a and 0",
        "let c = 1 / (a, kept within 0 and 2)",
        "let inverse = 1 / a\nlet c = if a over 0 then inverse otherwise 0",
        "decide d : number\n  by a\n    under 0 gives 1 / a\n    0 or more gives 1 / a",
        "decide d : number\n  by a\n    under -1 or 1 gives 1 / a\n    otherwise gives 1 / a",
        "decide d : number\n  only when a at least 0\n  gives 1 / a",
        "decide d : number\n  only when a over 0\n  gives 1\n  then kept within 0 and 1 / n",
    ];
    for rules in refused {
        assert!(codes(rules).contains(&Code::MayDivideByZero), "{rules}");
    }
    let accepted = [
        "let c = 1 / b",
        "let c = 1 / (a - 4)",
        "let c = 1 / (a + 3)",
        "let c = 1 / (b * b)",
        "let c = 1 / the size of b",
        "let c = if a over 0 then 1 / a otherwise 0",
        "let c = if 0 under a then 1 / a otherwise 0",
        "let c = if a under 0 then 1 / a otherwise 0",
        "let c = if a at most 0 then 0 otherwise 1 / a",
        "let c = if not (a at most 0) then 1 / a otherwise 0",
        "let c = if a over 0 and n over 0 then 1 / a + 1 / n otherwise 0",
        "let c = if a at most 0 or n is 0 then 0 otherwise 1 / (a * n)",
        "let c = if a is 0 then 0 otherwise 1 / a",
        "let c = if a is not 0 then 1 / -a otherwise 0",
        "let c = if a over b then 1 / a otherwise 0",
        "let c = 1 / the larger of a and 1",
        "let c = 1 / the smaller of a and -1",
        "let c = 1 / (a, kept within 1 and 2)",
        "decide d : number\n  by a\n    not 0 gives 1 / a\n    0 gives 0",
        "decide d : number\n  by a and n, first\n    over 0 and 1 or more gives 1 / (a * n)\n    otherwise gives 0",
        "decide d : number\n  only when a over 0\n  gives 1 / a",
    ];
    for rules in accepted {
        assert!(!codes(rules).contains(&Code::MayDivideByZero), "{rules}");
    }
}

#[test]
fn a_number_that_may_grow_too_large_is_a_warning() {
    let large = "1000000000000000000000";
    let rules = format!("let c = n * {large}\nlet e = c * c\ndecide d : number\n  gives e");
    assert_eq!(codes(&rules), [Code::MayOverflow]);
    let rules = format!("let c = n * {large}\nlet e = c + c\ndecide d : number\n  gives e");
    assert_eq!(codes(&rules), []);
}

/// An expression with how it is computed: `None` where something is divided by zero.
struct Term {
    text: String,
    value: Box<dyn Fn(Rational, Rational) -> Option<Rational>>,
}

/// A reading or a constant.
fn leaf(numbers: &mut Numbers) -> Term {
    let leaf = |text: &str, value: fn(Rational, Rational) -> Rational| Term {
        text: text.to_owned(),
        value: Box::new(move |a, b| Some(value(a, b))),
    };
    match numbers.below(4) {
        0 => leaf("a", |a, _| a),
        1 => leaf("b", |_, b| b),
        2 => leaf("1", |_, _| Rational::ONE),
        _ => leaf("0", |_, _| Rational::ZERO),
    }
}

fn term(numbers: &mut Numbers, deep: usize) -> Term {
    if deep == 0 {
        return leaf(numbers);
    }
    let (one, two) = (term(numbers, deep - 1), term(numbers, deep - 1));
    let (left, right) = (one.text, two.text);
    let (of_left, of_right) = (one.value, two.value);
    type Operation = fn(Rational, Rational) -> Option<Rational>;
    let operations: [(String, Operation); 6] = [
        (format!("({left} + {right})"), |one, two| one.plus(two).ok()),
        (format!("({left} - {right})"), |one, two| {
            one.minus(two).ok()
        }),
        (format!("({left} * {right})"), |one, two| {
            one.times(two).ok()
        }),
        (format!("({left} / {right})"), |one, two| one.over(two).ok()),
        (format!("(the larger of {left} and {right})"), |one, two| {
            Some(one.max(two))
        }),
        (
            format!("(the smaller of {left} and {right})"),
            |one, two| Some(one.min(two)),
        ),
    ];
    match numbers.below(9) {
        6 => Term {
            text: format!("(the size of {left})"),
            value: Box::new(move |a, b| of_left(a, b).map(Rational::size)),
        },
        7 => Term {
            text: format!("(if a over 0 then {left} otherwise {right})"),
            value: Box::new(move |a, b| {
                if a > Rational::ZERO {
                    of_left(a, b)
                } else {
                    of_right(a, b)
                }
            }),
        },
        8 => Term {
            text: format!("(if a is 0 then {left} otherwise {right})"),
            value: Box::new(move |a, b| {
                if a.is_zero() {
                    of_left(a, b)
                } else {
                    of_right(a, b)
                }
            }),
        },
        other => {
            let [plus, minus, times, over, larger, smaller] = operations;
            let (text, operation) = match other {
                0 => plus,
                1 => minus,
                2 => times,
                3 => over,
                4 => larger,
                _ => smaller,
            };
            Term {
                text,
                value: Box::new(move |a, b| operation(of_left(a, b)?, of_right(a, b)?)),
            }
        }
    }
}

#[test]
fn no_value_leaves_its_range_and_no_zero_is_divided_by() {
    let mut numbers = Numbers(41);
    let (mut refused, mut ranged) = (0, 0);
    for _ in 0..400 {
        let deep = 1 + numbers.below(3);
        let term = term(&mut numbers, deep);
        let halves = |low: i128, high: i128| {
            (2 * low..=2 * high).map(|half| Rational::fraction(half, 2).unwrap_or(Rational::ZERO))
        };
        let grid = halves(-2, 3).flat_map(|a| halves(1, 4).map(move |b| (a, b)));
        let values: Vec<Option<Rational>> = grid.map(|(a, b)| (term.value)(a, b)).collect();
        let rules = format!("let c = {}\ndecide d : number\n  gives c", term.text);
        let found = codes(&rules);
        if found.contains(&Code::MayDivideByZero) {
            refused += 1;
            continue;
        }
        assert!(values.iter().all(Option::is_some), "{}", term.text);
        // A term without a reading is a constant, which a column cannot be told from.
        let Some((low, high)) = range_of(&term.text) else {
            continue;
        };
        ranged += 1;
        let is_inside = |value: &Rational| (low..=high).contains(value);
        assert!(
            values.iter().flatten().all(is_inside),
            "{}: {low} to {high}",
            term.text
        );
    }
    assert!(
        refused > 40 && ranged > 200,
        "{refused} refused, {ranged} with a range"
    );
}
