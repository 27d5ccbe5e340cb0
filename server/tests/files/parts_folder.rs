//! Parts folders.

use loftwright_dsl::program::Value;
use loftwright_dsl::quantity::Rational;
use loftwright_engine::parts::{OnHand, Parts};
use loftwright_server::files::{PartsFiles, TextFile, report};

use crate::support::{file, program};

fn read(files: Vec<TextFile>) -> Result<Parts, Vec<String>> {
    let parts = PartsFiles::of(files).parts(&program());
    parts.map_err(|faults| report(&faults))
}

fn faults(files: Vec<TextFile>) -> Vec<String> {
    match read(files) {
        Ok(parts) => panic!("{parts:?}"),
        Err(lines) => lines,
    }
}

const HEADS: &str = r#"
[[head]]
id = "H-2"
kind = "driver"
stamped_loft = "9 deg"
mass = "200 g"
adjustable = true
lead_time_days = 7
settings = [
  { position = "neutral", tilt = "0 deg" },
  { position = "plus one", tilt = "1 deg" },
]

[[head]]
id = "H-1"
kind = "iron"
stamped_loft = "30 deg"
mass = "250 g"
"#;

#[test]
fn toml_and_csv_are_read_together() {
    let read = read(vec![
        file("catalogue/heads.toml", HEADS),
        file(
            "catalogue/grip.csv",
            "id,mass,ribbed\nG-1, 49 g ,no\n\nG-2,51 g,yes\n",
        ),
        file(
            "stock/heads.csv",
            "id,part,measured_loft\nN2,H-1,29.8 deg\nN1,H-1,\n",
        ),
        file(
            "stock/grips.toml",
            "[[grips]]\npart = \"G-1\"\non_hand = 12\n",
        ),
    ]);
    let read = read.expect("parts");
    let all: Vec<_> = read.all().collect();
    let ids: Vec<_> = all.iter().map(|part| part.id.as_str()).collect();
    assert_eq!(ids, ["G-1", "G-2", "H-1", "H-2"]);
    assert_eq!(all[0].on_hand, OnHand::Counted(12));
    assert_eq!(all[1].on_hand, OnHand::Counted(0));
    let OnHand::Pieces(pieces) = &all[2].on_hand else {
        panic!("no pieces");
    };
    let measured: Vec<_> = pieces.iter().map(|piece| piece.fields[2].clone()).collect();
    let loft = Rational::fraction(298, 10).map(Value::Number).ok();
    assert_eq!(measured, [None, loft]);
    assert_eq!(all[3].lead_time_days, Some(7));
    assert_eq!(all[3].fields[4], Some(Value::Flag(true)));
    let Some(Value::List(settings)) = &all[3].fields[5] else {
        panic!("no settings");
    };
    assert_eq!(settings.len(), 2);
}

#[test]
fn csv_and_toml_say_the_same() {
    let csv = file("catalogue/grips.csv", "id,mass,ribbed\nG-1,49 g,no\n");
    let toml = "[[grip]]\nid = \"G-1\"\nmass = \"49 g\"\nribbed = false\n";
    let toml = file("catalogue/grips.toml", toml);
    let shown = |files| format!("{:?}", read(files).expect("parts"));
    assert_eq!(shown(vec![csv]), shown(vec![toml]));
}

#[test]
fn every_fault_of_toml_comes_with_its_line() {
    let text = r#"
version = 1

[[head]]
id = "H-1"
kind = "drivr"
stamped_loft = 9.5
mass = ["200 g"]
settings = [
  { position = "neutral", tilt = 0.5 },
  { tilt = "4 deg" },
]

[[heds]]
id = "H-2"
"#;
    assert_eq!(
        faults(vec![file("catalogue/heads.toml", text)]),
        [
            "catalogue/heads.toml:2:1: version: `version` does not stand here; each record is a \
             table under `[[head]]`",
            "catalogue/heads.toml:6:8: kind: `drivr` is not a value of `club_kind`; allowed are \
             `driver`, `iron`, `putter`; did you mean `driver`?",
            "catalogue/heads.toml:7:16: stamped_loft: `9.5` is a float of TOML, which bends decimals; \
             write the text `\"9.5 deg\"`",
            "catalogue/heads.toml:8:8: mass: a list was sent; a mass is needed, such as `200 g`",
            "catalogue/heads.toml:10:34: settings[1].tilt: `0.5` is a float of TOML, which bends \
             decimals; write the text `\"0.5 deg\"`",
            "catalogue/heads.toml:11:3: settings[2].position: `position` is missing; a text is \
             needed",
            "catalogue/heads.toml:11:12: settings[2].tilt: `4 deg` is out of range; an angle from \
             0 deg through 3 deg is allowed",
            "catalogue/heads.toml:14:3: heds: `heds` does not stand here; each record is a table \
             under `[[head]]`; did you mean `[[heads]]`?",
        ]
    );
    let lines = faults(vec![file("catalogue/heads.toml", "[[head]\n")]);
    assert!(
        lines[0].starts_with("catalogue/heads.toml:1:8: is not TOML here: "),
        "{lines:?}"
    );
}

