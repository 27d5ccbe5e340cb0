//! What is at hand where an expression stands: a club, a candidate, the value before.

use crate::program::{ChooseId, GroupId, PartId, Shown, Type};

/// What an expression may speak of besides declarations.
#[derive(Clone, Debug, Default)]
pub(super) struct Scope {
    /// The group whose member is the club at hand.
    pub(super) group: Option<GroupId>,
    /// The candidate at hand.
    pub(super) candidate: Option<CandidateScope>,
    /// The type of `previous`, where there is one.
    pub(super) previous: Option<Type>,
}

/// The candidate part at hand.
#[derive(Clone, Debug)]
pub(super) struct CandidateScope {
    /// Its kind.
    pub(super) part: PartId,
    /// The choice it is a candidate of.
    pub(super) choose: Option<ChooseId>,
    /// The part of the setting at hand.
    pub(super) setting: Option<PartId>,
    /// The lets so far.
    pub(super) lets: Vec<(String, Type, Shown)>,
    /// Whether a plain name means the candidate's field: on the subject's side of a line.
    pub(super) is_subject: bool,
}

impl Scope {
    /// Nothing at hand.
    pub(super) fn bag() -> Self {
        Scope::default()
    }

    /// A member of a group at hand, or nothing.
    pub(super) fn of_group(group: Option<GroupId>) -> Self {
        Scope {
            group,
            ..Scope::default()
        }
    }

    /// The same on the subject's side of a line, or on the ruleset's.
    pub(super) fn on_subject_side(&self, is_subject: bool) -> Self {
        let mut scope = self.clone();
        if let Some(candidate) = &mut scope.candidate {
            candidate.is_subject = is_subject;
        }
        scope
    }
}
