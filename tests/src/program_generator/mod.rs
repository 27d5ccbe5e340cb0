//! Rules made up from a seed: a house on `corpus/base.rules` that checks without an error.
//!
//! ```
//! # use loftwright_tests::program_generator::rules_text;
//! assert_eq!(rules_text(7), rules_text(7));
//! ```
//!
//! A house has vocabularies, inputs of every type, lets, decisions by one to four columns (complete
//! and free of overlaps, because their rows come of cutting the whole into boxes), steps,
//! progressions along the bag, choices of parts, limits, cautions, groups, a part of its own, cases
//! and sometimes a replacement. What the cases expect is made up: they are read and checked, and
//! may fail when they are run. Comments stand where they may.

mod columns;
mod decisions;
mod declarations;
mod expressions;

use crate::generator::Random;

/// The rules of a house that builds on `base`, as the text of one file without a `ruleset` line;
/// see [`crate::house::house`]. The same seed gives the same text.
pub fn rules_text(seed: u64) -> String {
    let mut house = House {
        random: Random(seed),
        text: String::new(),
        inputs: Vec::new(),
        names: 0,
    };
    house.write();
    house.text
}

/// What a value can be.
#[derive(Clone, Debug)]
enum Kind {
    /// A word of a choice or scale: the vocabulary and its words in order.
    Words {
        vocabulary: String,
        words: Vec<String>,
        is_scale: bool,
    },
    Flag,
    /// A whole number of a range.
    Count {
        low: i64,
        high: i64,
    },
    /// A quantity in quarters of a unit, of a range.
    Quantity {
        type_name: &'static str,
        unit: &'static str,
        low: i64,
        high: i64,
    },
    Date,
}

/// Something that expressions and columns can name.
#[derive(Clone, Debug)]
struct Input {
    name: String,
    kind: Kind,
}

/// A house being written.
struct House {
    random: Random,
    text: String,
    inputs: Vec<Input>,
    names: usize,
}

impl House {
    fn write(&mut self) {
        self.comment("");
        for _ in 0..=self.random.below(2) {
            self.vocabulary();
        }
        for _ in 0..3 + self.random.below(4) {
            self.input();
        }
        for _ in 0..self.random.below(4) {
            self.let_value();
        }
        for _ in 0..1 + self.random.below(3) {
            self.decision();
        }
        for _ in 0..2 + self.random.below(4) {
            match self.random.below(9) {
                0 => self.progression(),
                1 => self.choose(),
                2 => self.limit(),
                3 => self.caution(),
                4 => self.case(),
                5 => self.group(),
                6 => self.part(),
                7 => self.decision_of_clubs(),
                _ => self.computed(),
            }
        }
        if self.random.chance(15) {
            self.replacement();
        }
    }

    /// A name that no other declaration has.
    fn name(&mut self, of: &str) -> String {
        self.names += 1;
        format!("{of}_{}", self.names)
    }

    fn line(&mut self, line: &str) {
        self.text.push_str(line);
        if self.random.chance(4) {
            self.text.push_str(" # a note behind it");
        }
        self.text.push('\n');
    }

    /// A comment on a line of its own, sometimes.
    fn comment(&mut self, indent: &str) {
        if self.random.chance(10) {
            let sentence = self.sentence();
            self.text.push_str(&format!("{indent}# {sentence}\n"));
        }
    }

    /// The end of a declaration.
    fn end(&mut self) {
        self.text.push('\n');
        self.comment("");
    }

    fn sentence(&mut self) -> String {
        const WORDS: [&str; 8] = [
            "turf",
            "a steep blow",
            "digs \\\"deep\\\"",
            "more loft",
            "the bench",
            "½ inch",
            "is enough",
            "{shaft_flex}",
        ];
        let words: Vec<&str> = (0..2 + self.random.below(6))
            .map(|_| *self.random.one_of(&WORDS))
            .collect();
        words.join(" ").replace("{shaft_flex}", "then")
    }

    /// A text in quotation marks, sometimes two.
    fn texts(&mut self) -> String {
        let first = format!("\"{}.\"", self.sentence());
        if self.random.chance(20) {
            let second = self.sentence();
            return format!("{first} \"{second}.\"");
        }
        first
    }

    /// ` because "…"`, sometimes.
    fn reason(&mut self) -> String {
        if self.random.chance(25) {
            format!(" because {}", self.texts())
        } else {
            String::new()
        }
    }

    /// An input of one of the kinds, where there is one.
    fn input_where(&mut self, is_wanted: impl Fn(&Kind) -> bool) -> Option<Input> {
        let found: Vec<Input> = self
            .inputs
            .iter()
            .filter(|input| is_wanted(&input.kind))
            .cloned()
            .collect();
        (!found.is_empty()).then(|| self.random.one_of(&found).clone())
    }
}

impl Kind {
    /// The type as it is written.
    fn type_text(&self) -> String {
        match self {
            Kind::Words { vocabulary, .. } => vocabulary.clone(),
            Kind::Flag => "flag".to_owned(),
            Kind::Count { .. } => "count".to_owned(),
            Kind::Quantity { type_name, .. } => (*type_name).to_owned(),
            Kind::Date => "date".to_owned(),
        }
    }

    fn is_quantity(&self) -> bool {
        matches!(self, Kind::Quantity { .. })
    }
}

/// A number of quarters with its unit, in one of the ways that fitters write it.
fn quantity_text(quarters: i64, unit: &str, random: &mut Random) -> String {
    let sign = if quarters < 0 { "-" } else { "" };
    let (whole, rest) = (quarters.abs() / 4, quarters.abs() % 4);
    if unit == "in" && random.chance(15) {
        // 1/4 in are 6.35 mm.
        let hundredths = quarters.abs() * 635;
        return format!("{sign}{}.{:02} mm", hundredths / 100, hundredths % 100);
    }
    match (whole, rest) {
        (_, 0) => format!("{sign}{whole} {unit}"),
        (0, 2) => format!("{sign}1/2 {unit}"),
        (0, _) => format!("{sign}{rest}/4 {unit}"),
        (_, 2) if random.chance(50) => format!("{sign}{whole} 1/2 {unit}"),
        (_, 2) => format!("{sign}{whole}.5 {unit}"),
        _ if random.chance(50) => format!("{sign}{whole} {rest}/4 {unit}"),
        _ => format!("{sign}{whole}.{:02} {unit}", rest * 25),
    }
}
