//! How a file is cut: recovery, comments, continuations, pasted characters.

use super::{findings, read};

fn check(text: &str, expected: &[&str]) {
    assert_eq!(findings(text), expected, "{text}");
}

#[test]
fn an_error_hides_no_other() {
    let text = "let a = 1 +\n\
                let b = 2\n\
                decide c : mass\n  sorce common practice\n  by d\n    under 5 g givs low\n    5 g or more gives high\n\
                let e = (1\n\
                let f = 3\n\
                input g : length\n  betwen 1 in and 2 in\n  spread 1 inches\n";
    check(
        text,
        &[
            "L0101 ``: expected a value, found the end of the line",
            "L0101 `sorce`: `sorce` begins no line of a `decide` | did you mean `source`?",
            "L0101 `givs`: expected a verb of a row such as `gives` or `and`, found `givs` | did you mean `gives`?",
            "L0101 `(`: `(` is never closed | close it with `)` before the declaration ends",
            "L0101 `betwen`: `betwen` begins no line of an `input` | did you mean `between`?",
            "L0103 `inches`: `inches` is not a unit | did you mean `in`?",
        ],
    );
    // What can be read is there: `b`, `c`, `f`, `g`; of them `c` and `g` are not whole.
    let declarations = read(text).declarations;
    let damaged: Vec<_> = declarations.iter().map(|one| one.is_damaged).collect();
    assert_eq!(damaged, [false, true, false, true]);
}

#[test]
fn lines_that_belong_to_nothing() {
    check(
        "  source common practice\n  about \"x\"\nlet a = 1\n",
        &[
            "L0003 `source common practice`: an indented line before any declaration | a declaration begins in column 1",
        ],
    );
    check(
        "decid a : mass\n  gives 1 g\nlet b = 1\n",
        &["L0003 `decid`: `decid` begins no declaration | did you mean `decide`?"],
    );
    check(
        "rule a : mass\n  gives 1 g\n",
        &[
            "L0003 `rule`: `rule` begins no declaration | a declaration begins with one of: case, caution, choice, choose, decide, drop, group, input, let, limit, model, part, reads, replace, ruleset, scale",
        ],
    );
    check(
        "decide a : mass\nsource common practice\n  gives 1 g\n",
        &[
            "L0003 `source`: `source` begins no declaration, but stands in column 1 | what belongs to the declaration above is indented",
        ],
    );
    check(
        "decide a : mass\n  by b\n5 g or more gives 1 g\nlow gives 2 g\n",
        &[
            "L0003 `5`: `5 g or more gives 1 g` begins no declaration, but stands in column 1 | what belongs to the declaration above is indented",
            "L0003 `low`: `low` begins no declaration, but stands in column 1 | what belongs to the declaration above is indented",
        ],
    );
    check(
        "let a = 1\n  about \"x\"\n",
        &[
            "L0101 `about`: `about` begins no line of a `let` | it stands on one line; a longer expression goes on inside parentheses",
        ],
    );
}

#[test]
fn comments_are_kept_aside_with_their_places() {
    let text = "# one\nlet a = 1 # two é\nlet b = (1 # three (\n  + 2)\ncase \"# none\"\n  expect c = 1 # four\r\n#";
    let read = read(text);
    assert!(read.diagnostics.is_empty());
    let comments: Vec<_> = read.comments.iter().map(|one| one.text(text)).collect();
    assert_eq!(comments, ["# one", "# two é", "# three (", "# four", "#"]);
}

#[test]
fn places_stay_true_behind_comments_and_long_characters() {
    check(
        "let a = (1 # ééé −\n  + 2 # “x”\n  + )\n",
        &["L0101 `)`: expected a value, found `)`"],
    );
    check(
        "case \"é−\"\n  expect a = 1\n  expect b is 1\n",
        &["L0102 `is`: `is` is not how the language says it | write `=`"],
    );
}

#[test]
fn texts_end_on_their_line() {
    check(
        "limit a : b\n  says \"open\n  about \"x\"\n",
        &[
            "L0101 `\"open`: a text that is not closed on its line | close it with `\"`; a long text goes on in another one on the next line",
        ],
    );
    check(
        "limit a : b\n  says \"a\\n\"\n",
        &[
            "L0101 `\\n`: `\\n` in a text | a backslash stands before `\"` or another backslash only",
        ],
    );
    check("limit a : b\n  says \"a\\\\\" \"b\\\"\"\n    \"c\"\n", &[]);
}

#[test]
fn pasted_characters_are_named_and_the_plain_one_offered() {
    check(
        "let a = \u{2212}5 deg",
        &[
            "L0002 `\u{2212}`: `\u{2212}` is a minus sign (U+2212), which stands in texts and comments only | write `-`",
        ],
    );
    check(
        "let\u{a0}a = 5 deg",
        &[
            "L0002 `\u{a0}`: `\u{a0}` is a no-break space (U+00A0), which stands in texts and comments only | write a space",
        ],
    );
    check(
        "case \u{201c}x\u{201d}\n  expect a = 1\n",
        &[
            "L0002 `\u{201c}`: `\u{201c}` is a typographic quote (U+201C), which stands in texts and comments only | write `\"`",
        ],
    );
    check(
        "let a = 5\u{b0}",
        &[
            "L0002 `\u{b0}`: `\u{b0}` is a degree sign (U+00B0), which stands in texts and comments only | write a space and `deg`",
        ],
    );
    check("let a = 1\0\n", &["L0002 `\0`: a NUL (U+0000) | delete it"]);
    check(
        "limit a : b\n  says \"left\u{202e}right\"",
        &["L0002 `\u{202e}`: an invisible change of reading direction (U+202E) | delete it"],
    );
    check(
        "let größe = 1\nlet b = größe\n",
        &[
            "L0002 `ö`: `ö` is a letter (U+00F6), which stands in texts and comments only | names are of `a` to `z`, digits and `_`",
            "L0002 `ß`: `ß` is a letter (U+00DF), which stands in texts and comments only | names are of `a` to `z`, digits and `_`",
            "L0002 `ö`: `ö` is a letter (U+00F6), which stands in texts and comments only | names are of `a` to `z`, digits and `_`",
            "L0002 `ß`: `ß` is a letter (U+00DF), which stands in texts and comments only | names are of `a` to `z`, digits and `_`",
        ],
    );
    // The slip is read as it was meant.
    assert_eq!(read("let a = \u{2212}5 deg").declarations.len(), 1);
    // In texts and comments they are welcome.
    check(
        "limit a : b # \u{2212}\u{a0}\u{201c}\n  says \"\u{2212}\u{a0}\u{201c}5\u{b0}\u{201d}\"\n",
        &[],
    );
    check("\u{feff}let\ta\t=\t1\r\n", &[]);
    check(
        "let a = 1\rlet b = 2\n",
        &["L0002 `\r`: a carriage return without a line feed (U+000D) | delete it"],
    );
}

#[test]
fn blank_lines_and_comments_stand_anywhere() {
    check(
        "\n\ndecide a : mass\n\n  # why\n  by b\n\n    # a row\n    under 5 g gives 1 g\n\n      # because\n\n      because \"x\"\n# column one\n    5 g or more gives 2 g\n   \n",
        &[],
    );
}
