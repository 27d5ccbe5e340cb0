//! The ticket for the bench as the program writes it: what stands on it, that nothing of a player's
//! file becomes markup, and that it prints on one page.

#![expect(clippy::expect_used, reason = "a panic is how a test fails")]

mod print;

use std::fs;
use std::path::{Path, PathBuf};
use std::process::{Command, Output};

fn repository() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("..")
}

/// A folder of a test's own, empty.
fn folder(test: &str) -> PathBuf {
    let folder = Path::new(env!("CARGO_TARGET_TMPDIR"))
        .join("ticket")
        .join(test);
    let _ = fs::remove_dir_all(&folder);
    fs::create_dir_all(&folder).expect("a folder");
    folder
}

fn demo_player(name: &str) -> PathBuf {
    repository().join(format!("rulesets/demo/players/{name}.toml"))
}

fn fit(player: &Path, tickets: &[&Path]) -> Output {
    let mut command = Command::new(env!("CARGO_BIN_EXE_loftwright"));
    command.current_dir(repository());
    command.args(["fit", "--on", "2026-11-25"]).arg(player);
    for ticket in tickets {
        command.arg("--ticket").arg(ticket);
    }
    command.output().expect("the program runs")
}

/// The ticket of a player's file in the form that the end asks for.
fn ticket(test: &str, player: &Path, end: &str) -> String {
    let file = folder(test).join(format!("ticket.{end}"));
    let output = fit(player, &[&file]);
    let said = String::from_utf8_lossy(&output.stderr);
    assert!(output.status.success(), "{said}");
    fs::read_to_string(file).expect("a ticket")
}

/// Reviewed by eye, as the person at the bench; `UPDATE_GOLDEN=1` writes them anew.
#[test]
fn the_tickets_read_as_they_were_reviewed() {
    for name in ["left-hander", "small-sore-hands"] {
        let found = ticket(&format!("golden-{name}"), &demo_player(name), "txt");
        let is_wide = |line: &&str| line.chars().count() > 100;
        assert_eq!(found.lines().find(is_wide), None, "{name}: too wide");
        let golden = repository().join(format!("tests/golden/ticket-{name}.txt"));
        if std::env::var_os("UPDATE_GOLDEN").is_some() {
            fs::write(&golden, &found).expect("a golden file is written");
        }
        let expected = fs::read_to_string(&golden).unwrap_or_default();
        assert!(found == expected, "{name}: the ticket is now\n{found}");
    }
}

#[test]
fn the_works_come_in_the_order_of_the_bench_with_their_cautions() {
    let text = ticket("order", &demo_player("small-sore-hands"), "txt");
    let place = |words: &str| text.find(words).unwrap_or_else(|| panic!("no `{words}`"));
    // Pain goes before all work; fumes and dust stand where they arise.
    let in_order = [
        "see a doctor or",
        "Kept by the player, not worked on: putter.",
        "\nPull\n",
        "\nCut\n",
        "1910.215",
        "\nSet\n",
        "H317",
        "\nHeat\n",
        "\nBend\n",
        "\nWeigh\n",
        "\nTape\n",
        "\nGrip\n",
        "1910.106",
        "\nCheck\n",
    ];
    let places: Vec<usize> = in_order.iter().map(|words| place(words)).collect();
    assert!(places.is_sorted(), "{places:?}");
}

#[test]
fn nothing_of_a_subject_becomes_markup() {
    let hostile = "</title><script>alert('1')</script><b onclick=\"x\">&amp;";
    let player = fs::read_to_string(demo_player("junior")).expect("a player");
    let mut lines: Vec<String> = player.lines().map(str::to_owned).collect();
    let subject = lines.iter_mut().find(|line| line.starts_with("subject"));
    *subject.expect("a subject") = format!("subject = '''{hostile}'''");
    let file = folder("hostile-player").join("player.toml");
    fs::write(&file, lines.join("\n")).expect("a player's file");
    let page = ticket("hostile", &file, "html");
    assert!(!page.contains("<script") && !page.contains("<b onclick"));
    let escaped = "&lt;/title&gt;&lt;script&gt;alert('1')&lt;/script&gt;&lt;b onclick=&quot;x&quot;&gt;&amp;amp;";
    // In the title and at the head.
    assert_eq!(page.matches(escaped).count(), 2, "{page}");
    let text = ticket("hostile-text", &file, "txt");
    assert!(text.contains(hostile));
}

#[test]
fn the_page_has_boxes_heads_and_captions_and_no_script() {
    let page = ticket("page", &demo_player("left-hander"), "html");
    assert!(page.starts_with("<!DOCTYPE html>"));
    assert!(!page.contains("<script") && !page.contains("http"));
    assert_eq!(page.matches("<caption>").count(), 3);
    // A head of a row for every club in each table; fourteen clubs, none of them kept.
    let clubs = 14;
    assert_eq!(page.matches("<th scope=\"row\">").count(), 3 * clubs);
    // Head, shaft and grip of each are pulled.
    assert_eq!(page.matches(" pulled\"").count(), 3 * clubs);
    // A cell to write in for length, loft, lie and swingweight, and one for the initials.
    let measured = page.matches("<td class=\"measured\"></td>").count();
    let nothing = page.matches("<td class=\"measured none\"></td>").count();
    // The putter has no swingweight to be checked.
    assert_eq!((measured, nothing), (5 * clubs - 1, 1));
    assert!(page.contains("left-hander, left-handed, 2026-11-25"));
}

#[test]
fn a_file_that_is_no_ticket_is_refused_before_anything_is_done() {
    let file = folder("refused").join("ticket.pdf");
    let output = fit(&demo_player("junior"), &[&file]);
    assert_eq!(output.status.code(), Some(2));
    let said = String::from_utf8_lossy(&output.stderr);
    assert!(
        said.contains("its name ends in `.html` or `.txt`"),
        "{said}"
    );
    assert!(!file.exists());
}
