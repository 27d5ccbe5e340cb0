//! The commands of the README are there, with the options that it gives them.

use std::path::Path;

use crate::support::loftwright;

/// The words of a line, as a shell has them; what follows ` #` is for people.
fn words(line: &str) -> Vec<String> {
    let (mut words, mut word, mut is_quoted) = (Vec::new(), String::new(), false);
    for sign in line.chars().chain([' ']) {
        match sign {
            '"' => is_quoted = !is_quoted,
            ' ' if !is_quoted => {
                words.extend(Some(std::mem::take(&mut word)).filter(|word| !word.is_empty()))
            }
            sign => word.push(sign),
        }
    }
    let comment = words.iter().position(|word| word == "#");
    words.truncate(comment.unwrap_or(words.len()));
    words
}

/// Whoever asks for help is shown it once everything before has been understood.
#[test]
fn every_command_of_the_readme_takes_the_options_that_stand_there() {
    let readme = Path::new(env!("CARGO_MANIFEST_DIR")).join("../README.md");
    let readme = std::fs::read_to_string(readme).expect("the README");
    let lines = readme
        .lines()
        .filter_map(|line| line.strip_prefix("loftwright "));
    let mut count = 0;
    for line in lines {
        let words = words(line);
        let mut arguments: Vec<&str> = words.iter().map(String::as_str).collect();
        arguments.push("--help");
        let output = loftwright(&arguments);
        let said = String::from_utf8_lossy(&output.stderr);
        assert!(output.status.success(), "{line}\n{said}");
        count += 1;
    }
    assert!(count > 30, "{count} commands");
}
