//! A record, looked up by decision and club.

use loftwright_engine::intake::nearest;
use loftwright_proto::v1 as pb;

use super::Unanswerable;

/// What a record holds.
#[derive(Clone, Debug)]
pub(crate) struct Facts<'a> {
    /// Its name.
    pub(crate) reference: pb::RecordReference,
    /// When it was made.
    pub(crate) instant: Option<prost_types::Timestamp>,
    /// What was asked.
    pub(crate) request: &'a pb::RecommendRequest,
    /// What was answered.
    pub(crate) recommendation: &'a pb::Recommendation,
}

impl<'a> Facts<'a> {
    /// The report of a decision for a club: for the bag, where it is not decided for each.
    pub(super) fn report(&self, name: &str, club: Option<&str>) -> Option<&'a pb::DecisionReport> {
        let mut reports = self.recommendation.decisions.iter();
        reports.find(|report| report.name == name && report.club.as_deref() == club)
    }

    /// The reports that a question means, one at least: of one club where it names one, else of
    /// all. Both fields are those of the question.
    pub(super) fn asked(
        &self,
        name_field: &'static str,
        name: &str,
        club_field: &'static str,
        club: &str,
    ) -> Result<Vec<&'a pb::DecisionReport>, Unanswerable> {
        let decisions = &self.recommendation.decisions;
        let of_name: Vec<_> = decisions.iter().filter(|one| one.name == name).collect();
        if of_name.is_empty() {
            let known = decisions.iter().map(|report| report.name.as_str());
            let help = match nearest(name, known) {
                Some(near) => format!("; did you mean `{near}`?"),
                None => "; without a question all its decisions are listed".to_owned(),
            };
            return Err(Unanswerable {
                field: name_field,
                sentence: format!("the record has no decision or choice `{name}`{help}"),
            });
        }
        if club.is_empty() {
            return Ok(of_name);
        }
        let of_club: Vec<_> = of_name
            .iter()
            .copied()
            .filter(|report| report.club.as_deref() == Some(club))
            .collect();
        if of_club.is_empty() {
            let clubs: Vec<String> = of_name
                .iter()
                .filter_map(|report| report.club.as_ref())
                .map(|club| format!("`{club}`"))
                .collect();
            let sentence = match clubs.as_slice() {
                [] => format!("`{name}` is decided once for the bag, and `{club}` was sent"),
                clubs => format!(
                    "`{name}` is not decided for `{club}`, but for {}",
                    clubs.join(", ")
                ),
            };
            return Err(Unanswerable {
                field: club_field,
                sentence,
            });
        }
        Ok(of_club)
    }

    /// A reading as it was sent: ``-6.5 deg, spread 1 deg, mean of 7 shots``.
    pub(super) fn reading(&self, name: &str) -> Option<String> {
        let reading = self.request.readings.get(name)?;
        let mut text = reading.value.clone();
        if let Some(spread) = &reading.spread {
            text.push_str(&format!(", spread {spread}"));
        }
        if let Some(shots) = reading.shots.filter(|shots| *shots != 1) {
            text.push_str(&format!(", mean of {shots} shots"));
        }
        Some(text)
    }
}

/// What a decision came to: its value, or how it ended.
pub(crate) fn came_to(report: &pb::DecisionReport) -> String {
    match (&report.value, report.ending()) {
        (Some(value), pb::Ending::Ordered) => format!("{} (ordered)", value.text),
        (Some(value), _) => value.text.clone(),
        (None, pb::Ending::DoesNotApply) => "does not apply".to_owned(),
        (None, pb::Ending::LeftOpen) => "left open".to_owned(),
        (None, pb::Ending::NoneOnHand) => "none on hand".to_owned(),
        (None, pb::Ending::Contradicted) => "contradicted by the readings".to_owned(),
        (None, pb::Ending::OutsideRange) => "outside range".to_owned(),
        (None, pb::Ending::Infeasible) => "cannot be made".to_owned(),
        (None, pb::Ending::Faulted) => "met a fault".to_owned(),
        (None, _) => "open".to_owned(),
    }
}
