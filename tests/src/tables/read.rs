//! A player as readings, back on the ticks of a table.

use std::collections::BTreeMap;

use loftwright_dsl::quantity::{ParsedLiteral, Rational, Rounding, parse_literal};

use super::{Column, Domain, Point, Table};

impl Table {
    /// Where a player with these readings stands; what is not given is unknown.
    pub fn player_with(&self, readings: &BTreeMap<String, String>) -> Vec<Point> {
        let at = |column: &Column| {
            if column.may_be_none {
                match readings.get(&column.flag()).map(String::as_str) {
                    Some("no") => return Point::None,
                    Some("yes") => {}
                    _ => return Point::Unknown,
                }
            }
            match readings.get(&column.name) {
                Some(text) => Point::Value(column.tick(text)),
                None => Point::Unknown,
            }
        };
        self.columns.iter().map(at).collect()
    }
}

impl Column {
    /// The tick of a reading; between two bounds it is the odd one.
    fn tick(&self, text: &str) -> i64 {
        let tick = match self.domain {
            Domain::Length => between(number(text), Rational::fraction(3_175, 1_000_000).unwrap()),
            Domain::Number => between(number(text), Rational::fraction(1, 2).unwrap()),
            Domain::Count => number(text).to_whole().unwrap(),
            Domain::Date => {
                text.strip_prefix("2024-01-")
                    .unwrap()
                    .parse::<i64>()
                    .unwrap()
                    - 1
            }
            Domain::Flag => i64::from(text == "yes"),
            Domain::ScaleInHalves => match text.strip_suffix(" plus 1/2") {
                Some(word) => 2 * self.place(word) + 1,
                None => 2 * self.place(text),
            },
            Domain::Scale | Domain::Choice => self.place(text),
        };
        if self.is_negated { -tick } else { tick }
    }

    fn place(&self, word: &str) -> i64 {
        let place = (self.low..=self.high).find(|place| self.word(*place) == word);
        place.unwrap_or_else(|| panic!("`{word}` is no word of `{}`", self.name))
    }
}

fn number(text: &str) -> Rational {
    match parse_literal(text) {
        Ok(ParsedLiteral::Quantity { value, .. }) => value,
        other => panic!("`{text}` reads as {other:?}"),
    }
}

fn between(number: Rational, tick: Rational) -> i64 {
    let ticks = number.over(tick).unwrap();
    let two = Rational::whole(2);
    let below = ticks.rounded_to(two, Rounding::Down).unwrap();
    let odd = i64::from(below != ticks);
    below.to_whole().unwrap() + odd
}
