//! No word of the language without an example, no list of words that has drifted, no example that
//! is not laid out as `format` does it.

use std::collections::BTreeSet;
use std::fs;

use loftwright_dsl::format::format_file;
use loftwright_dsl::quantity::UNITS;
use loftwright_dsl::syntax::{Folder, SourceFile, keywords};

use crate::page::{Kind, folder, pages};

/// What stands in backticks in the table of a page under a heading.
fn listed(page: &str, heading: &str) -> BTreeSet<String> {
    let text = fs::read_to_string(folder().join(page)).unwrap();
    let (_, after) = text
        .split_once(&format!("\n## {heading}\n"))
        .unwrap_or_else(|| panic!("{page} has no heading `{heading}`"));
    let section = after.split("\n## ").next().unwrap();
    let rows = section.lines().filter(|line| line.starts_with("| `"));
    let first_cells = rows.filter_map(|row| row.trim_start_matches("| ").split(" |").next());
    first_cells
        .flat_map(|cell| cell.split('`').skip(1).step_by(2))
        .map(str::to_owned)
        .collect()
}

#[test]
fn the_list_of_keywords_is_the_grammar_s() {
    let known: BTreeSet<String> = keywords().iter().map(|word| (*word).to_owned()).collect();
    assert_eq!(listed("words.md", "Keywords"), known);
}

#[test]
fn the_list_of_units_is_the_language_s() {
    let known: BTreeSet<String> = UNITS.iter().map(|unit| unit.symbol.to_owned()).collect();
    assert_eq!(listed("words.md", "Units"), known);
}

/// The words of the rules of every page, comments and texts taken out.
fn words_of_the_examples() -> Vec<Vec<String>> {
    let mut lines = Vec::new();
    for page in pages() {
        let is_rules =
            |kind: &Kind| matches!(kind, Kind::Rules | Kind::RulesAlone | Kind::RulesContract);
        for block in page.blocks.iter().filter(|block| is_rules(&block.kind)) {
            for line in block.text.lines() {
                let line = line.split('#').next().unwrap();
                // Every second piece between quotes is a text.
                let outside: String = line.split('"').step_by(2).collect::<Vec<_>>().join(" ");
                let words = outside.split(|c: char| !c.is_ascii_alphanumeric() && c != '_');
                lines.push(
                    words
                        .filter(|word| !word.is_empty())
                        .map(str::to_owned)
                        .collect(),
                );
            }
        }
    }
    lines
}

#[test]
fn every_keyword_stands_in_an_example() {
    let lines = words_of_the_examples();
    let is_said = |keyword: &str| {
        let wanted: Vec<&str> = keyword.split(' ').collect();
        lines.iter().any(|line: &Vec<String>| {
            line.windows(wanted.len())
                .any(|words| words.iter().eq(wanted.iter()))
        })
    };
    let missing: Vec<&str> = keywords()
        .iter()
        .copied()
        .filter(|word| !is_said(word))
        .collect();
    assert!(missing.is_empty(), "no example says {missing:?}");
}

#[test]
fn every_page_is_in_the_contents_and_every_link_leads_somewhere() {
    let contents = fs::read_to_string(folder().join("README.md")).unwrap();
    let mut names: Vec<String> = pages().into_iter().map(|page| page.name).collect();
    names.push("tutorial.md".to_owned());
    for name in names.iter().filter(|name| *name != "README.md") {
        assert!(
            contents.contains(&format!("({name})")),
            "{name} is not in the contents"
        );
    }
    for name in names {
        let text = fs::read_to_string(folder().join(&name)).unwrap();
        let links = text.split("](").skip(1);
        for link in links.filter_map(|rest| rest.split(')').next()) {
            let file = link.split('#').next().unwrap();
            let is_there = file.is_empty() || folder().join(file).exists();
            assert!(is_there, "{name}: `{link}` leads nowhere");
        }
    }
}

/// Rules as `format` lays them out.
fn laid_out(text: &str) -> String {
    let mut folder = Folder::new();
    let source = SourceFile {
        layer: "page".to_owned(),
        name: "page.rules".to_owned(),
        text: text.to_owned(),
    };
    let file = folder.push(source.clone());
    format_file(file, &source).unwrap_or_else(|fault| panic!("{fault}\n{text}"))
}

/// To lay them out: `UPDATE=1 cargo test --test reference`.
#[test]
fn every_example_is_laid_out_as_format_does_it() {
    let mut faults = Vec::new();
    for page in pages() {
        let mut text = page.text.clone();
        for block in &page.blocks {
            if !matches!(block.kind, Kind::Rules | Kind::RulesAlone) {
                continue;
            }
            let wanted = laid_out(&block.text);
            if wanted != block.text {
                text = text.replacen(&block.text, &wanted, 1);
                faults.push(format!("{} is not laid out:\n{wanted}", block.place));
            }
        }
        if std::env::var_os("UPDATE").is_some() {
            fs::write(folder().join(&page.name), text).unwrap();
        }
    }
    assert!(faults.is_empty(), "{}", faults.join("\n"));
}
