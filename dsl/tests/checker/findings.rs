//! One finding at a time, and several at once.

use loftwright_dsl::check::{LayerSource, check};
use loftwright_dsl::diagnostic::Code;

use crate::{check_layers, check_rules, codes, expect_codes};

const SPEED: &str = "input speed : speed\n  between 30 mph and 150 mph\n";

#[test]
fn a_sound_ruleset_has_no_findings() {
    let output = expect_codes(
        &format!(
            "{SPEED}decide loft : angle\n  by speed\n    under 90 mph gives 12 deg\n    90 mph or more gives 10 deg\n"
        ),
        &[],
    );
    assert!(output.program.is_some());
}

#[test]
fn a_unit_of_another_dimension_is_named_with_both() {
    let output = expect_codes(
        &format!("{SPEED}decide loft : angle\n  gives speed + 1 deg\n"),
        &[Code::TypeMismatch],
    );
    let finding = &output.diagnostics[0];
    assert!(finding.message.contains("`speed`") && finding.message.contains("`1 deg`"));
    let measures: Vec<&str> = finding
        .operands
        .iter()
        .map(|operand| operand.measures.as_str())
        .collect();
    assert_eq!(measures, ["speed", "angle"]);
    assert!(output.program.is_none());
}

#[test]
fn a_misspelled_name_gets_its_neighbour() {
    let output = expect_codes(&format!("{SPEED}let pace = sped\n"), &[Code::UnknownName]);
    assert!(
        output.diagnostics[0]
            .help
            .iter()
            .any(|help| help.contains("`speed`"))
    );
}

#[test]
fn every_error_of_a_folder_is_reported_in_one_run() {
    expect_codes(
        "input speed : sped\nlet a = nobody\ndecide b : angle\n  gives 3 in\n",
        &[Code::UnknownName, Code::UnknownName, Code::TypeMismatch],
    );
}

#[test]
fn a_quantity_without_a_range_is_refused() {
    expect_codes("input speed : speed\n", &[Code::BadRange]);
}

#[test]
fn circles_are_shown_as_a_path() {
    let output = expect_codes(
        "decide a : number\n  gives b\ndecide b : number\n  gives a\n",
        &[Code::Cycle],
    );
    assert!(output.diagnostics[0].message.contains("a → b → a"));
}

#[test]
fn points_on_a_scale_are_not_added() {
    expect_codes("let twice = D2 + D2\n", &[Code::TypeMismatch]);
    expect_codes("let more = D2 + 1 point\nlet between = D2 - C9\n", &[]);
}

#[test]
fn a_number_becomes_a_count_only_by_rounding() {
    let output = expect_codes(
        "decide clubs : count\n  gives 7 / 2\n",
        &[Code::TypeMismatch],
    );
    assert!(
        output.diagnostics[0]
            .help
            .iter()
            .any(|help| help.contains("rounded to 1"))
    );
    expect_codes(
        "decide clubs : count\n  gives 7 / 2, rounded up to 1\n",
        &[],
    );
}

#[test]
fn together_is_about_several_clubs() {
    let rules = "part head\n  has loft : angle\n  has on_hand : count\n\
                 choose driver from heads\n  takes 1 from on_hand, together\n  needs loft over 8 deg\n";
    let output = expect_codes(rules, &[Code::DoesNotGoWith]);
    assert!(output.diagnostics[0].message.contains("`together`"));
}

#[test]
fn what_follows_the_verb_is_the_rulesets_unless_it_says_its() {
    let part = "part head\n  has loft : angle\n  has lie : angle\n";
    let choose = |line: &str| format!("{part}choose driver from heads\n  needs {line}\n");
    expect_codes(&choose("loft over lie"), &[Code::OutOfScope]);
    expect_codes(&choose("loft over its lie"), &[]);
}

#[test]
fn a_value_for_each_club_is_not_spoken_of_without_one() {
    let group = "decide number_of_wedges : count\n  gives 3\n\
                 group wedge, as many as number_of_wedges\n  has number : count\n\
                 decide wedge_loft : angle, for each wedge\n  gives 52 deg\n";
    expect_codes(
        &format!("{group}let sum = wedge_loft + 1 deg\n"),
        &[Code::OutOfScope],
    );
    expect_codes(
        &format!("{group}let sum = wedge_loft of the first wedge\n"),
        &[],
    );
}

