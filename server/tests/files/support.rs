//! A small ruleset, and folders to write into.

use std::fs;
use std::path::{Path, PathBuf};

use loftwright_dsl::check::{LayerSource, check};
use loftwright_dsl::program::Program;
use loftwright_server::files::{FileFault, TextFile};

/// Stands where the engine's contract does, with what these tests need of it.
const CONTRACT: &str = r#"
ruleset contract
  title    "What the tests need of the contract"
  language 1

choice club_kind is driver, iron, putter

group kept, given with the player
  has kind   : club_kind
  has loft   : angle, may be unknown, between -15 deg and 80 deg
  has length : length, between 18 in and 60 in
"#;

const HOUSE: &str = r#"
ruleset house
  title    "A house for tests"
  language 1

input wedge_attack_angle : angle
  ask      "Angle of attack."
  between  -20 deg and 10 deg
  formerly wedge_aoa

input height : length
  ask     "Height."
  between 3 ft 0 in and 7 ft 6 in

input age : count
  ask     "Age."
  between 4 and 110

input sore_hands : flag
  ask "Sore?"

input first_visit : date
  ask "When?"

input handicap : number
  ask     "Handicap."
  between -8 and 54

part setting
  has position : text
  has tilt     : angle, between 0 deg and 3 deg

part head
  has kind          : club_kind
  has stamped_loft  : angle, between 0 deg and 66 deg
  has measured_loft : angle, of each piece, may be unknown, between -1 deg and 68 deg
  has mass          : mass
  has adjustable    : flag, may be unknown
  has settings      : list of setting, may be unknown
  has on_hand       : count

part wrap
  has kinds   : list of club_kind, may be unknown
  has widths  : list of length, may be unknown
  has on_hand : count

part grip
  has mass    : mass
  has ribbed  : flag
  has on_hand : count
"#;

/// The checked program of the tests.
pub(crate) fn program() -> Program {
    let layer = |name: &str, text: &str| LayerSource {
        name: name.to_owned(),
        files: vec![(format!("{name}.rules"), text.to_owned())],
    };
    let output = check(&[layer("contract", CONTRACT), layer("house", HOUSE)], 1);
    match output.program {
        Some(program) => program,
        None => panic!("{:#?}", output.diagnostics),
    }
}

/// A file at hand.
pub(crate) fn file(path: &str, text: &str) -> TextFile {
    TextFile {
        path: path.to_owned(),
        shown: path.to_owned(),
        text: text.to_owned(),
    }
}

/// An empty folder of a test's own.
pub(crate) fn folder(test: &str) -> PathBuf {
    let folder = Path::new(env!("CARGO_TARGET_TMPDIR"))
        .join("files")
        .join(test);
    if folder.exists() {
        fs::remove_dir_all(&folder).expect("the old folder goes");
    }
    fs::create_dir_all(&folder).expect("the folder is made");
    folder
}

/// Writes a file, its folders first.
pub(crate) fn write(folder: &Path, path: &str, bytes: impl AsRef<[u8]>) {
    let path = folder.join(path);
    fs::create_dir_all(path.parent().expect("a parent")).expect("the folders are made");
    fs::write(path, bytes).expect("the file is written");
}

/// The faults as lines of text, the folder of the test left out.
pub(crate) fn lines(faults: &[FileFault], folder: &Path) -> Vec<String> {
    let prefix = format!("{}/", folder.display());
    let short = |fault: &FileFault| fault.to_string().replace(&prefix, "");
    faults.iter().map(short).collect()
}
