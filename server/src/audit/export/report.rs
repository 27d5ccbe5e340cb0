//! What verifying an export came to.

use serde::Serialize;

use super::fault::Fault;

/// What no verifier can find, in the words in which people are told.
pub const CANNOT_BE_FOUND: [&str; 2] = [
    "what was never logged",
    "a rewrite by the holder of the key since the last checkpoint that somebody else kept",
];

/// The most faults that are listed; of the others the number is told.
pub const MOST_FAULTS: usize = 50;

/// What was read, and every fault of it.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize)]
pub struct Report {
    /// The log's name, as the file says.
    pub origin: String,
    /// Whether it is an evidence pack, of one record.
    pub is_evidence: bool,
    /// The first record that is here.
    pub first_record: u64,
    /// How many there are.
    pub records: u64,
    /// How many bodies are here and are what was committed to.
    pub bodies_as_committed: u64,
    /// How many bodies are not handed out, or are erased.
    pub bodies_not_given: u64,
    /// How many checkpoints are signed by trusted keys and fit the records.
    pub checkpoints: u64,
    /// The size of the last of them.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub signed_size: Option<u64>,
    /// Who signed that one.
    pub signers: Vec<String>,
    /// What the older checkpoint came to, where one was given.
    pub older_checkpoint: OlderCheckpoint,
    /// The attachments that are what the record names.
    pub attachments: Vec<String>,
    /// The faults, at most [`MOST_FAULTS`], in the order of the file.
    pub faults: Vec<Fault>,
    /// How many further faults there are.
    pub faults_not_listed: u64,
}

/// What the older checkpoint came to.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum OlderCheckpoint {
    /// None was given.
    #[default]
    NotGiven,
    /// The log continues the one of that many records.
    Continued(u64),
    /// It does not, or it cannot be told: a fault says which.
    NotContinued(u64),
}

impl Report {
    /// Whether nothing is wrong.
    pub fn is_clean(&self) -> bool {
        self.faults.is_empty()
    }

    /// Adds a fault.
    pub(super) fn fault(&mut self, fault: Fault) {
        if self.faults.len() < MOST_FAULTS {
            self.faults.push(fault);
        } else {
            self.faults_not_listed += 1;
        }
    }
}
