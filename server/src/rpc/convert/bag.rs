//! Clubs and the parts that go into them.

use loftwright_engine::recommendation::{ClubBuild, PartBuild, PlanReport, Settled};
use loftwright_proto::v1 as pb;

use super::value::{named_settled, not_settled, settled, value};

pub(super) fn club(club: &ClubBuild) -> pb::ClubBuild {
    pb::ClubBuild {
        name: club.name.clone(),
        kind: club.kind.clone(),
        number: club.number,
        is_kept: club.is_kept,
        loft: Some(settled(&club.loft)),
        length: Some(settled(&club.length)),
        lie: Some(settled(&club.lie)),
        bend: Some(settled(&club.bend)),
        head: Some(settled_part(&club.head)),
        shaft: Some(settled_part(&club.shaft)),
        grip: Some(settled_part(&club.grip)),
        grip_wraps: Some(settled(&club.grip_wraps)),
        target_swingweight: Some(settled(&club.target_swingweight)),
        swingweight: Some(settled(&club.swingweight)),
        mass: Some(settled(&club.mass)),
        balance: Some(settled(&club.balance)),
        moment_of_inertia: Some(settled(&club.moment)),
        target_moment_of_inertia: Some(settled(&club.target_moment)),
        head_mass_change: Some(settled(&club.head_mass_change)),
        shaft_length: Some(settled(&club.shaft_length)),
        tip_cut: Some(settled(&club.tip_cut)),
        butt_cut: Some(settled(&club.butt_cut)),
        tip_weight: Some(settled(&club.tip_weight)),
        lead: Some(settled(&club.lead)),
        delivered_loft: Some(settled(&club.delivered_loft)),
        named_decisions: named_settled(&club.named),
        carry: Some(settled(&club.carry)),
        gap: Some(settled(&club.gap)),
    }
}

pub(super) fn plan(plan: &PlanReport) -> pb::Plan {
    let count = |clubs: usize| i64::try_from(clubs).unwrap_or(i64::MAX);
    let between = plan.largest_gap_between.clone();
    pb::Plan {
        clubs: count(plan.clubs),
        contenders: count(plan.contenders),
        largest_gap: Some(value(&plan.largest_gap)),
        largest_gap_between: between
            .map(|(longer, shorter)| vec![longer, shorter])
            .unwrap_or_default(),
        is_within_widest: plan.is_within_widest,
        unevenness: plan.unevenness.clone(),
        reluctance: plan.reluctance.clone(),
        notes: plan.notes.clone(),
    }
}

fn settled_part(settled: &Settled<PartBuild>) -> pb::SettledPart {
    use pb::settled_part::State;
    let state = match settled {
        Settled::Value(build) => State::Part(part(build)),
        Settled::None => State::DoesNotApply(pb::DoesNotApply {}),
        Settled::Open(explanation) => State::NotSettled(not_settled(explanation)),
    };
    pb::SettledPart { state: Some(state) }
}

fn part(part: &PartBuild) -> pb::PartBuild {
    pb::PartBuild {
        choice: part.choice.clone(),
        part_id: part.part_id.clone(),
        piece_id: part.piece_id.clone(),
        is_ordered: part.is_ordered,
        lead_time_days: part.lead_time_days,
        says: part.says.clone(),
        setting: part
            .setting
            .iter()
            .map(|(name, text)| pb::NamedText {
                name: name.clone(),
                text: text.clone(),
            })
            .collect(),
        fields: part
            .fields
            .iter()
            .map(|(name, field)| pb::NamedValue {
                name: name.clone(),
                value: Some(value(field)),
            })
            .collect(),
        computed: named_settled(&part.computed),
    }
}
