//! Boxes: the whole of some columns cut into rows that leave no gap and never overlap.

use super::{Input, Kind, quantity_text};
use crate::generator::Random;

/// A part of a column's values.
#[derive(Clone, Debug)]
enum Piece {
    /// Bounds, each with whether it belongs to the piece; `None` is without end.
    Interval(Option<(i64, bool)>, Option<(i64, bool)>),
    /// Some of the words, by number.
    Set(Vec<usize>),
}

/// The conditions of the rows of a table over these columns, a text for each column.
pub(super) fn boxes(columns: &[Input], random: &mut Random) -> Vec<Vec<String>> {
    let whole: Vec<Piece> = columns.iter().map(|column| whole(&column.kind)).collect();
    let mut rows = vec![whole];
    for _ in 0..1 + random.below(7) {
        let place = random.below(rows.len());
        let column = random.below(columns.len());
        if let Some((one, other)) = cut(&rows[place][column], &columns[column].kind, random) {
            let mut row = rows[place].clone();
            rows[place][column] = one;
            row[column] = other;
            rows.insert(place + 1, row);
        }
    }
    let text = |row: &Vec<Piece>| {
        let cells = row.iter().zip(columns);
        let text = |(piece, column): (&Piece, &Input)| cell(piece, &column.kind);
        cells.map(text).collect::<Vec<Vec<String>>>()
    };
    let forms: Vec<_> = rows.iter().map(text).collect();
    let choose = |forms: Vec<Vec<String>>, random: &mut Random| -> Vec<String> {
        forms
            .iter()
            .map(|forms| random.one_of(forms).clone())
            .collect()
    };
    forms
        .into_iter()
        .map(|forms| choose(forms, random))
        .collect()
}

fn whole(kind: &Kind) -> Piece {
    match kind {
        Kind::Words {
            words,
            is_scale: false,
            ..
        } => Piece::Set((0..words.len()).collect()),
        Kind::Flag => Piece::Set(vec![0, 1]),
        _ => Piece::Interval(None, None),
    }
}

/// A piece in two, where it can be cut.
fn cut(piece: &Piece, kind: &Kind, random: &mut Random) -> Option<(Piece, Piece)> {
    match piece {
        Piece::Set(words) => {
            let middle = 1 + random.below(words.len().max(2) - 1);
            let (one, other) = words.split_at_checked(middle)?;
            (!other.is_empty()).then(|| (Piece::Set(one.to_vec()), Piece::Set(other.to_vec())))
        }
        Piece::Interval(low, high) => {
            let (first, last) = match kind {
                Kind::Count { low, high } | Kind::Quantity { low, high, .. } => (*low, *high),
                Kind::Words { words, .. } => (0, i64::try_from(words.len()).unwrap() - 1),
                Kind::Flag | Kind::Date => return None,
            };
            let from = low.map_or(first, |(bound, _)| bound) + 1;
            let to = high.map_or(last, |(bound, _)| bound) - 1;
            if from > to {
                return None;
            }
            let width = usize::try_from(to - from + 1).unwrap();
            let at = from + i64::try_from(random.below(width)).unwrap();
            // No form says `over A to under B`.
            let is_low_open = matches!(low, Some((_, false)));
            let is_high_open = matches!(high, Some((_, false)));
            let belongs_below = is_low_open || !is_high_open && random.chance(50);
            Some((
                Piece::Interval(*low, Some((at, belongs_below))),
                Piece::Interval(Some((at, !belongs_below)), *high),
            ))
        }
    }
}

/// The ways to write a piece.
fn cell(piece: &Piece, kind: &Kind) -> Vec<String> {
    match piece {
        Piece::Set(words) => set(words, kind),
        Piece::Interval(low, high) => {
            // The same numbers each time: only the form is chosen.
            let mut random = Random(1);
            let mut text = |value: i64| match kind {
                Kind::Words { words, .. } => words[usize::try_from(value).unwrap()].clone(),
                Kind::Quantity { unit, .. } => quantity_text(value, unit, &mut random),
                _ => value.to_string(),
            };
            vec![match (low, high) {
                (None, None) => "any".to_owned(),
                (None, Some((high, true))) => format!("up to {}", text(*high)),
                (None, Some((high, false))) => format!("under {}", text(*high)),
                (Some((low, true)), None) => format!("{} or more", text(*low)),
                (Some((low, false)), None) => format!("over {}", text(*low)),
                (Some((low, true)), Some((high, true))) => {
                    format!("{} through {}", text(*low), text(*high))
                }
                (Some((low, true)), Some((high, false))) => {
                    format!("{} to under {}", text(*low), text(*high))
                }
                (Some((low, false)), Some((high, _))) => {
                    format!("over {} through {}", text(*low), text(*high))
                }
            }]
        }
    }
}

fn set(words: &[usize], kind: &Kind) -> Vec<String> {
    let all: Vec<&str> = match kind {
        Kind::Words { words, .. } => words.iter().map(String::as_str).collect(),
        _ => vec!["yes", "no"],
    };
    if words.len() == all.len() {
        return vec!["any".to_owned()];
    }
    let listed: Vec<&str> = words.iter().map(|word| all[*word]).collect();
    let mut forms = vec![listed.join(" or ")];
    let others: Vec<&str> = (0..all.len())
        .filter(|word| !words.contains(word))
        .map(|word| all[word])
        .collect();
    if matches!(kind, Kind::Words { .. }) {
        forms.push(format!("not {}", others.join(" or ")));
    }
    forms
}
