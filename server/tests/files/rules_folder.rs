//! Folders of rules and what lies below them.

use std::path::Path;

use loftwright_dsl::check::LayerSource;
use loftwright_server::files::rules_folder::{check_folder, layers_of_built_in, layers_of_folder};
use loftwright_server::files::{FileFault, FileFaultKind};

use crate::support::{folder, lines, write};

fn ruleset(name: &str, builds_on: Option<&str>) -> String {
    let below = builds_on.map_or_else(String::new, |below| format!("  builds on {below}\n"));
    format!("ruleset {name}\n  title    \"A test\"\n  language 1\n{below}")
}

fn names(layers: &[LayerSource]) -> Vec<&str> {
    layers.iter().map(|layer| layer.name.as_str()).collect()
}

fn fault(faults: Vec<FileFault>, folder: &Path) -> (FileFaultKind, String) {
    assert_eq!(faults.len(), 1, "{faults:?}");
    (faults[0].kind, lines(&faults, folder)[0].clone())
}

#[test]
fn the_folder_beside_it_comes_before_the_built_in_one() {
    let folder = folder("beside");
    write(&folder, "mine/b.rules", "choice hand is right, left\n");
    write(&folder, "mine/a.rules", ruleset("mine", Some("common")));
    write(&folder, "mine/notes.md", "not rules");
    write(&folder, "mine/.c.rules", "an editor's copy");
    write(&folder, "mine/more/d.rules", "a subfolder");
    let layers = layers_of_folder(&folder.join("mine")).expect("layers");
    assert_eq!(names(&layers), ["contract", "common", "mine"]);
    let files: Vec<_> = layers[2]
        .files
        .iter()
        .map(|(name, _)| Path::new(name))
        .collect();
    assert_eq!(
        files,
        [folder.join("mine/a.rules"), folder.join("mine/b.rules")]
    );
    assert!(
        layers[1].files.len() > 1,
        "the built-in practice has many files"
    );
    write(&folder, "common/only.rules", ruleset("common", None));
    let layers = layers_of_folder(&folder.join("mine")).expect("layers");
    assert_eq!(names(&layers), ["contract", "common", "mine"]);
    assert_eq!(layers[1].files.len(), 1);
}

#[test]
fn a_folder_may_have_another_name_than_its_ruleset() {
    let folder = folder("renamed");
    write(&folder, "checkout/a.rules", ruleset("house", None));
    let layers = layers_of_folder(&folder.join("checkout")).expect("layers");
    assert_eq!(names(&layers), ["contract", "house"]);
    let output = check_folder(&folder.join("checkout")).expect("a check");
    assert!(
        output.has_errors(),
        "an empty ruleset does not meet the contract"
    );
}

#[test]
fn what_a_ruleset_builds_on_must_be_there() {
    let folder = folder("builds_on_nothing");
    write(&folder, "mine/a.rules", ruleset("mine", Some("comon")));
    let faults = layers_of_folder(&folder.join("mine")).expect_err("faults");
    let (kind, line) = fault(faults, &folder);
    assert_eq!(kind, FileFaultKind::NoSuchRuleset);
    assert_eq!(
        line,
        "mine: builds on `comon`, which is neither beside it nor built in; built in are \
         `common`, `saltmarsh`, `skerry`; did you mean `common`?"
    );
}

#[test]
fn a_circle_of_rulesets_is_named() {
    let folder = folder("circle");
    write(&folder, "one/a.rules", ruleset("one", Some("two")));
    write(&folder, "two/a.rules", ruleset("two", Some("one")));
    let faults = layers_of_folder(&folder.join("one")).expect_err("faults");
    let (kind, line) = fault(faults, &folder);
    assert_eq!(kind, FileFaultKind::Circle);
    assert_eq!(
        line,
        "two: rulesets build on each other in a circle: `one` builds on `two` builds on `one`"
    );
}

