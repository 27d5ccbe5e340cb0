//! One slip is said where it stands and nowhere else: lines of a ruleset are spoilt in turn, and
//! each is one finding, whatever rests on what the line says.

use loftwright_dsl::check::{LayerSource, check};
use loftwright_dsl::diagnostic::{Severity, render_short};
use loftwright_engine::CONTRACT_VERSION;
use loftwright_tests::workshop::layer;

/// The findings of a ruleset whose only file has this text, a line each, with the line they
/// point at, from 0.
fn found(text: &str) -> Vec<(usize, String)> {
    let of = |name: &str, files: Vec<(String, String)>| LayerSource {
        name: name.to_owned(),
        files,
    };
    let file = ("corners.rules".to_owned(), text.to_owned());
    let layers = [
        of("contract", layer("contract")),
        of("base", layer("base")),
        of("corners", vec![file]),
    ];
    let output = check(&layers, CONTRACT_VERSION);
    let findings = output.diagnostics.iter();
    findings
        .filter(|finding| finding.severity != Severity::Note)
        .map(|finding| {
            let span = finding.primary.span;
            let file = &output.folder[span.file].text;
            let line = file[..span.start].matches('\n').count();
            let told = render_short(&output.folder, std::slice::from_ref(finding));
            (line, told)
        })
        .collect()
}

fn corners() -> String {
    layer("corners").remove(0).1
}

/// Every line takes minutes, `EVERY=1` asks for them; else every eleventh, and those that
/// others rest
/// on: the headers of vocabularies, groups and inputs, and the lines of groups.
fn is_tried((place, line): &(usize, &&str)) -> bool {
    let begins = |words: &str| line.trim_start().starts_with(words);
    let is_rested_on = ["scale", "choice", "input", "group", "is ", "let", "ruleset"];
    std::env::var_os("EVERY").is_some()
        || place % 11 == 0
        || is_rested_on.iter().any(|words| begins(words))
}

#[test]
fn a_line_that_is_spoilt_is_one_finding() {
    let text = corners();
    let lines: Vec<&str> = text.lines().collect();
    assert_eq!(found(&text), []);
    let mut faults = String::new();
    for (place, line) in lines.iter().enumerate().filter(is_tried) {
        let is_rule = !line.trim().is_empty() && !line.trim_start().starts_with('#');
        if !is_rule {
            continue;
        }
        let mut spoilt = lines.clone();
        let line = format!("{} ? ?", line.split('#').next().unwrap());
        spoilt[place] = &line;
        let found = found(&spoilt.join("\n"));
        if !matches!(found.as_slice(), [(at, _)] if *at == place) {
            faults.push_str(&format!("{}: {line}\n", place + 1));
            for (_, told) in found {
                faults.push_str(&format!("    {told}"));
            }
        }
    }
    assert!(faults.is_empty(), "\n{faults}");
}
