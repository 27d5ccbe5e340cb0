//! Which digest an edit moves, for every kind of declaration.
//!
//! From the language reference, *Identity*: the meaning is what decides outcomes; the text is
//! about, because, says, ask and source (and titles).

use loftwright_dsl::check::{LayerSource, check};
use loftwright_dsl::program::Digests;
use loftwright_engine::CONTRACT_VERSION;
use loftwright_tests::engine_side;

fn digests(layers: &[LayerSource]) -> Digests {
    let output = check(layers, CONTRACT_VERSION);
    let findings = engine_side::rendered(&output);
    let program = output.program.unwrap_or_else(|| panic!("{findings}"));
    program.digests
}

/// Which digests an edit moves.
#[derive(Clone, Copy, Debug, PartialEq)]
enum Moves {
    Neither,
    Meaning,
    Text,
    Both,
}

/// Every gap one space wide: however the corpus is aligned, an edit finds its line.
fn narrow(text: &str) -> String {
    let mut narrow = String::new();
    for character in text.chars() {
        if !(character == ' ' && narrow.ends_with(' ')) {
            narrow.push(character);
        }
    }
    narrow
}

/// Makes each edit by itself in one file of a ruleset.
fn edit(ruleset: &str, layer: &str, edits: &[(&str, &str, Moves)]) {
    let mut layers = engine_side::layers(ruleset);
    let plain = digests(&layers);
    for (_, text) in layers.iter_mut().flat_map(|layer| &mut layer.files) {
        *text = narrow(text);
    }
    for (from, to, expected) in edits {
        let (from, to) = (narrow(from), narrow(to));
        let mut edited = layers.clone();
        let mut edited_layers = edited.iter_mut();
        let files = &mut edited_layers
            .find(|found| found.name == layer)
            .unwrap()
            .files;
        let count: usize = files
            .iter()
            .map(|(_, text)| text.matches(&from).count())
            .sum();
        assert_eq!(count, 1, "`{from}` stands {count} times in {layer}");
        for (_, text) in files {
            *text = text.replace(&from, &to);
        }
        let found = digests(&edited);
        let moves = match (found.meaning != plain.meaning, found.text != plain.text) {
            (false, false) => Moves::Neither,
            (true, false) => Moves::Meaning,
            (false, true) => Moves::Text,
            (true, true) => Moves::Both,
        };
        assert_eq!(moves, *expected, "`{from}` → `{to}`");
    }
}

use Moves::{Both, Meaning, Neither, Text};

#[test]
fn vocabularies_and_inputs() {
    edit(
        "corners",
        "corners",
        &[
            (
                "is cold < cool < mild",
                "is freezing < cold < cool < mild",
                Meaning,
            ),
            (
                "warm < hot, in halves",
                "warm < hot < boiling, in halves",
                Meaning,
            ),
            ("\"What is the weather?\"", "\"How is the weather?\"", Text),
            ("  default yes\n", "  default no\n", Meaning),
            ("between   0 and 12", "between   0 and 13", Meaning),
            ("between   0 and 12", "between   0/4 and 12.0", Neither),
            (
                "only when wears_glove is yes",
                "only when wears_glove is no",
                Meaning,
            ),
            ("between 2000-01-01 and", "between 2000-01-02 and", Meaning),
            (
                "title     \"Corners of the language\"",
                "title \"Corners\"",
                Text,
            ),
        ],
    );
    edit(
        "corners",
        "base",
        &[
            ("spread  1.5 mph", "spread  1.6 mph", Meaning),
            ("spread  1/4 in", "spread  6.35 mm", Neither),
            ("spread  1/4 in", "spread  1/4 in, of strike one", Meaning),
            (
                "between 18 in and 48 in",
                "between 1 ft 6 in and 4 ft",
                Neither,
            ),
            (
                "between 30 mph and 150 mph",
                "between 30 mph and 151 mph",
                Meaning,
            ),
        ],
    );
}

#[test]
fn bounds_and_results() {
    edit(
        "corners",
        "base",
        &[
            ("under 34.5 in ", "under 876.3 mm ", Neither),
            (
                "34.5 in through 37 in gives 0 in",
                "34 1/2 in through 93.98 cm gives 0 mm",
                Neither,
            ),
            ("gives -1/2 in", "gives -1/4 in", Meaning),
            (
                "over 37 in            gives 1/2 in",
                "over 37 in gives 1/2 in because \"Tall.\"",
                Text,
            ),
        ],
    );
}

#[test]
fn tables_and_steps() {
    edit(
        "corners",
        "corners",
        &[
            (
                "wet            and mild         cannot happen because \"Never seen.\"",
                "wet and mild cannot happen because \"Nobody has seen it.\"",
                Text,
            ),
            (
                "wet            and mild         cannot happen because \"Never seen.\"",
                "wet and mild gives 4",
                Both,
            ),
            (
                "weather, first, if unknown gives 9",
                "weather, first, if unknown gives 8",
                Meaning,
            ),
            (
                "weather, first, if unknown gives 9",
                "weather, first",
                Meaning,
            ),
            (
                "     not none  gives 1\n",
                "     not none or 3  gives 1\n",
                Meaning,
            ),
            (
                "     not unknown or dry  gives 1",
                "     not dry  gives 1",
                Meaning,
            ),
            (
                "     wet  moves down 2",
                "     wet  moves down 1 1/2",
                Meaning,
            ),
            (
                "soft   moves down 1/2\n\n",
                "soft   moves down 0.5\n\n",
                Neither,
            ),
            (
                "then kept within 0 deg and 6 deg, rounded to 0.5 deg",
                "then kept within 0 deg and 6 deg",
                Meaning,
            ),
            (
                "then kept within 0 deg and 6 deg, rounded to 0.5 deg",
                "then rounded to 0.5 deg, kept within 0 deg and 6 deg",
                Meaning,
            ),
            ("then rounded up to 2", "then rounded down to 2", Meaning),
            (
                "let edge : speed = 85 mph",
                "let edge : speed = 86 mph",
                Meaning,
            ),
            (
                "only when weather is dry and grip_strength over 3",
                "only when weather is dry and grip_strength over 4",
                Meaning,
            ),
        ],
    );
}

