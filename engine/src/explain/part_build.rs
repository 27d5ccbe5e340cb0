//! The part that goes into a club: its codes, its fields, its sleeve setting.

use loftwright_dsl::program::{
    Choose, ChooseId, Field, Node, Part, PartId, Record, Shown, Type, Value,
};

use loftwright_dsl::quantity::Rational;

use super::sentence;
use super::value::{shown_value, text_value};
use super::view::View;
use crate::outcome::{ChosenPart, Outcome, Place, State};
use crate::parts::{CataloguePart, OnHand, Piece};
use crate::recommendation::{PartBuild, Settled, ShownValue};

/// The part that a choice came to for a club, or why it is open.
pub(crate) fn settled_part(view: &View<'_>, choose: ChooseId, place: Place) -> Settled<PartBuild> {
    let Some(entry) = view.at(place) else {
        return Settled::None;
    };
    let is_ordered = match &entry.outcome {
        Outcome::Chosen(_) => false,
        Outcome::Ordered(_) => true,
        Outcome::DoesNotApply => return Settled::None,
        _ => return Settled::Open(sentence::of_entry(view, entry).unwrap_or_default()),
    };
    let (Outcome::Chosen(chosen) | Outcome::Ordered(chosen)) = &entry.outcome else {
        return Settled::None;
    };
    Settled::Value(part_build(view, choose, chosen, is_ordered))
}

/// The codes of a part and piece as they stand on the drawer: `H-WDG-56-S / W0113`.
pub(crate) fn code_text(
    view: &View<'_>,
    kind: PartId,
    part: usize,
    piece: Option<usize>,
) -> String {
    let Some(record) = view.parts.of(kind).get(part) else {
        return "a part that is not there".to_owned();
    };
    match piece_of(record, piece) {
        Some(piece) => format!("{} / {}", record.id, piece.id),
        None => record.id.clone(),
    }
}

/// The chosen part as a value: its codes for people, the part's code alone as the exact text.
pub(crate) fn code_value(view: &View<'_>, kind: PartId, chosen: &ChosenPart) -> ShownValue {
    let exact = view
        .parts
        .of(kind)
        .get(chosen.part)
        .map_or_else(String::new, |part| part.id.clone());
    text_value(code_text(view, kind, chosen.part, chosen.piece), exact)
}

fn part_build(
    view: &View<'_>,
    choose_id: ChooseId,
    chosen: &ChosenPart,
    is_ordered: bool,
) -> PartBuild {
    let choose = &view.program.chooses[choose_id];
    let kind = &view.program.parts[choose.part];
    let record = view.parts.of(choose.part).get(chosen.part);
    let piece = record.and_then(|record| piece_of(record, chosen.piece));
    let rung = chosen.rung.and_then(|rung| choose.rungs.get(rung));
    PartBuild {
        choice: choose.name.clone(),
        part_id: record.map_or_else(String::new, |record| record.id.clone()),
        piece_id: piece.map(|piece| piece.id.clone()),
        is_ordered,
        lead_time_days: record
            .filter(|_| is_ordered)
            .and_then(|record| record.lead_time_days),
        says: rung.and_then(|rung| rung.says.clone()),
        setting: setting_texts(view, choose, record, chosen.setting),
        fields: record.map_or_else(Vec::new, |record| known_fields(view, kind, record, piece)),
        computed: computed(view, choose, chosen),
    }
}

fn piece_of(record: &CataloguePart, piece: Option<usize>) -> Option<&Piece> {
    match &record.on_hand {
        OnHand::Pieces(pieces) => pieces.get(piece?),
        OnHand::Counted(_) => None,
    }
}

/// The fields that are known, what is measured on the piece over what is known of the part.
fn known_fields(
    view: &View<'_>,
    kind: &Part,
    record: &CataloguePart,
    piece: Option<&Piece>,
) -> Vec<(String, ShownValue)> {
    let known = |(index, field): (usize, &Field)| {
        let of_piece = piece.and_then(|piece| piece.fields.get(index)?.as_ref());
        let value = of_piece.or_else(|| record.fields.get(index)?.as_ref())?;
        // A list of settings is told by the setting that was taken.
        (!matches!(field.value_type, Type::List(_))).then(|| {
            let shown = shown_value(view.program, field.value_type, &field.shown, value);
            (field.name.clone(), shown)
        })
    };
    kind.fields.iter().enumerate().filter_map(known).collect()
}

