//! What the benches measure: rules and stocks of any size, made on the spot.
//!
//! Who uses this has the allocator of the program too.

pub mod bag;
pub mod record;
pub mod rules;
pub mod stock;
pub mod wedges;

#[global_allocator]
static ALLOCATOR: mimalloc::MiMalloc = mimalloc::MiMalloc;
