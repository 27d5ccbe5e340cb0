//! A house of a few lines on the smallest ruleset, `corpus/base.rules`, and what is found in it.

use std::collections::BTreeMap;

use loftwright_dsl::check::{CheckOutput, LayerSource, check};
use loftwright_dsl::diagnostic::Diagnostic;
use loftwright_dsl::quantity::Date;
use loftwright_dsl::syntax::Folder;
use loftwright_engine::CONTRACT_VERSION;
use loftwright_engine::assure::run_cases;

use crate::workshop::layer;

/// The day on which cases are run.
const DAY: &str = "2026-05-01";

/// A house whose rules are `text`, in a file `name`. Where the text has no `ruleset` line a second
/// file has it, unless the text begins by saying that there is to be none.
pub fn house(name: &str, text: &str) -> LayerSource {
    let mut files = vec![(name.to_owned(), text.to_owned())];
    let has_line = text.lines().any(|line| line.starts_with("ruleset "));
    if !has_line && !text.starts_with("# without a ruleset line") {
        let line = "ruleset house\n  title \"A house\"\n  language 1\n  builds on base\n";
        files.push(("house.rules".to_owned(), line.to_owned()));
    }
    LayerSource {
        name: "house".to_owned(),
        files,
    }
}

/// A house on the smallest ruleset, checked; its cases are not run.
pub fn checked(name: &str, text: &str) -> CheckOutput {
    let of_name = |name: &str| LayerSource {
        name: name.to_owned(),
        files: layer(name),
    };
    let layers = [of_name("contract"), of_name("base"), house(name, text)];
    check(&layers, CONTRACT_VERSION)
}

/// The findings of a house: the checker's, then those of its cases.
pub fn findings(name: &str, text: &str) -> (Folder, Vec<Diagnostic>) {
    let output = checked(name, text);
    let mut findings = output.diagnostics;
    if let Some(program) = &output.program {
        let day = Date::parse(DAY).unwrap();
        findings.extend(run_cases(program, &BTreeMap::new(), day).diagnostics);
    }
    (output.folder, findings)
}
