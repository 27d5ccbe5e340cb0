//! The steps in carry from club to club, and how the set was made up.

use loftwright_proto::v1 as pb;

use super::cells::{NOT_APPLICABLE, settled_text, without_unit};
use super::text::Writer;

/// The table of the carries and what the set was judged by; nothing where no set was made up.
pub(super) fn steps(writer: &mut Writer, clubs: &[pb::ClubBuild], plan: Option<&pb::Plan>) {
    let Some(plan) = plan else {
        return;
    };
    writer.section("Steps");
    let with_carry = clubs.iter().filter(|club| club.kind != "putter");
    let rows: Vec<Vec<String>> = with_carry
        .map(|club| {
            vec![
                club.name.clone(),
                cell(club.loft.as_ref(), "deg"),
                cell(club.carry.as_ref(), "yd"),
                cell(club.gap.as_ref(), "yd"),
            ]
        })
        .collect();
    writer.table(&["club", "loft", "carry", "step"], &rows);
    writer.paragraph("  ", &judged(plan));
    for note in &plan.notes {
        writer.indented("  ", 4, &format!("{note}."));
    }
}

/// What is not known has no cell here: the notes of the plan say why.
fn cell(settled: Option<&pb::SettledValue>, unit: &str) -> String {
    settled_text(settled).map_or(NOT_APPLICABLE.to_owned(), |text| without_unit(text, unit))
}

fn judged(plan: &pb::Plan) -> String {
    let text = |value: &Option<pb::Value>| {
        let value = value.as_ref();
        value.map(|value| value.text.clone()).unwrap_or_default()
    };
    let between = match plan.largest_gap_between.as_slice() {
        [longer, shorter] => format!(", from {longer} to {shorter}"),
        _ => String::new(),
    };
    let wanted = if plan.is_within_widest {
        "no step is wider than wanted"
    } else {
        "some are wider than wanted"
    };
    format!(
        "Carry and steps in yards. {} clubs, chosen from {}: the largest step is {}{between}, {wanted}; \
         the steps differ from their mean by {}; reluctance {}.",
        plan.clubs,
        plan.contenders,
        text(&plan.largest_gap),
        plan.unevenness,
        plan.reluctance
    )
}