/// The fields of a setting that was taken, by name.
pub(crate) fn setting_texts(
    view: &View<'_>,
    choose: &Choose,
    record: Option<&CataloguePart>,
    setting: Option<usize>,
) -> Vec<(String, String)> {
    let found = || -> Option<(&Part, &Record)> {
        let (list_field, setting_part) = choose.in_each?;
        let list = record?.fields.get(list_field)?.as_ref()?;
        let Value::List(settings) = list else {
            return None;
        };
        Some((&view.program.parts[setting_part], settings.get(setting?)?))
    };
    let Some((part, values)) = found() else {
        return Vec::new();
    };
    let text = |(field, value): (&Field, &Option<Value>)| {
        let value = value.as_ref()?;
        Some((
            field.name.clone(),
            field.shown.text(view.program, field.value_type, value),
        ))
    };
    part.fields.iter().zip(values).filter_map(text).collect()
}

fn computed(view: &View<'_>, choose: &Choose, chosen: &ChosenPart) -> Vec<(String, Settled)> {
    let settle = |(index, state): (usize, &State)| {
        let declared = choose.lets.get(index)?;
        let value_type = declared.value.value_type;
        Some((
            declared.name.clone(),
            settled_state(view, value_type, &declared.shown, state),
        ))
    };
    chosen.lets.iter().enumerate().filter_map(settle).collect()
}

/// The value that a ruleset computes for a head as it is set, and that is taken for the loft that
/// leaves the bench.
const DELIVERED_LOFT: &str = "delivered_loft";

/// The loft that leaves the bench: what the rules computed for the setting, else what the head
/// measures, or its stamp, with the bend.
pub(crate) fn delivered_loft(head: &Settled<PartBuild>, bend: &Settled) -> Settled {
    let head = match head {
        Settled::Value(head) => head,
        Settled::None => return Settled::None,
        Settled::Open(why) => return Settled::Open(why.clone()),
    };
    let mut computed = head.computed.iter();
    if let Some((_, computed)) = computed.find(|(name, _)| name == DELIVERED_LOFT) {
        return computed.clone();
    }
    let Settled::Value(bend) = bend else {
        return bend.clone();
    };
    let field = |name| head.field(name);
    let sum = || -> Option<ShownValue> {
        let loft = field("measured_loft").or_else(|| field("stamped_loft"))?;
        let exact: Rational = loft.exact.parse().ok()?;
        let sum = exact.plus(bend.exact.parse().ok()?).ok()?.to_text();
        Some(ShownValue {
            text: format!("{sum} deg"),
            exact: sum,
            ..loft.clone()
        })
    };
    sum().map_or(Settled::None, Settled::Value)
}

/// A state as a settled value or the sentence why it is open.
pub(crate) fn settled_state(
    view: &View<'_>,
    value_type: Type,
    shown: &Shown,
    state: &State,
) -> Settled {
    match state {
        State::Known(value) => Settled::Value(shown_value(view.program, value_type, shown, value)),
        State::None => Settled::None,
        State::Undecided(why) => Settled::Open(sentence::undecided(view, why)),
    }
}

/// What a decision, let or choice came to for a club.
pub(crate) fn settled_place(view: &View<'_>, place: Place) -> Settled {
    let Some(entry) = view.at(place) else {
        return Settled::None;
    };
    let (value_type, shown) = match place.node {
        Node::Decision(id) => {
            let decision = &view.program.decisions[id];
            (decision.value_type, &decision.shown)
        }
        Node::Let(id) => (
            view.program.lets[id].value_type,
            &view.program.lets[id].shown,
        ),
        Node::Choose(id) => {
            let kind = view.program.chooses[id].part;
            return match &entry.outcome {
                Outcome::Chosen(chosen) | Outcome::Ordered(chosen) => {
                    Settled::Value(code_value(view, kind, chosen))
                }
                Outcome::DoesNotApply => Settled::None,
                _ => Settled::Open(sentence::of_entry(view, entry).unwrap_or_default()),
            };
        }
        _ => return Settled::None,
    };
    match &entry.outcome {
        Outcome::Decided(value) => {
            Settled::Value(shown_value(view.program, value_type, shown, value))
        }
        Outcome::DoesNotApply => Settled::None,
        _ => Settled::Open(sentence::of_entry(view, entry).unwrap_or_default()),
    }
}
