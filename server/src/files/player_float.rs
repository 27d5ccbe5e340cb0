//! Floats in a player file, each with the text to write instead.

use loftwright_dsl::program::{Program, Shown, Type};
use loftwright_dsl::quantity::Dimension;
use loftwright_engine::intake::{PlayerText, text_to_write};

/// A float that stands where a text must.
#[derive(Clone, Debug)]
pub(super) struct Float {
    /// What it is of.
    pub(super) place: FloatPlace,
    /// The path of the key, as intake names it.
    pub(super) key: String,
    /// Its digits as they are written.
    pub(super) number: String,
}

/// What a float is of.
#[derive(Clone, Debug)]
pub(super) enum FloatPlace {
    /// The value of a reading.
    Reading(String),
    /// The spread of a reading.
    Spread(String),
    /// A field of a club: the group, the club's place from 0, the field.
    Club(String, usize, String),
}

impl Float {
    /// The text to write in its place; `None` where a number cannot stand there.
    pub(super) fn text_to_write(&self, program: &Program) -> Option<String> {
        let input = |name: &str| {
            let has_name = |old: &String| old == name;
            program
                .inputs
                .iter()
                .find(|input| input.name == name || input.formerly.iter().any(has_name))
        };
        let (value_type, shown): (Type, &Shown) = match &self.place {
            FloatPlace::Reading(name) => input(name).map(|input| (input.value_type, &input.shown)),
            FloatPlace::Spread(name) => {
                let input = input(name)?;
                let difference = input.value_type.dimension().unwrap_or(Dimension::NUMBER);
                Some((Type::Quantity(difference), &input.shown))
            }
            FloatPlace::Club(group, _, field) => {
                let group = program.groups.iter().find(|known| known.name == *group)?;
                let field = group.fields.iter().find(|known| known.name == *field)?;
                Some((field.value_type, &field.shown))
            }
        }?;
        text_to_write(program, value_type, shown, &self.number)
    }

    /// Puts a text in its place, so that nothing else is said of it.
    pub(super) fn replace_in(&self, text: &mut PlayerText, to_write: String) {
        match &self.place {
            FloatPlace::Reading(name) => {
                if let Some(reading) = text.readings.get_mut(name) {
                    reading.value = to_write;
                }
            }
            FloatPlace::Spread(name) => {
                if let Some(reading) = text.readings.get_mut(name) {
                    reading.spread = Some(to_write);
                }
            }
            FloatPlace::Club(group, place, field) => {
                let club = text
                    .given
                    .get_mut(group)
                    .and_then(|clubs| clubs.get_mut(*place));
                if let Some(club) = club {
                    club.insert(field.clone(), to_write);
                }
            }
        }
    }
}
