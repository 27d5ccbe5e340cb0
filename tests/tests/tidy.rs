//! The repository itself, kept tidy: sizes of files and functions, width of lines, what must not
//! stand in a committed file, the arrows between the crates.

use std::fs;
use std::path::{Path, PathBuf};

use loftwright_tests::workshop::root;

/// Crates, and which of the workspace's crates each may depend on.
const ARROWS: [(&str, &[&str]); 7] = [
    ("proto", &[]),
    ("dsl", &[]),
    ("engine", &["dsl"]),
    // Its tests use `testing`; nothing else of it can, since `testing` is made of it.
    ("server", &["proto", "dsl", "engine", "testing"]),
    ("testing", &["proto", "dsl", "engine", "server"]),
    ("tests", &["proto", "dsl", "engine", "server"]),
    (
        "benches",
        &["proto", "dsl", "engine", "server", "testing", "tests"],
    ),
];

/// The longest file, in lines, without a reason at its head.
const FILE_LINES: usize = 500;
/// The longest function, in lines.
const FUNCTION_LINES: usize = 70;
/// The widest line, in characters; a line with a text in it may be wider, since no tool breaks it.
const COLUMNS: usize = 100;

fn walk(folder: &Path, found: &mut Vec<PathBuf>) {
    let mut entries: Vec<_> = fs::read_dir(folder)
        .unwrap()
        .map(|entry| entry.unwrap().path())
        .collect();
    entries.sort();
    for path in entries {
        let name = path.file_name().unwrap().to_str().unwrap();
        // `.git` is a file in a linked work tree.
        if ["target", ".git", ".venv", "__pycache__"].contains(&name) {
            continue;
        }
        if path.is_dir() {
            walk(&path, found);
        } else {
            found.push(path);
        }
    }
}

fn files() -> Vec<PathBuf> {
    let mut found = Vec::new();
    walk(&root(), &mut found);
    found
}

fn rust_files() -> Vec<(String, String)> {
    let is_rust = |path: &PathBuf| path.extension().is_some_and(|ending| ending == "rs");
    files()
        .into_iter()
        .filter(is_rust)
        .map(|path| (shown(&path), read(&path)))
        .collect()
}

fn shown(path: &Path) -> String {
    path.strip_prefix(root()).unwrap().display().to_string()
}

fn read(path: &Path) -> String {
    fs::read_to_string(path).unwrap_or_else(|error| panic!("{}: {error}", shown(path)))
}

fn assert_none(what: &str, faults: &[String]) {
    assert!(faults.is_empty(), "{what}:\n{}", faults.join("\n"));
}

#[test]
fn no_file_is_too_long() {
    let mut faults = Vec::new();
    for (name, text) in rust_files() {
        let lines = text.lines().count();
        let has_reason = text
            .lines()
            .take(30)
            .any(|line| line.contains("This file is long because"));
        if lines > FILE_LINES && !has_reason {
            faults.push(format!("{name}: {lines} lines"));
        }
    }
    assert_none(
        "over 500 lines, and no `This file is long because …` at the head",
        &faults,
    );
}

/// A function begins at a line with `fn ` and ends at the first line after it that closes a brace
/// at the same depth; formatted code has it nowhere else.
fn long_functions(name: &str, text: &str) -> Vec<String> {
    let lines: Vec<&str> = text.lines().collect();
    let mut faults = Vec::new();
    for (start, line) in lines.iter().enumerate() {
        let code = line.trim_start();
        let is_function = code.starts_with("fn ")
            || (code.starts_with("pub") || code.starts_with("async") || code.starts_with("const"))
                && code.contains(" fn ")
                && !code.contains('=');
        let has_reason = start > 0 && lines[start - 1].contains("// Long because");
        if !is_function || has_reason {
            continue;
        }
        let indent = line.len() - code.len();
        let closes = |line: &&str| {
            let rest = line.trim_start();
            line.len() - rest.len() == indent
                && (rest == "}" || rest == ");" || rest.ends_with(';'))
        };
        let is_one_line = code.ends_with(';') || code.ends_with('}');
        let length = if is_one_line {
            1
        } else {
            let rest = lines[start + 1..].iter();
            rest.take_while(|line| !closes(line)).count() + 2
        };
        if length > FUNCTION_LINES {
            faults.push(format!("{name}:{}: {length} lines", start + 1));
        }
    }
    faults
}

#[test]
fn no_function_is_too_long() {
    let faults: Vec<_> = rust_files()
        .iter()
        .flat_map(|(name, text)| long_functions(name, text))
        .collect();
    assert_none("functions over 70 lines", &faults);
}

#[test]
fn a_long_function_is_found() {
    let body = "        let x = 1;\n".repeat(80);
    let text = format!("impl X {{\n    pub fn long() {{\n{body}    }}\n}}\nfn short() {{\n}}\n");
    assert_eq!(long_functions("x.rs", &text), ["x.rs:2: 82 lines"]);
}

