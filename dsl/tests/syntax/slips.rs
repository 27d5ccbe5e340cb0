//! Slips of people who write another language, or paper, all day: what is said to them.

use super::findings;

/// The one finding of a file: its code with the place, and its help.
fn answered(text: &str, place: &str, help: &str) {
    let found = findings(text);
    let [finding] = found.as_slice() else {
        panic!("{text}: {found:?}");
    };
    let (head, said) = finding.split_once(" | ").unwrap_or((finding, ""));
    let (at, _) = head.split_once(": ").expect("a place");
    assert_eq!((at, said), (place, help), "{text}");
}

fn near(text: &str, written: &str, right: &str) {
    answered(
        text,
        &format!("L0102 `{written}`"),
        &format!("write `{right}`"),
    );
}

/// A row beside another one, in a table of one column.
fn row(row: &str) -> String {
    format!("decide a : mass\n  by b\n    {row}\n    otherwise gives 1 g\n")
}

#[test]
fn what_stands_elsewhere_for_gives() {
    for sign in ["->", "=>", "-->", ":", "=", ":=", "then", "is"] {
        near(&row(&format!("under 5 deg {sign} 2 g")), sign, "gives");
    }
    near(&row("5 deg+ gives 2 g"), "+", "or more");
    near(&row("from 5 deg gives 2 g"), "from 5 deg", "5 deg or more");
    near(&row("* gives 2 g"), "*", "any");
    near(&row("- gives 2 g"), "-", "any");
    near(&row("low and - gives 2 g"), "-", "any");
}

#[test]
fn the_marks_of_a_tape_measure() {
    near("let a = 5\"\n", "5\"", "5 in");
    near("let a = 5'10\"\n", "5'10\"", "5 ft 10 in");
    near("let a = 35 1/4\" + b\n", "1/4\"", "1/4 in");
    near("let a = 5'\n", "'", " ft");
    near("let a = 5 %\n", "%", "percent");
    answered("let a = 1½ in\n", "L0002 `½`", "write a space and `1/2`");
}

#[test]
fn numbers_with_a_comma() {
    answered("let a = 5,5 deg\n", "L0103 `5,5`", "write `5.5`");
    answered(
        "let a = 1,000 mm\n",
        "L0103 `1,000`",
        "write `1000`, or `1.000` if it is a decimal",
    );
    near("let a = one in\n", "one in", "1 in");
    answered(
        "let a = 2 head_speed\n",
        "L0101 `head_speed`",
        "a product has its sign: `2 * head_speed`",
    );
    near("input a : count\n  between 0 to 10\n", "to", "and");
    answered(
        "input a : count\n  between 0..10\n",
        "L0103 `0..10`",
        "write `0 and 10`",
    );
}

#[test]
fn comments_of_another_language() {
    near("// a comment\nlet a = 1\n", "//", "#");
    near("let a = 1 // one\n", "//", "#");
    near("decide a : mass -- a comment\n  gives 1 g\n", "--", "#");
    answered(
        "decide a : mass\n  // why\n  gives 1 g\n",
        "L0101 `/`",
        "a comment begins with `#`",
    );
}

#[test]
fn a_sign_behind_the_word_of_a_line() {
    near("decide a : mass\n  gives: 1 g\n", "gives:", "gives");
    near("decide a : mass\n  gives = 1 g\n", "gives =", "gives");
    near(
        "decide a : mass\n  source: common practice\n  gives 1 g\n",
        "source:",
        "source",
    );
    near(
        "input a : count\n  between 0 and 5\n  default: 3\n",
        "default:",
        "default",
    );
    near("decide a = mass\n  gives 1 g\n", "=", ":");
    near("caution a if b over 1\n  says \"x\"\n", "if", ":");
    near("choice a : b, c\n", ":", "is");
    near("let a : mass is 1 g\n", "is", "=");
    near("let a = if b is c: 1 otherwise 2\n", ":", "then");
}

