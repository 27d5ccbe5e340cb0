//! A candidate of a choice that was not taken, with the first thing that ruled it out.

use loftwright_dsl::program::{Choose, ChooseId, Expression, ExpressionKind, Node, Program, Shown};
use loftwright_dsl::quantity::Rational;

use super::Inquiry;
use crate::evaluate::choose::inquiry::{Asked, CameTo, Tried};
use crate::explain::leaves::{children, leaves, of_chosen};
use crate::explain::part_build::{code_text, setting_texts};
use crate::explain::selection::score_text;
use crate::explain::sentence;
use crate::explain::value::state_text;
use crate::explain::view::{Evaluated, View};
use crate::outcome::{ChosenPart, Outcome, Place, State};
use crate::parts::{CataloguePart, OnHand};
use crate::recommendation::NamedText;
use crate::shelf::Item;
use crate::trace::How;

/// The most candidates of one code that are told of.
const MOST_CANDIDATES: usize = 40;

/// A candidate that was asked for.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct CandidateReport {
    /// The part's code, with the piece's where pieces are measured.
    pub code: String,
    /// The setting in which it got furthest, field by field; empty where it has none.
    pub setting: Vec<(String, String)>,
    /// How it stands.
    pub standing: CandidateStanding,
}

/// How a candidate stands.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum CandidateStanding {
    /// It was taken, or is ordered.
    Taken,
    /// None of it is on hand.
    NotOnHand,
    /// It meets the needs and went elsewhere.
    GoneTo {
        /// The choice that took it.
        choice: String,
        /// The club it went to.
        club: Option<String>,
    },
    /// It fails a line; the first that it fails.
    Fails {
        /// The line as it is written.
        needs: String,
        /// The line's own reason.
        because: Option<String>,
        /// What the line looked at.
        looked_at: Vec<NamedText>,
    },
    /// It is not of the family on which all clubs agree.
    OfAnotherFamily {
        /// The field and the value on which they agree.
        agreed: Vec<NamedText>,
    },
    /// It meets the needs and another was taken.
    Outscored {
        /// What was taken.
        by: String,
        /// By how much; negative where it scores more, and the set as a whole does better without.
        less: String,
        /// Its own sum.
        total: String,
        /// The preferences, in the order written.
        lines: Vec<LineScore>,
    },
    /// No part was looked at.
    NotAsked {
        /// Why.
        why: String,
    },
}

/// A preference with what two candidates score in it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct LineScore {
    /// The line as it is written.
    pub prefers: String,
    /// The most that it gives.
    pub weight: String,
    /// What the candidate scores; `None` where the line was not weighed.
    pub own: Option<String>,
    /// What the one that was taken scores.
    pub taken: Option<String>,
}

/// A report for each candidate of the code.
pub(super) fn reports(
    inquiry: &Inquiry<'_>,
    view: &View<'_>,
    entry: &Evaluated<'_>,
    id: ChooseId,
    code: &str,
) -> Vec<CandidateReport> {
    let choose = &view.program.chooses[id];
    let items = items_of(view, choose, code);
    let question = Question {
        inquiry,
        view,
        entry,
        choose,
        id,
    };
    let items = items.into_iter().take(MOST_CANDIDATES);
    items.map(|item| question.report(item)).collect()
}

/// What has the code: every piece of a part of the code, or the part where it is counted.
fn items_of(view: &View<'_>, choose: &Choose, code: &str) -> Vec<Item> {
    let mut found = Vec::new();
    for (part, record) in view.parts.of(choose.part).iter().enumerate() {
        let whole = Item { part, piece: None };
        match &record.on_hand {
            OnHand::Counted(_) if record.id == code => found.push(whole),
            OnHand::Counted(_) => {}
            OnHand::Pieces(pieces) if pieces.is_empty() => {
                found.extend((record.id == code).then_some(whole));
            }
            OnHand::Pieces(pieces) => {
                let has_code = |piece: usize, id: &str| {
                    let both = code_text(view, choose.part, part, Some(piece));
                    record.id == code || id == code || both == code
                };
                let pieces = pieces.iter().enumerate();
                let pieces = pieces.filter(|(index, piece)| has_code(*index, &piece.id));
                found.extend(pieces.map(|(index, _)| Item {
                    part,
                    piece: Some(index),
                }));
            }
        }
    }
    found
}

