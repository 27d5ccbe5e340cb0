//! The pictures of an answer: well-formed, with the names and figures that belong in them; and the
//! command that writes them.

#![expect(clippy::panic, reason = "a test stops at the first surprise")]

use std::path::{Path, PathBuf};
use std::process::{Command, Output};

use loftwright_engine::model::flight::{Conditions, Launch, path};
use loftwright_engine::picture::{Band, Bands, ClubFlight, Pictures, Rung};
use loftwright_server::plot::{Picture, pictures};

/// A bag from long to short: carry in yards, ball speed in m/s, launch in degrees, spin in rpm.
const BAG: [(&str, f64, f64, f64, f64); 8] = [
    ("driver", 231.0, 65.0, 13.0, 2700.0),
    ("5 wood", 205.0, 60.0, 14.0, 3900.0),
    ("4 hybrid", 187.0, 56.0, 15.0, 4600.0),
    ("6 iron", 163.0, 51.0, 17.0, 5600.0),
    ("8 iron", 140.0, 46.0, 21.0, 7200.0),
    ("pitching wedge", 116.0, 41.0, 26.0, 8600.0),
    ("wedge 52 deg", 97.0, 36.0, 30.0, 9200.0),
    ("wedge 58 deg", 80.0, 32.0, 34.0, 9500.0),
];

fn flight(
    speed_m_s: f64,
    launch_deg: f64,
    spin_rpm: f64,
) -> Vec<loftwright_engine::model::flight::PathPoint> {
    let launch = Launch::straight(speed_m_s, launch_deg, spin_rpm);
    path(&launch, &Conditions::STILL_AIR).unwrap_or_else(|refusal| panic!("{refusal}"))
}

fn band(low: Option<f64>, high: Option<f64>, result: &str, is_taken: bool) -> Band {
    Band {
        low,
        high,
        result: result.to_owned(),
        is_taken,
    }
}

fn drawn() -> Pictures {
    let rung = |(club, carry_yd, ..): &(&str, f64, f64, f64, f64)| Rung {
        club: (*club).to_owned(),
        carry_yd: *carry_yd,
        is_kept: *club == "5 wood",
    };
    let club = |(club, _, speed, launch, spin): &(&str, f64, f64, f64, f64)| ClubFlight {
        club: (*club).to_owned(),
        points: flight(*speed, *launch, *spin),
    };
    Pictures {
        ladder: BAG.iter().map(rung).collect(),
        flights: BAG.iter().map(club).collect(),
        bands: vec![Bands {
            decision: "wedge_bounce".to_owned(),
            club: Some("wedge 52 deg".to_owned()),
            input: "wedge_attack_angle".to_owned(),
            column: "steepness".to_owned(),
            unit: "deg".to_owned(),
            value: 8.1,
            spread: 0.54,
            bands: vec![
                band(None, Some(5.0), "low", false),
                band(Some(5.0), Some(8.0), "standard", false),
                band(Some(8.0), None, "high", true),
            ],
        }],
    }
}

fn all(drawn: &Pictures, subject: &str) -> Vec<Picture> {
    pictures(drawn, subject).unwrap_or_else(|fault| panic!("{fault}"))
}

fn file<'p>(pictures: &'p [Picture], name: &str) -> &'p str {
    let found = pictures.iter().find(|picture| picture.file == name);
    &found.unwrap_or_else(|| panic!("no {name}")).svg
}

/// What stands between tags, spaces and line ends as one.
fn words(svg: &str) -> String {
    let mut text = String::new();
    let mut is_text = true;
    for character in svg.chars() {
        match character {
            '<' => is_text = false,
            '>' => {
                is_text = true;
                text.push(' ');
            }
            other if is_text => text.push(other),
            _ => {}
        }
    }
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}

/// Every tag is closed in its turn, every ampersand begins an entity.
fn is_well_formed(svg: &str) -> bool {
    let mut open = Vec::new();
    let mut rest = svg;
    while let Some((_, after)) = rest.split_once('<') {
        let Some((tag, after)) = after.split_once('>') else {
            return false;
        };
        rest = after;
        let name = |tag: &str| tag.split_whitespace().next().unwrap_or_default().to_owned();
        if tag.contains('<') || tag.matches('"').count() % 2 == 1 {
            return false;
        }
        if let Some(closed) = tag.strip_prefix('/') {
            if open.pop() != Some(name(closed)) {
                return false;
            }
        } else if !tag.ends_with('/') && !tag.starts_with(['?', '!']) {
            open.push(name(tag));
        }
    }
    let is_entity = |after: &str| {
        after.split_once(';').is_some_and(|(name, _)| {
            !name.is_empty() && name.chars().all(|c| c.is_ascii_alphanumeric() || c == '#')
        })
    };
    open.is_empty() && svg.split('&').skip(1).all(is_entity)
}

#[test]
fn each_picture_is_well_formed_and_says_what_it_shows() {
    let pictures = all(&drawn(), "somebody");
    let files: Vec<&str> = pictures
        .iter()
        .map(|picture| picture.file.as_str())
        .collect();
    assert_eq!(
        files,
        [
            "ladder.svg",
            "flights.svg",
            "borderline-01-wedge_bounce-wedge-52-deg.svg"
        ]
    );
    for picture in &pictures {
        assert!(is_well_formed(&picture.svg), "{}", picture.file);
        assert!(words(&picture.svg).contains("somebody"));
    }
}

