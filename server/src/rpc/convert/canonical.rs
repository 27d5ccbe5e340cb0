//! Messages in the canonical encoding of the record, and back: by the names of their fields, so
//! that what is kept is read without the wire format's numbers. Fields without a value are left
//! out, choices stand by their names.

use std::collections::{BTreeMap, HashMap};
use std::sync::LazyLock;

use loftwright_proto::v1::FILE_DESCRIPTOR_SET;
use prost::Message;
use prost_reflect::{
    DescriptorPool, DynamicMessage, Kind, MapKey, MessageDescriptor, ReflectMessage,
    Value as Dynamic,
};

use crate::audit::encoding::Value;

static POOL: LazyLock<Option<DescriptorPool>> =
    LazyLock::new(|| DescriptorPool::decode(FILE_DESCRIPTOR_SET).ok());

fn descriptor(name: &str) -> Option<MessageDescriptor> {
    POOL.as_ref()?.get_message_by_name(name)
}

/// The value of a message of the type `name`, such as `loftwright.v1.Recommendation`. `None` where
/// the descriptors, which are our own, do not know it, or it holds a binary float.
pub(crate) fn to_value(name: &str, message: &impl Message) -> Option<Value> {
    let bytes = message.encode_to_vec();
    let message = DynamicMessage::decode(descriptor(name)?, bytes.as_slice()).ok()?;
    message_value(&message)
}

/// The message of a value; `None` where a field is not known or of another form.
pub(crate) fn from_value<M: Message + Default>(name: &str, value: Value) -> Option<M> {
    message(descriptor(name)?, value)?.transcode_to().ok()
}

fn message_value(message: &DynamicMessage) -> Option<Value> {
    let mut values = BTreeMap::new();
    for (field, value) in message.fields() {
        values.insert(field.name().to_owned(), field_value(&field.kind(), value)?);
    }
    Some(Value::Map(values))
}

fn field_value(kind: &Kind, value: &Dynamic) -> Option<Value> {
    Some(match value {
        Dynamic::Bool(flag) => Value::Flag(*flag),
        Dynamic::I32(number) => Value::Whole((*number).into()),
        Dynamic::I64(number) => Value::Whole((*number).into()),
        Dynamic::U32(number) => Value::Whole((*number).into()),
        Dynamic::U64(number) => Value::Whole((*number).into()),
        Dynamic::F32(_) | Dynamic::F64(_) => return None,
        Dynamic::String(text) => Value::Text(text.clone()),
        Dynamic::Bytes(bytes) => Value::Bytes(bytes.to_vec()),
        Dynamic::EnumNumber(number) => {
            Value::Text(kind.as_enum()?.get_value(*number)?.name().to_owned())
        }
        Dynamic::Message(message) => message_value(message)?,
        Dynamic::List(values) => {
            let values = values.iter().map(|value| field_value(kind, value));
            Value::List(values.collect::<Option<_>>()?)
        }
        Dynamic::Map(entries) => {
            let kind = kind.as_message()?.map_entry_value_field().kind();
            let mut values = BTreeMap::new();
            for (key, value) in entries {
                let MapKey::String(key) = key else {
                    return None;
                };
                values.insert(key.clone(), field_value(&kind, value)?);
            }
            Value::Map(values)
        }
    })
}

fn message(descriptor: MessageDescriptor, value: Value) -> Option<DynamicMessage> {
    let Value::Map(values) = value else {
        return None;
    };
    let mut message = DynamicMessage::new(descriptor);
    for (name, value) in values {
        let field = message.descriptor().get_field_by_name(&name)?;
        let kind = field.kind();
        let dynamic = match value {
            Value::List(values) if field.is_list() => {
                let values = values.into_iter().map(|value| dynamic(&kind, value));
                Dynamic::List(values.collect::<Option<_>>()?)
            }
            Value::Map(values) if field.is_map() => {
                let kind = kind.as_message()?.map_entry_value_field().kind();
                let entries = values
                    .into_iter()
                    .map(|(key, value)| Some((MapKey::String(key), dynamic(&kind, value)?)));
                Dynamic::Map(entries.collect::<Option<HashMap<_, _>>>()?)
            }
            single => dynamic(&kind, single)?,
        };
        message.try_set_field(&field, dynamic).ok()?;
    }
    Some(message)
}

fn dynamic(kind: &Kind, value: Value) -> Option<Dynamic> {
    Some(match (kind, value) {
        (Kind::Bool, Value::Flag(flag)) => Dynamic::Bool(flag),
        (Kind::Int32 | Kind::Sint32 | Kind::Sfixed32, Value::Whole(number)) => {
            Dynamic::I32(number.try_into().ok()?)
        }
        (Kind::Int64 | Kind::Sint64 | Kind::Sfixed64, Value::Whole(number)) => {
            Dynamic::I64(number.try_into().ok()?)
        }
        (Kind::Uint32 | Kind::Fixed32, Value::Whole(number)) => {
            Dynamic::U32(number.try_into().ok()?)
        }
        (Kind::Uint64 | Kind::Fixed64, Value::Whole(number)) => {
            Dynamic::U64(number.try_into().ok()?)
        }
        (Kind::String, Value::Text(text)) => Dynamic::String(text),
        (Kind::Bytes, Value::Bytes(bytes)) => Dynamic::Bytes(bytes.into()),
        (Kind::Enum(kind), Value::Text(name)) => {
            Dynamic::EnumNumber(kind.get_value_by_name(&name)?.number())
        }
        (Kind::Message(kind), value) => Dynamic::Message(message(kind.clone(), value)?),
        _ => return None,
    })
}