/// What a condition names, with how it is shown: the candidate's own values first.
fn named<'e>(
    program: &'e Program,
    id: ChooseId,
    condition: &'e Expression,
) -> Vec<(&'e Expression, String, &'e Shown)> {
    let mut found = Vec::new();
    own_values(program, id, condition, &mut found);
    let leaves = leaves(program, condition).into_iter();
    found.extend(leaves.filter_map(|leaf| Some((leaf.expression, leaf.name, leaf.shown?))));
    found
}

fn own_values<'e>(
    program: &'e Program,
    id: ChooseId,
    expression: &'e Expression,
    found: &mut Vec<(&'e Expression, String, &'e Shown)>,
) {
    if let ExpressionKind::Candidate(value) = expression.kind {
        let named = of_chosen(program, id, value);
        found.extend(named.map(|(name, shown)| (expression, name.to_owned(), shown)));
    }
    children(expression, &mut |child| {
        own_values(program, id, child, found)
    });
}

struct Question<'q, 'a> {
    inquiry: &'q Inquiry<'a>,
    view: &'q View<'q>,
    entry: &'q Evaluated<'q>,
    choose: &'q Choose,
    id: ChooseId,
}

impl Question<'_, '_> {
    fn report(&self, item: Item) -> CandidateReport {
        let record = self.view.parts.of(self.choose.part).get(item.part);
        let (setting, standing) = self.standing(item, record);
        CandidateReport {
            code: code_text(self.view, self.choose.part, item.part, item.piece),
            setting: setting_texts(self.view, self.choose, record, setting),
            standing,
        }
    }

    fn taken(&self) -> Option<(&ChosenPart, bool)> {
        match &self.entry.outcome {
            Outcome::Chosen(chosen) => Some((chosen, false)),
            Outcome::Ordered(chosen) => Some((chosen, true)),
            _ => None,
        }
    }

    /// The setting that got furthest, and the first thing that ruled it out.
    fn standing(
        &self,
        item: Item,
        record: Option<&CataloguePart>,
    ) -> (Option<usize>, CandidateStanding) {
        let taken = self.taken();
        if let Some((chosen, _)) = taken
            && chosen.item() == item
        {
            return (chosen.setting, CandidateStanding::Taken);
        }
        let was_asked = matches!(self.entry.how, How::Selection(_));
        if !was_asked || matches!(self.entry.outcome, Outcome::DoesNotApply) {
            let why = sentence::of_entry(self.view, self.entry);
            let why = why.unwrap_or_else(|| "the choice does not apply".to_owned());
            return (None, CandidateStanding::NotAsked { why });
        }
        let is_ordered = taken.is_some_and(|(_, is_ordered)| is_ordered);
        let is_on_hand = record.is_some_and(|record| record.on_hand.count() > 0);
        if self.choose.takes.is_some() && !is_on_hand && !is_ordered {
            return (None, CandidateStanding::NotOnHand);
        }
        let to_order = is_ordered && !is_on_hand;
        let tried = match self.tried(item, to_order) {
            Ok(tried) => tried,
            Err(outcome) => {
                let ended = Evaluated {
                    place: self.entry.place,
                    outcome: &outcome,
                    how: &How::Plain,
                };
                let why = sentence::of_entry(self.view, &ended).unwrap_or_default();
                return (None, CandidateStanding::NotAsked { why });
            }
        };
        let own = tried.iter().filter(|tried| tried.item == item);
        let furthest = own.max_by_key(|tried| match &tried.came_to {
            CameTo::Fails { line, .. } => (false, *line, Rational::ZERO),
            CameTo::Meets { total, .. } => (true, 0, *total),
        });
        match furthest {
            // A part without the settings that the choice looks at is no candidate.
            None => (None, CandidateStanding::NotOnHand),
            Some(furthest) => (furthest.setting, self.ruled_out(item, furthest, &tried)),
        }
    }

