//! Players made up from a seed: the same on every machine.
//!
//! Half of what they read lies exactly on a bound of some row, or a billionth beside it, and many
//! readings are written in another unit than the rules. Any reading may be missing, and they keep
//! clubs of every kind.

use std::collections::BTreeMap;

use loftwright_dsl::program::{Part, Program, Type, Value};
use loftwright_dsl::quantity::{Dimension, ParsedLiteral, Rational, UNITS, parse_literal};
use loftwright_dsl::syntax::tree::{
    Condition, ConditionKind, DecideBody, Declaration, DeclarationKind, ListedValue, Literal,
    LiteralKind, NextStep, RowConditions, Step, Table,
};

use crate::oracle::Person;
use crate::workshop::{PartsFolder, Record};

/// The generator SplitMix64 (G. L. Steele, D. Lea, C. H. Flood, *Fast splittable pseudorandom
/// number generators*, OOPSLA 2014).
pub struct Random(pub u64);

impl Random {
    /// The next 64 bits.
    pub fn bits(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut mixed = self.0;
        mixed = (mixed ^ (mixed >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        mixed = (mixed ^ (mixed >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        mixed ^ (mixed >> 31)
    }

    /// A number below `count`.
    pub fn below(&mut self, count: usize) -> usize {
        usize::try_from(self.bits() % u64::try_from(count).unwrap()).unwrap()
    }

    /// Whether a chance of `percent` in a hundred comes true.
    pub fn chance(&mut self, percent: usize) -> bool {
        self.below(100) < percent
    }

    /// One of these.
    pub fn one_of<'a, T>(&mut self, items: &'a [T]) -> &'a T {
        &items[self.below(items.len())]
    }
}

/// Points about the bounds of the corpora.
const TEMPERATURES: [&str; 11] = [
    "-40 degF",
    "-40 degC",
    "31.999999 degF",
    "32 degF",
    "0 degC",
    "9.9999 degC",
    "10 degC",
    "50 degF",
    "68 degF",
    "20.0001 degC",
    "104 degF",
];

/// Points about the bounds of the corpora.
const SWINGWEIGHTS: [&str; 8] = ["C0", "C9.9", "D0", "D2", "D2.1", "D5.5", "D5.6", "E0"];

/// Days about the bounds of the corpora and the day of the fitting.
const DAYS: [&str; 8] = [
    "2020-06-14",
    "2020-12-31",
    "2021-01-01",
    "2024-02-29",
    "2024-03-01",
    "2025-01-01",
    "2026-05-01",
    "2026-05-02",
];

/// Makes up players for a program.
pub struct Generator<'p> {
    program: &'p Program,
    /// The numbers that stand in the rows, by dimension.
    bounds: BTreeMap<Dimension, Vec<Rational>>,
}

impl<'p> Generator<'p> {
    /// A generator that knows the bounds of these declarations.
    pub fn new(program: &'p Program, layers: &[Vec<Declaration>]) -> Self {
        let mut generator = Generator {
            program,
            bounds: BTreeMap::new(),
        };
        for declaration in layers.iter().flatten() {
            let DeclarationKind::Decide(decide) = &declaration.kind else {
                continue;
            };
            match &decide.body {
                DecideBody::Table(table) => generator.add_table(table),
                DecideBody::Progression(progression) => {
                    if let Some(NextStep::Table(table)) = &progression.next {
                        generator.add_table(table);
                    }
                }
                DecideBody::Gives(_) => {}
            }
            for step in &decide.steps {
                if let Step::Table(table) = step {
                    generator.add_table(table);
                }
            }
        }
        generator
    }

    fn add_table(&mut self, table: &Table) {
        for row in &table.rows {
            if let RowConditions::Each(conditions) = &row.conditions {
                for literal in conditions.iter().flat_map(literals) {
                    if let LiteralKind::Exact(ParsedLiteral::Quantity {
                        value, dimension, ..
                    }) = &literal.kind
                    {
                        self.bounds.entry(*dimension).or_default().push(*value);
                    }
                }
            }
        }
    }

    /// A player.
    pub fn person(&self, random: &mut Random) -> Person {
        let mut person = Person::default();
        // Some have nearly everything read, some hardly anything.
        let present = *random.one_of(&[100, 97, 90, 75, 40, 10]);
        for input in self.program.inputs.iter() {
            if input.filled_by_the_engine || !random.chance(present) {
                continue;
            }
            let text = self.text(input.value_type, input.between.as_ref(), random);
            person.readings.insert(input.name.clone(), text);
        }
        let kept = self
            .program
            .groups
            .iter()
            .find(|group| group.name == "kept")
            .unwrap();
        let count = *random.one_of(&[0, 0, 1, 1, 2, 3, 6]);
        for _ in 0..count {
            let mut club = BTreeMap::new();
            for field in &kept.fields {
                if field.may_be_unknown && !random.chance(75) {
                    continue;
                }
                let text = self.text(field.value_type, field.between.as_ref(), random);
                club.insert(field.name.clone(), text);
            }
            person
                .given
                .entry("kept".to_owned())
                .or_default()
                .push(club);
        }
        person
    }

