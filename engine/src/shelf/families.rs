//! What on a shelf has the same in some fields: the families that clubs could agree on.

use std::borrow::Cow;
use std::collections::BTreeMap;
use std::sync::Arc;

use loftwright_dsl::program::{AgreesOn, Choose, Value};

use super::{Column, Shelf};
use crate::places::Places;

/// Families that would take more words than this are found each time they are asked for.
const MOST_WORDS: usize = 1 << 18;

/// A choice that agrees on more fields under conditions than this has its families found each time.
const MOST_CONDITIONS: usize = 4;

/// The families found beforehand, by their fields.
#[derive(Clone, Debug, Default)]
pub(super) struct Families(BTreeMap<Vec<usize>, Vec<Alike>>);

/// The values of some fields that occur together.
pub(crate) type FamilyValues = Arc<[Value]>;

/// What has the same in some fields.
#[derive(Clone, Debug)]
pub(crate) struct Alike {
    values: FamilyValues,
    places: Places,
}

impl Alike {
    pub(crate) fn values(&self) -> &FamilyValues {
        &self.values
    }

    /// Whether some of it stands at these places.
    pub(crate) fn meets(&self, places: &Places) -> bool {
        self.places.meets(places)
    }

    /// What of it stands at these places, if anything does.
    pub(crate) fn among(&self, places: &Places) -> Option<Places> {
        self.meets(places).then(|| self.places.both(places))
    }
}

impl Shelf {
    /// Finds the families that the clubs of a choice could have to agree on, once for all players.
    pub(crate) fn find_families(&mut self, choose: &Choose) {
        for fields in fields_agreed(&choose.agrees_on) {
            if self.families.0.contains_key(&fields) {
                continue;
            }
            let found = self.found(&fields);
            let words = Places::words(self.spots.len()).saturating_mul(found.len());
            if words <= MOST_WORDS {
                self.families.0.insert(fields, found);
            }
        }
    }

    /// Those of some places that have these values in these fields.
    pub(crate) fn of_values(
        &self,
        places: &Places,
        fields: &[usize],
        values: &[Value],
    ) -> Option<Places> {
        let families = self.all_alike(fields);
        let by_values = |alike: &Alike| alike.values.as_ref().cmp(values);
        let place = families.binary_search_by(by_values).ok()?;
        families.get(place)?.among(places)
    }

    /// All that is alike in these fields, in order of value. A place is left out where one of the
    /// fields is not known.
    pub(crate) fn all_alike(&self, fields: &[usize]) -> Cow<'_, [Alike]> {
        match self.families.0.get(fields) {
            Some(known) => Cow::Borrowed(known),
            None => Cow::Owned(self.found(fields)),
        }
    }

    fn found(&self, fields: &[usize]) -> Vec<Alike> {
        let columns: Option<Vec<&Column>> =
            fields.iter().map(|field| self.column(*field)).collect();
        let mut found = Vec::new();
        if let Some(columns) = columns {
            let mut values = Vec::with_capacity(fields.len());
            part(&self.everything(), &columns, &mut values, &mut found);
        }
        found
    }
}

/// Parts some places by the columns that are left, below the values of those before.
fn part<'c>(
    places: &Places,
    columns: &[&'c Column],
    before: &mut Vec<&'c Value>,
    found: &mut Vec<Alike>,
) {
    let Some((column, others)) = columns.split_first() else {
        return;
    };
    for standing in column.values() {
        let Some(places) = standing.among(places) else {
            continue;
        };
        before.push(standing.value);
        if others.is_empty() {
            let values = before.iter().copied().cloned().collect();
            found.push(Alike { values, places });
        } else {
            part(&places, others, before, found);
        }
        before.pop();
    }
}

/// The fields that clubs could have to agree on, as the conditions hold or not.
fn fields_agreed(agrees_on: &[AgreesOn]) -> Vec<Vec<usize>> {
    let conditions = agrees_on.iter().filter(|on| on.when.is_some());
    if conditions.count() > MOST_CONDITIONS {
        return Vec::new();
    }
    let mut agreed = vec![Vec::new()];
    for on in agrees_on {
        let mut with = agreed.clone();
        with.iter_mut().for_each(|fields| fields.push(on.field));
        if on.when.is_none() {
            agreed.clear();
        }
        agreed.extend(with);
    }
    agreed.retain(|fields| !fields.is_empty());
    agreed
}