#[test]
fn every_fault_of_csv_comes_with_its_line() {
    let text = "id,mass,ribbed\nG-1,49,no\nG-2,51 g\nG-1,51 g,maybe\n";
    assert_eq!(
        faults(vec![file("catalogue/grips.csv", text)]),
        [
            "catalogue/grips.csv:2:5: mass: `49` has no unit; a mass is needed, such as `49 g`",
            "catalogue/grips.csv:3:1: has 2 cells where the header has 3",
            "catalogue/grips.csv:4:1: id: `G-1` is the code of another grip too \
             (catalogue/grips.csv:2); each has its own",
            "catalogue/grips.csv:4:10: ribbed: `maybe` is neither `yes` nor `no`",
        ]
    );
}

#[test]
fn the_header_of_csv_is_whole() {
    let of = |text: &str| faults(vec![file("catalogue/grips.csv", text)]);
    assert_eq!(
        of("id,mass,,mass\n"),
        [
            "catalogue/grips.csv:1:1: the column `ribbed` is missing; `yes` or `no` is needed",
            "catalogue/grips.csv:1:9: column 3 has no name",
            "catalogue/grips.csv:1:10: the column `mass` stands there twice",
        ]
    );
    assert_eq!(
        of("id;mass;ribbed\nG-1;49 g;no\n"),
        [
            "catalogue/grips.csv:1:3: cells are parted by `;` here; in a parts file they are parted by `,`"
        ]
    );
    assert_eq!(
        of(""),
        ["catalogue/grips.csv: is empty; the first row holds the names of the columns"]
    );
}

#[test]
fn the_same_fault_of_many_records_is_said_once() {
    let rows: String = (0..1_000)
        .map(|place| format!("G-{place},49,no,1\n"))
        .collect();
    let text = format!("id,mass,ribbed,colour\n{rows}");
    assert_eq!(
        faults(vec![file("catalogue/grips.csv", &text)]),
        [
            "catalogue/grips.csv:1:16: colour: there is no field `colour`; allowed are `id`, \
          `lead_time_days`, `mass`, `ribbed`",
            "catalogue/grips.csv:2:5: mass: `49` has no unit; a mass is needed, such as `49 g` \
             (and in 999 more records)",
        ]
    );
}

#[test]
fn a_file_is_named_after_its_kind() {
    assert_eq!(
        faults(vec![
            file("catalogue/haeds.toml", ""),
            file("catalogue/grips.csv", "id,mass,ribbed\n"),
            file("catalogue/grip.toml", ""),
            file("catalogue/grips.xls", ""),
            file("catalogue/settings.toml", ""),
        ]),
        [
            "catalogue/grip.toml: is a second file of `grip` (catalogue/grips.csv); a kind has one",
            "catalogue/grips.xls: is neither `.toml` nor `.csv`; parts are read from these",
            "catalogue/haeds.toml: `haeds` is not a kind of part; a file is named after one: \
             `grips`, `heads`, `wraps`; did you mean `heads`?",
            "catalogue/settings.toml: records of `setting` stand in the lists of other parts; the \
             kinds are `grip`, `head`, `wrap`",
        ]
    );
}

#[test]
fn stock_is_checked_against_the_catalogue() {
    assert_eq!(
        faults(vec![
            file("catalogue/heads.toml", HEADS),
            file("stock/heads.csv", "id,part,on_hand\nN1,H-3,\n,H-1,-2\n"),
        ]),
        [
            "stock/heads.csv:2:4: part: the catalogue has no head `H-3`; did you mean `H-1`?",
            "stock/heads.csv:3:6: on_hand: `-2` is out of range; a whole number from 0 through \
             100000 is allowed",
        ]
    );
}

#[test]
fn lists_of_values_are_arrays_in_toml_and_cells_with_semicolons_in_csv() {
    let of_toml = read(vec![file(
        "catalogue/wraps.toml",
        "[[wrap]]\nid = \"W-1\"\nkinds = [\"driver\", \"iron\"]\nwidths = [\"1 in\"]\n\n\
         [[wrap]]\nid = \"W-2\"\nkinds = []\n",
    )]);
    let of_csv = read(vec![file(
        "catalogue/wraps.csv",
        "id,kinds,widths\nW-1,driver; iron,1 in\nW-2,,\n",
    )]);
    let fields = |parts: Result<Parts, Vec<String>>| {
        let parts = parts.expect("parts");
        let all: Vec<_> = parts.all().cloned().collect();
        (all[0].fields.clone(), all[1].fields.clone())
    };
    let (of_toml, of_csv) = (fields(of_toml), fields(of_csv));
    assert_eq!(of_toml.0, of_csv.0);
    let Some(Value::Values(kinds)) = &of_toml.0[0] else {
        panic!("{of_toml:?}");
    };
    assert_eq!(kinds.len(), 2);
    // An array without anything in it is a value; a cell without anything is left out.
    assert_eq!(of_toml.1[0], Some(Value::Values(Vec::new().into())));
    assert_eq!(of_csv.1[0], None);
}

#[test]
fn what_is_wrong_in_an_array_is_told_with_its_line() {
    let found = faults(vec![file(
        "catalogue/wraps.toml",
        "[[wrap]]\nid = \"W-1\"\nwidths = [\n  \"1 in\",\n  1.5,\n  \"wide\",\n]\n",
    )]);
    assert_eq!(found.len(), 2, "{found:#?}");
    assert!(
        found[0].contains(":5") && found[0].contains("float"),
        "{found:#?}"
    );
    assert!(
        found[1].contains(":6") && found[1].contains("wide"),
        "{found:#?}"
    );
}
