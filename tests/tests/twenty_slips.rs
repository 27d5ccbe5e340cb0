//! Twenty slips of different kinds, each in a declaration of its own: all are said in one run, each
//! once, and nothing is said of what is right or only rests on a slip.

use loftwright_dsl::diagnostic::render_short;
use loftwright_tests::house::findings;

/// Each slip: the code and the text it is pointed out at, and the declaration. What stands without
/// a code is right.
const SLIPS: &[(&str, &str, &str)] = &[
    (
        "L0002",
        "−",
        "decide pasted : angle\n  source common practice\n  gives  −1 deg\n",
    ),
    ("L0003", "bounce", "bounce is low\n"),
    (
        "L0101",
        "low",
        "decide no_verb : bounce_class\n  source common practice\n  by steepness\n    \
         under 5 deg   low\n    5 deg or more gives high\n",
    ),
    (
        "L0102",
        "8 deg or less",
        "decide near_miss : bounce_class\n  source common practice\n  by steepness\n    \
         8 deg or less gives low\n    over 8 deg    gives high\n",
    ),
    (
        "L0103",
        "degrees",
        "decide no_unit : angle\n  source common practice\n  gives  5 degrees\n",
    ),
    (
        "L0104",
        "gives  2 deg",
        "decide said_twice : angle\n  source common practice\n  gives  1 deg\n  gives  2 deg\n",
    ),
    (
        "L0202",
        "turf",
        "decide turf : angle\n  source common practice\n  gives  1 deg\n",
    ),
    (
        "L0203",
        "wedge_bouncy",
        "replace decide wedge_bouncy : bounce_class, for each wedge\n  source common practice\n  \
         gives  low\n",
    ),
    ("L0204", "club_kind", "choice club_kind is long, short\n"),
    (
        "L0301",
        "stepness",
        "decide misspelt : bounce_class\n  source common practice\n  by stepness\n    \
         under 5 deg   gives low\n    5 deg or more gives high\n",
    ),
    (
        "",
        "",
        "decide rests_on_the_misspelt : number\n  source common practice\n  by misspelt\n    \
         low gives 1\n    standard or high gives 2\n",
    ),
    (
        "L0302",
        "driver_head",
        "decide not_a_value : mass\n  source common practice\n  gives  2 * driver_head\n",
    ),
    (
        "L0303",
        "wrist_to_floor + attack_angle",
        "decide odd_sum : length\n  source common practice\n  gives  wrist_to_floor + attack_angle\n",
    ),
    (
        "L0304",
        "9 in and 5 in",
        "input hand_length : length\n  ask     \"How long is the hand?\"\n  between 9 in and 5 in\n",
    ),
    (
        "",
        "",
        "decide rests_on_the_range : number\n  source common practice\n  by hand_length\n    \
         under 7 in   gives 1\n    7 in or more gives 2\n",
    ),
    (
        "L0305",
        "under 5 deg           gives low",
        "decide one_too_few : bounce_class\n  source common practice\n  by steepness and turf\n    \
         under 5 deg           gives low\n    5 deg or more and any gives high\n",
    ),
    (
        "L0306",
        "egg",
        "decide hen : number\n  source common practice\n  gives  egg + 1\n\n\
         decide egg : number\n  source common practice\n  gives  hen\n",
    ),
    (
        "L0307",
        "wedge_bounce",
        "decide every_sole : bounce_class\n  source common practice\n  gives  wedge_bounce\n",
    ),
    (
        "L0401",
        "5 through 8 deg gives standard",
        "decide twice_at_five : bounce_class\n  source common practice\n  by steepness\n    \
         up to 5 deg     gives low\n    5 through 8 deg gives standard\n    over 8 deg      gives high\n",
    ),
    (
        "L0402",
        "by turf\n    firm gives 1\n    soft gives 2",
        "decide a_gap : number\n  source common practice\n  by turf\n    firm gives 1\n    soft gives 2\n",
    ),
    (
        "L0404",
        "25 deg or more        gives high",
        "decide never_reached : bounce_class\n  source common practice\n  by steepness\n    \
         under 5 deg           gives low\n    5 deg to under 25 deg gives standard\n    \
         25 deg or more        gives high\n",
    ),
    (
        "L0405",
        "200 mph",
        "case \"faster than anybody\"\n  given  head_speed = 200 mph\n  expect shaft_flex = stiff\n",
    ),
    (
        "L0406",
        "0",
        "decide by_nothing : length\n  source common practice\n  gives  wrist_to_floor / 0\n",
    ),
];

#[test]
fn all_are_said_in_one_run_and_nothing_else() {
    let texts: Vec<&str> = SLIPS.iter().map(|(_, _, text)| *text).collect();
    let text = texts.join("\n");
    let (folder, found) = findings("slips.rules", &text);
    let mut expected: Vec<(&str, &str)> = SLIPS
        .iter()
        .filter(|(code, ..)| !code.is_empty())
        .map(|(code, place, _)| (*code, *place))
        .collect();
    assert!(expected.len() >= 20);
    let told = render_short(&folder, &found);
    let mut pointed_out: Vec<(&str, String)> = found
        .iter()
        .map(|finding| {
            let span = finding.primary.span;
            let place = &folder[span.file].text[span.start..span.end];
            (finding.code.text(), place.to_owned())
        })
        .collect();
    pointed_out.sort_unstable();
    expected.sort_unstable();
    let pointed_out: Vec<(&str, &str)> = pointed_out
        .iter()
        .map(|(code, place)| (*code, place.as_str()))
        .collect();
    assert_eq!(pointed_out, expected, "\n{told}");
}

/// Each slip alone is the same one finding: none of them hides or changes another.
#[test]
fn each_alone_is_the_same_finding() {
    for (code, place, text) in SLIPS.iter().filter(|(code, ..)| !code.is_empty()) {
        let (folder, found) = findings("slip.rules", text);
        let told = render_short(&folder, &found);
        let [finding] = found.as_slice() else {
            panic!("{code}: {told}");
        };
        let span = finding.primary.span;
        let at = &folder[span.file].text[span.start..span.end];
        assert_eq!((finding.code.text(), at), (*code, *place), "\n{told}");
    }
}
