//! Cells: what stands in a table for a value, and the notes below it.

use loftwright_proto::v1 as pb;

use super::text::{Writer, root_cause};

/// What stands for a value that does not apply.
pub(crate) const NOT_APPLICABLE: &str = "-";

/// Notes below a table, each with a mark; the same sentence has one mark.
#[derive(Default)]
pub(crate) struct Notes {
    sentences: Vec<String>,
}

impl Notes {
    /// The mark of a sentence, such as `[2]`.
    pub(crate) fn mark(&mut self, sentence: &str) -> String {
        let known = self.sentences.iter().position(|known| known == sentence);
        let place = known.unwrap_or_else(|| {
            self.sentences.push(sentence.to_owned());
            self.sentences.len() - 1
        });
        format!("[{}]", place + 1)
    }

    /// The sentences, in the order of their marks.
    pub(crate) fn sentences(&self) -> &[String] {
        &self.sentences
    }

    /// Writes the notes.
    pub(crate) fn write(&self, writer: &mut Writer) {
        for (place, sentence) in self.sentences.iter().enumerate() {
            writer.paragraph(&format!("  [{}] ", place + 1), sentence);
        }
    }
}

/// The cell of a value; `unit` is left out of it since the column's title has it.
pub(super) fn value_cell(
    notes: &mut Notes,
    settled: Option<&pb::SettledValue>,
    unit: &str,
) -> String {
    use pb::settled_value::State;
    match settled.and_then(|settled| settled.state.as_ref()) {
        Some(State::Value(value)) => without_unit(&value.text, unit),
        Some(State::DoesNotApply(_)) | None => NOT_APPLICABLE.to_owned(),
        Some(State::NotSettled(open)) => notes.mark(root_cause(&open.explanation)),
    }
}

/// The text of a value that is settled.
pub(crate) fn settled_text(settled: Option<&pb::SettledValue>) -> Option<&str> {
    settled_value(settled).map(|value| value.text.as_str())
}

/// A value that is settled.
pub(super) fn settled_value(settled: Option<&pb::SettledValue>) -> Option<&pb::Value> {
    match settled?.state.as_ref()? {
        pb::settled_value::State::Value(value) => Some(value),
        _ => None,
    }
}

/// The part that is settled.
pub(crate) fn settled_part(settled: Option<&pb::SettledPart>) -> Option<&pb::PartBuild> {
    match settled?.state.as_ref()? {
        pb::settled_part::State::Part(part) => Some(part),
        _ => None,
    }
}

/// A field of a part, as text.
pub(super) fn field<'a>(part: &'a pb::PartBuild, name: &str) -> Option<&'a str> {
    let field = part.fields.iter().find(|field| field.name == name)?;
    field.value.as_ref().map(|value| value.text.as_str())
}

pub(crate) fn without_unit(text: &str, unit: &str) -> String {
    let bare = text.strip_suffix(unit).filter(|_| !unit.is_empty());
    bare.map_or(text, str::trim_end).to_owned()
}
