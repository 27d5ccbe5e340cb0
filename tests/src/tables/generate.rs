//! Made-up tables: a box cut into rows that neither overlap nor leave a gap, then spoilt a little.

use super::{Column, Condition, Domain, Listed, Table};
use crate::generator::Random;

/// How a made-up table looks.
#[derive(Clone, Copy, Debug)]
pub struct Shape {
    /// Columns.
    pub columns: usize,
    /// About how many ticks a column has.
    pub ticks: i64,
    /// The most cuts: one row more.
    pub cuts: usize,
    /// How many in a hundred tables are spoilt.
    pub spoilt: usize,
}

/// What a row takes of one column.
#[derive(Clone, Debug, PartialEq)]
struct Part {
    /// The ticks; of an ordered column they follow each other.
    ticks: Vec<i64>,
    /// Whether it takes none.
    none: bool,
    /// Whether it takes unknown.
    unknown: bool,
}

/// A made-up table.
pub fn table(name: &str, shape: Shape, random: &mut Random) -> Table {
    let kinds: Vec<Domain> = (0..shape.columns)
        .map(|_| *random.one_of(&Domain::ALL))
        .collect();
    table_with(name, shape, &kinds, random)
}

/// A made-up table with columns of these kinds.
pub fn table_with(name: &str, shape: Shape, kinds: &[Domain], random: &mut Random) -> Table {
    let columns: Vec<Column> = kinds
        .iter()
        .enumerate()
        .map(|(place, domain)| column(format!("{name}_{place}"), *domain, shape.ticks, random))
        .collect();
    let mut table = table_of(name, columns, shape.cuts, random);
    if random.chance(15) {
        table.if_unknown = Some(500);
    }
    if random.chance(shape.spoilt) {
        spoil(&mut table, random);
    }
    for place in (1..table.rows.len()).rev() {
        table.rows.swap(place, random.below(place + 1));
    }
    table.results = (0..table.row_count())
        .map(|row| i64::try_from(row).unwrap())
        .collect();
    table
}

/// A table of these columns that has neither a gap nor an overlap; it gives nothing yet.
pub(super) fn table_of(
    name: &str,
    columns: Vec<Column>,
    cuts: usize,
    random: &mut Random,
) -> Table {
    Table {
        name: name.to_owned(),
        rows: cut(&columns, cuts, random),
        columns,
        has_otherwise: false,
        is_first: false,
        if_unknown: None,
        results: Vec::new(),
    }
}

fn column(name: String, domain: Domain, ticks: i64, random: &mut Random) -> Column {
    let most = i64::try_from(1 + random.below(usize::try_from(ticks.max(2)).unwrap())).unwrap();
    let (low, high) = match domain {
        Domain::Length | Domain::Number => {
            let low = 2 * (i64::try_from(random.below(5)).unwrap() - 2);
            (low, low + 2 * most)
        }
        Domain::Count | Domain::Date => (0, most),
        Domain::ScaleInHalves => (0, 2 * (1 + most / 2).min(7)),
        Domain::Scale | Domain::Choice => (0, most.min(7)),
        Domain::Flag => (0, 1),
    };
    Column {
        name,
        domain,
        low,
        high,
        may_be_none: random.chance(20),
        is_negated: domain.is_continuous() && random.chance(25),
    }
}

/// The whole of a column; now and then unknown is a value of it, or none.
fn whole(column: &Column, random: &mut Random) -> Part {
    Part {
        ticks: (column.low..=column.high).collect(),
        none: column.may_be_none && random.chance(70),
        unknown: random.chance(15),
    }
}

/// Cuts the box of all columns along one column after another.
fn cut(columns: &[Column], cuts: usize, random: &mut Random) -> Vec<Vec<Condition>> {
    let wholes: Vec<Part> = columns.iter().map(|column| whole(column, random)).collect();
    let mut boxes = vec![wholes.clone()];
    for _ in 0..random.below(cuts + 1) {
        let (place, column) = (random.below(boxes.len()), random.below(columns.len()));
        let halves = halves(&columns[column], &boxes[place][column], random);
        if let Some((one, other)) = halves {
            let mut beside = boxes[place].clone();
            beside[column] = other;
            boxes[place][column] = one;
            boxes.push(beside);
        }
    }
    let row = |parts: &Vec<Part>| {
        let conditions = columns.iter().zip(parts).zip(&wholes);
        conditions
            .map(|((column, part), whole)| condition(column, part, part == whole, random))
            .collect()
    };
    boxes.iter().map(row).collect()
}

/// A part in two; nothing where it cannot be cut.
fn halves(column: &Column, part: &Part, random: &mut Random) -> Option<(Part, Part)> {
    let mut one = part.clone();
    let mut other = part.clone();
    if column.domain.is_ordered() {
        if !part.ticks.is_empty() && (part.none || part.unknown) {
            (one.none, one.unknown) = (false, false);
            other.ticks.clear();
            return Some((one, other));
        }
        if part.ticks.len() > 1 {
            other.ticks = one.ticks.split_off(1 + random.below(part.ticks.len() - 1));
            return Some((one, other));
        }
    }
    let goes_over = |random: &mut Random| random.chance(50);
    one.ticks.retain(|_| goes_over(random));
    other.ticks.retain(|tick| !one.ticks.contains(tick));
    one.none = part.none && goes_over(random);
    other.none = part.none && !one.none;
    one.unknown = part.unknown && goes_over(random);
    other.unknown = part.unknown && !one.unknown;
    let is_empty = |part: &Part| part.ticks.is_empty() && !part.none && !part.unknown;
    (!is_empty(&one) && !is_empty(&other)).then_some((one, other))
}

