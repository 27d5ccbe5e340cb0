//! Made-up decisions of several tables with a promise, and whether it is kept, by brute force.

use super::generate::table_of;
use super::{Answer, Column, Domain, Listed, Point, Shape, Table, table_with};
use crate::generator::Random;

/// What a row of a later table does to the value so far, in half steps or numbers.
#[derive(Clone, Copy, Debug)]
enum Effect {
    Keeps,
    Moves(i64),
    Adds(i64),
    Gives(i64),
}

/// A `then by` table over some of the columns.
#[derive(Clone, Debug)]
struct Then {
    table: Table,
    /// Which column of the decision each of its columns is.
    places: Vec<usize>,
    effects: Vec<Effect>,
}

/// A decision that promises something of its first column.
#[derive(Clone, Debug)]
pub struct Promised {
    /// The first table; its results are values, of a scale half steps.
    pub body: Table,
    then: Vec<Then>,
    /// Words of the scale that it gives; else it gives numbers.
    words: Option<i64>,
    /// The ends that the value is kept within at last.
    within: Option<(i64, i64)>,
    /// Whether the value must never fall as the column rises; else it must never rise.
    rises: bool,
    /// Whether the promise is told of the column as it falls.
    is_turned: bool,
}

/// A made-up decision with a promise that may or may not be kept.
pub fn promised(name: &str, shape: Shape, random: &mut Random) -> Promised {
    let ordered = [
        Domain::Length,
        Domain::Number,
        Domain::Count,
        Domain::Date,
        Domain::ScaleInHalves,
        Domain::Scale,
    ];
    let mut kinds = vec![*random.one_of(&ordered)];
    for _ in 1..shape.columns {
        kinds.push(*random.one_of(&Domain::ALL));
    }
    let mut body = table_with(name, shape, &kinds, random);
    let words = random.chance(50).then_some(4);
    let rises = random.chance(50);
    let highest = words.map_or(20, |words| 2 * (words - 1));
    // Mostly as promised: the value goes with where the row begins along the column.
    let column = &body.columns[0];
    let span = (column.high - column.low).max(1);
    for (row, conditions) in body.rows.iter().enumerate() {
        let takes = |tick: &i64| conditions[0].takes(Point::Value(*tick));
        let begins = (column.low..=column.high).find(takes).unwrap_or(column.low);
        let value = highest * (begins - column.low) / span;
        let value = if rises { value } else { highest - value };
        let is_off = random.chance(15);
        let off = i64::try_from(random.below(5)).unwrap() - 2;
        body.results[row] = (value + if is_off { off } else { 0 }).clamp(0, highest);
    }
    body.if_unknown = random.chance(20).then_some(highest / 2);
    let mut then = Vec::new();
    for number in 0..*random.one_of(&[0, 0, 1, 1, 2]) {
        then.push(later(
            &format!("{name}_then_{number}"),
            &body,
            highest,
            words,
            rises,
            random,
        ));
    }
    Promised {
        body,
        then,
        words,
        within: (words.is_none() && random.chance(30)).then_some((5, 15)),
        rises,
        is_turned: random.chance(30),
    }
}

fn later(
    name: &str,
    body: &Table,
    highest: i64,
    words: Option<i64>,
    rises: bool,
    random: &mut Random,
) -> Then {
    let places: Vec<usize> = match body.columns.len() {
        1 => vec![0],
        count => vec![vec![0], vec![random.below(count)], (0..count).collect()]
            .swap_remove(random.below(3)),
    };
    let columns: Vec<Column> = places
        .iter()
        .map(|place| body.columns[*place].clone())
        .collect();
    let table = table_of(name, columns, 3, random);
    let sign = if rises { 1 } else { -1 };
    let effects = table
        .rows
        .iter()
        .map(|_| {
            let amount = sign * (i64::try_from(random.below(4)).unwrap() - 1);
            match random.below(6) {
                0..=2 => Effect::Keeps,
                3 => Effect::Gives((highest / 2 + amount).clamp(0, highest)),
                _ if amount == 0 => Effect::Keeps,
                _ if words.is_some() => Effect::Moves(amount),
                _ => Effect::Adds(amount),
            }
        })
        .collect();
    Then {
        table,
        places,
        effects,
    }
}

