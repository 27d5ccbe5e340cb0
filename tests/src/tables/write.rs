//! A made-up table as rules, and a player of it as readings.

use std::collections::BTreeMap;

use super::{Column, Condition, Domain, Listed, Point, Table};
use crate::generator::Random;

/// The rules of a table, with the line of each of its rows counted from 0.
#[derive(Clone, Debug)]
pub struct Written {
    /// The declarations.
    pub text: String,
    /// The line of each row, `otherwise` the last.
    pub row_lines: Vec<usize>,
}

impl Table {
    /// The table as rules; literals in whichever unit the seed says.
    pub fn written(&self, random: &mut Random) -> Written {
        let mut text = String::new();
        for column in &self.columns {
            column.declare(&mut text, random);
        }
        text.push_str(&format!(
            "decide {} : number\n  source common practice\n  by {}\n",
            self.name,
            self.header()
        ));
        let mut row_lines = Vec::new();
        for (number, row) in self.rows.iter().enumerate() {
            row_lines.push(text.lines().count());
            text.push_str(&format!(
                "    {} gives {}\n",
                self.conditions(row, random),
                self.results[number]
            ));
        }
        if self.has_otherwise {
            row_lines.push(text.lines().count());
            text.push_str(&format!(
                "    otherwise gives {}\n",
                self.results[self.rows.len()]
            ));
        }
        Written { text, row_lines }
    }

    /// The columns and the policy, as they follow `by`.
    pub(super) fn header(&self) -> String {
        let columns: Vec<String> = self.columns.iter().map(Column::header).collect();
        let mut header = columns.join(" and ");
        if self.is_first {
            header.push_str(", first");
        }
        if let Some(result) = self.if_unknown {
            header.push_str(&format!(", if unknown gives {result}"));
        }
        header
    }

    /// The conditions of a row as they are written.
    pub(super) fn conditions(&self, row: &[Condition], random: &mut Random) -> String {
        let conditions: Vec<String> = row
            .iter()
            .zip(&self.columns)
            .map(|(condition, column)| column.condition(condition, random))
            .collect();
        conditions.join(" and ")
    }

    /// The readings of a player, as a file brings them.
    pub fn readings(&self, player: &[Point], random: &mut Random) -> BTreeMap<String, String> {
        let mut readings = BTreeMap::new();
        for (column, point) in self.columns.iter().zip(player) {
            if column.may_be_none {
                let applies = if *point == Point::None { "no" } else { "yes" };
                readings.insert(column.flag(), applies.to_owned());
            }
            if let Point::Value(tick) = point {
                let sign = if column.is_negated { -1 } else { 1 };
                readings.insert(column.name.clone(), column.literal(sign * tick, random));
            }
        }
        readings
    }
}

impl Column {
    /// The name that the table's header says.
    pub fn header(&self) -> String {
        if self.is_negated {
            format!("{}_turned", self.name)
        } else {
            self.name.clone()
        }
    }

    pub(super) fn flag(&self) -> String {
        format!("{}_applies", self.name)
    }

    pub(super) fn declare(&self, text: &mut String, random: &mut Random) {
        let name = &self.name;
        if self.may_be_none {
            text.push_str(&format!("input {} : flag\n", self.flag()));
        }
        let words: Vec<String> = match self.domain {
            Domain::ScaleInHalves => (0..=self.high / 2).map(|word| self.word(word)).collect(),
            _ => (0..=self.high).map(|word| self.word(word)).collect(),
        };
        let type_name = match self.domain {
            Domain::Length => "length".to_owned(),
            Domain::Number => "number".to_owned(),
            Domain::Count => "count".to_owned(),
            Domain::Date => "date".to_owned(),
            Domain::Flag => "flag".to_owned(),
            Domain::ScaleInHalves | Domain::Scale | Domain::Choice => format!("{name}_words"),
        };
        match self.domain {
            Domain::ScaleInHalves => text.push_str(&format!(
                "scale {type_name} is {}, in halves\n",
                words.join(" < ")
            )),
            Domain::Scale => {
                text.push_str(&format!("scale {type_name} is {}\n", words.join(" < ")));
            }
            Domain::Choice => {
                text.push_str(&format!("choice {type_name} is {}\n", words.join(", ")));
            }
            _ => {}
        }
        text.push_str(&format!("input {name} : {type_name}\n"));
        if matches!(
            self.domain,
            Domain::Length | Domain::Number | Domain::Count | Domain::Date
        ) {
            let (low, high) = match self.is_negated {
                true => (-self.high, -self.low),
                false => (self.low, self.high),
            };
            let (low, high) = (self.literal(low, random), self.literal(high, random));
            text.push_str(&format!("  between {low} and {high}\n"));
        }
        if self.may_be_none {
            text.push_str(&format!("  only when {} is yes\n", self.flag()));
        }
        if self.is_negated {
            text.push_str(&format!("let {} = -{name}\n", self.header()));
        }
    }