fn condition(column: &Column, part: &Part, is_whole: bool, random: &mut Random) -> Condition {
    if is_whole && random.chance(80) {
        return Condition::Any;
    }
    let mut listed: Vec<Listed> = Vec::new();
    listed.extend(part.none.then_some(Listed::None));
    listed.extend(part.unknown.then_some(Listed::Unknown));
    if column.domain.is_ordered() && !part.ticks.is_empty() {
        if !listed.is_empty() {
            return Condition::Any;
        }
        return range(
            column,
            part.ticks[0],
            part.ticks[part.ticks.len() - 1],
            random,
        );
    }
    let all: Vec<i64> = (column.low..=column.high).collect();
    let others: Vec<Listed> = all
        .iter()
        .filter(|tick| !part.ticks.contains(tick))
        .map(|tick| Listed::At(*tick))
        .collect();
    if listed.is_empty() && !others.is_empty() && random.chance(40) {
        return Condition::NotOneOf(others);
    }
    listed.extend(part.ticks.iter().map(|tick| Listed::At(*tick)));
    Condition::OneOf(listed)
}

/// The ticks from `low` to `high` in some form that says just them.
fn range(column: &Column, low: i64, high: i64, random: &mut Random) -> Condition {
    let (starts, ends) = (low == column.low, high == column.high);
    let is_open = |tick: i64| column.domain.is_continuous() && tick % 2 != 0;
    let mut forms = Vec::new();
    if low == high && !is_open(low) {
        forms.push(Condition::OneOf(vec![Listed::At(low)]));
    }
    if starts {
        forms.push(match is_open(high) {
            true => Condition::Under(high + 1),
            false => Condition::UpTo(high),
        });
    }
    if ends {
        forms.push(match is_open(low) {
            true => Condition::Over(low - 1),
            false => Condition::OrMore(low),
        });
    }
    if low < high || is_open(low) {
        forms.extend(match (is_open(low), is_open(high)) {
            (false, false) => Some(Condition::Through(low, high)),
            (false, true) => Some(Condition::ToUnder(low, high + 1)),
            (true, false) => Some(Condition::OverThrough(low - 1, high)),
            (true, true) => Some(Condition::OverToUnder(low - 1, high + 1)),
        });
        if !column.domain.is_continuous() && !ends {
            forms.push(Condition::ToUnder(low, high + 1));
        }
        if !column.domain.is_continuous() && !starts {
            forms.push(Condition::OverThrough(low - 1, high));
        }
    }
    random.one_of(&forms).clone()
}

/// Drops, doubles and changes rows, and says *first* or `otherwise`.
fn spoil(table: &mut Table, random: &mut Random) {
    if random.chance(40) {
        let dropped = random.below(table.rows.len());
        if table.rows.len() > 1 {
            table.rows.remove(dropped);
        }
    }
    if random.chance(10) {
        let doubled = random.one_of(&table.rows).clone();
        table.rows.push(doubled);
    }
    for _ in 0..*random.one_of(&[0, 0, 1, 1, 2]) {
        let row = random.below(table.rows.len());
        let column = random.below(table.columns.len());
        table.rows[row][column] = any_condition(&table.columns[column], random);
    }
    table.is_first = random.chance(30);
    table.has_otherwise = random.chance(30);
}

/// Any condition at all on a column; numbers may lie beyond its range.
fn any_condition(column: &Column, random: &mut Random) -> Condition {
    let step = column.domain.bound_step();
    let beyond = match column.domain {
        Domain::Length | Domain::Number => 2 * step,
        _ => 0,
    };
    let mut bound = || {
        let count = (column.high - column.low + 2 * beyond) / step + 1;
        let place = random.below(usize::try_from(count).unwrap());
        column.low - beyond + step * i64::try_from(place).unwrap()
    };
    let (one, other) = (bound(), bound());
    let (low, high) = (one.min(other), one.max(other));
    let mut listed = vec![Listed::At(one)];
    if random.chance(30) && other != one {
        listed.push(Listed::At(other));
    }
    if column.may_be_none && random.chance(20) {
        listed.push(Listed::None);
    }
    if random.chance(10) {
        listed.push(Listed::Unknown);
    }
    let forms = if column.domain.is_ordered() { 10 } else { 3 };
    match random.below(forms) {
        0 => Condition::OneOf(listed),
        1 => Condition::NotOneOf(listed),
        2 => Condition::Any,
        3 => Condition::Under(high),
        4 => Condition::UpTo(high),
        5 => Condition::Over(low),
        _ if low == high => Condition::OrMore(low),
        6 => Condition::Through(low, high),
        7 => Condition::ToUnder(low, high),
        8 if high - low > step => Condition::OverToUnder(low, high),
        _ => Condition::OverThrough(low, high),
    }
}
