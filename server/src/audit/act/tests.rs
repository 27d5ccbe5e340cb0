//! Bodies of acts: written and read again, and refused where they are of another form.

use super::super::merkle::leaf_hash;
use super::*;

#[test]
fn every_act_is_read_as_it_was_written() {
    for (warnings, cases) in [(Some(2), Some(31)), (None, None)] {
        let published = Published {
            ruleset: "skerry".to_owned(),
            title: "Skerry Point".to_owned(),
            warnings,
            cases,
        };
        let bytes = published.to_bytes().expect("bytes");
        assert_eq!(Published::of_bytes(&bytes), Ok(published));
    }
    for previous in [None, Some(leaf_hash(b"before"))] {
        let activated = Activated {
            ruleset: "skerry".to_owned(),
            previous,
            reason: "the spring meeting".to_owned(),
        };
        let bytes = activated.to_bytes().expect("bytes");
        assert_eq!(Activated::of_bytes(&bytes), Ok(activated));
    }
    for (roles, key_hash) in [
        (vec!["approver", "editor"], Some(leaf_hash(b"a key"))),
        (vec![], None),
    ] {
        let given = RoleGiven {
            name: "ines".to_owned(),
            roles: roles.into_iter().map(str::to_owned).collect(),
            key_hash,
        };
        let bytes = given.to_bytes().expect("bytes");
        assert_eq!(RoleGiven::of_bytes(&bytes), Ok(given));
    }
    let setting = SettingChanged {
        name: SettingChanged::OWN_ACTIVATION.to_owned(),
        is_on: true,
        reason: "a workshop of one".to_owned(),
    };
    let bytes = setting.to_bytes().expect("bytes");
    assert_eq!(SettingChanged::of_bytes(&bytes), Ok(setting));
    let changed = KeyChanged {
        in_use: "log+00000001+AQ==".to_owned(),
        out_of_use: "log+00000002+AQ==".to_owned(),
    };
    let bytes = changed.to_bytes().expect("bytes");
    assert_eq!(KeyChanged::of_bytes(&bytes), Ok(changed));
}

/// By hand from the table of `FORMAT.md`: a map of four, the keys ascending.
#[test]
fn the_bytes_are_those_of_the_page() {
    let setting = SettingChanged {
        name: "s".to_owned(),
        is_on: false,
        reason: String::new(),
    };
    let expected = b"\x08\x04\x04name\x05\x01s\x02on\x01\x06reason\x05\x00\x07version\x03\x01\x01";
    assert_eq!(setting.to_bytes().as_deref(), Ok(expected.as_slice()));
}

#[test]
fn another_form_is_refused_by_name() {
    let of = |pairs: Vec<(&str, Value)>| encode(&Value::map(pairs)).expect("bytes");
    let whole = || {
        vec![
            ("version", 1_u32.into()),
            ("name", "s".into()),
            ("on", true.into()),
            ("reason", "r".into()),
        ]
    };
    assert!(SettingChanged::of_bytes(&of(whole())).is_ok());
    let sentence = |pairs| {
        let refused = SettingChanged::of_bytes(&of(pairs)).expect_err("a fault");
        refused.to_string()
    };
    let mut later = whole();
    later.push(("version", 2_u32.into()));
    assert_eq!(
        sentence(later),
        "the body is of version 2; this program knows version 1"
    );
    let mut more = whole();
    more.push(("colour", "red".into()));
    assert_eq!(sentence(more), "the body's `colour` is not known here");
    let mut other = whole();
    other.push(("on", "yes".into()));
    assert_eq!(sentence(other), "the body's `on` is not yes or no");
    let mut less = whole();
    less.pop();
    assert_eq!(sentence(less), "the body's `reason` is missing");
    assert!(SettingChanged::of_bytes(b"").is_err());
}

fn head(what: WhatChanged) -> StockChange {
    StockChange {
        kind: "head".to_owned(),
        part: "H-WDG-56-S".to_owned(),
        what,
    }
}

fn piece(id: &str) -> Piece {
    Piece {
        id: id.to_owned(),
        fields: [("measured_loft".to_owned(), "56.2 deg".to_owned())].into(),
    }
}

#[test]
fn parts_and_builds_are_read_as_they_were_written() {
    let changes = vec![
        head(WhatChanged::Added(piece("W0113"))),
        head(WhatChanged::Removed(piece("W0114"))),
        head(WhatChanged::Counted {
            before: Some(3),
            after: 2,
        }),
        head(WhatChanged::Counted {
            before: None,
            after: 0,
        }),
    ];
    let parts = PartsChanged {
        stock: "demo".to_owned(),
        files: [("stock/heads.csv".to_owned(), leaf_hash(b"a file"))].into(),
        as_of_ms: Some(-1),
        reason: "counted".to_owned(),
        changes: changes.clone(),
        record: Some(7),
    };
    let bytes = parts.to_bytes().expect("bytes");
    assert_eq!(PartsChanged::of_bytes(&bytes), Ok(parts));
    let of_a_club = |field: Option<&str>, row| Override {
        club: "wedge 2".to_owned(),
        field: field.map(str::to_owned),
        recommended: Some("56 deg".to_owned()),
        built: field.map(|_| "55 deg".to_owned()),
        reason: "he plays from firm sand".to_owned(),
        decision: Some("club_bend".to_owned()),
        row,
    };
    let row = DecidingRow { table: 1, row: 4 };
    let build = BuildConfirmed {
        record: 7,
        record_leaf: leaf_hash(b"a record"),
        supersedes: Some(9),
        clubs: vec![BuiltClub {
            name: "wedge 2".to_owned(),
            fields: [("bend".to_owned(), "-1 deg".to_owned())].into(),
        }],
        overrides: vec![of_a_club(Some("bend"), Some(row)), of_a_club(None, None)],
        stock: changes,
    };
    let bytes = build.to_bytes().expect("bytes");
    assert_eq!(BuildConfirmed::of_bytes(&bytes), Ok(build));
}

#[test]
fn a_change_of_no_known_sort_is_refused_by_name() {
    let change = map([
        ("kind", Some("head".into())),
        ("part", Some("H".into())),
        ("what", Some("lent".into())),
    ]);
    let body = encode(&Value::map([
        ("version", 1_u32.into()),
        ("stock", "demo".into()),
        ("files", Value::map([])),
        ("reason", "r".into()),
        ("changes", Value::List(vec![change])),
    ]));
    let refused = PartsChanged::of_bytes(&body.expect("bytes")).expect_err("a fault");
    assert_eq!(
        refused.to_string(),
        "the body's `what` is `lent`, which is not known here"
    );
}
