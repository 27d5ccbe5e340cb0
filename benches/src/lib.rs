//! The benches stand in `benches/benches/`; nothing is shipped.
