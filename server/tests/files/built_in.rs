//! What the program carries with it is as good as what it asks of others.

use std::fs;
use std::path::Path;

use loftwright_server::files::rules_folder::{check_built_in, check_folder};
use loftwright_server::files::{PartsFiles, PlayerFile, built_in, report};

fn rulesets() -> &'static Path {
    Path::new(concat!(env!("CARGO_MANIFEST_DIR"), "/../rulesets"))
}

#[test]
fn names_are_known() {
    assert_eq!(built_in::ruleset_names(), ["common", "saltmarsh", "skerry"]);
    assert_eq!(built_in::parts_names(), ["demo", "thin"]);
    assert_eq!(built_in::rules_files("demo"), None);
    assert_eq!(built_in::parts_files("common"), None);
    assert_eq!(built_in::player_files("common"), []);
    let faults = PartsFiles::of_built_in("dmeo").expect_err("faults");
    assert_eq!(
        report(&faults),
        ["dmeo: there are no built-in parts `dmeo`; there are `demo`, `thin`"]
    );
}

#[test]
fn the_demo_is_read_without_a_fault() {
    let program = check_built_in("skerry")
        .expect("layers")
        .program
        .expect("a program");
    let parts = PartsFiles::of_built_in("demo")
        .expect("files")
        .parts(&program);
    let parts = parts.map_err(|faults| report(&faults)).expect("parts");
    assert!(parts.kinds().count() >= 3, "heads, shafts and grips");
    let players = built_in::player_files("demo");
    assert_eq!(players.len(), 6);
    for file in &players {
        let player = PlayerFile::of_text(file).expect("TOML");
        assert_eq!(player.ruleset.as_deref(), Some("skerry"), "{}", file.path);
        let read = player.player(&program).map_err(|faults| report(&faults));
        assert!(read.expect(&file.path).readings.len() >= 5);
        player.text().expect("no floats");
    }
}

/// Embedded when the program was built, and on disk now: the same, or the build is stale.
#[test]
fn the_disk_and_the_program_hold_the_same() {
    let on_disk = PartsFiles::of_folder(&rulesets().join("demo")).expect("files");
    let embedded = PartsFiles::of_built_in("demo").expect("files");
    let program = check_built_in("skerry")
        .expect("layers")
        .program
        .expect("a program");
    let shown = |files: &PartsFiles| format!("{:?}", files.parts(&program).expect("parts"));
    assert_eq!(shown(&on_disk), shown(&embedded));
    for name in built_in::ruleset_names() {
        for file in built_in::rules_files(name).expect("files") {
            let path = rulesets().join(name).join(&file.path);
            assert_eq!(fs::read_to_string(path).expect("a file"), file.text);
        }
    }
    let from_disk = check_folder(&rulesets().join("skerry"))
        .expect("layers")
        .program;
    let digests = from_disk.expect("a program").digests;
    assert_eq!(digests, program.digests);
}
