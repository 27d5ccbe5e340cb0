//! The formatter over the rules of the repository: they are laid out, and laying out changes
//! neither meaning nor texts.

use std::fs;
use std::path::PathBuf;

use loftwright_dsl::check::check;
use loftwright_dsl::format::format_text;
use loftwright_engine::CONTRACT_VERSION;
use loftwright_tests::engine_side::{layers, program, rendered};
use loftwright_tests::generator::Random;
use loftwright_tests::program_generator::rules_text;
use loftwright_tests::workshop::{root, sorted_files};
use loftwright_tests::{fuzz, house};

/// What people build on: the contract, the shipped rulesets, the base of the corpora.
fn shipped() -> Vec<PathBuf> {
    let folders = [
        "engine",
        "rulesets/common",
        "rulesets/saltmarsh",
        "rulesets/skerry",
    ];
    let files = |folder: &&str| sorted_files(&root().join(folder), "rules");
    let mut files: Vec<PathBuf> = folders.iter().flat_map(files).collect();
    files.push(root().join("tests/corpus/base.rules"));
    files
}

/// `loftwright format engine rulesets/* tests/corpus` makes it so again.
#[test]
fn the_rules_of_the_repository_are_laid_out() {
    for path in shipped() {
        let text = fs::read_to_string(&path).unwrap();
        let formatted = format_text(&text).unwrap_or_else(|why| panic!("{path:?}: {why:?}"));
        assert_eq!(text, formatted, "{path:?}");
    }
}

/// The same rules with all the spaces that the formatter would choose taken out, and odd ones put
/// in.
fn untidy(text: &str) -> String {
    let line = |line: &str| {
        let rest = line.trim_start();
        let indent = if rest.len() < line.len() { "\t  " } else { "" };
        // Texts and comments keep their spaces.
        let end = rest.find(['"', '#']).unwrap_or(rest.len());
        let (words, texts) = rest.split_at(end);
        let mut words: Vec<&str> = words.split_whitespace().collect();
        if !texts.is_empty() {
            words.push(texts);
        }
        format!("{indent}{}  \r\n", words.join("   "))
    };
    text.lines().map(line).collect()
}

#[test]
fn laying_out_changes_neither_meaning_nor_texts() {
    for ruleset in ["common", "skerry", "base", "corners"] {
        let before = program(ruleset);
        let mut layers = layers(ruleset);
        for file in layers.iter_mut().flat_map(|layer| &mut layer.files) {
            let formatted = format_text(&file.1).unwrap_or_else(|why| panic!("{why:?}"));
            file.1 = untidy(&formatted);
            assert_eq!(format_text(&file.1).ok(), Some(formatted), "{}", file.0);
        }
        let after = check(&layers, CONTRACT_VERSION).program.unwrap();
        assert_eq!(before.digests, after.digests, "{ruleset}");
    }
}

/// Rules of every kind that the generator writes: without an error, laid out and untidied again.
#[test]
fn made_up_rules_check_and_stay_what_they_are_laid_out() {
    for seed in 0..20 {
        let text = rules_text(seed);
        let shown = |text: &str| format!("seed {seed}\n{text}");
        let before = house::checked("made_up.rules", &text);
        let rendered = rendered(&before);
        assert!(!before.has_errors(), "{rendered}\n{}", shown(&text));
        fuzz::parse_format_parse(text.as_bytes());
        let formatted = format_text(&text).unwrap();
        assert_eq!(
            format_text(&untidy(&formatted)).unwrap(),
            formatted,
            "{}",
            shown(&text)
        );
        let after = house::checked("made_up.rules", &formatted).program.unwrap();
        assert_eq!(
            before.program.unwrap().digests,
            after.digests,
            "{}",
            shown(&text)
        );
    }
}

/// Comments and line ends put in wherever a line may go on: inside parentheses, before `because`
/// and between texts.
fn broken_up(text: &str, random: &mut Random) -> String {
    let mut broken = String::new();
    for line in text.lines() {
        let (mut depth, mut is_text, mut is_comment) = (0, false, false);
        let mut rest = line.char_indices().peekable();
        while let Some((place, character)) = rest.next() {
            let after = &line[place + character.len_utf8()..];
            let may_go_on = depth > 0 || after.starts_with("because") || after.starts_with('"');
            match character {
                '\\' if is_text => {
                    broken.push('\\');
                    broken.extend(rest.next().map(|(_, escaped)| escaped));
                    continue;
                }
                '"' => is_text = !is_text,
                '#' if !is_text => is_comment = true,
                '(' if !is_text => depth += 1,
                ')' if !is_text => depth -= 1,
                ' ' if !is_text && !is_comment && may_go_on && random.chance(40) => {
                    let ends = [
                        "\n   ",
                        " # behind\n ",
                        "\n# a\n  # b\n ",
                        " # a\n\n    # b\n    ",
                    ];
                    broken.push_str(random.one_of::<&str>(&ends));
                    continue;
                }
                _ => {}
            }
            broken.push(character);
        }
        broken.push('\n');
    }
    broken
}

#[test]
fn comments_inside_lines_stay_where_they_are() {
    let mut random = Random(3);
    let mut texts: Vec<String> = shipped()
        .iter()
        .map(|path| fs::read_to_string(path).unwrap())
        .collect();
    texts.extend((0..10).map(rules_text));
    for text in texts {
        let broken = broken_up(&text, &mut random);
        assert!(format_text(&broken).is_ok(), "{broken}");
        fuzz::parse_format_parse(broken.as_bytes());
    }
}
