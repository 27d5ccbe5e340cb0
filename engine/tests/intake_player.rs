#[path = "intake_support/mod.rs"]
mod support;
#[test]
fn a() { let program = support::program(); let _ = support::input(&program, "age"); }
