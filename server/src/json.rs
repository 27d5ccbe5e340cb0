//! Messages as JSON: the canonical mapping of Protocol Buffers, keys sorted, so that the same
//! answer is the same text.

use loftwright_proto::v1::FILE_DESCRIPTOR_SET;
use prost_reflect::{DescriptorPool, DynamicMessage};

/// Why a message cannot be written: a fault of ours, since the descriptors are our own.
#[derive(Debug, thiserror::Error)]
pub enum JsonError {
    /// The descriptors of the interface cannot be read, or lack the message.
    #[error("the interface's descriptors do not know `{0}`")]
    NoDescriptor(String),
    /// The message does not fit its own descriptor.
    #[error("the message does not fit its descriptor: {0}")]
    Decode(#[from] prost::DecodeError),
    /// The message cannot be written.
    #[error("the message cannot be written: {0}")]
    Write(#[from] serde_json::Error),
}

/// The message of the type `name` (such as `loftwright.v1.Recommendation`) as indented JSON.
///
/// # Errors
/// [`JsonError`].
pub fn canonical_json(name: &str, message: &impl prost::Message) -> Result<String, JsonError> {
    let unknown = || JsonError::NoDescriptor(name.to_owned());
    let pool = DescriptorPool::decode(FILE_DESCRIPTOR_SET).map_err(|_| unknown())?;
    let descriptor = pool.get_message_by_name(name).ok_or_else(unknown)?;
    let dynamic = DynamicMessage::decode(descriptor, message.encode_to_vec().as_slice())?;
    // By way of a value, whose objects sort their keys.
    let value = serde_json::to_value(&dynamic)?;
    Ok(serde_json::to_string_pretty(&value)?)
}
