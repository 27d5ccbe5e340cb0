//! `parts check` and `parts export`.

use std::fs;
use std::path::{Path, PathBuf};

use serde_json::Value;

use crate::support::{assert_exit, loftwright, path_text};

fn folder(test: &str, files: &[(&str, &str)]) -> PathBuf {
    let folder = Path::new(env!("CARGO_TARGET_TMPDIR")).join(test);
    if folder.exists() {
        fs::remove_dir_all(&folder).expect("the old folder goes");
    }
    for (path, text) in files {
        let path = folder.join(path);
        fs::create_dir_all(path.parent().expect("a parent")).expect("folders");
        fs::write(path, text).expect("a file");
    }
    folder
}

fn printed(arguments: &[&str], code: i32) -> String {
    let output = loftwright(arguments);
    assert_exit(&output, code);
    String::from_utf8(output.stdout).expect("UTF-8")
}

const GRIPS: &str = "id,use,size,mass,ribbed,corded\nG-1,full_swing,standrad,49 g,no,no\n\
                     G-1,full_swing,jumbo,66,no,no\n";

#[test]
fn findings_are_shown_with_a_caret_under_the_cell() {
    let folder = folder("parts-check", &[("catalogue/grips.csv", GRIPS)]);
    let shown = printed(&["parts", "check", path_text(&folder)], 1);
    let shown = shown.replace(&format!("{}/", folder.display()), "");
    let size = "error[P0303]: size: `standrad` is not a value of `grip_size`; allowed are \
                `undersize`, `standard`, `midsize`, `jumbo`; did you mean `standard`?\n \
                --> catalogue/grips.csv:2:16\n  |\n2 | G-1,full_swing,standrad,49 g,no,no\n  |                \
                ^^^^^^^^\n";
    assert!(shown.contains(size), "{shown}");
    // The second record of one code is shown beside the first.
    assert!(shown.contains("error[P0204]: id: `G-1`"), "{shown}");
    assert!(shown.contains("--- the first"), "{shown}");
    assert!(
        shown.contains("error[P0301]: mass: `66` has no unit"),
        "{shown}"
    );
    assert!(shown.ends_with(": 3 errors\n"), "{shown}");
    let short = printed(&["parts", "check", "--short", path_text(&folder)], 1);
    assert!(
        short.contains("grips.csv:3:22: error[P0301]: mass: "),
        "{short}"
    );
}

#[test]
fn json_has_the_same_findings_with_bytes_lines_and_columns() {
    let folder = folder("parts-json", &[("catalogue/grips.csv", GRIPS)]);
    let text = printed(&["parts", "check", "--json", path_text(&folder)], 1);
    let json: Value = serde_json::from_str(&text).expect("JSON");
    assert_eq!(json["errors"], 3);
    assert_eq!(json["snapshot"], Value::Null);
    let finding = &json["findings"][0];
    assert_eq!(finding["code"], "P0303");
    assert_eq!(finding["severity"], "error");
    let start = &finding["span"]["start"];
    assert_eq!((&start["line"], &start["column"]), (&2.into(), &16.into()));
    let (from, to) = (&start["byte"], &finding["span"]["end"]["byte"]);
    let bytes = |byte: &Value| usize::try_from(byte.as_u64().expect("a byte")).expect("a byte");
    assert_eq!(GRIPS.get(bytes(from)..bytes(to)), Some("standrad"));
}

#[test]
fn what_is_exported_is_the_same_snapshot() {
    let of = |folder: Option<&Path>| {
        let mut arguments = vec!["parts", "check", "--json"];
        arguments.extend(folder.map(path_text));
        let json: Value = serde_json::from_str(&printed(&arguments, 0)).expect("JSON");
        json["snapshot"].as_str().expect("a digest").to_owned()
    };
    let demo = of(None);
    assert_eq!(demo.len(), 64);
    for format in ["csv", "toml"] {
        let out = folder(&format!("parts-export-{format}"), &[]);
        let out = path_text(&out).to_owned();
        let listed = printed(&["parts", "export", "--out", &out, "--as", format], 0);
        assert!(
            listed.contains(&format!("{out}/catalogue/heads.{format}\n")),
            "{listed}"
        );
        assert_eq!(of(Some(Path::new(&out))), demo);
        // A second export into the same folder writes nothing.
        let again = loftwright(&["parts", "export", "--out", &out, "--as", format]);
        assert_exit(&again, 2);
        let said = String::from_utf8_lossy(&again.stderr).into_owned();
        assert!(said.contains("is there already"), "{said}");
    }
}

#[test]
fn a_folder_that_cannot_be_read_is_bad_input() {
    let output = loftwright(&["parts", "check", "/no/such/folder"]);
    assert_exit(&output, 2);
    let folder = folder("parts-empty", &[("stock/grips.csv", "part,on_hand\n")]);
    let output = loftwright(&["parts", "check", path_text(&folder)]);
    assert_exit(&output, 2);
    let said = String::from_utf8_lossy(&output.stderr).into_owned();
    assert!(said.contains("holds no folder `catalogue`"), "{said}");
}