#[test]
fn a_field_that_hides_a_decision_is_pointed_out() {
    let rules = "decide number_of_wedges : count\n  gives 3\n\
                 group wedge, as many as number_of_wedges\n  has number : count\n\
                 decide number : count, for each wedge\n  gives 1\n";
    expect_codes(rules, &[Code::DeclaredTwice]);
}

#[test]
fn a_house_replaces_by_saying_so() {
    let below = "decide a : number\n  gives 1\n";
    let codes_of = |house: &str| codes(&check_layers(&[below, house]));
    assert_eq!(
        codes_of("decide a : number\n  gives 2\n"),
        [Code::DeclaredTwice]
    );
    assert_eq!(
        codes_of("replace decide b : number\n  gives 2\n"),
        [Code::NothingToReplace]
    );
    assert_eq!(codes_of("replace let a = 2\n"), [Code::NothingToReplace]);
    assert_eq!(codes_of("replace decide a : number\n  gives 2\n"), []);
    // A type that changes is the replacement's fault, and it is pointed at.
    let output = check_layers(&[below, "replace decide a : angle\n  gives 2 deg\n"]);
    assert_eq!(codes(&output), [Code::BrokenReplacement]);
    let place = output.diagnostics[0].primary.span;
    assert_eq!(output.folder[place.file].layer, "layer_1");
}

#[test]
fn what_the_engine_reads_must_be_there() {
    use loftwright_dsl::check::{LayerSource, check};
    let layer = |name: &str, text: &str| LayerSource {
        name: name.to_owned(),
        files: vec![(format!("{name}.rules"), text.to_owned())],
    };
    let contract = layer("contract", "ruleset contract\nreads loft : angle\n");
    let codes_of = |rules: &str| codes(&check(&[contract.clone(), layer("house", rules)], 1));
    assert_eq!(codes_of("ruleset house\n"), [Code::Contract]);
    assert_eq!(
        codes_of("ruleset house\ndecide loft : length\n  gives 1 in\n"),
        [Code::Contract]
    );
    assert_eq!(
        codes_of("ruleset house\ndecide loft : angle\n  gives 1 deg\n"),
        []
    );
}

#[test]
fn a_folder_has_one_ruleset_line() {
    assert_eq!(
        codes(&check_layers(&["ruleset again\n"])),
        [Code::RulesetLine]
    );
}

#[test]
fn the_deepest_expression_that_is_read_is_checked_on_a_small_stack() {
    let nested = format!("let a = {}1{}\n", "(".repeat(63), ")".repeat(63));
    let long = format!("let b = 1{}\n", " + 1".repeat(120));
    let signs = format!("decide c : number\n  gives {}\n", ["-1"; 40].join(" * "));
    let handle = std::thread::Builder::new()
        .stack_size(2 * 1024 * 1024)
        .spawn(move || {
            expect_codes(&format!("{nested}{long}{signs}"), &[])
                .program
                .is_some()
        });
    assert!(handle.unwrap().join().unwrap());
}

#[test]
fn a_default_is_a_reading_that_could_be_given() {
    let rules = |default: &str| {
        format!(
            "input rounds : count\n  between 0 and 10\n  default {default}\nlet more = rounds + 1\n"
        )
    };
    assert_eq!(
        codes(&crate::check_rules(&rules("11"))),
        [Code::OutsideRange]
    );
    assert_eq!(codes(&crate::check_rules(&rules("10"))), []);
}

#[test]
fn a_choice_whose_lets_speak_of_itself_is_refused_and_ends() {
    let rules = |first: &str, second: &str| {
        format!(
            "part head\n  has loft : angle\n\
             choose one from heads\n  let reach = {first}\n  needs loft over 8 deg\n\
             choose two from heads\n  let reach = {second}\n  needs loft over 8 deg\n"
        )
    };
    expect_codes(&rules("one.reach", "1 deg"), &[Code::UnknownName]);
    expect_codes(&rules("two.loft", "1 deg"), &[]);
    expect_codes(&rules("two.reach", "1 deg"), &[]);
    expect_codes(&rules("two.loft", "one.loft"), &[Code::Cycle]);
}

