//! Compiles the `.proto` files without a protoc on the machine.

use std::error::Error;
use std::path::PathBuf;

use protox::prost::Message;

const FILES: [&str; 15] = [
    "loftwright/v1/audit_service.proto",
    "loftwright/v1/bag.proto",
    "loftwright/v1/build.proto",
    "loftwright/v1/explanation.proto",
    "loftwright/v1/fitting_service.proto",
    "loftwright/v1/parts_service.proto",
    "loftwright/v1/player.proto",
    "loftwright/v1/reason.proto",
    "loftwright/v1/record.proto",
    "loftwright/v1/record_list.proto",
    "loftwright/v1/row_statistics.proto",
    "loftwright/v1/ruleset.proto",
    "loftwright/v1/ruleset_service.proto",
    "loftwright/v1/ticket.proto",
    "loftwright/v1/value.proto",
];

fn main() -> Result<(), Box<dyn Error>> {
    println!("cargo:rerun-if-changed=loftwright");
    let descriptors = protox::compile(FILES, ["."])?;
    let out = PathBuf::from(std::env::var("OUT_DIR")?);
    std::fs::write(out.join("loftwright.v1.fds"), descriptors.encode_to_vec())?;
    // Maps are ordered, so that nothing of an answer depends on a hash.
    tonic_prost_build::configure()
        .btree_map(".")
        .compile_fds(descriptors)?;
    Ok(())
}
