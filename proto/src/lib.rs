//! The gRPC interface: the types generated from `loftwright/v1/*.proto`, nothing else.
//!
//! What every message means stands in the `.proto` files; their comments are the documentation of
//! the types here. Only the server's `rpc` and `sheet` modules know these types: the rules language
//! and the engine have their own.

/// Version 1 of the interface.
pub mod v1 {
    tonic::include_proto!("loftwright.v1");

    /// The descriptors of all files of the interface, for reflection and JSON.
    pub const FILE_DESCRIPTOR_SET: &[u8] =
        include_bytes!(concat!(env!("OUT_DIR"), "/loftwright.v1.fds"));
}
