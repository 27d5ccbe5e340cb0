//! Values.

use loftwright_engine::recommendation::{NamedText, Settled, ShownValue, ValueKind};
use loftwright_proto::v1 as pb;

pub(crate) fn value(shown: &ShownValue) -> pb::Value {
    pb::Value {
        text: shown.text.clone(),
        kind: kind(shown.kind).into(),
        exact: shown.exact.clone(),
        measure: shown.measure.clone(),
    }
}

fn kind(kind: ValueKind) -> pb::ValueKind {
    match kind {
        ValueKind::Quantity => pb::ValueKind::Quantity,
        ValueKind::Temperature => pb::ValueKind::Temperature,
        ValueKind::Swingweight => pb::ValueKind::Swingweight,
        ValueKind::Count => pb::ValueKind::Count,
        ValueKind::Date => pb::ValueKind::Date,
        ValueKind::Flag => pb::ValueKind::Flag,
        ValueKind::Word => pb::ValueKind::Word,
        ValueKind::Text => pb::ValueKind::Text,
    }
}

pub(super) fn settled(settled: &Settled) -> pb::SettledValue {
    use pb::settled_value::State;
    let state = match settled {
        Settled::Value(shown) => State::Value(value(shown)),
        Settled::None => State::DoesNotApply(pb::DoesNotApply {}),
        Settled::Open(explanation) => State::NotSettled(not_settled(explanation)),
    };
    pb::SettledValue { state: Some(state) }
}

pub(super) fn not_settled(explanation: &str) -> pb::NotSettled {
    pb::NotSettled {
        explanation: explanation.to_owned(),
    }
}

pub(super) fn named_settled(named: &[(String, Settled)]) -> Vec<pb::NamedSettledValue> {
    named
        .iter()
        .map(|(name, value)| pb::NamedSettledValue {
            name: name.clone(),
            value: Some(settled(value)),
        })
        .collect()
}

pub(super) fn named_texts(named: &[NamedText]) -> Vec<pb::NamedText> {
    named
        .iter()
        .map(|named| pb::NamedText {
            name: named.name.clone(),
            text: named.text.clone(),
        })
        .collect()
}
