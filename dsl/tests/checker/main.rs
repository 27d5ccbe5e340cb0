//! The checker: findings, proofs against brute force, digests.

mod digests;
mod findings;
mod limits;
mod proofs;
mod replacements;

use loftwright_dsl::check::{CheckOutput, LayerSource, check};
use loftwright_dsl::diagnostic::{Code, Severity};

/// Checks one layer of rules on top of an empty contract.
fn check_rules(rules: &str) -> CheckOutput {
    check_layers(&[rules])
}

/// Checks layers put on top of each other, lowest first.
fn check_layers(layers: &[&str]) -> CheckOutput {
    let layer = |name: &str, text: String| LayerSource {
        name: name.to_owned(),
        files: vec![(format!("{name}.rules"), text)],
    };
    let mut sources = vec![layer("contract", "ruleset contract\n".to_owned())];
    for (place, rules) in layers.iter().enumerate() {
        let name = format!("layer_{place}");
        sources.push(layer(&name, format!("ruleset {name}\n{rules}")));
    }
    check(&sources, 1)
}

/// The codes of all errors and warnings.
fn codes(output: &CheckOutput) -> Vec<Code> {
    output
        .diagnostics
        .iter()
        .filter(|finding| finding.severity != Severity::Note)
        .map(|finding| finding.code)
        .collect()
}

/// Expects the rules to have just these findings.
#[track_caller]
fn expect_codes(rules: &str, expected: &[Code]) -> CheckOutput {
    let output = check_rules(rules);
    assert_eq!(codes(&output), expected, "{:#?}", output.diagnostics);
    output
}