#[test]
fn lets_groups_and_progressions() {
    edit(
        "corners",
        "corners",
        &[
            (
                "let chain : number = two_undecided * 2",
                "let chain : number = two_undecided * 3",
                Meaning,
            ),
            (
                "1/2 in for each 3 deg of steepness",
                "12.7 mm for each 3 deg of steepness",
                Neither,
            ),
            (
                "let rounded_half : angle = attack_angle, rounded to 1 deg",
                "let rounded_half : angle = attack_angle, rounded up to 1 deg",
                Meaning,
            ),
            (
                "is kept where bought_on under 2021-01-01",
                "is kept where bought_on under 2021-01-02",
                Meaning,
            ),
            (
                "is heavy where kind is iron",
                "is heavy where kind is iron or kind is wedge",
                Meaning,
            ),
            ("  kept  gives 50\n", "", Meaning),
            (
                "  kept  gives 50\n",
                "  kept gives 50 because \"It stays.\"\n",
                Text,
            ),
            (
                "  last  gives 99\n",
                "  last gives 99 because \"Enough.\"\n",
                Text,
            ),
            (
                "for each heavy in order of loft, largest first",
                "for each heavy in order of loft",
                Meaning,
            ),
            (
                "let top_loft : angle = the largest loft",
                "let top_loft : angle = the smallest loft",
                Meaning,
            ),
        ],
    );
}

#[test]
fn choices() {
    edit(
        "corners",
        "corners",
        &[
            (
                "in each of its settings\n  source  common practice",
                "in each of its settings\n  source  \"A handbook\"",
                Text,
            ),
            (
                "needs   delivered within 1.5 deg of wanted",
                "needs   delivered within 1.6 deg of wanted",
                Meaning,
            ),
            (
                "needs   delivered within 1.5 deg of wanted",
                "needs   delivered within 1.5 deg of wanted because \"It must fit.\"",
                Text,
            ),
            (
                "weight 3   because \"Not weighed where it is not known.\"",
                "weight 3",
                Text,
            ),
            (
                "weight 3   because \"Not weighed where it is not known.\"",
                "weight 4",
                Both,
            ),
            (
                "hand is player_hand                     when player_hand is known",
                "hand is player_hand",
                Meaning,
            ),
            (
                "ties by own, largest first, then mass",
                "ties by own, then mass",
                Meaning,
            ),
            ("ties by miss, smallest first", "ties by miss", Neither),
            ("says \"Further.\"", "says \"Farther.\"", Text),
            (
                "needs bounce is known says \"Any sole.\"",
                "needs bounce is known because \"It wears.\" says \"Any sole.\"",
                Text,
            ),
            (
                "needs delivered within 4 deg of wanted",
                "needs delivered within 3 deg of wanted",
                Meaning,
            ),
        ],
    );
}

#[test]
fn who_takes_first_and_the_ladder() {
    edit(
        "corners",
        "corners",
        &[
            // It came after by its name already.
            (
                "for each wedge, after putter_head",
                "for each wedge",
                Neither,
            ),
            ("for each iron, after wood_shaft", "for each iron", Meaning),
            (
                "for each iron in order of number, largest first\n",
                "for each iron in order of number\n",
                Meaning,
            ),
            // The texts stand at their lines: with a line their places move.
            (
                "  if none on hand, orders\n  if none on hand, leaves open\n",
                "  if none on hand, leaves open\n",
                Both,
            ),
        ],
    );
}

#[test]
fn limits_cautions_and_cases() {
    edit(
        "corners",
        "corners",
        &[
            (
                "number of clubs at most 8",
                "number of clubs at most 9",
                Meaning,
            ),
            (
                "in force from 2026-03-01 until 2026-05-01",
                "in force from 2026-03-01",
                Meaning,
            ),
            (
                "in force  from 2026-05-01",
                "in force  from 2026-05-02",
                Meaning,
            ),
            (
                "says \"{spare_last} is much.\"",
                "says \"{spare_last} is a lot.\"",
                Text,
            ),
            (
                "says \"{spare_last} is much.\"",
                "says \"{spare_value} is much.\"",
                Text,
            ),
            (
                "caution cold_hands : felt under mild",
                "caution cold_hands : felt under cool",
                Meaning,
            ),
            (
                "  says \"Cold.\"\n",
                "  says \"Cold.\"\n  at taping\n",
                Text,
            ),
            (
                "  says \"Cold.\"\n",
                "  says \"Cold.\"\n  source \"A handbook\"\n",
                Text,
            ),
            (
                "  says \"Cold.\"\n",
                "  says \"Cold.\"\n\ncase \"dry\"\n  given weather = dry\n  expect by_any = 1\n",
                Neither,
            ),
        ],
    );
}
