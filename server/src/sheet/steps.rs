//! The steps in carry from club to club, and how the set was made up.

use loftwright_proto::v1 as pb;

use super::cells::{Notes, value_cell};
use super::text::Writer;

/// The table of the carries and what the set was judged by; nothing where no set was made up.
pub(super) fn steps(writer: &mut Writer, clubs: &[pb::ClubBuild], plan: Option<&pb::Plan>) {
    let Some(plan) = plan else {
        return;
    };
    writer.section("Steps");
    let mut notes = Notes::default();
    let with_carry = clubs.iter().filter(|club| club.kind != "putter");
    let rows: Vec<Vec<String>> = with_carry
        .map(|club| {
            vec![
                club.name.clone(),
                value_cell(&mut notes, club.loft.as_ref(), "deg"),
                value_cell(&mut notes, club.carry.as_ref(), "yd"),
                value_cell(&mut notes, club.gap.as_ref(), "yd"),
            ]
        })
        .collect();
    writer.table(&["club", "loft", "carry", "step"], &rows);
    notes.write(writer);
    writer.paragraph("  ", &judged(plan));
    for note in &plan.notes {
        writer.indented("  ", 4, &format!("{note}."));
    }
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
        "at most"
    } else {
        "wider than the wanted"
    };
    format!(
        "Carry and steps in yards. {} clubs, chosen from {}: the largest step is {}{between}, {wanted} \
         {}; the steps differ from their mean by {}; reluctance {}.",
        plan.clubs,
        plan.contenders,
        text(&plan.largest_gap),
        text(&plan.widest_gap),
        plan.unevenness,
        plan.reluctance
    )
}