#[test]
fn the_ladder_names_every_club_its_carry_and_the_gaps() {
    let pictures = all(&drawn(), "somebody");
    let said = words(file(&pictures, "ladder.svg"));
    for (club, carry, ..) in BAG {
        assert!(said.contains(club), "{club}");
        assert!(said.contains(&format!(" {carry:.0} ")), "{carry}");
    }
    // 231 − 205, and the others no wider.
    assert!(said.contains("26, the widest"));
    assert_eq!(said.matches("the widest").count(), 1);
    assert!(said.contains("carry (yd)"));
}

#[test]
fn the_flights_are_named_with_how_far_they_go() {
    let pictures = all(&drawn(), "somebody");
    let svg = file(&pictures, "flights.svg");
    let said = words(svg);
    for (club, _, speed, launch, spin) in BAG {
        let last = flight(speed, launch, spin)
            .pop()
            .map(|point| point.along_m / 0.9144);
        let key = format!(": {club}, {:.0} yd", last.unwrap_or_default());
        assert!(said.contains(&key), "{key}");
    }
    assert!(said.contains("distance along the target line (yd)") && said.contains("height (yd)"));
}

#[test]
fn a_borderline_decision_shows_its_bands_and_the_reading() {
    let pictures = all(&drawn(), "somebody");
    let said = words(file(
        &pictures,
        "borderline-01-wedge_bounce-wedge-52-deg.svg",
    ));
    for part in [
        "wedge_bounce, wedge 52 deg",
        "standard",
        "high",
        "8.1 deg",
        "steepness (deg)",
        "wedge_attack_angle",
    ] {
        assert!(said.contains(part), "{part} in {said}");
    }
    // From 8.1 − 6 × 0.54 on, the lowest band is too narrow for its word.
    assert!(!said.contains("low"));
}

/// What a player's file calls the player is text, whatever it looks like.
#[test]
fn a_name_with_markup_in_it_stays_a_name() {
    for picture in all(&drawn(), "<script>\"&' ]]> </svg>") {
        assert!(is_well_formed(&picture.svg), "{}", picture.svg);
        assert!(!picture.svg.contains("<script"));
    }
}

#[test]
fn what_is_not_known_is_not_drawn_and_odd_figures_do_no_harm() {
    assert!(all(&Pictures::default(), "somebody").is_empty());
    let mut odd = drawn();
    odd.ladder.truncate(1);
    odd.flights.truncate(1);
    for bands in &mut odd.bands {
        bands.spread = 0.0;
        bands.bands.clear();
    }
    for picture in all(&odd, "somebody") {
        assert!(is_well_formed(&picture.svg), "{}", picture.file);
    }
}

#[test]
fn the_same_answer_is_the_same_picture() {
    assert_eq!(all(&drawn(), "somebody"), all(&drawn(), "somebody"));
}

fn scratch(name: &str) -> PathBuf {
    let folder = Path::new(env!("CARGO_TARGET_TMPDIR")).join(name);
    let _ = std::fs::remove_dir_all(&folder);
    std::fs::create_dir_all(&folder).unwrap_or_else(|error| panic!("{error}"));
    folder
}

fn fit(more: &[&str]) -> Output {
    let player = Path::new(env!("CARGO_MANIFEST_DIR"))
        .join("../rulesets/demo/players/readings-missing.toml");
    Command::new(env!("CARGO_BIN_EXE_loftwright"))
        .arg("fit")
        .arg(player)
        .args(more)
        .output()
        .unwrap_or_else(|error| panic!("{error}"))
}

#[test]
fn the_command_writes_the_pictures_and_says_where() {
    let folder = scratch("plot").join("new");
    let place = folder.display().to_string();
    let output = fit(&["--on", "2026-05-01", "--plot", &place]);
    assert_eq!(output.status.code(), Some(0));
    let sheet = String::from_utf8_lossy(&output.stdout).into_owned();
    assert!(
        sheet.contains(&format!("Pictures in {place}: ladder.svg")),
        "{sheet}"
    );
    let svg = std::fs::read_to_string(folder.join("ladder.svg")).unwrap_or_default();
    assert!(is_well_formed(&svg) && words(&svg).contains("carry (yd)"));
}

#[test]
fn where_nothing_can_be_written_the_place_is_named() {
    let file = scratch("plot-refused").join("a-file");
    std::fs::write(&file, "taken").unwrap_or_else(|error| panic!("{error}"));
    let place = file.join("below").display().to_string();
    let output = fit(&["--plot", &place]);
    assert_eq!(output.status.code(), Some(2));
    let said = String::from_utf8_lossy(&output.stderr).into_owned();
    assert!(
        said.contains(&format!("`{place}` cannot be written")),
        "{said}"
    );
    let both = fit(&["--plot", &place, "--to", "http://127.0.0.1:1"]);
    assert_eq!(both.status.code(), Some(2));
}
