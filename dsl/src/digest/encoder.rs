//! The bytes that are hashed: every item with its length, so that no two lists read alike.

use sha2::{Digest, Sha256};

use crate::program::{PartId, Value};
use crate::quantity::Rational;

/// Feeds the hash.
pub(super) struct Encoder {
    hash: Sha256,
    /// The kind of the candidate that the expression at hand speaks of.
    candidate: Option<PartId>,
}

impl Encoder {
    pub(super) fn new(domain: &str, version: u64) -> Self {
        let mut encoder = Encoder {
            hash: Sha256::new(),
            candidate: None,
        };
        encoder.text(domain);
        encoder.number(version);
        encoder
    }

    /// The kind of the candidate at hand.
    pub(super) fn candidate(&self) -> Option<PartId> {
        self.candidate
    }

    /// From here on the candidate at hand is of another kind; hands back what it was.
    pub(super) fn candidate_is(&mut self, part: Option<PartId>) -> Option<PartId> {
        std::mem::replace(&mut self.candidate, part)
    }

    /// A text with its length.
    pub(super) fn text(&mut self, text: &str) {
        self.count(text.len());
        self.hash.update(text.as_bytes());
    }

    /// A text that may be absent.
    pub(super) fn maybe_text(&mut self, text: Option<&str>) {
        self.flag(text.is_some());
        if let Some(text) = text {
            self.text(text);
        }
    }

    /// How many items follow.
    pub(super) fn count(&mut self, count: usize) {
        self.number(u64::try_from(count).unwrap_or(u64::MAX));
    }

    pub(super) fn number(&mut self, number: u64) {
        self.hash.update(number.to_be_bytes());
    }

    pub(super) fn flag(&mut self, flag: bool) {
        self.hash.update([u8::from(flag)]);
    }

    pub(super) fn rational(&mut self, number: Rational) {
        self.hash.update(number.numerator().to_be_bytes());
        self.hash.update(number.denominator().to_be_bytes());
    }

    pub(super) fn value(&mut self, value: &Value) {
        match value {
            Value::Number(number) => {
                self.text("number");
                self.rational(*number);
            }
            Value::Flag(flag) => {
                self.text("flag");
                self.flag(*flag);
            }
            Value::Word(word) => {
                self.text("word");
                self.hash.update(word.to_be_bytes());
            }
            Value::Text(text) => {
                self.text("text");
                self.text(text);
            }
            Value::Values(values) => {
                self.text("values");
                self.count(values.len());
                for value in values.iter() {
                    self.value(value);
                }
            }
            Value::List(records) => {
                self.text("list");
                self.count(records.len());
                for record in records.iter() {
                    self.count(record.len());
                    for field in record {
                        self.maybe_value(field.as_ref());
                    }
                }
            }
        }
    }

    pub(super) fn maybe_value(&mut self, value: Option<&Value>) {
        self.flag(value.is_some());
        if let Some(value) = value {
            self.value(value);
        }
    }

    pub(super) fn half_steps(&mut self, half_steps: i32) {
        self.hash.update(half_steps.to_be_bytes());
    }

    /// The digest in lower-case hexadecimal.
    pub(super) fn finish(self) -> String {
        self.hash
            .finalize()
            .iter()
            .map(|byte| format!("{byte:02x}"))
            .collect()
    }
}
