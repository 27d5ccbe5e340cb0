//! Values, formulas and conditions.

use super::{House, Input, Kind, quantity_text};

impl House {
    /// A literal of a kind, within its range.
    pub(super) fn literal(&mut self, kind: &Kind) -> String {
        match kind {
            Kind::Words { words, .. } => self.random.one_of(words).clone(),
            Kind::Flag => (*self.random.one_of(&["yes", "no"])).to_owned(),
            Kind::Count { low, high } => self.between(*low, *high).to_string(),
            Kind::Quantity {
                unit, low, high, ..
            } => {
                let quarters = self.between(*low, *high);
                quantity_text(quarters, unit, &mut self.random)
            }
            Kind::Date => format!(
                "20{}-0{}-1{}",
                10 + self.random.below(15),
                1 + self.random.below(9),
                self.random.below(10)
            ),
        }
    }

    pub(super) fn between(&mut self, low: i64, high: i64) -> i64 {
        let width = usize::try_from(high - low + 1).unwrap();
        low + i64::try_from(self.random.below(width)).unwrap()
    }

    /// A formula whose value is of the kind of `of`, a quantity or count.
    pub(super) fn formula(&mut self, of: &Kind, depth: usize) -> String {
        let kind = of.clone();
        let type_text = kind.type_text();
        let named = self.input_where(|other| other.type_text() == type_text);
        let leaf = match named {
            Some(input) if self.random.chance(70) => input.name,
            _ => self.literal(&kind),
        };
        if depth == 0 {
            return leaf;
        }
        let other = self.formula(of, depth - 1);
        match self.random.below(10) {
            0 => format!("{leaf} + {other}"),
            1 => format!("({leaf} - {other}) * 2"),
            2 if kind.is_quantity() => format!("({other}) / 4"),
            3 => format!("the larger of {leaf} and ({other})"),
            4 => format!("the size of ({other})"),
            5 => {
                let condition = self.condition(0);
                format!("(if {condition} then {leaf} otherwise {other})")
            }
            6 => {
                let literal = self.literal(&kind);
                format!("({leaf}, or if unknown {literal})")
            }
            7 if kind.is_quantity() => format!("-({other})"),
            _ => leaf,
        }
    }

    /// A condition on the inputs.
    pub(super) fn condition(&mut self, depth: usize) -> String {
        let Some(input) = self.input_where(|_| true) else {
            return "player_hand is right".to_owned();
        };
        let one = self.comparison(&input);
        if depth == 0 {
            return one;
        }
        let other = self.condition(depth - 1);
        match self.random.below(4) {
            0 => format!("{one} and {other}"),
            1 => format!("{one} or ({other})"),
            2 => format!("not ({other})"),
            _ => one,
        }
    }

    fn comparison(&mut self, input: &Input) -> String {
        let name = &input.name;
        if self.random.chance(10) {
            return format!("{name} is known");
        }
        let (one, other) = (self.literal(&input.kind), self.literal(&input.kind));
        match &input.kind {
            Kind::Words { .. } if one != other && self.random.chance(30) => {
                format!("{name} is one of {one}, {other}")
            }
            Kind::Words { .. } | Kind::Flag => {
                let word = self.random.one_of(&["is", "is not"]);
                format!("{name} {word} {one}")
            }
            Kind::Quantity { unit, .. } if self.random.chance(20) => {
                format!("{name} within 2 {unit} of {one}")
            }
            _ => {
                let word = self
                    .random
                    .one_of(&["under", "over", "at most", "at least"]);
                format!("{name} {word} {one}")
            }
        }
    }
}
