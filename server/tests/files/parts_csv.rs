//! What is particular to CSV: columns, quotes, line ends, lists in files of their own.

use loftwright_dsl::program::Value;
use loftwright_server::files::{FileFault, PartsFiles, TextFile};

use crate::support::{file, program};

fn faults(files: Vec<TextFile>) -> Vec<FileFault> {
    match PartsFiles::of(files).parts(&program()) {
        Ok(parts) => panic!("{parts:?}"),
        Err(faults) => faults,
    }
}

fn said(files: Vec<TextFile>) -> Vec<String> {
    faults(files).iter().map(FileFault::to_string).collect()
}

const GRIPS: &str = "id,mass,ribbed\nG-1,49 g,no\nG-2,52 g,yes\n";

#[test]
fn byte_order_mark_line_ends_and_quotes_change_nothing() {
    let read = |text: &str| {
        let parts = PartsFiles::of(vec![file("catalogue/grips.csv", text)]).parts(&program());
        format!("{:?}", parts.expect("parts"))
    };
    let plain = read(GRIPS);
    assert_eq!(read(&format!("\u{feff}{GRIPS}")), plain);
    assert_eq!(read(&GRIPS.replace('\n', "\r\n")), plain);
    assert_eq!(read(&GRIPS.replace('\n', "\n\n")), plain);
    assert_eq!(read(GRIPS.trim_end()), plain);
    let quoted = "\"id\",\"mass\",\"ribbed\"\n\"G-1\",\"49 g\",\"no\"\n\"G-2\",\"52 g\",\"yes\"\n";
    assert_eq!(read(quoted), plain);
    assert_ne!(read(&GRIPS.replace("52", "53")), plain);
}

#[test]
fn places_are_counted_behind_a_byte_order_mark_and_empty_lines() {
    let text = "\u{feff}id,mass,ribbed\r\n\r\n\r\nG-1,\"49\",no\r\n";
    let found = faults(vec![file("catalogue/grips.csv", text)]);
    assert_eq!((found[0].line, found[0].column), (Some(4), Some(5)));
    // The bytes are those of the text that `PartsFiles` has, without the mark.
    let files = PartsFiles::of(vec![file("catalogue/grips.csv", text)]);
    let span = found[0].marked.clone().expect("bytes").span;
    assert_eq!(files.files()[0].text.get(span), Some("\"49\""));
}

#[test]
fn a_column_is_spoken_of_once() {
    let text = "id,masss,lead_time_days,measured_loft\nG-1,49 g,7,1 deg\nG-2,52 g,7,2 deg\n";
    assert_eq!(
        said(vec![file("catalogue/grips.csv", text)]),
        [
            "catalogue/grips.csv:1:1: the column `ribbed` is missing; `yes` or `no` is needed",
            "catalogue/grips.csv:1:4: masss: there is no field `masss`; allowed are `id`, \
             `lead_time_days`, `mass`, `ribbed`; did you mean `mass`?",
            "catalogue/grips.csv:1:25: measured_loft: there is no field `measured_loft`; allowed \
             are `id`, `lead_time_days`, `mass`, `ribbed`",
        ]
    );
    let stock = "measured_loft,mass\n9 deg,200 g\n";
    assert_eq!(
        said(vec![
            file("catalogue/heads.csv", "id,kind,stamped_loft,mass\n"),
            file("stock/heads.csv", stock),
        ]),
        [
            "stock/heads.csv:1:1: has neither a column `id`, of single pieces, nor `on_hand`, a \
             count",
            "stock/heads.csv:1:1: the column `part` is missing; a code is needed",
            "stock/heads.csv:1:15: mass: `mass` is the part's; it stands in the catalogue, not in \
             the stock",
        ]
    );
}

#[test]
fn decimal_commas_are_named() {
    let text = "id,mass,ribbed\nG-1,\"49,5 g\",no\nG-2,49,5 g,no\n";
    assert_eq!(
        said(vec![file("catalogue/grips.csv", text)]),
        [
            "catalogue/grips.csv:2:5: mass: `49,5 g` has a decimal comma; write `49.5 g`",
            "catalogue/grips.csv:3:1: has 4 cells where the header has 3; `49,5 g` looks like a \
             decimal comma, write `49.5 g`",
        ]
    );
}

#[test]
fn separators_and_line_ends_of_other_programs_are_named() {
    let of = |text: &str| said(vec![file("catalogue/grips.csv", text)]);
    assert_eq!(
        of("id\tmass\tribbed\nG-1\t49 g\tno\n"),
        [
            "catalogue/grips.csv:1:3: cells are parted by tabs here; in a parts file they are \
             parted by `,`"
        ]
    );
    assert_eq!(
        of("id,mass,ribbed\rG-1,49 g,no\r"),
        [
            "catalogue/grips.csv:1:15: a line ends with a carriage return alone here; save the \
             file with line ends LF or CRLF"
        ]
    );
    assert_eq!(
        of("id,mass,ribbed\nG-1,\"49 g,no\nG-2,51 g,no\n"),
        ["catalogue/grips.csv:2:5: begins with a quote that never ends"]
    );
}

#[test]
fn all_faults_come_at_once_and_nothing_is_said_of_what_could_not_be_read() {
    let found = said(vec![
        file("catalogue/grips.csv", "id;mass;ribbed\nG-1;49 g;no\n"),
        file(
            "catalogue/heads.csv",
            "id,kind,stamped_loft,mass\nH-1,drivr,700 deg,\n",
        ),
        file("stock/grips.csv", "part,on_hand\nG-1,many\n"),
    ]);
    assert_eq!(
        found,
        [
            "catalogue/grips.csv:1:3: cells are parted by `;` here; in a parts file they are \
             parted by `,`",
            "catalogue/heads.csv:2:5: kind: `drivr` is not a value of `club_kind`; allowed are \
             `driver`, `iron`, `putter`; did you mean `driver`?",
            "catalogue/heads.csv:2:11: stamped_loft: `700 deg` is out of range; an angle from \
             0 deg through 66 deg is allowed",
            "catalogue/heads.csv:2:19: mass: `mass` is missing; a mass is needed, such as `200 g`",
            "stock/grips.csv:2:5: on_hand: `many` is not a whole number; a whole number from 0 \
             through 100000 is needed, such as `3`",
        ]
    );
}