#[cfg(test)]
mod tests {
    use loftwright_dsl::program::{Expression, ExpressionKind, Type};
    use loftwright_dsl::syntax::source::{Folder, SourceFile, Span};

    use super::super::Layout;
    use super::*;
    use crate::parts::{CataloguePart, OnHand};

    /// Parts of two words; `None` where a word is not known.
    fn shelf(words: &[[Option<i32>; 2]]) -> Shelf {
        let part = |words: &[Option<i32>; 2]| CataloguePart {
            id: String::new(),
            fields: words.iter().map(|word| word.map(Value::Word)).collect(),
            lead_time_days: None,
            on_hand: OnHand::Counted(1),
        };
        let parts: Vec<CataloguePart> = words.iter().map(part).collect();
        Shelf::of_catalogue(&parts, &Layout::default())
    }

    fn places(shelf: &Shelf, which: &[usize]) -> Places {
        let mut places = shelf.nothing();
        places.add_all(which);
        places
    }

    #[test]
    fn families_are_told_apart_by_all_fields_and_a_part_of_unknown_kind_is_in_none() {
        let known = |left, right| [Some(left), Some(right)];
        let mut shelf = shelf(&[
            known(2, 1),
            known(1, 7),
            known(2, 1),
            [Some(1), None],
            known(1, 5),
        ]);
        let words = |left, right| vec![Value::Word(left), Value::Word(right)];
        let offered = places(&shelf, &[0, 1, 2, 3]);
        let expected = [
            (words(1, 5), None),
            (words(1, 7), Some(vec![1])),
            (words(2, 1), Some(vec![0, 2])),
        ];
        for is_known_beforehand in [false, true] {
            if is_known_beforehand {
                let found = shelf.found(&[0, 1]);
                assert_eq!(found.len(), 3);
                shelf.families.0.insert(vec![0, 1], found);
            }
            let all = shelf.all_alike(&[0, 1]);
            let families = all.iter().map(|alike| {
                let places = alike.among(&offered);
                let places = places.map(|places| places.iter().collect::<Vec<_>>());
                (alike.values().to_vec(), places)
            });
            assert_eq!(families.collect::<Vec<_>>(), expected);
            let whole = shelf.of_values(&offered, &[0, 1], &words(2, 1));
            assert_eq!(whole, Some(places(&shelf, &[0, 2])));
            assert_eq!(shelf.of_values(&offered, &[0, 1], &words(1, 5)), None);
            assert_eq!(shelf.of_values(&offered, &[0, 1], &words(2, 7)), None);
        }
    }

    #[test]
    fn a_condition_may_leave_its_field_out() {
        let span = Span {
            file: Folder::default().push(SourceFile {
                layer: String::new(),
                name: String::new(),
                text: String::new(),
            }),
            start: 0,
            end: 0,
        };
        let on = |field, is_conditional: bool| AgreesOn {
            field,
            when: is_conditional.then_some(Expression {
                kind: ExpressionKind::None,
                value_type: Type::Flag,
                span,
            }),
            span,
        };
        let sorted = |agrees_on: &[AgreesOn]| {
            let mut fields = fields_agreed(agrees_on);
            fields.sort();
            fields
        };
        assert_eq!(sorted(&[on(4, false), on(2, false)]), [[4, 2]]);
        let all = [vec![2], vec![4], vec![4, 2]];
        assert_eq!(sorted(&[on(4, true), on(2, true)]), all);
        assert_eq!(sorted(&[on(4, false), on(2, true)]), [vec![4], vec![4, 2]]);
        assert!(
            sorted(&[
                on(1, true),
                on(2, true),
                on(3, true),
                on(4, true),
                on(5, true)
            ])
            .is_empty()
        );
    }
}
