//! A player in a sentence: `a player with an attack angle of -5 deg whose turf is soft`.

use super::literal::literal_text;
use crate::program::{InputId, Program, Type, Value};

/// `a player with …`, by the readings that matter.
pub(super) fn player_sentence(
    program: &Program,
    given: &[(InputId, Value)],
    absent: &[InputId],
) -> String {
    let mut sizes = Vec::new();
    let mut words = Vec::new();
    for (id, value) in given {
        let input = &program.inputs[*id];
        let name = spoken(&input.name);
        let text = literal_text(program, &input.shown, input.value_type, value);
        if input.value_type == Type::Count {
            sizes.push(format!("{name} of {text}"));
        } else if input.value_type.is_numeric() {
            sizes.push(format!("{} {name} of {text}", article(&name)));
        } else {
            words.push(format!("whose {name} is {text}"));
        }
    }
    for id in absent {
        words.push(format!(
            "whose {} is unknown",
            spoken(&program.inputs[*id].name)
        ));
    }
    let mut sentence = "a player".to_owned();
    if !sizes.is_empty() {
        sentence = format!("{sentence} with {}", listed(&sizes));
    }
    if !words.is_empty() {
        sentence = format!("{sentence} {}", listed(&words));
    }
    sentence
}

/// `attack_angle` as people say it.
fn spoken(name: &str) -> String {
    name.replace('_', " ")
}

/// `a`, or `an` before a vowel.
fn article(word: &str) -> &'static str {
    if word.starts_with(['a', 'e', 'i', 'o', 'u']) {
        "an"
    } else {
        "a"
    }
}

/// `one`, `one and two`, `one, two and three`.
fn listed(items: &[String]) -> String {
    match items {
        [] => String::new(),
        [one] => one.clone(),
        [most @ .., last] => format!("{} and {last}", most.join(", ")),
    }
}
