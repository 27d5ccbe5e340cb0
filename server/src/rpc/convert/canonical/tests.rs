//! Messages that have all that they can have, held against what reflection makes of them.

use std::collections::BTreeMap;

use loftwright_proto::v1 as pb;
use prost::Message;
use prost_reflect::{
    DynamicMessage, FieldDescriptor, Kind, MapKey, MessageDescriptor, Value as Dynamic,
};

use super::{POOL, from_value, to_value};
use crate::audit::encoding::{Borrowed, Value};

/// What is recorded, or hashed.
const NAMES: [&str; 3] = [
    "loftwright.v1.RecommendRequest",
    "loftwright.v1.Recommendation",
    "loftwright.v1.ConfirmBuildRequest",
];

fn descriptor(name: &str) -> MessageDescriptor {
    let pool = POOL.as_ref().expect("descriptors");
    pool.get_message_by_name(name).expect("a message")
}

/// A message with all fields, `count` values in each that holds several; of fields of which one
/// excludes the others, the one at `chosen`.
fn filled(descriptor: &MessageDescriptor, count: usize, chosen: usize) -> DynamicMessage {
    let mut message = DynamicMessage::new(descriptor.clone());
    for field in descriptor.fields() {
        let of_one = field.containing_oneof();
        let is_chosen = of_one.is_none_or(|all| {
            let mut all = all.fields().collect::<Vec<_>>().into_iter().cycle();
            all.nth(chosen).is_some_and(|one| one == field)
        });
        if is_chosen {
            message.set_field(&field, value_of(&field, count, chosen));
        }
    }
    message
}

fn value_of(field: &FieldDescriptor, count: usize, chosen: usize) -> Dynamic {
    let single = |kind: &Kind, number: usize| match kind {
        Kind::Bool => Dynamic::Bool(true),
        Kind::Int64 => Dynamic::I64(-300 * i64::try_from(number).expect("small") - 1),
        Kind::Uint32 => Dynamic::U32(u32::MAX),
        Kind::Int32 => Dynamic::I32(i32::MIN),
        Kind::Uint64 => Dynamic::U64(u64::MAX),
        Kind::String => Dynamic::String(format!("{} é {number}", field.name())),
        Kind::Enum(choices) => {
            let last = choices.values().last().expect("a choice");
            Dynamic::EnumNumber(last.number())
        }
        Kind::Message(message) => Dynamic::Message(filled(message, number, chosen)),
        other => panic!("nothing that is recorded is {other:?}"),
    };
    if field.is_map() {
        let kind = field.kind();
        let kind = kind.as_message().expect("an entry").map_entry_value_field();
        let entry = |number| {
            let key = MapKey::String(format!("{}{number}", field.name()));
            (key, single(&kind.kind(), number))
        };
        return Dynamic::Map((0..count).map(entry).collect());
    }
    match field.is_list() {
        true => Dynamic::List((0..count).map(|at| single(&field.kind(), at)).collect()),
        false => single(&field.kind(), count),
    }
}

/// The value as reflection tells it.
fn reflected(message: &DynamicMessage) -> Value {
    let fields = message.fields();
    Value::Map(
        fields
            .map(|(field, value)| {
                (
                    field.name().to_owned(),
                    reflected_value(&field.kind(), value),
                )
            })
            .collect(),
    )
}

fn reflected_value(kind: &Kind, value: &Dynamic) -> Value {
    match value {
        Dynamic::Bool(flag) => Value::Flag(*flag),
        Dynamic::I32(number) => Value::Whole((*number).into()),
        Dynamic::I64(number) => Value::Whole((*number).into()),
        Dynamic::U32(number) => Value::Whole((*number).into()),
        Dynamic::U64(number) => Value::Whole((*number).into()),
        Dynamic::String(text) => Value::Text(text.clone()),
        Dynamic::EnumNumber(number) => {
            let choices = kind.as_enum().expect("choices");
            Value::Text(
                choices
                    .get_value(*number)
                    .expect("a choice")
                    .name()
                    .to_owned(),
            )
        }
        Dynamic::Message(message) => reflected(message),
        Dynamic::List(values) => Value::List(
            values
                .iter()
                .map(|value| reflected_value(kind, value))
                .collect(),
        ),
        Dynamic::Map(entries) => {
            let entry = kind.as_message().expect("an entry");
            let kind = entry.map_entry_value_field().kind();
            let entries = entries.iter().map(|(key, value)| {
                let key = key.as_str().expect("a text").to_owned();
                (key, reflected_value(&kind, value))
            });
            Value::Map(entries.collect::<BTreeMap<_, _>>())
        }
        other => panic!("nothing that is recorded is {other:?}"),
    }
}

#[test]
fn every_field_of_what_is_recorded_is_as_reflection_has_it() {
    for name in NAMES {
        for (count, chosen) in [(0, 0), (1, 1), (2, 2), (3, 3)] {
            let message = filled(&descriptor(name), count, chosen);
            let wire = message.encode_to_vec();
            let value = to_value(name, &wire).expect(name);
            assert_eq!(
                value,
                Borrowed::from(&reflected(&message)),
                "{name} {count}"
            );
        }
    }
}

#[test]
fn entries_of_a_map_stand_in_their_order_whatever_that_of_the_wire_and_the_later_of_two_counts() {
    let name = "loftwright.v1.RecommendRequest";
    let reading = |text: &str, value: &str| pb::RecommendRequest {
        readings: BTreeMap::from([(
            text.to_owned(),
            pb::Reading {
                value: value.to_owned(),
                ..pb::Reading::default()
            },
        )]),
        ..pb::RecommendRequest::default()
    };
    let sent = [("b", "1"), ("c", "2"), ("a", "3"), ("b", "4")];
    let wire: Vec<u8> = sent
        .iter()
        .flat_map(|(text, value)| reading(text, value).encode_to_vec())
        .collect();
    let value = to_value(name, &wire).expect("a value");
    let readings = value
        .entry("readings")
        .and_then(Borrowed::entries)
        .expect("readings");
    let seen = readings.iter();
    let seen: Vec<_> = seen
        .map(|(text, reading)| (*text, reading.entry("value").cloned()))
        .collect();
    let text = |text| Some(Borrowed::Text(text));
    assert_eq!(seen, [("a", text("3")), ("b", text("4")), ("c", text("2"))]);
}

#[test]
fn a_message_is_read_again_as_it_was() {
    let name = "loftwright.v1.Recommendation";
    for chosen in 0..4 {
        let wire = filled(&descriptor(name), 2, chosen).encode_to_vec();
        let message = pb::Recommendation::decode(wire.as_slice()).expect("a recommendation");
        let value = to_value(name, &wire).expect("a value");
        assert_eq!(from_value(name, &value), Some(message));
    }
}

#[test]
fn bytes_that_are_cut_or_of_another_message_are_none() {
    let name = "loftwright.v1.RecommendRequest";
    let wire = filled(&descriptor(name), 1, 0).encode_to_vec();
    let cut = wire.get(..wire.len() - 1).expect("within");
    assert_eq!(to_value(name, cut), None);
    // Field 31, that no request has.
    assert_eq!(to_value(name, &[0xfa, 0x01, 0x00]), None);
    assert_eq!(to_value(name, &[0x80; 11]), None);
    assert_eq!(to_value("loftwright.v1.Nothing", &wire), None);
}
