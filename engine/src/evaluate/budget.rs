//! The step budget: no node of a checked ruleset can run away.
//!
//! Every expression, row and candidate looked at is a step. A node may take, for one club,
//! [`STEPS_AT_LEAST`] steps and [`STEPS_EACH`] more for every club of every group and every
//! candidate that the catalogue and the stock can offer; a choice whose parts agree, as many again
//! for each family. A rule as people write it takes a few dozen.

use loftwright_dsl::program::Value;

use super::algebra::Ended;
use super::state::Evaluation;
use crate::outcome::Fault;
use crate::parts::{CataloguePart, OnHand, Parts};

/// What every node may take.
pub(crate) const STEPS_AT_LEAST: u64 = 100_000;
/// What it may take besides for each club and candidate.
pub(crate) const STEPS_EACH: u64 = 2_000;

/// The steps of one node for one club.
#[derive(Clone, Copy, Debug, Default)]
pub(crate) struct Budget {
    used: u64,
    /// The exact bound, worked out only where it could matter.
    bound: Option<u64>,
}

impl Budget {
    /// Takes one step.
    #[inline]
    pub(crate) fn step(&mut self, evaluation: &Evaluation, parts: &Parts) -> Result<(), Ended> {
        self.used += 1;
        if self.used <= STEPS_AT_LEAST {
            return Ok(());
        }
        self.step_beyond(evaluation, parts)
    }

    #[cold]
    fn step_beyond(&mut self, evaluation: &Evaluation, parts: &Parts) -> Result<(), Ended> {
        let bound = *self.bound.get_or_insert_with(|| bound(evaluation, parts));
        if self.used <= bound {
            Ok(())
        } else {
            Err(Ended::Faulted(Fault::StepBudget))
        }
    }
}

fn bound(evaluation: &Evaluation, parts: &Parts) -> u64 {
    let candidates: usize = parts.all().map(candidates_of).sum();
    let each = u64::try_from(candidates.saturating_add(evaluation.club_count()));
    let more = each.unwrap_or(u64::MAX).saturating_mul(STEPS_EACH);
    STEPS_AT_LEAST.saturating_add(more)
}

/// The part itself and its pieces, each in every setting.
fn candidates_of(part: &CataloguePart) -> usize {
    let pieces = match &part.on_hand {
        OnHand::Counted(_) => 0,
        OnHand::Pieces(pieces) => pieces.len(),
    };
    let settings = part.fields.iter().map(|field| match field {
        Some(Value::List(records)) => records.len(),
        _ => 0,
    });
    (pieces + 1).saturating_mul(settings.max().unwrap_or(0) + 1)
}

#[cfg(test)]
mod tests {
    use loftwright_dsl::check::{LayerSource, check};

    use super::*;

    /// How many steps pass before the budget is used up.
    fn steps(parts: &Parts, evaluation: &Evaluation) -> u64 {
        let mut budget = Budget::default();
        let mut taken = 0;
        loop {
            match budget.step(evaluation, parts) {
                Ok(()) => taken += 1,
                Err(Ended::Faulted(Fault::StepBudget)) => return taken,
                Err(other) => panic!("{other:?}"),
            }
        }
    }

    #[test]
    fn the_last_step_passes_and_one_more_is_refused() {
        let contract = LayerSource {
            name: "contract".to_owned(),
            files: vec![(
                "contract.rules".to_owned(),
                "ruleset contract\n\npart head\n  has on_hand : count\n".to_owned(),
            )],
        };
        let program = check(&[contract], 1).program.expect("a program");
        let evaluation = Evaluation::new(&program);
        assert_eq!(steps(&Parts::default(), &evaluation), STEPS_AT_LEAST);
        let head = CataloguePart {
            id: "one".to_owned(),
            fields: Default::default(),
            lead_time_days: None,
            on_hand: OnHand::Counted(1),
        };
        let kind = program.parts.ids().next().expect("a part");
        let parts = Parts::new(&program, [(kind, vec![head; 3])].into());
        assert_eq!(steps(&parts, &evaluation), STEPS_AT_LEAST + 3 * STEPS_EACH);
    }
}
