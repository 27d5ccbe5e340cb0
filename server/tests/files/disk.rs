//! What disks hold: files that are missing, too large, no text, no files at all.

use std::fs;
use std::path::Path;

use loftwright_server::files::{FileFaultKind, PartsFiles, PlayerFile};

use crate::support::{folder, lines, program, write};

fn player_fault(path: &Path) -> (FileFaultKind, String) {
    let faults = PlayerFile::of_disk(path).expect_err("a fault");
    assert_eq!(faults.len(), 1, "{faults:?}");
    (
        faults[0].kind,
        lines(&faults, path.parent().expect("a folder"))[0].clone(),
    )
}

#[test]
fn a_player_file_is_read_from_disk() {
    let folder = folder("player_from_disk");
    write(&folder, "one.toml", "[readings]\nage = 41\n");
    let file = PlayerFile::of_disk(&folder.join("one.toml")).expect("a file");
    file.player(&program()).expect("a player");
}

#[test]
fn what_is_not_there_is_named() {
    let folder = folder("not_there");
    assert_eq!(
        player_fault(&folder.join("none.toml")),
        (
            FileFaultKind::NotFound,
            "none.toml: is not there".to_owned()
        )
    );
    assert_eq!(
        player_fault(&folder),
        (
            FileFaultKind::WrongSort,
            "not_there: is a folder; a file is needed".to_owned()
        )
    );
}

#[test]
fn a_player_file_has_at_most_a_mebibyte() {
    let folder = folder("too_large");
    let mut text = "#".repeat(1024 * 1024);
    write(&folder, "fits.toml", &text);
    PlayerFile::of_disk(&folder.join("fits.toml")).expect("a file");
    text.push('#');
    write(&folder, "large.toml", &text);
    assert_eq!(
        player_fault(&folder.join("large.toml")),
        (
            FileFaultKind::TooLarge,
            "large.toml: has 1048577 bytes; at most 1048576 are read of such a file".to_owned()
        )
    );
    write(&folder, "huge.toml", vec![b'#'; 10 * 1024 * 1024]);
    assert_eq!(
        player_fault(&folder.join("huge.toml")).0,
        FileFaultKind::TooLarge
    );
}

#[test]
fn what_is_not_text_is_named_with_its_line() {
    let folder = folder("not_text");
    write(&folder, "one.toml", b"[readings]\n# caf\xe9\n");
    assert_eq!(
        player_fault(&folder.join("one.toml")),
        (
            FileFaultKind::NotText,
            "one.toml:2: is not UTF-8 text; save it as UTF-8".to_owned()
        )
    );
}

#[cfg(unix)]
#[test]
fn links_that_lead_nowhere_or_in_a_circle_are_named() {
    use std::os::unix::fs::symlink;
    let folder = folder("links");
    symlink("nowhere", folder.join("broken.toml")).expect("a link");
    symlink("circle.toml", folder.join("circle.toml")).expect("a link");
    assert_eq!(
        player_fault(&folder.join("broken.toml")),
        (
            FileFaultKind::NotFound,
            "broken.toml: is a link to something that is not there".to_owned()
        )
    );
    let (kind, line) = player_fault(&folder.join("circle.toml"));
    assert_eq!(kind, FileFaultKind::CannotBeRead);
    assert!(line.starts_with("circle.toml: cannot be read: "), "{line}");
}

#[cfg(unix)]
#[test]
fn a_device_is_not_read() {
    let (kind, line) = player_fault(Path::new("/dev/zero"));
    assert_eq!(kind, FileFaultKind::WrongSort);
    assert_eq!(line, "zero: is a device or pipe; a file is needed");
}

#[test]
fn a_parts_folder_is_read_from_disk() {
    let folder = folder("parts_from_disk");
    write(
        &folder,
        "catalogue/grips.csv",
        "id,mass,ribbed\nG-1,49 g,no\n",
    );
    write(&folder, "catalogue/.hidden", "");
    write(&folder, "catalogue/README.md", "");
    write(&folder, "elsewhere/heads.toml", "[[");
    let files = PartsFiles::of_folder(&folder).expect("files");
    let parts = files.parts(&program()).expect("parts");
    assert_eq!(parts.all().count(), 1);
}

#[test]
fn faults_of_a_parts_folder_are_named() {
    let empty = folder("parts_without_catalogue");
    let faults = PartsFiles::of_folder(&empty).expect_err("faults");
    assert_eq!(
        lines(&faults, empty.parent().expect("a folder")),
        ["parts_without_catalogue: holds no folder `catalogue`, where the parts stand"]
    );
    let faults = PartsFiles::of_folder(&empty.join("none")).expect_err("faults");
    assert_eq!(lines(&faults, &empty), ["none: is not there"]);
    let folder = folder("parts_faults");
    write(&folder, "catalogue/grips.csv", b"id,mass\nG-\xe9,49 g\n");
    write(&folder, "stock", "");
    let faults = PartsFiles::of_folder(&folder).expect_err("faults");
    assert_eq!(
        lines(&faults, &folder),
        [
            "catalogue/grips.csv:2: is not UTF-8 text; save it as UTF-8",
            "stock: is a file; a folder is needed",
        ]
    );
    fs::remove_file(folder.join("stock")).expect("the file goes");
    write(
        &folder,
        "catalogue/grips.csv",
        vec![b'x'; 10 * 1024 * 1024 + 1],
    );
    let faults = PartsFiles::of_folder(&folder).expect_err("faults");
    assert_eq!(
        lines(&faults, &folder),
        ["catalogue/grips.csv: has 10485761 bytes; at most 10485760 are read of such a file"]
    );
}

#[test]
fn a_folder_has_at_most_a_thousand_files_and_forty_mebibytes() {
    let many = folder("many_files");
    for place in 0..=1_000 {
        write(&many, &format!("catalogue/part_{place}.csv"), "");
    }
    let faults = PartsFiles::of_folder(&many).expect_err("faults");
    assert_eq!(
        lines(&faults, &many),
        ["catalogue: has 1001 files; at most 1000 are read"]
    );
    fs::remove_file(many.join("catalogue/part_0.csv")).expect("the file goes");
    PartsFiles::of_folder(&many).expect("a thousand files are read");
    let large = folder("large_folder");
    for place in 0..5 {
        let text = vec![b'x'; 9 * 1024 * 1024];
        write(&large, &format!("catalogue/part_{place}.csv"), text);
    }
    let faults = PartsFiles::of_folder(&large).expect_err("faults");
    assert_eq!(
        lines(&faults, &large),
        ["catalogue: is too large; at most 41943040 bytes are read of it"]
    );
    fs::remove_dir_all(&large).expect("the folder goes");
}
