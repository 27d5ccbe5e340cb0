//! The build sheets of the demo's six players, reviewed by eye as the person at the bench.
//!
//! A sheet that changes is read again before it is accepted: `UPDATE_GOLDEN=1 cargo test -p
//! loftwright-server --test golden` writes them, and the change of any answer bumps the engine's
//! semantics version.

#![expect(clippy::expect_used, reason = "a panic is how a test fails")]

use std::fs;
use std::path::{Path, PathBuf};
use std::process::Command;

fn repository() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("..")
}

/// The sheet by the rules and parts of the program itself: those of a folder say how old its files
/// are, which differs by machine.
fn sheet(player: &Path) -> String {
    let output = Command::new(env!("CARGO_BIN_EXE_loftwright"))
        .current_dir(repository())
        .args(["fit", "--on", "2026-11-25"])
        .arg(player)
        .output()
        .expect("the program runs");
    assert!(
        output.status.success(),
        "{}",
        String::from_utf8_lossy(&output.stderr)
    );
    String::from_utf8(output.stdout).expect("a sheet is UTF-8")
}

#[test]
fn the_six_players_sheets_are_as_they_were_reviewed() {
    let folder = repository().join("rulesets/demo/players");
    let entries = fs::read_dir(folder).expect("the demo's players");
    let mut players: Vec<PathBuf> = entries
        .map(|entry| entry.expect("a readable folder").path())
        .collect();
    players.sort();
    assert_eq!(players.len(), 6);
    let update = std::env::var_os("UPDATE_GOLDEN").is_some();
    for player in players {
        let stem = player
            .file_stem()
            .expect("a name")
            .to_string_lossy()
            .into_owned();
        let golden = repository()
            .join("tests/golden")
            .join(format!("{stem}.txt"));
        let found = sheet(&player);
        assert!(
            found.lines().all(|line| line.chars().count() <= 100),
            "{stem}: a line is too wide"
        );
        if update {
            fs::write(&golden, &found).expect("a golden file is written");
        }
        let expected = fs::read_to_string(&golden).unwrap_or_default();
        assert!(
            found == expected,
            "{stem}: the sheet is not as reviewed; it is now\n{found}"
        );
    }
}
