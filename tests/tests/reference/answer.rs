//! Outcomes in the words of the reference: `regular`, `needs attack_angle`, `chosen h1 / p2`.

use std::collections::BTreeSet;

use loftwright_dsl::program::{ChooseId, Node, Value};
use loftwright_engine::outcome::{Cause, ChosenPart, Outcome, Place};
use loftwright_engine::parts::OnHand;

use crate::bench::Fitted;

impl Fitted<'_> {
    /// The outcomes of a name, one for each club, joined by commas; `None` where nothing has the
    /// name.
    pub(crate) fn answer(&self, name: &str) -> Option<String> {
        let node = *self
            .program
            .order
            .iter()
            .find(|node| self.name_of(**node) == name)?;
        if let Node::Group(group) = node
            && let Some(members) = self.evaluation.members(group)
        {
            return Some(format!("{} clubs", members.len()));
        }
        let outcomes = self.evaluation.outcomes(node).into_iter();
        let texts: Vec<String> = outcomes
            .map(|(_, outcome)| self.outcome(node, outcome))
            .collect();
        Some(texts.join(", "))
    }

    fn name_of(&self, node: Node) -> &str {
        self.program.name_of(node)
    }

    fn outcome(&self, node: Node, outcome: &Outcome) -> String {
        let is_condition = matches!(node, Node::Limit(_) | Node::Caution(_));
        match outcome {
            Outcome::Decided(value) => self.value(node, value),
            Outcome::Needs(_) | Outcome::Blocked(_) if is_condition => "not known".to_owned(),
            Outcome::Needs(causes) => format!("needs {}", self.causes(causes)),
            Outcome::Blocked(undecided) => {
                let blockers = undecided.blocked_by.iter();
                let names: BTreeSet<&str> =
                    blockers.map(|place| self.name_of(place.node)).collect();
                let names: Vec<&str> = names.into_iter().collect();
                let causes = self.causes(&undecided.causes);
                format!("blocked by {}: {causes}", names.join(" and "))
            }
            Outcome::DoesNotApply => "does not apply".to_owned(),
            Outcome::Contradicted { .. } => "contradicted".to_owned(),
            Outcome::OutsideRange(_) => "outside range".to_owned(),
            Outcome::Infeasible(reason) => format!("infeasible: {}", reason.0),
            Outcome::Faulted(fault) => format!("faulted: {fault}"),
            Outcome::Chosen(chosen) => format!("chosen {}", self.chosen(node, chosen)),
            Outcome::Ordered(chosen) => format!("ordered {}", self.chosen(node, chosen)),
            Outcome::LeftOpen => "left open".to_owned(),
            Outcome::NoneOnHand => "none on hand".to_owned(),
        }
    }

    fn value(&self, node: Node, value: &Value) -> String {
        let program = self.program;
        let (value_type, shown) = match node {
            Node::Input(id) => (program.inputs[id].value_type, &program.inputs[id].shown),
            Node::Let(id) => (program.lets[id].value_type, &program.lets[id].shown),
            Node::Decision(id) => {
                let decision = &program.decisions[id];
                (decision.value_type, &decision.shown)
            }
            Node::Limit(_) if *value == Value::Flag(true) => return "holds".to_owned(),
            Node::Limit(_) => return "broken".to_owned(),
            Node::Caution(_) if *value == Value::Flag(true) => return "raised".to_owned(),
            Node::Caution(_) => return "not raised".to_owned(),
            Node::Group(_) | Node::Choose(_) => return format!("{value:?}"),
        };
        shown.text(program, value_type, value)
    }

    /// `h1`, `h1 / p2` with its piece, `h1 / p2 in setting 2`, `h1, second rung`.
    fn chosen(&self, node: Node, chosen: &ChosenPart) -> String {
        let Node::Choose(id) = node else {
            panic!("{node:?} chose")
        };
        let id: ChooseId = id;
        let part = &self.parts.of(self.program.chooses[id].part)[chosen.part];
        let mut text = part.id.clone();
        if let (Some(piece), OnHand::Pieces(pieces)) = (chosen.piece, &part.on_hand) {
            text += &format!(" / {}", pieces[piece].id);
        }
        if let Some(setting) = chosen.setting {
            text += &format!(" in setting {}", setting + 1);
        }
        if let Some(rung) = chosen.rung {
            text += &format!(" by rung {}", rung + 1);
        }
        text
    }

    fn place(&self, place: Place) -> &str {
        self.name_of(place.node)
    }

    fn causes(&self, causes: &BTreeSet<Cause>) -> String {
        let program = self.program;
        let text = |cause: &Cause| match cause {
            Cause::Reading(input) => program.inputs[*input].name.clone(),
            Cause::ClubField { group, field, .. } => {
                let group = &program.groups[*group];
                format!("{}.{}", group.name, group.fields[*field].name)
            }
            Cause::PartField { part, field } => {
                let part = &program.parts[*part];
                format!("{}.{}", part.name, part.fields[*field].name)
            }
            Cause::Ended(place) => format!("the end of {}", self.place(*place)),
        };
        let texts: BTreeSet<String> = causes.iter().map(text).collect();
        texts.into_iter().collect::<Vec<_>>().join(" and ")
    }
}
