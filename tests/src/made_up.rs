//! Made-up decisions of several tables: a first one and some `then by`, over a few readings.
//!
//! Every table ends with `otherwise` or cuts one column from end to end, so that none has a gap.
//! All results are constants. Bounds lie on whole numbers, so that a grid of halves meets every
//! cell.

use loftwright_dsl::check::{CheckOutput, LayerSource, check};
use loftwright_dsl::program::{InputId, Program, Type, Value};
use loftwright_dsl::quantity::Rational;
use loftwright_engine::player::{Player, Reading};

use crate::generator::Random;

/// A contract that reads nothing.
const CONTRACT: &str = "ruleset contract
  title    \"A contract for tests\"
  language 1

input today : date, filled by the engine
";

/// The readings that the decisions look at, and a let behind one of them.
const HEAD: &str = "ruleset house
  title    \"Made up\"
  language 1

scale  grade is poor < fair < good < fine, in halves
scale  pace_kind is slow < steady < quick
choice turf_kind is firm, normal, soft

input lean : angle
  ask     \"Lean.\"
  between 0 deg and 6 deg

input rounds : count
  ask     \"Rounds.\"
  between 0 and 4

input pace : pace_kind
  ask \"Pace.\"

input turf : turf_kind
  ask \"Turf.\"

input lefty : flag
  ask \"Left-handed?\"

let back = 9 deg - 1.5 * lean

";

/// The readings' names.
pub const READINGS: [&str; 5] = ["lean", "rounds", "pace", "turf", "lefty"];

/// A decision.
#[derive(Clone, Debug)]
pub struct Decision {
    /// Whether it is on the scale `grade`; else an angle.
    pub is_grade: bool,
    tables: Vec<Table>,
    post: Vec<String>,
    /// Lines at its end.
    pub promises: Vec<String>,
}

#[derive(Clone, Debug)]
struct Table {
    columns: Vec<&'static str>,
    is_first: bool,
    if_unknown: Option<String>,
    /// Conditions and result; `otherwise` has no conditions.
    rows: Vec<(Vec<String>, String)>,
}

impl Decision {
    /// A decision over some of `columns`.
    pub fn new(random: &mut Random, columns: &[&'static str]) -> Self {
        let is_grade = random.chance(60);
        let count = 1 + random.below(3);
        let tables = (0..count)
            .map(|number| Table::new(random, columns, is_grade, number == 0))
            .collect();
        let mut post = Vec::new();
        if random.chance(40) {
            post.push(if is_grade {
                "then kept within fair and fine".to_owned()
            } else {
                "then kept within 1 deg and 5 deg".to_owned()
            });
        }
        if !is_grade && random.chance(30) {
            post.push("then rounded to 2 deg".to_owned());
        }
        Decision {
            is_grade,
            tables,
            post,
            promises: Vec::new(),
        }
    }

    /// The columns that some table looks at.
    pub fn columns(&self) -> Vec<&'static str> {
        let mut columns: Vec<_> = self
            .tables
            .iter()
            .flat_map(|table| table.columns.iter().copied())
            .collect();
        columns.sort_unstable();
        columns.dedup();
        columns
    }

