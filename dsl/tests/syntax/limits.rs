//! Every limit on both sides, and what is far beyond them.

use loftwright_dsl::diagnostic::Code;
use loftwright_dsl::syntax::limits::{
    DECLARATION, EXPRESSION, FILE, FINDINGS, FOLDER, LINE, Limit, NESTING,
};
use loftwright_dsl::syntax::{Folder, SourceFile, parse_folder};

use super::{findings, read};

/// The one finding is the limit's, by its name.
fn is_refused_by(limit: Limit, text: &str) {
    let read = read(text);
    assert_eq!(read.diagnostics.len(), 1, "{:?}", read.diagnostics);
    let finding = &read.diagnostics[0];
    assert_eq!(finding.code, Code::LimitExceeded);
    assert!(finding.help[0].contains(limit.name), "{:?}", finding.help);
    assert!(finding.help[0].contains(&limit.most.to_string()));
}

fn passes(text: &str) {
    assert_eq!(findings(text), [""; 0]);
}

/// `text` filled with a comment up to `length` bytes.
fn filled(text: &str, length: usize) -> String {
    let mut filled = format!("{text}\n");
    while filled.len() + 101 < length {
        filled.push_str(&format!("#{}\n", "x".repeat(99)));
    }
    filled.push_str(&format!("#{}", "x".repeat(length - filled.len() - 1)));
    filled
}

#[test]
fn a_file_of_one_mebibyte() {
    assert_eq!(FILE.most, 1 << 20);
    let text = filled("let a = 1", FILE.most);
    assert_eq!(text.len(), FILE.most);
    passes(&text);
    is_refused_by(FILE, &filled("let a = 1", FILE.most + 1));
}

#[test]
fn a_folder_of_ten_mebibytes() {
    assert_eq!(FOLDER.most, 10 << 20);
    let mut folder = Folder::new();
    let mut push = |name: &str, length: usize| {
        folder.push(SourceFile {
            layer: "trial".to_owned(),
            name: name.to_owned(),
            text: filled("let a = 1", length),
        });
        folder.clone()
    };
    for _ in 0..9 {
        push("whole.rules", FILE.most);
    }
    let (declarations, findings) = parse_folder(&push("last.rules", FILE.most));
    assert_eq!((declarations.len(), findings.len()), (10, 0));
    let (declarations, findings) = parse_folder(&push("one_more.rules", 100));
    assert_eq!((declarations.len(), findings.len()), (0, 1));
    assert_eq!(findings[0].code, Code::LimitExceeded);
    assert!(findings[0].help[0].contains(FOLDER.name));
}

#[test]
fn a_line_of_four_kibibytes() {
    assert_eq!(LINE.most, 4 * 1024);
    let line = |length: usize| format!("let a = 1 # {}", "é".repeat((length - 12) / 2));
    assert_eq!(line(LINE.most).len(), LINE.most);
    passes(&line(LINE.most));
    passes(&format!("{}\r\n", line(LINE.most)));
    is_refused_by(LINE, &line(LINE.most + 2));
}

#[test]
fn a_declaration_of_64_kibibytes() {
    assert_eq!(DECLARATION.most, 64 * 1024);
    let declaration = |length: usize| {
        let mut text = "group a\n".to_owned();
        while text.len() + 30 < length {
            text.push_str("  # a comment\n");
        }
        let rest = length - text.len() - "  has b : c".len();
        format!("{text}  has {}b : c", "b".repeat(rest))
    };
    assert_eq!(declaration(DECLARATION.most).len(), DECLARATION.most);
    passes(&declaration(DECLARATION.most));
    is_refused_by(DECLARATION, &declaration(DECLARATION.most + 1));
}

#[test]
fn sixty_four_parentheses() {
    assert_eq!(NESTING.most, 64);
    let nested = |depth: usize| format!("let a = {}b{}", "(".repeat(depth), ")".repeat(depth));
    passes(&nested(64));
    is_refused_by(NESTING, &nested(65));
    is_refused_by(NESTING, &nested(2_000));
    // Spread over lines, so that no line is too long.
    let lines = format!(
        "let a = {}b{}",
        "(\n ".repeat(10_000),
        ")\n ".repeat(10_000)
    );
    is_refused_by(NESTING, &lines);
}