impl Promised {
    /// The decision as rules.
    pub fn written(&self, random: &mut Random) -> String {
        let mut text = String::new();
        for column in &self.body.columns {
            column.declare(&mut text, random);
        }
        let name = &self.body.name;
        let type_name = match self.words {
            Some(_) => format!("{name}_result"),
            None => "number".to_owned(),
        };
        if self.words.is_some() {
            text.push_str(&format!(
                "scale {type_name} is low < fair < good < high, in halves\n"
            ));
        }
        let mut header = self.body.header();
        if let Some(result) = self.body.if_unknown {
            let as_number = format!("if unknown gives {result}");
            header = header.replace(
                &as_number,
                &format!("if unknown gives {}", self.value(result)),
            );
        }
        text.push_str(&format!(
            "decide {name} : {type_name}\n  source common practice\n  by {header}\n"
        ));
        for (row, conditions) in self.body.rows.iter().enumerate() {
            let conditions = self.body.conditions(conditions, random);
            let result = self.value(self.body.results[row]);
            text.push_str(&format!("    {conditions} gives {result}\n"));
        }
        for then in &self.then {
            text.push_str(&format!("  then by {}\n", then.table.header()));
            for (conditions, effect) in then.table.rows.iter().zip(&then.effects) {
                let conditions = then.table.conditions(conditions, random);
                let effect = match effect {
                    Effect::Keeps => "keeps".to_owned(),
                    Effect::Gives(value) => format!("gives {}", self.value(*value)),
                    Effect::Adds(number) if *number < 0 => format!("takes off {}", -number),
                    Effect::Adds(number) => format!("adds {number}"),
                    Effect::Moves(halves) => {
                        let way = if *halves < 0 { "down" } else { "up" };
                        let steps =
                            ["1/2", "1", "1 1/2"][usize::try_from(halves.abs() - 1).unwrap()];
                        format!("moves {way} {steps}")
                    }
                };
                text.push_str(&format!("    {conditions} {effect}\n"));
            }
        }
        if let Some((low, high)) = self.within {
            text.push_str(&format!("  then kept within {low} and {high}\n"));
        }
        let (verb, way) = match (self.rises, self.is_turned) {
            (true, false) => ("falls", "rises"),
            (true, true) => ("rises", "falls"),
            (false, false) => ("rises", "rises"),
            (false, true) => ("falls", "falls"),
        };
        let column = self.body.columns[0].header();
        text.push_str(&format!("  never {verb} as {column} {way}\n"));
        text
    }

    fn value(&self, value: i64) -> String {
        match self.words {
            None => value.to_string(),
            Some(_) => {
                let word = ["low", "fair", "good", "high"][usize::try_from(value / 2).unwrap()];
                let half = if value % 2 == 1 { " plus 1/2" } else { "" };
                format!("{word}{half}")
            }
        }
    }

    /// The value for a player, where there is one.
    fn value_for(&self, player: &[Point]) -> Option<i64> {
        let mut value = match self.body.answer(player) {
            Answer::Row(row) => self.body.results[row],
            Answer::Undecided => self.body.if_unknown?,
            Answer::DoesNotApply | Answer::NoRow => return None,
        };
        let mut moved = 0;
        for then in &self.then {
            let own: Vec<Point> = then.places.iter().map(|place| player[*place]).collect();
            let Answer::Row(row) = then.table.answer(&own) else {
                return None;
            };
            match then.effects[row] {
                Effect::Keeps => {}
                Effect::Gives(given) => value = given,
                Effect::Adds(number) => value += number,
                Effect::Moves(halves) => moved += halves,
            }
        }
        if let Some(words) = self.words {
            value = (value + moved).clamp(0, 2 * (words - 1));
        }
        if let Some((low, high)) = self.within {
            value = value.clamp(low, high);
        }
        Some(value)
    }

    /// Two players who differ in the first column alone and break the promise.
    pub fn broken(&self) -> Option<(Vec<Point>, Vec<Point>)> {
        let column = &self.body.columns[0];
        let names = |place, value| {
            let mut tables = self.then.iter().filter_map(|then| {
                let own = then.places.iter().position(|other| *other == place)?;
                Some(then.table.names(own, value))
            });
            self.body.names(place, value) || tables.any(|names| names)
        };
        let mut others: Vec<Vec<Point>> = vec![Vec::new()];
        for (place, other) in self.body.columns.iter().enumerate().skip(1) {
            let mut points: Vec<Point> = (other.low..=other.high).map(Point::Value).collect();
            points.push(Point::Unknown);
            points.extend(names(place, Listed::None).then_some(Point::None));
            let longer = |start: &Vec<Point>| {
                let longer = points.iter().map(|point| {
                    let mut longer = start.clone();
                    longer.push(*point);
                    longer
                });
                longer.collect::<Vec<_>>()
            };
            others = others.iter().flat_map(longer).collect();
        }
        for other in others {
            let mut before: Option<(i64, Vec<Point>)> = None;
            for tick in column.low..=column.high {
                let mut player = vec![Point::Value(tick)];
                player.extend(&other);
                let Some(value) = self.value_for(&player) else {
                    continue;
                };
                if let Some((last, lower)) = &before
                    && (if self.rises {
                        value < *last
                    } else {
                        value > *last
                    })
                {
                    return Some((lower.clone(), player));
                }
                before = Some((value, player));
            }
        }
        None
    }
}
