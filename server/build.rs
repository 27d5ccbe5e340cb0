//! Builds again when a built-in ruleset or demo file is added or removed.

fn main() {
    println!("cargo:rerun-if-changed=../rulesets");
}