    /// The item and what was taken, tried once more.
    fn tried(&self, item: Item, to_order: bool) -> Result<Vec<Tried<'_>>, Outcome> {
        let mut items = vec![item];
        items.extend(self.taken().map(|(chosen, _)| chosen.item()));
        let asked = Asked {
            place: self.entry.place,
            rung: self.taken().and_then(|(chosen, _)| chosen.rung),
            items: &items,
            to_order,
        };
        let program = self.view.program;
        let named = |condition| {
            let named = named(program, self.id, condition).into_iter();
            named.map(|(expression, ..)| expression).collect()
        };
        let inquiry = self.inquiry;
        inquiry.evaluator.try_again(
            &inquiry.evaluation,
            (inquiry.parts, inquiry.player, inquiry.today),
            &asked,
            &named,
        )
    }

    fn ruled_out(&self, item: Item, tried: &Tried<'_>, all: &[Tried<'_>]) -> CandidateStanding {
        let (scores, total) = match &tried.came_to {
            CameTo::Fails { needs, named, .. } => {
                return CandidateStanding::Fails {
                    needs: needs.text.clone(),
                    because: needs.because.clone(),
                    looked_at: self.looked_at(&needs.condition, named),
                };
            }
            CameTo::Meets { scores, total } => (scores, *total),
        };
        if let Some(agreed) = self.another_family(item) {
            return CandidateStanding::OfAnotherFamily { agreed };
        }
        if let Some((choice, club)) = self.gone_to(item) {
            return CandidateStanding::GoneTo { choice, club };
        }
        let Some((chosen, _)) = self.taken() else {
            let why = sentence::of_entry(self.view, self.entry).unwrap_or_default();
            return CandidateStanding::NotAsked { why };
        };
        let winner = all.iter().find_map(|other| match &other.came_to {
            CameTo::Meets { scores, total }
                if other.item == chosen.item() && other.setting == chosen.setting =>
            {
                Some((scores, *total))
            }
            _ => None,
        });
        let less = winner.and_then(|(_, most)| most.minus(total).ok());
        let lines = self.choose.prefers.iter().enumerate().map(|(index, line)| {
            let of = |scores: &Vec<Option<Rational>>| scores.get(index).copied().flatten();
            LineScore {
                prefers: line.text.clone(),
                weight: line.weight.to_text(),
                own: of(scores).map(score_text),
                taken: winner.and_then(|(scores, _)| of(scores)).map(score_text),
            }
        });
        CandidateStanding::Outscored {
            by: code_text(self.view, self.choose.part, chosen.part, chosen.piece),
            less: less.map_or_else(String::new, score_text),
            total: score_text(total),
            lines: lines.collect(),
        }
    }

    fn looked_at(&self, condition: &Expression, states: &[State]) -> Vec<NamedText> {
        let mut looked_at: Vec<NamedText> = Vec::new();
        let program = self.view.program;
        let named = named(program, self.id, condition);
        for ((expression, name, shown), state) in named.into_iter().zip(states) {
            let reading = NamedText {
                name,
                text: state_text(program, expression.value_type, shown, state),
            };
            if !looked_at.contains(&reading) {
                looked_at.push(reading);
            }
        }
        looked_at
    }

    /// Who else took the item, or the last of it.
    fn gone_to(&self, item: Item) -> Option<(String, Option<String>)> {
        self.choose.takes?;
        let is_of_the_same_part = |place: Place| match place.node {
            Node::Choose(id) => self.view.program.chooses[id].part == self.choose.part,
            _ => false,
        };
        let took = |entry: &&Evaluated<'_>| {
            entry.place != self.entry.place
                && is_of_the_same_part(entry.place)
                && matches!(&entry.outcome, Outcome::Chosen(chosen) if chosen.item() == item)
        };
        let takers: Vec<&Evaluated<'_>> = self.view.evaluated().iter().filter(took).collect();
        let record = self.view.parts.of(self.choose.part).get(item.part)?;
        let there = match record.on_hand {
            OnHand::Counted(count) => usize::try_from(count).unwrap_or(0),
            OnHand::Pieces(_) => 1,
        };
        let last = takers.last().filter(|_| takers.len() >= there)?;
        let name = self.view.name_of(last.place.node).to_owned();
        Some((name, self.view.club_of(last.place)))
    }

    /// The family on which the clubs agree, where the item is not of it.
    fn another_family(&self, item: Item) -> Option<Vec<NamedText>> {
        let How::Selection(selection) = &self.entry.how else {
            return None;
        };
        let family = selection.families.first()?;
        let record = self.view.parts.of(self.choose.part).get(item.part)?;
        let part = &self.view.program.parts[self.choose.part];
        let piece = match (&record.on_hand, item.piece) {
            (OnHand::Pieces(pieces), Some(piece)) => pieces.get(piece),
            _ => None,
        };
        let mut agreed = Vec::new();
        let mut is_other = false;
        for (index, wanted) in family.fields.iter().zip(family.values.iter()) {
            let of_piece = piece.and_then(|piece| piece.fields.get(*index)?.as_ref());
            let own = of_piece.or_else(|| record.fields.get(*index)?.as_ref());
            is_other |= own != Some(wanted);
            let field = part.fields.get(*index)?;
            agreed.push(NamedText {
                name: field.name.clone(),
                text: field
                    .shown
                    .text(self.view.program, field.value_type, wanted),
            });
        }
        is_other.then_some(agreed)
    }
}