/// A line of a text that goes on with a backslash.
fn is_inside_a_text(line: &str) -> bool {
    line.ends_with('\\') || line.contains("\\n")
}

#[test]
fn no_line_is_too_wide() {
    let mut faults = Vec::new();
    for (name, text) in rust_files() {
        for (number, line) in text.lines().enumerate() {
            let is_text = line.contains('"') && !line.trim_start().starts_with("//");
            if line.chars().count() > COLUMNS && !is_text && !is_inside_a_text(line) {
                faults.push(format!("{name}:{}", number + 1));
            }
        }
    }
    assert_none("lines over 100 columns", &faults);
}

#[test]
fn no_test_is_skipped_and_nothing_is_left_to_do() {
    // Put together, so that this file does not find itself.
    let words = [
        ["#[", "ignore"].concat(),
        ["to", "do!("].concat(),
        ["db", "g!("].concat(),
        ["unimple", "mented!("].concat(),
        ["thread::", "sleep"].concat(),
    ];
    let mut faults = Vec::new();
    for (name, text) in rust_files() {
        for (number, line) in text.lines().enumerate() {
            let code = line.split("//").next().unwrap_or(line);
            if let Some(word) = words.iter().find(|word| code.contains(word.as_str())) {
                faults.push(format!("{name}:{}: {word}", number + 1));
            }
        }
    }
    assert_none("skipped, or left for later", &faults);
}

#[test]
fn no_file_names_a_machine() {
    // Put together, so that this file does not find itself.
    let paths = [
        ["/wo", "rk/"].concat(),
        ["/tm", "p/"].concat(),
        ["/ho", "me/"].concat(),
        ["/ro", "ot/"].concat(),
        ["/Us", "ers/"].concat(),
        ["../sha", "red"].concat(),
    ];
    let mut faults = Vec::new();
    for path in files() {
        let Ok(text) = fs::read_to_string(&path) else {
            continue;
        };
        if path.ends_with("Cargo.lock") {
            continue;
        }
        for (number, line) in text.lines().enumerate() {
            if let Some(found) = paths.iter().find(|found| line.contains(found.as_str())) {
                faults.push(format!("{}:{}: {found}", shown(&path), number + 1));
            }
        }
    }
    assert_none("machine paths", &faults);
}

fn manifest(folder: &str) -> toml::Table {
    read(&root().join(folder).join("Cargo.toml"))
        .parse()
        .unwrap()
}

#[test]
fn the_arrows_between_the_crates_point_one_way() {
    let mut faults = Vec::new();
    for (folder, allowed) in ARROWS {
        let manifest = manifest(folder);
        for section in ["dependencies", "dev-dependencies", "build-dependencies"] {
            let dependencies = manifest.get(section).and_then(toml::Value::as_table);
            for name in dependencies.into_iter().flat_map(toml::Table::keys) {
                if let Some(own) = name.strip_prefix("loftwright-")
                    && !allowed.contains(&own)
                {
                    faults.push(format!("{folder} → {own} ({section})"));
                }
            }
        }
    }
    assert_none("arrows that the house does not have", &faults);
}

#[test]
fn every_member_has_an_arrow_here_and_inherits_the_lints() {
    let workspace: toml::Table = read(&root().join("Cargo.toml")).parse().unwrap();
    let members = workspace["workspace"]["members"].as_array().unwrap();
    let members: Vec<_> = members
        .iter()
        .map(|member| member.as_str().unwrap())
        .collect();
    assert_eq!(members, ARROWS.map(|(folder, _)| folder));
    for folder in members {
        let lints = manifest(folder)["lints"].clone();
        let is_inherited = lints.get("workspace") == Some(&toml::Value::Boolean(true));
        // Tests and benches may unwrap: they state what they keep. Generated code is not linted.
        let keeps_what_matters = lints
            .get("rust")
            .and_then(|rust| rust.get("unsafe_code"))
            .is_some_and(|level| level.as_str() == Some("forbid"));
        assert!(
            is_inherited || keeps_what_matters,
            "{folder} has lints of its own"
        );
        if ["dsl", "engine", "server"].contains(&folder) {
            assert!(is_inherited, "{folder} must inherit the workspace's lints");
        }
    }
}

#[test]
fn the_pure_crates_ban_what_is_not_pure() {
    for folder in ["dsl", "engine"] {
        let clippy = read(&root().join(folder).join("clippy.toml"));
        for banned in [
            "std::fs",
            "std::env",
            "std::net",
            "std::time",
            "std::thread",
            "HashMap",
        ] {
            assert!(
                clippy.contains(banned),
                "{folder}/clippy.toml does not ban {banned}"
            );
        }
    }
}
