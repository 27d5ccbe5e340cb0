//! What is looked up by name once for a program, so that an evaluation never compares texts.

use std::collections::BTreeMap;

use loftwright_dsl::check::children;
use loftwright_dsl::program::{
    Body, Choose, ChooseId, Decision, Expression, ExpressionKind, GroupId, Members, ModelId,
    PartId, Program, Record, RungKind,
};

use crate::contract::{Maker, MissingName};
use crate::model::catalogue;
use crate::parts::{CataloguePart, ON_HAND, OnHand};

/// The field of a club that says whether the player keeps it.
const IS_KEPT: &str = "is_kept";
/// The group of the whole bag.
const CLUB: &str = "club";

/// The clubs of a full bag.
const FULL_BAG_CLUBS: usize = 14;

/// A program made ready to be evaluated many times.
#[derive(Clone, Debug)]
pub struct Evaluator<'p> {
    pub(super) program: &'p Program,
    /// The engine's model behind each model of the program.
    models: Vec<Option<catalogue::ModelId>>,
    /// Whether it follows a ball.
    flies: Vec<bool>,
    /// The maker of each group that has one.
    makers: BTreeMap<GroupId, Result<Maker, MissingName>>,
    /// The field `on_hand` of each part.
    on_hand: Vec<Option<usize>>,
    /// A part and a setting of which nothing is known.
    unknown: (CataloguePart, Record),
    /// Whether the needs of a choice ask a model themselves.
    needs_ask_models: Vec<bool>,
    /// About how many outcomes an evaluation has.
    outcomes: usize,
    /// The field `is_kept` that the decisions for each club of a group go by.
    kept: BTreeMap<GroupId, (GroupId, usize)>,
}

impl<'p> Evaluator<'p> {
    /// Looks up what an evaluation needs. A maker whose names the program does not have makes its
    /// group *infeasible*; the checker excludes it.
    pub fn new(program: &'p Program) -> Self {
        let model =
            |model: &loftwright_dsl::program::Model| catalogue::ModelId::from_name(&model.name);
        let makers = program
            .groups
            .entries()
            .filter_map(|(id, group)| match &group.members {
                Members::MadeBy { maker, from } => {
                    Some((id, Maker::named(maker, program, id, from)))
                }
                _ => None,
            });
        Evaluator {
            program,
            models: program.models.iter().map(model).collect(),
            flies: program
                .models
                .iter()
                .map(|declared| model(declared).is_some_and(catalogue::ModelId::flies))
                .collect(),
            makers: makers.collect(),
            on_hand: program
                .parts
                .iter()
                .map(|part| part.field_index(ON_HAND))
                .collect(),
            unknown: (
                CataloguePart {
                    id: String::new(),
                    fields: Record::new(),
                    lead_time_days: None,
                    on_hand: OnHand::Counted(0),
                },
                Record::new(),
            ),
            needs_ask_models: program.chooses.iter().map(needs_ask_models).collect(),
            outcomes: outcomes(program),
            kept: kept_fields(program),
        }
    }

    /// The program.
    pub fn program(&self) -> &'p Program {
        self.program
    }

    pub(super) fn model(&self, model: ModelId) -> Option<catalogue::ModelId> {
        self.models.get(model.index()).copied().flatten()
    }

    /// Whether a model follows a ball.
    pub(super) fn flies(&self, model: ModelId) -> bool {
        self.flies.get(model.index()) == Some(&true)
    }

    /// Whether the needs of a choice ask a model themselves, so that whoever works them out is to
    /// record it.
    pub(super) fn needs_ask_models(&self, choose: ChooseId) -> bool {
        self.needs_ask_models.get(choose.index()) != Some(&false)
    }

    /// About how many outcomes an evaluation has.
    pub(super) fn outcomes(&self) -> usize {
        self.outcomes
    }

    pub(super) fn maker(&self, group: GroupId) -> Option<&Result<Maker, MissingName>> {
        self.makers.get(&group)
    }

    pub(super) fn on_hand(&self, part: PartId) -> Option<usize> {
        self.on_hand.get(part.index()).copied().flatten()
    }

    pub(super) fn unknown(&self) -> (&CataloguePart, &Record) {
        (&self.unknown.0, &self.unknown.1)
    }

    pub(super) fn kept_field(&self, decision: &Decision) -> Option<(GroupId, usize)> {
        let group = decision.for_each.as_ref()?.group;
        self.kept.get(&group).copied()
    }
}

fn needs_ask_models(choose: &Choose) -> bool {
    let rungs = choose.rungs.iter();
    let of_rungs = rungs.filter_map(|rung| match &rung.kind {
        RungKind::Needs { needs, .. } => Some(needs.as_ref()),
        RungKind::Orders | RungKind::LeavesOpen => None,
    });
    let mut lines = choose.needs.iter().chain(of_rungs);
    lines.any(|line| has_model(&line.condition) || line.when.as_ref().is_some_and(has_model))
}

fn has_model(expression: &Expression) -> bool {
    matches!(expression.kind, ExpressionKind::Model(..))
        || children(expression).into_iter().any(has_model)
}

/// One for every node; for each club of a full bag, where the node is for each of a group.
fn outcomes(program: &Program) -> usize {
    let nodes = program.order.iter();
    let of_groups = nodes.filter(|node| program.group_of(**node).is_some());
    let each = of_groups.count().saturating_mul(FULL_BAG_CLUBS);
    each.saturating_add(program.order.len())
}

/// For each group with a progression that has a `kept` clause: the field `is_kept` of the group
/// itself, of a wider one, or of the bag.
fn kept_fields(program: &Program) -> BTreeMap<GroupId, (GroupId, usize)> {
    let mut fields = BTreeMap::new();
    for decision in program.decisions.iter() {
        let (Body::Progression(progression), Some(each)) = (&decision.body, &decision.for_each)
        else {
            continue;
        };
        if progression.kept.is_some()
            && let Some(field) = own_field(program, each.group).or_else(|| bag_field(program))
        {
            fields.insert(each.group, field);
        }
    }
    fields
}

fn own_field(program: &Program, group: GroupId) -> Option<(GroupId, usize)> {
    let declared = &program.groups[group];
    match (declared.field_index(IS_KEPT), &declared.members) {
        (Some(field), _) => Some((group, field)),
        (None, Members::Where { of, .. }) => own_field(program, *of),
        (None, _) => None,
    }
}

fn bag_field(program: &Program) -> Option<(GroupId, usize)> {
    let (id, group) = program
        .groups
        .entries()
        .find(|(_, group)| group.name == CLUB)?;
    Some((id, group.field_index(IS_KEPT)?))
}
