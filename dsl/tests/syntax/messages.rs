//! What is said of lines that are almost right or wrong.

use super::findings;

/// Checks the findings of a row in a table of one column.
fn row(row: &str, expected: &str) {
    let text = format!("decide a : mass\n  by b\n    {row}\n    otherwise gives 1 g\n");
    assert_eq!(findings(&text), [expected], "{row}");
}

fn near_row(condition: &str, right: &str) {
    row(
        &format!("{condition} gives 2 g"),
        &format!(
            "L0102 `{condition}`: `{condition}` is not how the language says it | write `{right}`"
        ),
    );
}

fn line(text: &str, expected: &str) {
    assert_eq!(findings(text), [expected], "{text}");
}

fn near(expression: &str, written: &str, right: &str) {
    line(
        &format!("let a = {expression}"),
        &format!(
            "L0102 `{written}`: `{written}` is not how the language says it | write `{right}`"
        ),
    );
}

#[test]
fn conditions_that_are_almost_right() {
    near_row("8 deg or less", "up to 8 deg");
    near_row("-8 deg or lower", "up to -8 deg");
    near_row("at least 5 deg", "5 deg or more");
    near_row("no less than 5 ft 10 in", "5 ft 10 in or more");
    near_row(">= 5 deg", "5 deg or more");
    near_row("5 deg or higher", "5 deg or more");
    near_row("at most 35 1/4 in", "up to 35 1/4 in");
    near_row("not more than 8 deg", "up to 8 deg");
    near_row("<= 8 deg", "up to 8 deg");
    near_row("above 8 deg", "over 8 deg");
    near_row("more than 8 deg", "over 8 deg");
    near_row(">8 deg", "over 8 deg");
    near_row("below 8 deg", "under 8 deg");
    near_row("less than 8 deg", "under 8 deg");
    near_row("< 8 deg", "under 8 deg");
    near_row("between 5 deg and 8 deg", "5 deg through 8 deg");
    near_row("between 5 and 8 deg", "5 through 8 deg");
    near_row("from 5 deg to 8 deg", "5 deg through 8 deg");
    near_row("5 to 8 deg", "5 through 8 deg");
    near_row("5 - 8 deg", "5 through 8 deg");
    near_row("= firm", "firm");
    near_row("is firm", "firm");
    near_row("is not firm", "not firm");
    near_row("!= firm", "not firm");
    near_row("more than most_bend", "over most_bend");
    row(
        "true gives 2 g",
        "L0102 `true`: `true` is not how the language says it | write `yes`",
    );
}

#[test]
fn comparisons_that_are_almost_right() {
    near("b < 5 deg", "< 5 deg", "under 5 deg");
    near("b <= 5 deg", "<= 5 deg", "at most 5 deg");
    near("b up to 5 deg", "up to 5 deg", "at most 5 deg");
    near("b > c", "> c", "over c");
    near("b >= c + 1", ">= c + 1", "at least c + 1");
    near("b above 5 deg", "above 5 deg", "over 5 deg");
    near("b less than 5 deg", "less than 5 deg", "under 5 deg");
    near("b is more than 5 deg", "is more than 5 deg", "over 5 deg");
    near("b is at most 5 deg", "is at most 5 deg", "at most 5 deg");
    near("b is 5 deg or more", "is 5 deg or more", "at least 5 deg");
    near("b is 5 deg or less", "is 5 deg or less", "at most 5 deg");
    near("b = c", "= c", "is c");
    near("b == c", "== c", "is c");
    near("b != c", "!= c", "is not c");
    near(
        "b between 3 deg and 4 deg",
        "b between 3 deg and 4 deg",
        "b at least 3 deg and b at most 4 deg",
    );
    near("if b then 1 else 2", "else", "otherwise");
    near("b is false", "false", "no");
    near("b && c", "&&", "and");
    near("b | c", "|", "or");
    near("5 % + 1", "%", "percent");
}

