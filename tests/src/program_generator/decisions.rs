//! Decisions: tables, steps, formulas, and along the bag.

use super::columns::boxes;
use super::{House, Input, Kind};

impl House {
    /// A decision by a table, with steps.
    pub(super) fn decision(&mut self) {
        let name = self.name("decided");
        let kind = self.result_kind();
        let shown = match &kind {
            Kind::Quantity {
                type_name: "length",
                ..
            } if self.random.chance(40) => ", shown in inches, to 1/4",
            _ => "",
        };
        let header = format!("decide {name} : {}{shown}", kind.type_text());
        self.line(&header);
        self.about_and_source();
        if self.random.chance(15) {
            let condition = self.condition(0);
            self.line(&format!("  only when {condition}"));
        }
        self.table("by", &kind, false, &[]);
        self.steps(&kind);
        self.end();
    }

    /// A decision for each club, by what the club is.
    pub(super) fn decision_of_clubs(&mut self) {
        let name = self.name("of_club");
        let kind = self.result_kind();
        self.line(&format!(
            "decide {name} : {}, for each club",
            kind.type_text()
        ));
        self.about_and_source();
        let words = ["driver", "fairway", "hybrid", "iron", "wedge", "putter"];
        let club_kind = Input {
            name: "club.kind".to_owned(),
            kind: Kind::Words {
                vocabulary: "club_kind".to_owned(),
                words: words.map(str::to_owned).into(),
                is_scale: false,
            },
        };
        self.table("by", &kind, false, &[club_kind]);
        self.end();
    }

    /// A decision by a formula.
    pub(super) fn computed(&mut self) {
        let Some(input) = self.input_where(|kind| matches!(kind, Kind::Quantity { .. })) else {
            return;
        };
        let name = self.name("computed");
        self.line(&format!("decide {name} : {}", input.kind.type_text()));
        self.about_and_source();
        let formula = self.formula(&input.kind, 2);
        let (low, high) = (self.literal(&input.kind), self.literal(&input.kind));
        let post = match self.random.below(3) {
            0 => format!(", rounded to {}", unit_of(&input.kind)),
            1 if low != high => format!(", or if unknown {low}"),
            _ => String::new(),
        };
        let reason = self.reason();
        self.line(&format!("  gives {formula}{post}{reason}"));
        self.end();
    }

    /// A decision along the wedges.
    pub(super) fn progression(&mut self) {
        let name = self.name("along");
        let (type_name, unit) =
            *self
                .random
                .one_of(&[("angle", "deg"), ("mass", "g"), ("length", "in")]);
        let order = *self
            .random
            .one_of(&["", ", largest first", ", smallest first"]);
        self.line(&format!(
            "decide {name} : {type_name}, for each wedge in order of number{order}"
        ));
        self.about_and_source();
        let first = self.between(10, 60);
        let reason = self.reason();
        self.line(&format!("  first gives {first} {unit}{reason}"));
        if self.random.chance(30) {
            self.line("  next by turf, if unknown gives previous");
            self.line(&format!("    firm or normal gives previous + 1/2 {unit}"));
            self.line(&format!(
                "    soft gives previous - 1 {unit} because \"Softer.\""
            ));
        } else {
            self.line(&format!("  next gives previous + 1 1/2 {unit}"));
        }
        if self.random.chance(50) {
            self.line(&format!("  last gives {} {unit}", first + 10));
        }
        self.end();
    }

    /// `replace` of a decision of the base.
    pub(super) fn replacement(&mut self) {
        self.line("replace decide driver_target_loft : angle");
        self.about_and_source();
        let loft = self.between(8, 12);
        self.line(&format!("  gives {loft} deg"));
        self.end();
    }

    fn result_kind(&mut self) -> Kind {
        let vocabulary = self.input_where(|kind| matches!(kind, Kind::Words { .. }));
        match (self.random.below(4), vocabulary) {
            (0 | 1, Some(input)) => input.kind,
            (2, _) => Kind::Count { low: 0, high: 9 },
            (3, _) => Kind::Flag,
            _ => Kind::Quantity {
                type_name: "length",
                unit: "in",
                low: -8,
                high: 8,
            },
        }
    }

    pub(super) fn about_and_source(&mut self) {
        if self.random.chance(40) {
            let texts = self.texts();
            self.line(&format!("  about {texts}"));
        }
        self.comment("  ");
        if self.random.chance(80) {
            self.line("  source common practice");
        } else {
            self.line("  source \"A handbook, p. 12\"");
        }
    }

    /// A table over inputs that stand as columns, after those that are given.
    fn table(&mut self, word: &str, kind: &Kind, is_step: bool, given: &[Input]) {
        let mut columns: Vec<Input> = given.to_vec();
        let most = if is_step { 1 } else { 1 + self.random.below(4) };
        while columns.len() < most.max(given.len()) {
            let Some(input) = self.input_where(|kind| !matches!(kind, Kind::Date)) else {
                break;
            };
            if columns.iter().any(|column| column.name == input.name) {
                break;
            }
            columns.push(input);
        }
        if columns.is_empty() {
            return;
        }
        let names: Vec<&str> = columns.iter().map(|column| column.name.as_str()).collect();
        let unknown = match (self.random.below(3), is_step) {
            (0, true) => ", if unknown keeps".to_owned(),
            (0, false) => format!(", if unknown gives {}", self.literal(kind)),
            _ => String::new(),
        };
        self.line(&format!("  {word} {}{unknown}", names.join(" and ")));
        let mut rows = boxes(&columns, &mut self.random);
        let has_otherwise = rows.len() > 2 && self.random.chance(15);
        if has_otherwise {
            rows.pop();
        }
        for row in &rows {
            self.comment("    ");
            let result = self.result(kind, is_step);
            self.line(&format!("    {} {result}", row.join(" and ")));
        }
        if has_otherwise {
            let result = self.result(kind, is_step);
            self.line(&format!("    otherwise {result}"));
        }
    }

    fn result(&mut self, kind: &Kind, is_step: bool) -> String {
        if self.random.chance(4) {
            return "cannot happen because \"Nobody is like that.\"".to_owned();
        }
        let reason = self.reason();
        let value = self.literal(kind);
        if !is_step || self.random.chance(10) {
            return format!("gives {value}{reason}");
        }
        match kind {
            _ if self.random.chance(30) => format!("keeps{reason}"),
            Kind::Words { is_scale: true, .. } => {
                let way = self.random.one_of(&["up", "down"]);
                format!("moves {way} 1{reason}")
            }
            Kind::Quantity { .. } => format!("adds {value}{reason}"),
            Kind::Count { .. } => format!("adds 1{reason}"),
            _ => format!("gives {value}{reason}"),
        }
    }

    fn steps(&mut self, kind: &Kind) {
        for _ in 0..self.random.below(3) {
            self.table("then by", kind, true, &[]);
        }
        match kind {
            Kind::Quantity { unit, .. } if self.random.chance(40) => {
                self.line(&format!(
                    "  then kept within -1 {unit} and 1 1/2 {unit}, rounded to 1/4 {unit}"
                ));
            }
            Kind::Count { .. } if self.random.chance(40) => self.line("  then kept within 1 and 8"),
            _ => {}
        }
    }
}

/// One of the unit of a quantity.
fn unit_of(kind: &Kind) -> String {
    match kind {
        Kind::Quantity { unit, .. } => format!("1/2 {unit}"),
        _ => "1".to_owned(),
    }
}
