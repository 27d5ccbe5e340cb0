//! The pages of the models: every model that rules may call stands on both.
//!
//! `dsl/reference/models-all.md` is written from the engine's contract. To write it anew, and then
//! read it: `UPDATE=1 cargo test -p loftwright-tests --test models_page`. What is to be said of a
//! model besides stands in `models.md`, by hand.

use std::fmt::Write;
use std::fs;

use loftwright_engine::CONTRACT_RULES;
use loftwright_engine::model::ModelId;
use loftwright_tests::workshop::root;

const HEAD: &str = "# All models

Each with its arguments and their ranges, its source, and what its answer is rounded to, as [the
engine's contract](contract.md) declares it. What they are good for, and how far they can be
trusted, stands on [the page of the models](models.md).
";

/// A declaration of the contract, taken apart as it is written.
struct Declared {
    name: &'static str,
    /// Name, type, the rest of it.
    arguments: Vec<(&'static str, &'static str, &'static str)>,
    answer: &'static str,
    about: &'static str,
    source: &'static str,
    answers_to: &'static str,
}

fn declared() -> Vec<Declared> {
    let paragraphs = CONTRACT_RULES.split("\n\n");
    paragraphs
        .filter_map(|text| of_paragraph(text.find("model ").and_then(|at| text.get(at..))?))
        .collect()
}

fn of_paragraph(text: &'static str) -> Option<Declared> {
    let mut lines = text.lines();
    let (name, rest) = lines.next()?.strip_prefix("model ")?.split_once('(')?;
    let (arguments, answer) = rest.rsplit_once(") : ")?;
    let argument = |text: &'static str| {
        let (name, rest) = text.split_once(" : ")?;
        let (of_type, range) = rest.split_once(' ').unwrap_or((rest, ""));
        Some((name, of_type, range))
    };
    let clauses: Vec<&str> = lines.map(str::trim).collect();
    let clause = |word: &str| {
        let found = clauses.iter().find_map(|line| line.strip_prefix(word));
        found.map(|found| found.trim().trim_matches('"'))
    };
    Some(Declared {
        name,
        arguments: arguments.split(", ").map(argument).collect::<Option<_>>()?,
        answer,
        about: clause("about")?,
        source: clause("source")?,
        answers_to: clause("answers to")?,
    })
}

fn page(models: &[Declared]) -> String {
    let mut page = HEAD.to_owned();
    for model in models {
        let names: Vec<&str> = model.arguments.iter().map(|(name, _, _)| *name).collect();
        let about = model.about;
        let _ = write!(
            page,
            "\n## {}\n\n`{}({}) : {}`, to {}\n\n{about}\n\n| argument | is | range |\n| --- | --- | --- |\n",
            model.name,
            model.name,
            names.join(", "),
            model.answer,
            model.answers_to,
        );
        for (name, of_type, range) in &model.arguments {
            let range = range.strip_prefix("between ").unwrap_or("any");
            let range = range.replace(" and ", " to ");
            let _ = writeln!(page, "| `{name}` | {of_type} | {range} |");
        }
        let _ = write!(page, "\nSource: {}.\n", model.source);
    }
    page
}

#[test]
fn the_page_of_all_models_is_what_the_contract_declares() {
    let path = root().join("dsl/reference/models-all.md");
    let page = page(&declared());
    if std::env::var_os("UPDATE").is_some() {
        fs::write(&path, &page).unwrap();
    }
    let written = fs::read_to_string(&path).unwrap_or_default();
    assert!(
        written == page,
        "write it anew: UPDATE=1 cargo test -p loftwright-tests --test models_page"
    );
}

#[test]
fn every_model_of_the_engine_is_declared_and_spoken_of() {
    let spoken = fs::read_to_string(root().join("dsl/reference/models.md")).unwrap();
    let declared = declared();
    let offered: Vec<ModelId> = ModelId::all().collect();
    assert_eq!(declared.len(), offered.len());
    for model in offered {
        let name = model.name();
        let found = declared.iter().find(|other| other.name == name);
        let arguments = found.map(|found| found.arguments.iter().map(|(name, _, _)| *name));
        let arguments: Vec<&str> = arguments.into_iter().flatten().collect();
        assert_eq!(
            arguments,
            model.arguments(),
            "{name} as the contract has it"
        );
        assert!(
            spoken.contains(&format!("`{name}`")) || spoken.contains(&format!("{name}(")),
            "`{name}` is not spoken of in dsl/reference/models.md"
        );
    }
}