#[test]
fn literals_that_are_none() {
    row(
        "5deg gives 1 g",
        "L0103 `5deg`: `5deg` is not a number | write `5 deg`",
    );
    row(
        ".5 deg gives 1 g",
        "L0103 `.5`: `.5` is not a number | write `0.5`",
    );
    row(
        "5. deg gives 1 g",
        "L0103 `5.`: `5.` is not a number | write `5`",
    );
    row(
        "1,5 deg gives 1 g",
        "L0103 `1,5`: `1,5` is not a number | write `1.5`",
    );
    row(
        "1e5 gives 1 g",
        "L0103 `1e5`: `1e5` is not a number | numbers are written `12`, `0.25`, `1/4` or `35 1/4`",
    );
    row(
        "5 degs gives 1 g",
        "L0103 `degs`: `degs` is not a unit | did you mean `deg`?",
    );
    row(
        "5 feet gives 1 g",
        "L0103 `feet`: `feet` is not a unit | did you mean `ft`?",
    );
    row(
        "5 MPH gives 1 g",
        "L0103 `MPH`: `MPH` is not a unit | did you mean `mph`?",
    );
    row(
        "5 furlongs gives 1 g",
        "L0103 `furlongs`: `furlongs` is not a unit | the units are in, mm, cm, m, ft, yd, kg, g, oz, lb, grain, deg, mph, km/h, m/s, ft/s, rpm, s, ms, hours, days, weeks, cpm, cm3, cm2, kg/m3, degC, degF, hPa, inHg, percent, points, point, money",
    );
    row(
        "2026-02-30 gives 1 g",
        "L0103 `2026-02-30`: `2026-02-30` is not a date | there is no such day",
    );
    row(
        "2026-5-1 gives 1 g",
        "L0103 `2026-5-1`: `2026-5-1` is not a date | write `2026-05-01`",
    );
    row(
        "5 through 6 ft 2 in gives 1 g",
        "L0103 `5`: `5` may be feet or inches here | write `5 ft` or `5 in`",
    );
    row(
        "low moves up 1/4",
        "L0103 `1/4`: `1/4` steps | a scale has whole and half steps: `1/2`, `1`, `1 1/2`",
    );
    line(
        "let a = 1/0 in",
        "L0103 `1/0 in`: `1/0 in`: division by zero",
    );
    line(
        &format!("let a = {}", "9".repeat(60)),
        &format!(
            "L0103 `{0}`: `{0}`: number too large to hold exactly",
            "9".repeat(60)
        ),
    );
    line(
        "case \"x\"\n  given kept.0.loft = 1 deg\n  expect a = 1\n",
        "L0103 `0`: `0` is no number of a club; they count from 1",
    );
}

#[test]
fn words_with_a_slip() {
    line(
        "let a = b rounded to 1",
        "L0101 `rounded`: expected `,`, an operator such as `+` or `under` or the end of the line, found `rounded` | a `,` stands before `rounded`",
    );
    line(
        "let a = b, round to 1",
        "L0101 `round`: expected `rounded to`, `kept within` or `or if unknown`, found `round` | did you mean `rounded`?",
    );
    row(
        "low givs 1 g",
        "L0101 `givs`: expected a verb of a row such as `gives` or `and`, found `givs` | did you mean `gives`?",
    );
    row(
        "low gives 1 g becuase \"x\"",
        "L0101 `becuase`: expected `,`, `because`, an operator such as `+` or `under` or the end of the line, found `becuase` | did you mean `because`?",
    );
    line(
        "choose a from b\n  need kind is driver\n",
        "L0101 `need`: `need` begins no line of a `choose` | did you mean `needs`?",
    );
    line(
        "choose a from b\n  if none on hand, order\n",
        "L0101 `order`: expected `leaves open`, `needs` or `orders`, found `order` | did you mean `orders`?",
    );
    line(
        "choose a from b\n  prefers c near d, within 2 in\n",
        "L0101 ``: expected `weight` or an operator such as `+` or `under`, found the end of the line | a `prefers` line says how much it counts: `weight 2`",
    );
    line(
        "choose a from b\n  takes one from on_hand\n",
        "L0101 `one`: expected a number, found `one` | write `1`",
    );
}