    /// The decision with something small about it changed.
    pub fn edited(&self, random: &mut Random, columns: &[&'static str]) -> Self {
        let mut edited = self.clone();
        let number = random.below(edited.tables.len());
        let is_grade = self.is_grade;
        let table = &mut edited.tables[number];
        let row = random.below(table.rows.len());
        match random.below(8) {
            0 | 1 => table.rows[row].1 = result(random, is_grade, number == 0),
            2 | 3 if table.is_first && row + 1 < table.rows.len() => {
                let column = random.below(table.columns.len());
                table.rows[row].0[column] = condition(random, table.columns[column]);
            }
            4 if table.is_first => {
                let conditions = table
                    .columns
                    .iter()
                    .map(|column| condition(random, column))
                    .collect();
                let result = result(random, is_grade, number == 0);
                table.rows.insert(row, (conditions, result));
            }
            5 if table.is_first && table.rows.len() > 2 && row + 1 < table.rows.len() => {
                table.rows.remove(row);
            }
            6 => {
                let more = Table::new(random, columns, is_grade, false);
                edited.tables.push(more);
            }
            7 => {
                table.if_unknown = match table.if_unknown {
                    Some(_) => None,
                    None => Some(result(random, is_grade, number == 0)),
                };
            }
            _ => edited.post.truncate(0),
        }
        edited
    }

    /// The decision `made` as rules.
    pub fn rules(&self) -> String {
        let value_type = if self.is_grade { "grade" } else { "angle" };
        let mut text = format!("{HEAD}decide made : {value_type}\n  source common practice\n");
        for (number, table) in self.tables.iter().enumerate() {
            let word = if number == 0 { "by" } else { "then by" };
            text.push_str(&format!("  {word} {}", table.columns.join(" and ")));
            if table.is_first {
                text.push_str(", first");
            }
            if let Some(result) = &table.if_unknown {
                text.push_str(&format!(", if unknown {result}"));
            }
            text.push('\n');
            for (conditions, result) in &table.rows {
                let conditions = match conditions.as_slice() {
                    [] => "otherwise".to_owned(),
                    conditions => conditions.join(" and "),
                };
                text.push_str(&format!("    {conditions} {result}\n"));
            }
        }
        for line in self.post.iter().chain(&self.promises) {
            text.push_str(&format!("  {line}\n"));
        }
        text
    }

    /// Checked on a contract that reads nothing.
    pub fn checked(&self) -> CheckOutput {
        checked(&self.rules())
    }
}

/// Rules on a contract that reads nothing.
pub fn checked(rules: &str) -> CheckOutput {
    let layer = |name: &str, text: &str| LayerSource {
        name: name.to_owned(),
        files: vec![(format!("{name}.rules"), text.to_owned())],
    };
    check(&[layer("contract", CONTRACT), layer("house", rules)], 1)
}

impl Table {
    fn new(random: &mut Random, all: &[&'static str], is_grade: bool, is_body: bool) -> Self {
        let mut columns: Vec<&'static str> = all.to_vec();
        let wanted = 1 + random.below(2.min(columns.len()));
        while columns.len() > wanted {
            columns.remove(random.below(columns.len()));
        }
        let if_unknown = random
            .chance(35)
            .then(|| result(random, is_grade, is_body))
            .filter(|result| !result.starts_with("cannot"));
        if columns == ["lean"] && random.chance(50) {
            let (low, high) = (1 + random.below(2), 3 + random.below(3));
            let bounds = [
                format!("under {low} deg"),
                format!("{low} deg through {high} deg"),
                format!("over {high} deg"),
            ];
            let rows = bounds.map(|bound| (vec![bound], result(random, is_grade, is_body)));
            return Table {
                columns,
                is_first: false,
                if_unknown,
                rows: rows.to_vec(),
            };
        }
        let count = 1 + random.below(4);
        let mut rows: Vec<_> = (0..count)
            .map(|_| {
                let conditions = columns
                    .iter()
                    .map(|column| condition(random, column))
                    .collect();
                (conditions, result(random, is_grade, is_body))
            })
            .collect();
        rows.push((Vec::new(), result(random, is_grade, is_body)));
        Table {
            columns,
            is_first: true,
            if_unknown,
            rows,
        }
    }
}

fn condition(random: &mut Random, column: &str) -> String {
    if random.chance(20) {
        return "any".to_owned();
    }
    if random.chance(8) {
        return "unknown".to_owned();
    }
    let (low, more) = (random.below(6), 1 + random.below(3));
    let high = low + more;
    let turf = ["firm", "normal", "soft", "firm or soft", "not soft"];
    match column {
        "rounds" => match random.below(3) {
            0 => format!("{}", random.below(5)),
            1 => format!("{} or more", random.below(5)),
            _ => format!("{} through {}", low.min(3), low.min(3) + 1),
        },
        "pace" => {
            let words = ["slow", "steady", "quick", "steady or more", "up to steady"];
            (*random.one_of(&words)).to_owned()
        }
        "turf" => (*random.one_of(&turf)).to_owned(),
        "lefty" => (*random.one_of(&["yes", "no"])).to_owned(),
        _ => match random.below(6) {
            0 => format!("under {high} deg"),
            1 => format!("up to {low} deg"),
            2 => format!("over {low} deg"),
            3 => format!("{low} deg or more"),
            4 => format!("{low} deg through {high} deg"),
            _ => format!("over {low} deg through {high} deg"),
        },
    }
}

fn result(random: &mut Random, is_grade: bool, is_body: bool) -> String {
    let grades = ["poor", "fair", "good", "fine"];
    let gives = match is_grade {
        true => format!("gives {}", random.one_of(&grades)),
        false => format!("gives {} deg", random.below(7)),
    };
    if is_body || random.chance(15) {
        return gives;
    }
    let steps: &[&str] = match is_grade {
        true => &[
            "moves up 1/2",
            "moves up 1",
            "moves down 1/2",
            "keeps",
            "keeps",
        ],
        false => &[
            "adds 1 deg",
            "adds 1/2 deg",
            "takes off 1 deg",
            "keeps",
            "keeps",
        ],
    };
    (*random.one_of(steps)).to_owned()
}

/// The values of a reading on a grid that meets every cell; for a player who does not give it,
/// `None` at the end where `with_unknown` says so.
pub fn grid(program: &Program, reading: &str, with_unknown: bool) -> Vec<Option<Value>> {
    let (_, input) = input(program, reading);
    let half = |number: i128| Value::Number(Rational::fraction(number, 2).unwrap());
    let numbers = || {
        let (low, high) = input.between.clone().unwrap();
        let values = (0..=400).map(|step| degrees_or_count(input.value_type, half(step)));
        values
            .filter(|value| *value >= low && *value <= high)
            .filter(|value| input.value_type != Type::Count || value.number().unwrap().is_whole())
            .collect::<Vec<_>>()
    };
    let values = match input.value_type {
        Type::Flag => vec![Value::Flag(false), Value::Flag(true)],
        Type::Choice(id) | Type::Scale(id) => {
            let words = program.vocabularies[id].values();
            words.into_iter().map(Value::Word).collect()
        }
        _ => numbers(),
    };
    let unknown = with_unknown.then_some(None);
    values.into_iter().map(Some).chain(unknown).collect()
}

/// A number of degrees in base units, or the number itself.
fn degrees_or_count(value_type: Type, value: Value) -> Value {
    match value_type {
        Type::Count => value,
        _ => {
            let degree = loftwright_dsl::quantity::unit_named("deg").unwrap();
            let number = value.number().unwrap().times(degree.factor()).unwrap();
            Value::Number(number)
        }
    }
}

/// An input by name.
pub fn input<'p>(
    program: &'p Program,
    name: &str,
) -> (InputId, &'p loftwright_dsl::program::Input) {
    let mut entries = program.inputs.entries();
    entries.find(|(_, input)| input.name == name).unwrap()
}

/// A player of these readings.
pub fn player(program: &Program, readings: &[(&str, Option<Value>)]) -> Player {
    let known = readings.iter().filter_map(|(name, value)| {
        let reading = Reading {
            value: value.clone()?,
            spread: None,
            shots: 1,
        };
        Some((input(program, name).0, reading))
    });
    Player {
        readings: known.collect(),
        given: std::collections::BTreeMap::new(),
    }
}
