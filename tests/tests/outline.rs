//! The outline: complete, the same whatever the order of files, and safe to show.
//!
//! `corpus/outline/base.md` and `base.svg` are the outline of `corpus/base.rules`. To write them
//! anew, and then look at them: `UPDATE=1 cargo test --test outline`.

use std::fs;

use loftwright_dsl::check::{LayerSource, check};
use loftwright_dsl::outline::{Detail, Outline, StepFact, markdown, outline, svg};
use loftwright_engine::CONTRACT_VERSION;
use loftwright_tests::engine_side::{layers, rendered};
use loftwright_tests::generator::Random;
use loftwright_tests::layout::shuffled;
use loftwright_tests::workshop::root;

fn outline_of(layers: &[LayerSource]) -> Outline {
    let output = check(layers, CONTRACT_VERSION);
    let findings = rendered(&output);
    let program = output.program.unwrap_or_else(|| panic!("{findings}"));
    outline(&program, &output.folder)
}

#[test]
fn the_outline_of_the_base_reads_as_it_was_reviewed() {
    let mut outline = outline_of(&layers("base"));
    // The digests have tests of their own.
    outline.meaning_digest = "MEANING".to_owned();
    outline.text_digest = "TEXT".to_owned();
    let is_update = std::env::var_os("UPDATE").is_some();
    let texts = [("base.md", markdown(&outline)), ("base.svg", svg(&outline))];
    for (name, text) in texts {
        let path = root().join("tests/corpus/outline").join(name);
        if is_update {
            fs::write(&path, &text).unwrap();
        }
        let reviewed = fs::read_to_string(&path).unwrap_or_default();
        assert!(reviewed == text, "{name} is another:\n{text}");
    }
}

#[test]
fn the_order_of_files_and_declarations_does_not_show() {
    for ruleset in ["skerry", "corners"] {
        let plain = layers(ruleset);
        let one = outline_of(&plain);
        for seed in 0..3 {
            let mut random = Random(seed);
            let moved: Vec<_> = plain
                .iter()
                .map(|layer| shuffled(layer, &mut random))
                .collect();
            let other = outline_of(&moved);
            assert_eq!(one, other, "{ruleset}");
            assert_eq!(markdown(&one), markdown(&other), "{ruleset}");
            assert_eq!(svg(&one), svg(&other), "{ruleset}");
        }
    }
}

#[test]
fn every_declaration_is_there_and_every_row_has_its_cells() {
    for ruleset in ["common", "skerry", "corners"] {
        let outline = outline_of(&layers(ruleset));
        let (page, picture) = (markdown(&outline), svg(&outline));
        for node in &outline.nodes {
            let heading = format!("\n### {}\n", node.name);
            let cell = format!("</a>`{}` |", node.name);
            let is_described = page.contains(&heading) || page.contains(&cell);
            assert!(is_described, "{} is not described", node.name);
            let label = format!(">{}</text>", node.name);
            assert!(picture.contains(&label), "{} is not drawn", node.name);
            for name in &node.reads {
                let read = outline.nodes.iter().find(|other| other.name == *name);
                assert!(read.unwrap().read_by.contains(&node.name));
            }
            let Detail::Decision { steps, .. } = &node.detail else {
                continue;
            };
            for step in steps {
                let StepFact::Table(table) = step else {
                    continue;
                };
                for row in &table.rows {
                    let cells = row.conditions.len();
                    assert!(cells == table.columns.len() || cells == 0, "{}", node.name);
                    let verbs = ["gives", "moves", "keeps", "adds", "takes", "cannot"];
                    let verb = row.result.split(' ').next().unwrap();
                    assert!(verbs.contains(&verb), "{}: {}", node.name, row.result);
                }
            }
        }
    }
}

#[test]
fn the_house_says_what_it_replaces_and_who_reads_what() {
    let outline = outline_of(&layers("skerry"));
    let node = |name: &str| outline.nodes.iter().find(|node| node.name == name).unwrap();
    let bounce = node("wedge_bounce");
    assert_eq!(bounce.layer, "skerry");
    assert_eq!(bounce.replaces.as_deref(), Some("common"));
    assert_eq!(
        bounce.reads,
        ["bunker_sand", "is_sand_wedge", "steepness", "turf", "wedge"]
    );
    let Detail::Decision { promises, .. } = &bounce.detail else {
        panic!("{bounce:?}");
    };
    assert_eq!(promises, &["never falls as steepness rises"]);
    // What the house itself declares is marked in the picture: two replacements, two inputs, a
    // let, a decision and a caution; and the mark once more in the legend.
    assert_eq!(svg(&outline).matches("class=\"own\"").count(), 8);
    assert!(!svg(&outline_of(&layers("common"))).contains("class=\"own\""));
    assert_eq!(node("bunker_sand").read_by, ["wedge_bounce"]);
    // That one choice takes from the stock after another is no reading.
    assert!(!node("iron_head").reads.contains(&"driver_head".to_owned()));
}

/// A house whose texts are markup.
#[test]
fn no_text_becomes_markup() {
    let mut layers = layers("base");
    let house = "ruleset house
  title \"<script>alert(1)</script> | `a` [b](c)\"
  language 1
  builds on base

input a : angle
  ask \"</title><script>x</script> | **bold** ]]>\"
  between 0 deg and 1 deg
";
    layers.push(LayerSource {
        name: "house".to_owned(),
        files: vec![("house.rules".to_owned(), house.to_owned())],
    });
    let outline = outline_of(&layers);
    for text in [markdown(&outline), svg(&outline)] {
        assert!(!text.contains("<script") && !text.contains("</script"));
    }
    let page = markdown(&outline);
    assert!(page.contains("\\[b\\](c)") && page.contains("\\| \\*\\*bold\\*\\*"));
}

/// The relative luminance of a colour (WCAG 2.2, definition of relative luminance).
fn luminance(colour: &str) -> f64 {
    let channel = |from: usize| {
        let part = u8::from_str_radix(&colour[from..from + 2], 16).unwrap();
        let value = f64::from(part) / 255.0;
        if value <= 0.04045 {
            value / 12.92
        } else {
            ((value + 0.055) / 1.055).powf(2.4)
        }
    };
    0.2126 * channel(1) + 0.7152 * channel(3) + 0.0722 * channel(5)
}

/// WCAG 2.2, success criterion 1.4.6, contrast (enhanced): at least 7 to 1.
#[test]
fn the_ink_can_be_read_on_its_ground() {
    let picture = svg(&outline_of(&layers("base")));
    let rules = picture.lines().filter(|line| line.contains(".box{fill:#"));
    let mut kinds = 0;
    for rule in rules {
        let colour = |before: &str| rule.split(before).nth(1).unwrap()[..7].to_owned();
        let (ground, ink) = (colour("fill:"), colour("stroke:"));
        let contrast = (luminance(&ground) + 0.05) / (luminance(&ink) + 0.05);
        assert!(contrast >= 7.0, "{rule}: {contrast}");
        kinds += 1;
    }
    assert_eq!(kinds, 7);
}
