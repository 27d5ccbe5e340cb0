//! Messages in the canonical encoding of the record, and back: by the names of their fields, so
//! that what is kept is read without the wire format's numbers. Fields without a value are left
//! out, choices stand by their names.

mod forms;
mod wire;

use std::collections::HashMap;
use std::sync::LazyLock;

use loftwright_proto::v1::FILE_DESCRIPTOR_SET;
use prost::Message;
use prost_reflect::{
    DescriptorPool, DynamicMessage, Kind, MapKey, MessageDescriptor, ReflectMessage,
    Value as Dynamic,
};

use self::forms::Forms;
use crate::audit::encoding::Borrowed;

static POOL: LazyLock<Option<DescriptorPool>> =
    LazyLock::new(|| DescriptorPool::decode(FILE_DESCRIPTOR_SET).ok());
static FORMS: LazyLock<Option<Forms>> = LazyLock::new(|| POOL.as_ref().map(Forms::of));

/// The value of a message of the type `name`, such as `loftwright.v1.Recommendation`, from its
/// bytes on the wire. `None` where the descriptors, which are our own, do not know it, or it holds
/// a binary float.
pub(crate) fn to_value<'a>(name: &str, wire: &'a [u8]) -> Option<Borrowed<'a>> {
    let forms = FORMS.as_ref()?;
    wire::value(forms, forms.named(name)?, wire)
}

/// The message of a value; `None` where a field is not known or of another form.
pub(crate) fn from_value<M: Message + Default>(name: &str, value: &Borrowed<'_>) -> Option<M> {
    let descriptor = POOL.as_ref()?.get_message_by_name(name)?;
    message(descriptor, value)?.transcode_to().ok()
}

fn message(descriptor: MessageDescriptor, value: &Borrowed<'_>) -> Option<DynamicMessage> {
    let mut message = DynamicMessage::new(descriptor);
    for (name, value) in value.entries()? {
        let field = message.descriptor().get_field_by_name(name)?;
        let kind = field.kind();
        let dynamic = match value {
            Borrowed::List(values) if field.is_list() => {
                let values = values.iter().map(|value| dynamic(&kind, value));
                Dynamic::List(values.collect::<Option<_>>()?)
            }
            Borrowed::Map(entries) if field.is_map() => {
                let kind = kind.as_message()?.map_entry_value_field().kind();
                let entries = entries.iter().map(|(key, value)| {
                    let key = MapKey::String((*key).to_owned());
                    Some((key, dynamic(&kind, value)?))
                });
                Dynamic::Map(entries.collect::<Option<HashMap<_, _>>>()?)
            }
            single => dynamic(&kind, single)?,
        };
        message.try_set_field(&field, dynamic).ok()?;
    }
    Some(message)
}

fn dynamic(kind: &Kind, value: &Borrowed<'_>) -> Option<Dynamic> {
    Some(match (kind, value) {
        (Kind::Bool, Borrowed::Flag(flag)) => Dynamic::Bool(*flag),
        (Kind::Int32 | Kind::Sint32 | Kind::Sfixed32, Borrowed::Whole(number)) => {
            Dynamic::I32((*number).try_into().ok()?)
        }
        (Kind::Int64 | Kind::Sint64 | Kind::Sfixed64, Borrowed::Whole(number)) => {
            Dynamic::I64((*number).try_into().ok()?)
        }
        (Kind::Uint32 | Kind::Fixed32, Borrowed::Whole(number)) => {
            Dynamic::U32((*number).try_into().ok()?)
        }
        (Kind::Uint64 | Kind::Fixed64, Borrowed::Whole(number)) => {
            Dynamic::U64((*number).try_into().ok()?)
        }
        (Kind::String, Borrowed::Text(text)) => Dynamic::String((*text).to_owned()),
        (Kind::Bytes, Borrowed::Bytes(bytes)) => Dynamic::Bytes(bytes.to_vec().into()),
        (Kind::Enum(kind), Borrowed::Text(name)) => {
            Dynamic::EnumNumber(kind.get_value_by_name(name)?.number())
        }
        (Kind::Message(kind), value) => Dynamic::Message(message(kind.clone(), value)?),
        _ => return None,
    })
}

#[cfg(test)]
mod tests;
