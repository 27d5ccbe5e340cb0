//! A folder that is written anew says the same, value for value.

use loftwright_dsl::program::Program;
use loftwright_engine::parts::Parts;
use loftwright_server::files::rules_folder::check_built_in;
use loftwright_server::files::{PartsFiles, PartsFormat, TextFile, WrittenFile, export};

use crate::support::{file, program};

fn read(program: &Program, files: Vec<TextFile>) -> Parts {
    let parts = PartsFiles::of(files).parts(program);
    parts.unwrap_or_else(|faults| panic!("{faults:#?}"))
}

fn written(program: &Program, parts: &Parts, format: PartsFormat) -> Vec<WrittenFile> {
    export(program, parts, format).unwrap_or_else(|faults| panic!("{faults:#?}"))
}

/// Written and read again, in both forms and from each form in the other.
fn goes_round(program: &Program, parts: &Parts) {
    for format in [PartsFormat::Csv, PartsFormat::Toml] {
        let files = written(program, parts, format);
        let as_text = |file: &WrittenFile| TextFile {
            path: file.path.clone(),
            shown: file.path.clone(),
            text: file.text.clone(),
        };
        let again = read(program, files.iter().map(as_text).collect());
        assert_eq!(format!("{again:?}"), format!("{parts:?}"), "{format:?}");
        assert_eq!(written(program, &again, format), files);
    }
}

#[test]
fn the_demo_goes_round() {
    let program = check_built_in("skerry").expect("rules").program;
    let program = program.expect("a program");
    let files = PartsFiles::of_built_in("demo").expect("the demo");
    let parts = files.parts(&program).expect("parts");
    assert!(parts.all().count() > 200);
    goes_round(&program, &parts);
}

#[test]
fn odd_values_go_round() {
    let heads = "[[head]]\nid = \"H, \\\"1\\\"\"\nkind = \"driver\"\nstamped_loft = \"1/3 deg\"\n\
                 mass = \"7 1/3 oz\"\nadjustable = true\nlead_time_days = 0\nsettings = []\n\n\
                 [[head]]\nid = \"; 'é\"\nkind = \"iron\"\nstamped_loft = \"30.123456789 deg\"\n\
                 mass = \"250000.00000001 mg\"\nsettings = [{ position = \"a \\\"b\\\", c; d\", \
                 tilt = \"0.12345678901 deg\" }]\n";
    let heads = heads.replace("250000.00000001 mg", "250.00000000001 g");
    let wraps = "[[wrap]]\nid = \"W-1\"\nkinds = []\nwidths = [\"1 in\", \"1/7 in\", \"2 mm\"]\n\n\
                 [[wrap]]\nid = \"W-2\"\nkinds = [\"driver\", \"iron\"]\n\n[[wrap]]\nid = \"W-3\"\n";
    let stock = "id,part,on_hand,measured_loft\nN1,\"H, \"\"1\"\"\",,8.75 deg\nN2,\"H, \"\"1\"\"\",,\n\
                 ,; 'é,0,\n";
    let program = program();
    let parts = read(
        &program,
        vec![
            file("catalogue/heads.toml", &heads),
            file("catalogue/wraps.toml", wraps),
            file("catalogue/grips.csv", "id,mass,ribbed\n"),
            file("stock/heads.csv", stock),
            file("stock/wraps.csv", "part,on_hand\nW-2,7\n"),
        ],
    );
    goes_round(&program, &parts);
}

#[test]
fn what_csv_cannot_say_is_named() {
    let program = program();
    let text = "id,mass,ribbed\nG-1,49 g,no\n";
    let parts = read(&program, vec![file("catalogue/grips.csv", text)]);
    let files = written(&program, &parts, PartsFormat::Csv);
    let shown: Vec<(&str, &str)> = files
        .iter()
        .map(|file| (file.path.as_str(), file.text.as_str()))
        .collect();
    assert_eq!(
        shown,
        [
            (
                "catalogue/grips.csv",
                "id,lead_time_days,mass,ribbed\nG-1,,49 g,no\n"
            ),
            ("stock/grips.csv", "part,on_hand\nG-1,0\n"),
        ]
    );
}
