//! What the tests of the commands share.

use std::path::{Path, PathBuf};
use std::process::{Command, Output};

pub(crate) fn loftwright(arguments: &[&str]) -> Output {
    Command::new(env!("CARGO_BIN_EXE_loftwright"))
        .args(arguments)
        .output()
        .expect("the program starts")
}

pub(crate) fn rulesets() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../rulesets")
}

pub(crate) fn path_text(path: &Path) -> &str {
    path.to_str().expect("a path in UTF-8")
}

/// A folder of this test's own with one file in it.
pub(crate) fn folder_with(test: &str, file: &str, text: &str) -> PathBuf {
    let folder = Path::new(env!("CARGO_TARGET_TMPDIR")).join(test);
    std::fs::create_dir_all(&folder).expect("a folder");
    let path = folder.join(file);
    // An earlier run may have left a link here, and writing would go through it.
    let _ = std::fs::remove_file(&path);
    std::fs::write(path, text).expect("a file");
    folder
}

pub(crate) fn assert_exit(output: &Output, code: i32) {
    let stderr = String::from_utf8_lossy(&output.stderr);
    assert_eq!(output.status.code(), Some(code), "{stderr}");
}
