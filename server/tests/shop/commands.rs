//! A shop at its terminal: recorded, confirmed, counted, and the manager's table.

use std::path::{Path, PathBuf};
use std::process::{Command, Output};

use loftwright_server::files::built_in;

use crate::running::Running;

/// Runs the program in a folder, beside the threads that serve.
async fn run(folder: &Path, arguments: &[&str]) -> Output {
    let mut command = Command::new(env!("CARGO_BIN_EXE_loftwright"));
    command.args(arguments).current_dir(folder);
    let ran = tokio::task::spawn_blocking(move || command.output()).await;
    ran.expect("no panic").expect("a run")
}

/// What a run that answers prints.
async fn printed(folder: &Path, arguments: &[&str]) -> String {
    let output = run(folder, arguments).await;
    let errors = String::from_utf8_lossy(&output.stderr).into_owned();
    assert!(output.status.success(), "{arguments:?}: {errors}");
    String::from_utf8(output.stdout).expect("text")
}

/// What a run that gets no answer says.
async fn refused(folder: &Path, arguments: &[&str]) -> String {
    let output = run(folder, arguments).await;
    assert_eq!(output.status.code(), Some(2), "{arguments:?}");
    String::from_utf8(output.stderr).expect("text")
}

fn player_file(folder: &Path) -> PathBuf {
    let files = built_in::player_files("demo");
    let file = files
        .iter()
        .find(|file| file.path == "steady-right-hander.toml")
        .expect("the demo's player");
    let path = folder.join("player.toml");
    std::fs::write(&path, &file.text).expect("written");
    path
}

fn write(folder: &Path, name: &str, text: &str) {
    std::fs::write(folder.join(name), text).expect("written");
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn a_shop_works_at_its_terminal() {
    let data = tempfile::tempdir().expect("a folder");
    let folder = tempfile::tempdir().expect("a folder");
    let folder = folder.path();
    let shop = Running::start(data.path()).await;
    let to = shop.url.clone();
    player_file(folder);
    let sheet = printed(folder, &["fit", "player.toml", "--to", &to, "--record"]).await;
    let record = sheet
        .rsplit("Recorded as ")
        .next()
        .expect("an id")
        .trim()
        .to_owned();
    assert!(!sheet.contains("A preview"), "{sheet}");

    write(
        folder,
        "build.toml",
        &format!(
            "record = \"{record}\"\n[[club]]\nname = \"7 iron\"\n\
         length = {{ built = \"36 in\", because = \"he chokes down\" }}\n"
        ),
    );
    let trial = printed(
        folder,
        &["confirm", "build.toml", "--to", &to, "--validate-only"],
    )
    .await;
    assert!(trial.starts_with("would be confirmed"), "{trial}");
    let done = printed(folder, &["confirm", "build.toml", "--to", &to]).await;
    assert!(
        done.contains("7 iron  length: 36 in for 37 in  club_length row"),
        "{done}"
    );
    assert!(done.contains("he chokes down"), "{done}");
    let again = printed(folder, &["confirm", "build.toml", "--to", &to]).await;
    assert_eq!(
        again.lines().next(),
        done.lines().next(),
        "the same file is one confirmation"
    );

    slips_are_named(folder, &to).await;
    the_stock_changes(folder, &to).await;
    overridden_rows_are_shown(folder, &to).await;
    shop.stop().await;
}

async fn slips_are_named(folder: &Path, to: &str) {
    write(
        folder,
        "slips.toml",
        "recrod = \"x\"\n[[club]]\nlength = 36.5\n",
    );
    let slips = refused(folder, &["confirm", "slips.toml", "--to", to]).await;
    for said in [
        "record: is missing",
        "did you mean `record`?",
        "club[0].name",
        "club[0].length",
    ] {
        assert!(slips.contains(said), "{said} in {slips}");
    }
}

async fn the_stock_changes(folder: &Path, to: &str) {
    write(
        folder,
        "changes.toml",
        "[[remove]]\nkind = \"head\"\nid = \"N0001\"\n\
        [[count]]\nkind = \"grip\"\npart = \"G-U-RN\"\nset = 7\n",
    );
    let update = [
        "stock",
        "update",
        "changes.toml",
        "--reason",
        "counted",
        "--to",
        to,
    ];
    assert!(
        printed(folder, &update)
            .await
            .starts_with("changed: record ")
    );
    let gone = refused(folder, &update).await;
    assert!(
        gone.contains("no piece `N0001` of the kind `head` is on hand"),
        "{gone}"
    );
    let listed = printed(folder, &["stock", "list", "--kind", "grip", "--to", to]).await;
    assert!(listed.contains("grip  G-U-RN  7\n"), "{listed}");
}

async fn overridden_rows_are_shown(folder: &Path, to: &str) {
    let rows = printed(folder, &["rows", "--overridden", "--to", to]).await;
    let lines: Vec<&str> = rows.lines().collect();
    assert_eq!(lines.len(), 3, "{rows}");
    assert!(
        rows.contains("1 recommendation, 1 build confirmed"),
        "{rows}"
    );
    assert!(rows.contains("club_length"), "{rows}");
    let never = printed(folder, &["rows", "--never", "--to", to]).await;
    let cells = |line: &str| line.split_whitespace().nth(2) == Some("0");
    let mut rows = never.lines().skip(2);
    assert!(never.lines().count() > 20 && rows.all(cells), "{never}");
    let json = printed(folder, &["rows", "--overridden", "--json", "--to", to]).await;
    let json: serde_json::Value = serde_json::from_str(&json).expect("JSON");
    let overridden = json.pointer("/rows/0/overridden");
    assert_eq!(overridden.and_then(|count| count.as_str()), Some("1"));
}

/// Nobody guesses which of two stocks is meant.
#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn a_folder_that_differs_from_the_record_needs_a_choice() {
    let data = tempfile::tempdir().expect("a folder");
    Running::start(data.path()).await.stop().await;
    let out = tempfile::tempdir().expect("a folder");
    let parts = out.path().join("parts");
    let parts = parts.to_str().expect("a path");
    printed(out.path(), &["parts", "export", "--out", parts]).await;
    let data = data.path().to_str().expect("a path");
    let serve = [
        "serve",
        "--data",
        data,
        "--parts",
        parts,
        "--listen",
        "127.0.0.1:0",
    ];
    let said = refused(out.path(), &serve).await;
    assert!(
        said.contains("`--stock-from log`") && said.contains("`--stock-from parts`"),
        "{said}"
    );
}