/// Every form that holds another one, as deep as the limit allows, in debug builds too, on the
/// stack of a thread of a server.
#[test]
fn the_deepest_nesting_fits_a_stack_of_two_mebibytes() {
    const FORMS: &[(&str, &str)] = &[
        ("(", ")"),
        ("f(", ")"),
        ("not (", ")"),
        ("b within (", ") of 3"),
        ("b between 1 and (", ")"),
        ("if ", " then b otherwise c"),
        ("if b then ", " otherwise c"),
        ("the larger of ", " and c"),
        ("any b where ", ""),
        ("number of b where ", ""),
        ("1 g for each 1 in of ", ""),
        ("the size of -f(b, c is d and 2 * (", ", or if unknown 3))"),
    ];
    let read_all = || {
        for (before, after) in FORMS {
            for depth in [31, 32, 63, 64, 65, 100] {
                let text = format!("let a = {}b{}", before.repeat(depth), after.repeat(depth));
                let table = format!(
                    "decide a : b\n  by ({0}b{1})\n    any gives {0}b{1}",
                    before.repeat(depth - 1),
                    after.repeat(depth - 1)
                );
                for text in [text, table] {
                    let lines = text.replace(' ', "\n  ");
                    let known = |code: Code| {
                        matches!(code, Code::LimitExceeded | Code::NearMiss | Code::Syntax)
                    };
                    let is_known = |text: &str| {
                        read(text)
                            .diagnostics
                            .iter()
                            .all(|finding| known(finding.code))
                    };
                    assert!(is_known(&text), "{before}");
                    assert!(is_known(&lines), "{before}");
                }
            }
        }
    };
    std::thread::Builder::new()
        .stack_size(2 << 20)
        .spawn(read_all)
        .expect("a thread")
        .join()
        .expect("no panic");
}

#[test]
fn forms_that_hold_others_count_as_nesting() {
    let nested = |depth: usize| format!("let a = {}b", "any b where ".repeat(depth));
    passes(&nested(64));
    is_refused_by(NESTING, &nested(65));
    let both = |depth: usize| {
        let text = "if (".repeat(depth);
        format!("let a = {text}b{}", ") then c otherwise d".repeat(depth))
    };
    passes(&both(32));
    is_refused_by(NESTING, &both(33));
}

#[test]
fn two_hundred_and_fifty_six_values_and_operators() {
    assert_eq!(EXPRESSION.most, 256);
    // 128 values and 127 signs are 255.
    passes(&format!("let a = b{}", " + b".repeat(127)));
    is_refused_by(EXPRESSION, &format!("let a = b{}", " + b".repeat(128)));
    passes(&format!("let a = {}b", "-".repeat(255)));
    is_refused_by(EXPRESSION, &format!("let a = {}b", "-".repeat(256)));
    is_refused_by(EXPRESSION, &format!("let a = {}b", "not ".repeat(1_000)));
    is_refused_by(
        EXPRESSION,
        &format!("let a = b{}", ", rounded to 1".repeat(200)),
    );
    is_refused_by(
        EXPRESSION,
        &format!("let a = (b{})", "\n  + b".repeat(9_000)),
    );
}

#[test]
fn a_hundred_findings() {
    assert_eq!(FINDINGS.most, 100);
    let wrong = |count: usize| "let a = 1 +\n".repeat(count);
    assert_eq!(read(&wrong(100)).diagnostics.len(), 100);
    let more = read(&wrong(101)).diagnostics;
    assert_eq!(more.len(), 101);
    assert_eq!(more[99].code, Code::Syntax);
    assert_eq!(more[100].code, Code::LimitExceeded);
    assert!(more[100].help[0].contains(FINDINGS.name));
    assert_eq!(read(&wrong(50_000)).diagnostics.len(), 101);
}

#[test]
fn ten_megabytes_are_refused_by_the_limits_name() {
    for junk in [
        "\0",
        "(",
        "let a = (\n",
        "\u{2212}",
        "\"",
        "decide\n",
        "# \n",
        " ",
        "\r",
    ] {
        is_refused_by(FILE, &junk.repeat(10_000_000 / junk.len()));
    }
}
