//! The declarations that the answer's fixed fields are read from, found by the contract's names.

use std::collections::BTreeSet;

use loftwright_dsl::program::{ChooseId, DecisionId, Program};

/// Every name that the contract reads and that therefore has a place of its own in a build.
const READ_NAMES: &[&str] = &[
    "driver_target_loft",
    "candidate_carry",
    "allowed",
    "required",
    "reluctance",
    "widest_gap",
    "narrowest_gap",
    "most_in_bag",
    "fairway_loft",
    "hybrid_loft",
    "iron_loft",
    "wedge_loft",
    "club_number",
    "club_length",
    "club_lie",
    "club_bend",
    "target_swingweight",
    "grip_wraps",
    "tip_trim",
    "target_moment",
    "most_tip_weight",
    "length_tolerance",
    "loft_tolerance",
    "lie_tolerance",
    "swingweight_tolerance",
    "moment_tolerance",
    "driver_head",
    "fairway_head",
    "hybrid_head",
    "iron_head",
    "wedge_head",
    "putter_head",
    "wood_shaft",
    "iron_shaft",
    "wedge_shaft",
    "putter_shaft",
    "club_grip",
];

/// What the answer reads, by id; `None` where the rules have no such declaration.
#[derive(Clone, Debug, Default)]
pub(crate) struct Reads {
    /// The number of each club.
    pub(crate) club_number: Option<DecisionId>,
    /// The length of each club.
    pub(crate) club_length: Option<DecisionId>,
    /// The lie of each club.
    pub(crate) club_lie: Option<DecisionId>,
    /// The bend of each club.
    pub(crate) club_bend: Option<DecisionId>,
    /// The swingweight that is wanted.
    pub(crate) target_swingweight: Option<DecisionId>,
    /// The moment that is wanted.
    pub(crate) target_moment: Option<DecisionId>,
    /// The wraps of tape.
    pub(crate) grip_wraps: Option<DecisionId>,
    /// How far a club may be from its length, loft, lie, swingweight, moment.
    pub(crate) tolerances: [Option<DecisionId>; 5],
    /// The grip.
    pub(crate) club_grip: Option<ChooseId>,
    heads: Vec<(&'static str, ChooseId)>,
    shafts: Vec<(&'static str, ChooseId)>,
    decisions: BTreeSet<DecisionId>,
    chooses: BTreeSet<ChooseId>,
}

impl Reads {
    /// Finds them in the program.
    pub(crate) fn of(program: &Program) -> Self {
        let decision = |name: &str| {
            let mut entries = program.decisions.entries();
            entries
                .find(|(_, decision)| decision.name == name)
                .map(|(id, _)| id)
        };
        let choose = |name: &str| {
            let mut entries = program.chooses.entries();
            entries
                .find(|(_, choose)| choose.name == name)
                .map(|(id, _)| id)
        };
        let heads = [
            ("driver", "driver_head"),
            ("fairway", "fairway_head"),
            ("hybrid", "hybrid_head"),
            ("iron", "iron_head"),
            ("wedge", "wedge_head"),
            ("putter", "putter_head"),
        ];
        let shafts = [
            ("driver", "wood_shaft"),
            ("fairway", "wood_shaft"),
            ("hybrid", "wood_shaft"),
            ("iron", "iron_shaft"),
            ("wedge", "wedge_shaft"),
            ("putter", "putter_shaft"),
        ];
        let found = |(kind, name): (&'static str, &str)| Some((kind, choose(name)?));
        Reads {
            club_number: decision("club_number"),
            club_length: decision("club_length"),
            club_lie: decision("club_lie"),
            club_bend: decision("club_bend"),
            target_swingweight: decision("target_swingweight"),
            target_moment: decision("target_moment"),
            grip_wraps: decision("grip_wraps"),
            tolerances: [
                "length_tolerance",
                "loft_tolerance",
                "lie_tolerance",
                "swingweight_tolerance",
                "moment_tolerance",
            ]
            .map(decision),
            club_grip: choose("club_grip"),
            heads: heads.into_iter().filter_map(found).collect(),
            shafts: shafts.into_iter().filter_map(found).collect(),
            decisions: READ_NAMES
                .iter()
                .filter_map(|name| decision(name))
                .collect(),
            chooses: READ_NAMES.iter().filter_map(|name| choose(name)).collect(),
        }
    }

    /// The choice of the head of a kind of club.
    pub(crate) fn head_of(&self, kind: &str) -> Option<ChooseId> {
        self.heads
            .iter()
            .find(|(known, _)| *known == kind)
            .map(|(_, id)| *id)
    }

    /// The choice of the shaft of a kind of club.
    pub(crate) fn shaft_of(&self, kind: &str) -> Option<ChooseId> {
        self.shafts
            .iter()
            .find(|(known, _)| *known == kind)
            .map(|(_, id)| *id)
    }

    /// Whether the contract reads the decision.
    pub(crate) fn reads_decision(&self, id: DecisionId) -> bool {
        self.decisions.contains(&id)
    }

    /// Whether the contract reads the choice.
    pub(crate) fn reads_choose(&self, id: ChooseId) -> bool {
        self.chooses.contains(&id)
    }
}