#[test]
fn a_look_at_the_clubs_he_brings_waits_for_the_group_that_joins_them() {
    use loftwright_dsl::program::Node;
    // By name `asked` comes before `bag`; only the bag knows which planned club a brought one is.
    let rules = "group brought, given with the player\n  has mass : mass, may be unknown\n\
                 decide number_planned : count\n  gives 2\n\
                 group planned, as many as number_planned\n  has number : count\n\
                 group bag, made by standard_set from planned, brought\n  has loft : angle\n\
                 let asked : mass, for each planned = brought.mass\n\
                 decide seen : mass, for each bag\n  gives asked\n";
    let layer = LayerSource {
        name: "contract".to_owned(),
        files: vec![(
            "contract.rules".to_owned(),
            format!("ruleset contract\n{rules}"),
        )],
    };
    let program = check(&[layer], 1).program.expect("sound rules");
    let place = |wanted: &str| {
        program.order.iter().position(|node| match node {
            Node::Let(id) => program.lets[*id].name == wanted,
            Node::Group(id) => program.groups[*id].name == wanted,
            _ => false,
        })
    };
    assert!(place("asked") > place("bag"));
}

#[test]
fn a_list_is_a_field_of_a_part_and_is_asked_with_includes() {
    let part = "choice side is right, left\npart setting\n  has tilt : angle\npart grip\n\
                \x20 has sides : list of side\n  has settings : list of setting\n\
                \x20 has mass : mass\n  has on_hand : count\n";
    let needs = |line: &str| format!("{part}choose x from grips\n  needs {line}\n");
    expect_codes(&needs("sides includes left"), &[]);
    expect_codes(&needs("not sides includes left"), &[]);
    expect_codes(&needs("sides includes 3 deg"), &[Code::TypeMismatch]);
    expect_codes(&needs("sides includes middle"), &[Code::UnknownName]);
    expect_codes(&needs("mass includes 3 g"), &[Code::TypeMismatch]);
    expect_codes(&needs("settings includes left"), &[Code::TypeMismatch]);
    let output = expect_codes(&needs("sides is left"), &[Code::TypeMismatch]);
    assert!(output.diagnostics[0].help[0].contains("`sides includes left`"));
    expect_codes(
        "input lofts : list of angle\n  ask \"Which?\"\n",
        &[Code::DoesNotGoWith],
    );
    expect_codes(
        "part grip\n  has marks : list of flag\n",
        &[Code::TypeMismatch],
    );
}

#[test]
fn what_only_the_engine_can_make_is_declared_in_its_contract() {
    for declaration in [
        "model twice(loft : angle) : angle\n  source common practice\n  answers to 0.1 deg\n",
        "input now : date, filled by the engine\n",
        "let two : count = 2\ngroup bag, made by standard_set from two\n  has loft : angle\n",
    ] {
        let output = check_rules(declaration);
        assert!(
            codes(&output).contains(&Code::Contract),
            "{:#?}",
            output.diagnostics
        );
    }
}

#[test]
fn text_is_of_parts_and_a_range_of_what_has_an_order() {
    expect_codes(
        "input brand : text\n  ask \"Which?\"\n",
        &[Code::DoesNotGoWith],
    );
    let choice = "choice side is right, left\n";
    expect_codes(
        &format!("{choice}input hand : side\n  ask \"Which?\"\n  between right and left\n"),
        &[Code::BadRange],
    );
    expect_codes(
        "scale size is small < large\ninput fit : size\n  ask \"Which?\"\n  between small and large\n",
        &[],
    );
}

/// A strike that one reading alone is of is likely a misspelt name; of two, neither is noted.
#[test]
fn a_strike_of_one_reading_is_noted() {
    let reading = |name: &str, strike: &str| {
        format!(
            "input {name} : speed\n  between 30 mph and 150 mph\n  spread 1 mph, of strike {strike}\n"
        )
    };
    let rules = |second: &str| {
        let (first, second) = (reading("first", "driver"), reading("second", second));
        format!("{first}{second}decide both : speed\n  gives first + second\n")
    };
    assert_eq!(check_rules(&rules("driver")).diagnostics.len(), 0);
    let output = check_rules(&rules("drver"));
    let said: Vec<&str> = output
        .diagnostics
        .iter()
        .map(|note| note.message.as_str())
        .collect();
    assert_eq!(
        said,
        [
            "no other reading is of the strike `driver`",
            "no other reading is of the strike `drver`"
        ]
    );
}