const HEADS: &str = "id,kind,stamped_loft,mass\nH-1,driver,9 deg,200 g\nH-2,iron,30 deg,250 g\n\
                     H-3,driver,9 deg,200 g\n";

#[test]
fn settings_stand_in_a_file_of_their_own() {
    let settings = "head,position,tilt\nH-1,neutral,0 deg\nH-3,,\nH-1,plus one,1 deg\n";
    let files = PartsFiles::of(vec![
        file("catalogue/heads.csv", HEADS),
        file("catalogue/heads.settings.csv", settings),
    ]);
    let parts = files.parts(&program()).expect("parts");
    let lists: Vec<Option<usize>> = parts
        .all()
        .map(|part| match &part.fields[5] {
            Some(Value::List(records)) => Some(records.len()),
            None => None,
            other => panic!("{other:?}"),
        })
        .collect();
    // Two settings; no row, so not known; a row with the code alone, so none.
    assert_eq!(lists, [Some(2), None, Some(0)]);
    let nested = "[[head]]\nid = \"H-1\"\nkind = \"driver\"\nstamped_loft = \"9 deg\"\n\
                  mass = \"200 g\"\nsettings = [\n{ position = \"neutral\", tilt = \"0 deg\" },\n\
                  { position = \"plus one\", tilt = \"1 deg\" },\n]\n";
    let nested = PartsFiles::of(vec![file("catalogue/heads.toml", nested)]);
    let nested = nested.parts(&program()).expect("parts");
    assert_eq!(
        parts.all().next().expect("a head").fields,
        nested.all().next().expect("a head").fields
    );
}

#[test]
fn faults_of_settings_come_with_their_place() {
    let settings =
        "head,position,tilt\nH-1,neutral,4 deg\nH-9,plus,1 deg\n,minus,1 deg\nH-1,,2 deg\n";
    assert_eq!(
        said(vec![
            file("catalogue/heads.csv", HEADS),
            file("catalogue/heads.settings.csv", settings),
        ]),
        [
            "catalogue/heads.settings.csv:2:13: settings[1].tilt: `4 deg` is out of range; an \
             angle from 0 deg through 3 deg is allowed",
            "catalogue/heads.settings.csv:3:1: the catalogue has no head `H-9`; did you mean `H-1`?",
            "catalogue/heads.settings.csv:4:1: `head` is missing; a code is needed",
            "catalogue/heads.settings.csv:5:1: settings[2].position: `position` is missing; a \
             text is needed",
        ]
    );
    assert_eq!(
        said(vec![
            file(
                "catalogue/heads.csv",
                "id,kind,stamped_loft,mass,settings\n"
            ),
            file("catalogue/heads.setings.csv", "head,position,tilt\n"),
            file("catalogue/heads.settings.csv", "head,position\n"),
            file("stock/heads.settings.csv", ""),
        ]),
        [
            "catalogue/heads.csv:1:27: settings: `settings` holds records; in CSV they stand in a \
             file of their own, `catalogue/heads.settings.csv`",
            "catalogue/heads.setings.csv: `setings` is no list of records; the lists of a head \
             are `settings`; did you mean `settings`?",
            "catalogue/heads.settings.csv:1:1: the column `tilt` is missing; an angle from 0 deg \
             through 3 deg is needed, such as `0 deg`",
            "stock/heads.settings.csv: is a list of the catalogue; it does not stand in the stock",
        ]
    );
}

/// Whatever stands in a file, reading it ends with faults at most, and each of them points at text
/// of the file, with the line and column that a count comes to.
#[test]
fn no_slip_in_a_file_is_answered_with_a_wrong_place() {
    let stock = "id,part,measured_loft\r\nN1,H-1,\"8.9 deg\"\r\n\r\nN2,H-3,\r\n";
    let slips = [
        "\"", ",", ";", "\n", "\r", "\u{e9}", "\0", " ", "\u{feff}", "\"\"", "",
    ];
    let program = program();
    let mut faulty = 0;
    for place in 0..stock.len() {
        for slip in slips {
            let (before, after) = (stock.get(..place), stock.get(place + 1..));
            let text = format!("{}{slip}{}", before.unwrap_or(""), after.unwrap_or(""));
            let files = PartsFiles::of(vec![
                file("catalogue/heads.csv", HEADS),
                file("stock/heads.csv", &text),
            ]);
            let Err(faults) = files.parts(&program) else {
                continue;
            };
            faulty += 1;
            for fault in faults {
                let read = files.files().iter().find(|file| file.shown == fault.file);
                let read = &read.expect("a file that was sent").text;
                let Some(marked) = fault.marked.as_ref().filter(|_| fault.line.is_some()) else {
                    continue;
                };
                let marks = marked.first.iter().chain([&marked.span]);
                for span in marks {
                    assert!(read.get(span.clone()).is_some(), "{text:?}: {fault:?}");
                }
                let above = read.get(..marked.span.start).expect("text before it");
                let line = above.matches('\n').count() + 1;
                let column = above.rsplit('\n').next().unwrap_or("").chars().count() + 1;
                assert_eq!((fault.line, fault.column), (Some(line), Some(column)));
            }
        }
    }
    assert!(faulty > 200, "{faulty}");
}