    /// Parts and stock: a dozen parts of each kind, some of them on hand.
    pub fn parts(&self, random: &mut Random) -> PartsFolder {
        let mut folder = PartsFolder::default();
        let is_stocked = |part: &&Part| part.field_index("on_hand").is_some();
        for part in self.program.parts.iter().filter(is_stocked) {
            let mut catalogue = Vec::new();
            let mut stock = Vec::new();
            for number in 0..12 {
                let id = format!("{}-{number:02}", part.name);
                let mut record = self.record(part, false, random);
                record.texts.insert("id".to_owned(), id.clone());
                catalogue.push(record);
                self.stock(part, &id, &mut stock, random);
            }
            folder.catalogue.insert(part.name.clone(), catalogue);
            folder.stock.insert(part.name.clone(), stock);
        }
        folder
    }

    fn stock(&self, part: &Part, id: &str, stock: &mut Vec<Record>, random: &mut Random) {
        if part.fields.iter().any(|field| field.of_each_piece) {
            for piece in 0..random.below(4) {
                let mut record = self.record(part, true, random);
                record
                    .texts
                    .insert("id".to_owned(), format!("{id}-{piece}"));
                record.texts.insert("part".to_owned(), id.to_owned());
                stock.push(record);
            }
        } else if random.chance(70) {
            let texts = [
                ("part", id.to_owned()),
                ("on_hand", random.below(4).to_string()),
            ];
            stock.push(Record {
                texts: texts.map(|(name, text)| (name.to_owned(), text)).into(),
                ..Record::default()
            });
        }
    }

    fn record(&self, part: &Part, of_each_piece: bool, random: &mut Random) -> Record {
        let mut record = Record::default();
        for field in &part.fields {
            let is_left_out = field.may_be_unknown && random.chance(25);
            if field.of_each_piece != of_each_piece || field.name == "on_hand" || is_left_out {
                continue;
            }
            if let Type::List(element) = field.value_type {
                let element = &self.program.parts[element];
                let count = random.below(4);
                let list = (0..count).map(|_| self.record(element, false, random).texts);
                record.lists.insert(field.name.clone(), list.collect());
                continue;
            }
            let between = field.between.as_ref();
            let text = match field.value_type {
                Type::ListOf(element) => {
                    let of = element.value_type();
                    let mut values: Vec<String> = Vec::new();
                    for _ in 0..random.below(4) {
                        let value = self.text(of, between, random);
                        let is_it = |other: &String| same_value(other, &value);
                        if !values.iter().any(is_it) {
                            values.push(value);
                        }
                    }
                    if values.is_empty() {
                        record.lists.insert(field.name.clone(), Vec::new());
                        continue;
                    }
                    values.join("; ")
                }
                plain => self.text(plain, between, random),
            };
            record.texts.insert(field.name.clone(), text);
        }
        record
    }

    fn text(
        &self,
        value_type: Type,
        between: Option<&(Value, Value)>,
        random: &mut Random,
    ) -> String {
        match value_type {
            Type::Flag => if random.chance(50) { "yes" } else { "no" }.to_owned(),
            Type::Choice(id) | Type::Scale(id) => {
                let words = &self.program.vocabularies[id].words;
                random.one_of(words).clone()
            }
            Type::Date if random.chance(30) => (*random.one_of(&DAYS)).to_owned(),
            Type::Date => {
                let (year, month, day) = (
                    2015 + random.below(12),
                    1 + random.below(12),
                    1 + random.below(28),
                );
                format!("{year}-{month:02}-{day:02}")
            }
            Type::Text => (*random.one_of(&["plain", "fine", "other"])).to_owned(),
            Type::Temperature => (*random.one_of(&TEMPERATURES)).to_owned(),
            Type::Swingweight => (*random.one_of(&SWINGWEIGHTS)).to_owned(),
            _ => {
                let dimension = value_type.dimension().unwrap();
                let (low, high) = match between {
                    Some((low, high)) => (low.number().unwrap(), high.number().unwrap()),
                    None => usual_range(dimension),
                };
                let is_whole = value_type == Type::Count;
                written(
                    self.number(dimension, low, high, is_whole, random),
                    dimension,
                    random,
                )
            }
        }
    }