#[test]
fn words_in_the_wrong_place() {
    line(
        "let a = the bigger of b and c",
        "L0101 `the`: expected a value, found `the` | after `the` comes one of: larger of, smaller of, size of, largest, smallest, total",
    );
    line(
        "let Alpha = 1",
        "L0101 `Alpha`: expected a name, found `Alpha` | names begin with a small letter: `alpha`",
    );
    line(
        "decide over : mass\n  gives 1 g\n",
        "L0101 `over`: expected a name, found `over` | `over` is a word of the language and cannot be a name",
    );
    line(
        "scale a is b, c",
        "L0101 `c`: expected `in halves`, found `c` | the steps of a scale are joined by `<`, lowest first",
    );
    line(
        "replace rule a",
        "L0101 `rule`: expected a declaration such as `decide`, found `rule`",
    );
    line(
        "input a length",
        "L0101 `length`: expected `:`, found `length`",
    );
    line(
        "input a = length",
        "L0102 `=`: `=` is not how the language says it | write `:`",
    );
    line(
        "case title\n  expect a = 1\n",
        "L0101 `title`: expected a text in quotation marks, found `title` | write `case \"title\"`",
    );
    line(
        "case \"a\" \"b\"\n  expect a = 1\n",
        "L0101 `\"`: expected the end of the line, found `\"`",
    );
    line(
        "case \"x\"\n  expect no cautoin a\n",
        "L0101 `cautoin`: expected `caution` or `limit`, found `cautoin` | did you mean `caution`?",
    );
}

#[test]
fn lists_joined_by_something_else() {
    row(
        "under 5 g, any gives 1 g",
        "L0101 `,`: expected a verb of a row such as `gives` or `and`, found `,` | the conditions of a row are joined by `and`, several values of one column by `or`",
    );
    line(
        "decide a : mass\n  by b, c\n    any gives 1 g\n",
        "L0101 `c`: expected `first` or `if unknown`, found `c` | the columns of a table are joined by `and`",
    );
    line(
        "choice a is b or c",
        "L0101 `or`: expected `,` or the end of the line, found `or` | the values of a choice are joined by `,`",
    );
    line(
        "decide a : mass for each b\n  gives 1 g\n",
        "L0101 `for`: expected `,`, `or none` or the end of the line, found `for` | a `,` stands before `for`",
    );
}

#[test]
fn clauses_that_are_missing_or_too_many() {
    line(
        "limit a : b\n  source \"x\"\n  about \"y\"\n  source common practice\n",
        "L0104 `source common practice`: a second `source` in one declaration",
    );
    line(
        "decide a : mass\n  source common practice\n",
        "L0104 `decide a : mass`: a decision that does not say how it is decided | it needs one of: rows below `by …`, `gives …`, `first gives …`",
    );
    line(
        "decide a : mass\n  by b\n",
        "L0104 `by b`: a table without rows | write its rows below it, each with what it `gives`",
    );
    line(
        "decide a : mass, for each b\n  next gives previous\n",
        "L0104 `decide a : mass, for each b`: a decision along a group without `first gives` | say what the first club takes: `first gives …`",
    );
    line(
        "decide a : mass\n  by b\n    any gives 1 g\n  gives 2 g\n",
        "L0104 `gives 2 g`: `gives` where `by` already says how it is decided | a decision is by rows, or `gives` an expression, or goes along a group",
    );
    line(
        "decide a : mass\n  first gives 1 g\n  next gives previous\n  next by b\n    any gives 2 g\n",
        "L0104 `next by b`: `next by` where `next gives` already says how it is decided | a decision is by rows, or `gives` an expression, or goes along a group",
    );
    line(
        "case \"a\"\n  given b = 1\n",
        "L0104 `case \"a\"`: a case that expects nothing | write at least one line such as `expect wedge_count = 3`",
    );
    line(
        "part a\n",
        "L0104 `part a`: a part without fields | write at least one line such as `has mass : mass`",
    );
    line(
        "group a, given with the player\n  is b where c\n",
        "L0104 `is b where c`: a group whose members are said twice",
    );
    line(
        "drop case \"a\"\n",
        "L0101 ``: expected `because`, found the end of the line",
    );
    line(
        "decide a : mass\n  gives 1 g\n    low gives 2 g\n",
        "L0101 `low gives 2 g`: a row that stands below no table | rows stand below `by …`, `then by …` or `next by …`",
    );
    // What could not be read is not missing as well.
    line(
        "case \"a\"\n  expect b = \n",
        "L0101 ``: expected a value, found the end of the line",
    );
}
