//! What of a club can be confirmed, and what was recommended for it.

use loftwright_proto::v1 as pb;

/// The three parts of a club, by the names of their kinds.
pub(super) const PARTS: [&str; 3] = ["head", "shaft", "grip"];

/// What of a part can be confirmed.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum OfPart {
    /// Its code in the catalogue: `head`.
    Code,
    /// The piece's own code: `head_piece`.
    Piece,
    /// The position of the sleeve: `head_setting`.
    Setting,
}

/// A measure of a club that has a place of its own in the recommendation.
pub(super) struct Measure {
    /// The field's name.
    pub(super) name: &'static str,
    /// What is recommended.
    recommended: fn(&pb::ClubBuild) -> &Option<pb::SettledValue>,
    /// The decision of the contract that it comes from; empty where it is computed.
    pub(super) decision: &'static str,
    /// The decision that says how far it may be off; empty where there is none.
    pub(super) tolerance: &'static str,
}

/// The measures. The decisions are those that `engine/contract.rules` reads.
pub(super) const MEASURES: [Measure; 12] = [
    measure(
        "length",
        |club| &club.length,
        "club_length",
        "length_tolerance",
    ),
    measure("loft", |club| &club.delivered_loft, "", "loft_tolerance"),
    measure("lie", |club| &club.lie, "club_lie", "lie_tolerance"),
    measure("bend", |club| &club.bend, "club_bend", ""),
    measure("grip_wraps", |club| &club.grip_wraps, "grip_wraps", ""),
    measure(
        "swingweight",
        |club| &club.target_swingweight,
        "target_swingweight",
        "swingweight_tolerance",
    ),
    measure(
        "moment_of_inertia",
        |club| &club.target_moment_of_inertia,
        "target_moment",
        "moment_tolerance",
    ),
    measure(
        "shaft_length",
        |club| &club.shaft_length,
        "",
        "length_tolerance",
    ),
    measure("tip_cut", |club| &club.tip_cut, "tip_trim", ""),
    measure("butt_cut", |club| &club.butt_cut, "", "length_tolerance"),
    measure("tip_weight", |club| &club.tip_weight, "", ""),
    measure("lead", |club| &club.lead, "", ""),
];

const fn measure(
    name: &'static str,
    recommended: fn(&pb::ClubBuild) -> &Option<pb::SettledValue>,
    decision: &'static str,
    tolerance: &'static str,
) -> Measure {
    Measure {
        name,
        recommended,
        decision,
        tolerance,
    }
}

impl Measure {
    /// What is recommended for a club.
    pub(super) fn of<'a>(&self, club: &'a pb::ClubBuild) -> Recommended<'a> {
        Recommended::of_value((self.recommended)(club).as_ref())
    }
}

/// What a recommendation says of one thing.
#[derive(Clone, Copy, Debug)]
pub(super) enum Recommended<'a> {
    /// A value.
    Value(&'a pb::Value),
    /// It does not apply.
    Nothing,
    /// It was not settled: whatever is built overrides nothing.
    Open,
}

impl<'a> Recommended<'a> {
    /// Of a settled value.
    pub(super) fn of_value(settled: Option<&'a pb::SettledValue>) -> Self {
        use pb::settled_value::State;
        match settled.and_then(|settled| settled.state.as_ref()) {
            Some(State::Value(value)) => Recommended::Value(value),
            Some(State::DoesNotApply(_)) | None => Recommended::Nothing,
            Some(State::NotSettled(_)) => Recommended::Open,
        }
    }
}

/// The part that is recommended for a club.
pub(super) fn part_of<'a>(club: &'a pb::ClubBuild, kind: &str) -> Option<&'a pb::PartBuild> {
    match settled_part(club, kind)?.state.as_ref()? {
        pb::settled_part::State::Part(part) => Some(part),
        _ => None,
    }
}

/// Whether the part was left open.
pub(super) fn is_open(club: &pb::ClubBuild, kind: &str) -> bool {
    let state = settled_part(club, kind).and_then(|part| part.state.as_ref());
    matches!(state, Some(pb::settled_part::State::NotSettled(_)))
}

fn settled_part<'a>(club: &'a pb::ClubBuild, kind: &str) -> Option<&'a pb::SettledPart> {
    match kind {
        "head" => club.head.as_ref(),
        "shaft" => club.shaft.as_ref(),
        _ => club.grip.as_ref(),
    }
}

/// The position of the sleeve that a part is to be set to.
pub(super) fn setting_of(part: &pb::PartBuild) -> Option<&str> {
    let mut setting = part.setting.iter();
    let position = setting.find(|of| of.name == "position");
    position.or(part.setting.first()).map(|of| of.text.as_str())
}

/// What a name such as `head_piece` says of a part.
pub(super) fn of_part(name: &str) -> Option<(&'static str, OfPart)> {
    PARTS.into_iter().find_map(|kind| {
        Some(match name.strip_prefix(kind)? {
            "" => (kind, OfPart::Code),
            "_piece" => (kind, OfPart::Piece),
            "_setting" if kind == "head" => (kind, OfPart::Setting),
            _ => return None,
        })
    })
}

/// Every name that a field of the club may have.
pub(super) fn names(club: &pb::ClubBuild) -> Vec<String> {
    let parts = PARTS.iter().flat_map(|kind| {
        let setting = (*kind == "head").then(|| format!("{kind}_setting"));
        [(*kind).to_owned(), format!("{kind}_piece")]
            .into_iter()
            .chain(setting)
    });
    let measures = MEASURES.iter().map(|measure| measure.name.to_owned());
    let named = club.named_decisions.iter().map(|named| named.name.clone());
    parts.chain(measures).chain(named).collect()
}