    /// A number in a range: on a bound of the rows, beside one, or anywhere on a grid.
    fn number(
        &self,
        dimension: Dimension,
        low: Rational,
        high: Rational,
        is_whole: bool,
        random: &mut Random,
    ) -> Rational {
        let width = high.minus(low).unwrap();
        let grid = Rational::whole(i64::try_from(random.below(1_001)).unwrap());
        let somewhere = low.plus(
            width
                .times(grid)
                .unwrap()
                .over(Rational::whole(1_000))
                .unwrap(),
        );
        let somewhere = somewhere.unwrap();
        let bounds = self.bounds.get(&dimension).map_or(&[][..], Vec::as_slice);
        let mut number = somewhere;
        if !bounds.is_empty() && random.chance(60) {
            // A column may be the reading, its negative, or four fifths of it.
            let bound = *random.one_of(bounds);
            let factor = *random.one_of(&[(1, 1), (1, 1), (-1, 1), (5, 4)]);
            let factor = Rational::fraction(factor.0, factor.1).unwrap();
            number = bound.times(factor).unwrap();
            let beside = *random.one_of(&[0, 0, 0, 1, -1]);
            let beside = Rational::fraction(beside, 1_000_000_000).unwrap();
            number = number.plus(beside).unwrap();
        }
        if is_whole {
            let rounding = loftwright_dsl::quantity::Rounding::Nearest;
            number = number.rounded_to(Rational::ONE, rounding).unwrap();
        }
        if number < low || number > high {
            number = *random.one_of(&[low, high]);
        }
        number
    }
}

/// Where a field without a range of its own lies.
fn usual_range(dimension: Dimension) -> (Rational, Rational) {
    let milli = |number| Rational::fraction(number, 1_000).unwrap();
    match dimension {
        Dimension::MASS => (milli(30), milli(260)),
        Dimension::LENGTH => (milli(500), milli(1_250)),
        _ => (Rational::ZERO, Rational::whole(100)),
    }
}

/// The number in some unit of its dimension in which it can be written exactly.
fn written(number: Rational, dimension: Dimension, random: &mut Random) -> String {
    if dimension == Dimension::NUMBER {
        return plain(number);
    }
    let units: Vec<_> = UNITS
        .iter()
        .filter(|unit| unit.dimension == dimension && !unit.is_point)
        .collect();
    let first = random.below(units.len());
    for place in 0..units.len() {
        let unit = units[(first + place) % units.len()];
        let text = format!(
            "{} {}",
            plain(number.over(unit.factor()).unwrap()),
            unit.symbol
        );
        let reads_back = matches!(
            parse_literal(&text),
            Ok(ParsedLiteral::Quantity { value, .. }) if value == number
        );
        // The intake reads twenty digits of a number.
        let is_short = text.bytes().filter(u8::is_ascii_digit).count() <= 20;
        if reads_back && is_short {
            return text;
        }
    }
    // Rounded, then: both sides read the text, not the number.
    let millionth = Rational::fraction(1, 1_000_000).unwrap();
    let rounding = loftwright_dsl::quantity::Rounding::Nearest;
    let in_unit = number.over(units[0].factor()).unwrap();
    let rounded = in_unit.rounded_to(millionth, rounding).unwrap();
    format!("{} {}", plain(rounded), units[0].symbol)
}

/// `12`, `0.25` or `-35 1/3`, as a literal.
fn plain(number: Rational) -> String {
    let text = number.to_text();
    match (
        text.contains('/'),
        number.size().numerator() >= number.denominator(),
    ) {
        (true, true) => {
            let size = number.size();
            let whole = size.numerator() / size.denominator();
            let rest = size.numerator() % size.denominator();
            let sign = if number.is_negative() { "-" } else { "" };
            format!("{sign}{whole} {rest}/{}", size.denominator())
        }
        _ => text,
    }
}

fn literals(condition: &Condition) -> Vec<&Literal> {
    match &condition.kind {
        ConditionKind::Any | ConditionKind::NearMiss => Vec::new(),
        ConditionKind::OneOf(listed) | ConditionKind::NotOneOf(listed) => listed
            .iter()
            .filter_map(|listed| match listed {
                ListedValue::Value(literal) => Some(literal),
                ListedValue::Unknown(_) => None,
            })
            .collect(),
        ConditionKind::Under(one)
        | ConditionKind::UpTo(one)
        | ConditionKind::Over(one)
        | ConditionKind::OrMore(one) => vec![one],
        ConditionKind::Through(one, other)
        | ConditionKind::ToUnder(one, other)
        | ConditionKind::OverToUnder(one, other)
        | ConditionKind::OverThrough(one, other) => vec![one, other],
    }
}

/// Whether two texts say the same, be it in other units.
fn same_value(one: &str, other: &str) -> bool {
    match (parse_literal(one), parse_literal(other)) {
        (
            Ok(ParsedLiteral::Quantity { value: one, .. }),
            Ok(ParsedLiteral::Quantity { value: other, .. }),
        ) => one == other,
        _ => one == other,
    }
}
