//! Where an expression stands: the club at hand, its neighbours, the candidate at hand.

use std::rc::Rc;

use super::candidate::Candidate;

/// What names may mean here.
#[derive(Clone, Default)]
pub struct Scope<'c> {
    /// The group and the place of the club at hand.
    pub(super) club: Option<(String, usize)>,
    /// The clubs of the declaration at hand in its order, and where the club stands in it.
    pub(super) line: Option<(Rc<Vec<usize>>, usize)>,
    /// The declaration at hand, for a bare `previous`.
    pub(super) owner: Option<String>,
    /// The candidate at hand.
    pub(super) candidate: Option<&'c Candidate<'c>>,
    /// Whether a bare name may be a field of the candidate: the subject's side of a line.
    pub(super) on_candidates_side: bool,
    /// The choice or scale that is expected here, for names of values.
    pub(super) expected: Option<String>,
}

impl<'c> Scope<'c> {
    /// The same place, with values of this vocabulary expected.
    pub(super) fn expecting(&self, vocabulary: Option<String>) -> Self {
        Scope {
            expected: vocabulary,
            ..self.clone()
        }
    }

    /// The same place, on the candidate's side.
    pub(super) fn as_subject(&self) -> Self {
        Scope {
            on_candidates_side: self.candidate.is_some(),
            expected: None,
            ..self.clone()
        }
    }

    /// The same place, on the ruleset's side.
    pub(super) fn as_ruleset(&self) -> Self {
        Scope {
            on_candidates_side: false,
            ..self.clone()
        }
    }
}