#[test]
fn words_for_a_comparison() {
    near("let a = b unknown\n", "unknown", "is not known");
    near("let a = b is unknown\n", "is unknown", "is not known");
    near("let a = b is not unknown\n", "is not unknown", "is known");
    near("let a = b in (c, d)\n", "in", "is one of");
    near("let a = b exceeds 5 deg\n", "exceeds", "over");
    near("let a = b x 2\n", "x", "*");
    near(
        "let a = b or if unknown 2\n",
        "or if unknown",
        ", or if unknown",
    );
    near("let a = b, if unknown 2\n", "if unknown", "or if unknown");
    answered(
        "let a = 1 if b otherwise 2\n",
        "L0101 `if`",
        "a value that depends begins with it: `if … then … otherwise …`",
    );
    answered(
        "let a = if b then 1\n",
        "L0101 ``",
        "say what holds if not: `otherwise …`",
    );
    answered(
        "let a = b)\n",
        "L0101 `)`",
        "delete it, or open it with `(` further left",
    );
}

#[test]
fn values_in_quotation_marks_and_texts_without() {
    near("choice a is \"red\", blue\n", "\"red\"", "red");
    near(
        "case \"x\"\n  given a = \"100 mph\"\n  expect b = 1\n",
        "\"100 mph\"",
        "100 mph",
    );
    near(
        &row("low gives 1 g\n    \"high\" gives 2 g"),
        "\"high\"",
        "high",
    );
    answered(
        &row("low gives 1 g because A shallow one."),
        "L0101 `A`",
        "write `\"A shallow one.\"`",
    );
}

#[test]
fn headers() {
    for every in ["for every", "for all", "per", "each"] {
        near(
            &format!("decide a : mass, {every} wedge\n  gives 1 g\n"),
            every,
            "for each",
        );
    }
    near(
        "input a : length in mm\n  between 0 mm and 1 mm\n",
        "in",
        ", shown in mm",
    );
    answered(
        "input a\n  between 0 and 1\n",
        "L0101 ``",
        "its type stands after the name, such as `: length`",
    );
    answered(
        "scale a is b < c in halves\n",
        "L0101 `in`",
        "a `,` stands before `in halves`",
    );
    answered(
        "scale a is b > c\n",
        "L0102 `>`",
        "write `<` | the lowest step of a scale comes first",
    );
    answered(
        "decide tip-mass : mass\n  gives 1 g\n",
        "L0101 `-`",
        "names are of letters, digits and `_`",
    );
    answered(
        " let a = 1\n",
        "L0003 `let`",
        "a declaration begins in column 1",
    );
}

#[test]
fn lines_of_another_language() {
    let begun = |kind: &str, word: &str, help: &str| {
        let text = format!("{kind}\n  {word} b\n");
        let found = findings(&text);
        let first = found.first().expect("a finding");
        assert!(first.ends_with(&format!("| {help}")), "{text}: {first}");
    };
    begun(
        "decide a : mass",
        "when",
        "write `only when …`, or rows below `by …`",
    );
    begun("choose a from b", "where", "write `needs …`");
    begun("choose a from b", "else", "write `if none on hand, …`");
    begun("case \"a\"", "when", "write `given …`");
    begun("case \"a\"", "then", "write `expect …`");
    begun(
        "case \"a\"",
        "turf = soft #",
        "write `given` before what is measured, `expect` before what comes out",
    );
    begun("input a : count", "range", "write `between … and …`");
    begun("caution a : b", "message", "write `says \"…\"`");
    near(
        "choose a from b\n  if none in stock, orders\n",
        "if none in stock",
        "if none on hand",
    );
}

#[test]
fn an_indented_declaration_is_one_finding_and_is_read() {
    let text = "let a = 1\n decide b : mass\n  source common practice\n  gives 1 g\n";
    answered(text, "L0003 `decide`", "a declaration begins in column 1");
    assert_eq!(super::read(text).declarations.len(), 2);
    // A row may begin with any name, and a choice has `let` lines.
    let names = "decide a : mass\n  by b\n    limit gives 1 g\n    case or part gives 2 g\n";
    assert_eq!(findings(names), Vec::<String>::new());
}