#[test]
fn at_most_sixteen_rulesets_build_on_each_other() {
    let folder = folder("layers");
    for place in 0..17 {
        let name = format!("layer_{place}");
        let below = format!("layer_{}", place + 1);
        let below = (place < 16).then_some(below.as_str());
        write(&folder, &format!("{name}/a.rules"), ruleset(&name, below));
    }
    let layers = layers_of_folder(&folder.join("layer_1")).expect("layers");
    assert_eq!(layers.len(), 17);
    let faults = layers_of_folder(&folder.join("layer_0")).expect_err("faults");
    let (kind, line) = fault(faults, &folder);
    assert_eq!(kind, FileFaultKind::TooMany);
    assert_eq!(
        line,
        "layer_15: at most 16 rulesets may build on each other"
    );
}

#[test]
fn a_folder_without_rules_is_named() {
    let folder = folder("no_rules");
    write(&folder, "empty/notes.md", "");
    let faults = layers_of_folder(&folder.join("empty")).expect_err("faults");
    let (kind, line) = fault(faults, &folder);
    assert_eq!(kind, FileFaultKind::NoRules);
    assert_eq!(
        line,
        "empty: holds no `*.rules` file (its subfolders are not read)"
    );
    let faults = layers_of_folder(&folder.join("none")).expect_err("faults");
    assert_eq!(fault(faults, &folder).0, FileFaultKind::NotFound);
    write(&folder, "file", "");
    let faults = layers_of_folder(&folder.join("file")).expect_err("faults");
    assert_eq!(fault(faults, &folder).0, FileFaultKind::WrongSort);
}

#[test]
fn every_file_that_cannot_be_read_is_named() {
    let folder = folder("bad_rules");
    write(&folder, "mine/a.rules", b"ruleset mine\n# \xff\n");
    write(&folder, "mine/b.rules", vec![b'#'; 1024 * 1024 + 1]);
    write(&folder, "mine/c.rules/inner", "");
    let faults = layers_of_folder(&folder.join("mine")).expect_err("faults");
    assert_eq!(
        lines(&faults, &folder),
        [
            "mine/a.rules:2: is not UTF-8 text; save it as UTF-8",
            "mine/b.rules: has 1048577 bytes; at most 1048576 are read of such a file",
            "mine/c.rules: is a folder; a file is needed",
        ]
    );
}

#[cfg(unix)]
#[test]
fn a_circle_of_links_is_named() {
    use std::os::unix::fs::symlink;
    let folder = folder("linked_rules");
    write(&folder, "mine/a.rules", ruleset("mine", None));
    symlink("b.rules", folder.join("mine/b.rules")).expect("a link");
    symlink("round", folder.join("round")).expect("a link");
    let faults = layers_of_folder(&folder.join("mine")).expect_err("faults");
    assert_eq!(fault(faults, &folder).0, FileFaultKind::CannotBeRead);
    let faults = layers_of_folder(&folder.join("round")).expect_err("faults");
    assert_eq!(fault(faults, &folder).0, FileFaultKind::CannotBeRead);
    symlink("mine", folder.join("other")).expect("a link");
    std::fs::remove_file(folder.join("mine/b.rules")).expect("the link goes");
    assert_eq!(
        layers_of_folder(&folder.join("other")).map(|layers| layers.len()),
        Ok(2)
    );
}

#[test]
fn built_in_rulesets_are_found_by_name() {
    let layers = layers_of_built_in("skerry").expect("layers");
    assert_eq!(names(&layers), ["contract", "common", "skerry"]);
    let faults = layers_of_built_in("skery").expect_err("faults");
    assert_eq!(
        lines(&faults, Path::new("")),
        [
            "skery: there is no built-in ruleset `skery`; built in are `common`, `saltmarsh`, \
          `skerry`; did you mean `skerry`?"
        ]
    );
    assert!(
        layers_of_built_in("demo").is_err(),
        "a parts folder is no ruleset"
    );
    assert!(layers_of_built_in("../rulesets/common").is_err());
}
