//! The forms of messages: what is known of their fields, laid out once for all that are written.

use std::collections::BTreeMap;

use prost_reflect::{DescriptorPool, EnumDescriptor, FieldDescriptor, Kind, MessageDescriptor};

/// The forms of all messages of the interface.
pub(super) struct Forms {
    forms: Vec<Form>,
    /// The places of their names.
    places: BTreeMap<String, usize>,
}

/// The form of a message.
pub(super) struct Form {
    /// In the order of their names.
    pub(super) fields: Vec<Field>,
    /// The place of each number among them.
    places: Vec<Option<usize>>,
}

/// A field.
pub(super) struct Field {
    pub(super) name: String,
    pub(super) holds: Holds,
}

/// How many values a field holds, and of which sort.
pub(super) enum Holds {
    /// One.
    One(Sort),
    /// As many as there are, one after the other.
    List(Sort),
    /// As many as there are, each by a text.
    Map(Sort),
}

/// A sort of value.
pub(super) enum Sort {
    /// Yes or no.
    Flag,
    /// A whole number that may be negative.
    Signed,
    /// A whole number that may not.
    Unsigned,
    /// A text.
    Text,
    /// Bytes.
    Bytes,
    /// One of these names, each at the place of its number.
    Choice(Vec<Option<String>>),
    /// A message of the form at this place.
    Message(usize),
}

impl Forms {
    /// Those of a set of descriptors. A field of a sort that nothing recorded is of (binary floats,
    /// lists of numbers) is left out, and a message that has one cannot be written.
    pub(super) fn of(pool: &DescriptorPool) -> Self {
        let messages: Vec<MessageDescriptor> = pool.all_messages().collect();
        let names = messages
            .iter()
            .map(|message| message.full_name().to_owned());
        let places: BTreeMap<String, usize> = names.zip(0..).collect();
        let forms = messages.iter().map(|message| Form::of(message, &places));
        Forms {
            forms: forms.collect(),
            places,
        }
    }

    /// The form of the messages of a name.
    pub(super) fn named(&self, name: &str) -> Option<&Form> {
        self.at(*self.places.get(name)?)
    }

    /// The form at a place.
    pub(super) fn at(&self, place: usize) -> Option<&Form> {
        self.forms.get(place)
    }
}

impl Form {
    fn of(message: &MessageDescriptor, messages: &BTreeMap<String, usize>) -> Self {
        let mut known: Vec<(usize, Field)> = message
            .fields()
            .filter_map(|field| {
                let name = field.name().to_owned();
                let holds = Holds::of(&field, messages)?;
                Some((usize::try_from(field.number()).ok()?, Field { name, holds }))
            })
            .collect();
        known.sort_by(|(_, one), (_, other)| one.name.cmp(&other.name));
        let highest = known.iter().map(|(number, _)| *number).max();
        let mut places = vec![None; highest.map_or(0, |highest| highest + 1)];
        for (place, (number, _)) in known.iter().enumerate() {
            if let Some(of_number) = places.get_mut(*number) {
                *of_number = Some(place);
            }
        }
        Form {
            fields: known.into_iter().map(|(_, field)| field).collect(),
            places,
        }
    }

    /// The place of the field of a number.
    pub(super) fn place(&self, number: u64) -> Option<usize> {
        *self.places.get(usize::try_from(number).ok()?)?
    }
}

impl Holds {
    fn of(field: &FieldDescriptor, messages: &BTreeMap<String, usize>) -> Option<Self> {
        if field.is_map() {
            let entry = field.kind();
            let entry = entry.as_message()?;
            let is_by_text = entry.map_entry_key_field().kind() == Kind::String;
            let sort = Sort::of(&entry.map_entry_value_field().kind(), messages)?;
            return is_by_text.then_some(Holds::Map(sort));
        }
        let sort = Sort::of(&field.kind(), messages)?;
        match (field.is_list(), field.is_packed()) {
            (false, _) => Some(Holds::One(sort)),
            (true, false) => Some(Holds::List(sort)),
            (true, true) => None,
        }
    }
}

impl Sort {
    fn of(kind: &Kind, messages: &BTreeMap<String, usize>) -> Option<Self> {
        Some(match kind {
            Kind::Bool => Sort::Flag,
            Kind::Int32 | Kind::Int64 => Sort::Signed,
            Kind::Uint32 | Kind::Uint64 => Sort::Unsigned,
            Kind::String => Sort::Text,
            Kind::Bytes => Sort::Bytes,
            Kind::Enum(choices) => Sort::Choice(names(choices)),
            Kind::Message(message) => Sort::Message(*messages.get(message.full_name())?),
            _ => return None,
        })
    }
}

/// The names of choices, each at the place of its number.
fn names(choices: &EnumDescriptor) -> Vec<Option<String>> {
    let mut names = Vec::new();
    for choice in choices.values() {
        let Ok(place) = usize::try_from(choice.number()) else {
            continue;
        };
        if names.len() <= place {
            names.resize(place + 1, None);
        }
        if let Some(name) = names.get_mut(place) {
            *name = Some(choice.name().to_owned());
        }
    }
    names
}