    pub(super) fn word(&self, place: i64) -> String {
        const WORDS: [&str; 8] = [
            "ash", "birch", "cedar", "elm", "fir", "larch", "oak", "pine",
        ];
        let place = usize::try_from(place.max(0)).unwrap();
        // Words of one list may stand in another too.
        WORDS.get(place).unwrap_or(&"ash").to_string()
    }

    /// A tick as it is written, in one unit or another.
    pub fn literal(&self, tick: i64, random: &mut Random) -> String {
        match self.domain {
            Domain::Length => match random.below(4) {
                0 => format!("{} mm", decimal(tick * 3_175, 3)),
                1 => format!("{} cm", decimal(tick * 3_175, 4)),
                2 => format!("{} in", decimal(tick * 125, 3)),
                _ => format!("{} in", eighths(tick)),
            },
            Domain::Number => decimal(tick * 5, 1),
            Domain::Count => tick.to_string(),
            Domain::Date => format!("2024-01-{:02}", tick + 1),
            Domain::ScaleInHalves if tick % 2 == 1 => format!("{} plus 1/2", self.word(tick / 2)),
            Domain::ScaleInHalves => self.word(tick / 2),
            Domain::Scale | Domain::Choice => self.word(tick),
            Domain::Flag => if tick == 1 { "yes" } else { "no" }.to_owned(),
        }
    }

    fn condition(&self, condition: &Condition, random: &mut Random) -> String {
        let mut at = |tick: &i64| self.literal(*tick, random);
        let mut list = |listed: &[Listed]| {
            let texts: Vec<String> = listed
                .iter()
                .map(|listed| match listed {
                    Listed::At(tick) => at(tick),
                    Listed::None => "none".to_owned(),
                    Listed::Unknown => "unknown".to_owned(),
                })
                .collect();
            texts.join(" or ")
        };
        match condition {
            Condition::Any => "any".to_owned(),
            Condition::OneOf(listed) => list(listed),
            Condition::NotOneOf(listed) => format!("not {}", list(listed)),
            Condition::Under(high) => format!("under {}", at(high)),
            Condition::UpTo(high) => format!("up to {}", at(high)),
            Condition::Over(low) => format!("over {}", at(low)),
            Condition::OrMore(low) => format!("{} or more", at(low)),
            Condition::Through(low, high) => format!("{} through {}", at(low), at(high)),
            Condition::ToUnder(low, high) => format!("{} to under {}", at(low), at(high)),
            Condition::OverThrough(low, high) => format!("over {} through {}", at(low), at(high)),
            Condition::OverToUnder(low, high) => format!("over {} to under {}", at(low), at(high)),
        }
    }
}

/// `digits` with a point before the last `places`: 1270 with 3 places is `1.27`.
fn decimal(digits: i64, places: usize) -> String {
    let sign = if digits < 0 { "-" } else { "" };
    let text = format!("{:0width$}", digits.abs(), width = places + 1);
    let (whole, part) = text.split_at(text.len() - places);
    let part = part.trim_end_matches('0');
    if part.is_empty() {
        format!("{sign}{whole}")
    } else {
        format!("{sign}{whole}.{part}")
    }
}

/// Eighths as a fitter writes them: `1 1/4`, `7/8`, `-3`.
fn eighths(tick: i64) -> String {
    let sign = if tick < 0 { "-" } else { "" };
    let (whole, mut part, mut of) = (tick.abs() / 8, tick.abs() % 8, 8);
    while part != 0 && part % 2 == 0 {
        (part, of) = (part / 2, of / 2);
    }
    match (whole, part) {
        (_, 0) => format!("{sign}{whole}"),
        (0, _) => format!("{sign}{part}/{of}"),
        _ => format!("{sign}{whole} {part}/{of}"),
    }
}
