//! The smallest ruleset, with a bag of two wedges beside driver and putter, and its players.

use std::collections::BTreeMap;
use std::path::Path;

use loftwright_proto::v1 as pb;
use loftwright_tests::workshop::root;

/// Writes the rules into a folder; they are called `base`.
pub fn write_rules(folder: &Path) {
    let text = std::fs::read_to_string(root().join("tests/corpus/base.rules")).unwrap();
    let names = ["fairway_count", "hybrid_count", "iron_count"];
    let text = names.into_iter().fold(text, |text, name| {
        let whole = |count: u8| {
            format!("decide {name} : count\n  source common practice\n  gives  {count}\n")
        };
        text.replace(&whole(1), &whole(0))
            .replace(&whole(2), &whole(0))
    });
    std::fs::create_dir_all(folder).unwrap();
    std::fs::write(folder.join("base.rules"), text).unwrap();
}

/// Writes the folders of a workshop that has no parts.
pub fn write_no_parts(folder: &Path) {
    for name in ["catalogue", "stock"] {
        std::fs::create_dir_all(folder.join(name)).unwrap();
    }
}

/// The request of one of a thousand players, with readings of its own.
pub fn request(number: usize) -> pb::RecommendRequest {
    let tenths = |number: usize| format!("{}.{}", number / 10, number % 10);
    let readings = [
        ("player_hand", "right".to_owned()),
        ("head_speed", format!("{} mph", tenths(600 + number % 600))),
        (
            "wrist_to_floor",
            format!("{} in", tenths(300 + number % 101)),
        ),
        ("attack_angle", format!("-{} deg", tenths(number % 151))),
        ("turf", ["firm", "normal", "soft"][number % 3].to_owned()),
    ];
    let reading = |(name, value): (&str, String)| {
        let reading = pb::Reading {
            value,
            ..pb::Reading::default()
        };
        (name.to_owned(), reading)
    };
    pb::RecommendRequest {
        ruleset: "base".to_owned(),
        subject: format!("player-{}", number % 1000),
        readings: readings
            .into_iter()
            .map(reading)
            .collect::<BTreeMap<_, _>>(),
        request_id: format!("00000000-0000-4000-8000-{number:012x}"),
        view: pb::RecommendationView::Reasons.into(),
        ..pb::RecommendRequest::default()
    }
}
