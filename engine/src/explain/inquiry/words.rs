//! What a row asks of a column, in words.

use loftwright_dsl::program::{Bound, Column, Condition, Interval, Program, Type, Value, ValueSet};

/// What the condition accepts: `over 8 deg`, `soft or medium`, `none`.
pub(super) fn condition_text(program: &Program, column: &Column, condition: &Condition) -> String {
    if condition.is_any {
        return "any".to_owned();
    }
    let value_type = column.value.value_type;
    let written = |value: &Value| column.shown.text(program, value_type, value);
    let mut accepted: Vec<String> = match &condition.values {
        ValueSet::All => vec!["any value".to_owned()],
        ValueSet::Intervals(intervals) => {
            let text = |interval| interval_text(interval, &written);
            intervals.iter().map(text).collect()
        }
        ValueSet::Words(words) => {
            let most = most_words(program, value_type);
            if words.len() > 3 && most.is_some_and(|most| words.len() + 2 > most) {
                left_out(program, value_type, words)
            } else {
                words
                    .iter()
                    .map(|word| written(&Value::Word(*word)))
                    .collect()
            }
        }
        ValueSet::Flags(flags) => flags
            .iter()
            .map(|flag| written(&Value::Flag(*flag)))
            .collect(),
        ValueSet::Texts(texts) => texts.iter().cloned().collect(),
    };
    if condition.none {
        accepted.push("none".to_owned());
    }
    if condition.unknown {
        accepted.push("unknown".to_owned());
    }
    if accepted.is_empty() {
        return "nothing".to_owned();
    }
    accepted.join(" or ")
}

fn interval_text(interval: &Interval, written: &dyn Fn(&Value) -> String) -> String {
    let number = |bound: &Bound| written(&Value::Number(bound.value));
    let above = |low: &Bound| match low.is_included {
        true => format!("{} or more", number(low)),
        false => format!("over {}", number(low)),
    };
    let below = |high: &Bound| match high.is_included {
        true => format!("{} or less", number(high)),
        false => format!("under {}", number(high)),
    };
    match (&interval.low, &interval.high) {
        (None, None) => "any value".to_owned(),
        (Some(low), None) => above(low),
        (None, Some(high)) => below(high),
        (Some(low), Some(high)) if low == high => number(low),
        (Some(low), Some(high)) if low.is_included && high.is_included => {
            format!("{} through {}", number(low), number(high))
        }
        (Some(low), Some(high)) => format!("{} and {}", above(low), below(high)),
    }
}

fn most_words(program: &Program, value_type: Type) -> Option<usize> {
    match value_type {
        Type::Choice(id) | Type::Scale(id) => Some(program.vocabularies[id].words.len()),
        _ => None,
    }
}

/// A long list of words by what it leaves out.
fn left_out(
    program: &Program,
    value_type: Type,
    words: &std::collections::BTreeSet<i32>,
) -> Vec<String> {
    let (Type::Choice(id) | Type::Scale(id)) = value_type else {
        return Vec::new();
    };
    let vocabulary = &program.vocabularies[id];
    let taken: Vec<String> = words.iter().map(|word| vocabulary.text_of(*word)).collect();
    let others = vocabulary.words.iter().filter(|word| !taken.contains(word));
    let others: Vec<&str> = others.map(String::as_str).collect();
    match others.as_slice() {
        [] => vec!["any value".to_owned()],
        others => vec![format!("not {}", others.join(" or "))],
    }
}
