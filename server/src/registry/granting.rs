//! Roles given and settings changed, as leaves.

use super::log::{Act, ActNotRecorded};
use crate::audit::act::{RoleGiven, SettingChanged};
use crate::audit::leaf::LeafKind;
use crate::store::Entry;

/// The entry of roles that somebody is given.
///
/// # Errors
/// [`ActNotRecorded`].
pub fn role_entry(given: &RoleGiven, by: &str, instant_ms: i64) -> Result<Entry, ActNotRecorded> {
    let act = Act {
        kind: LeafKind::Role,
        by,
        instant_ms,
        rules: None,
        body: given.to_bytes(),
    };
    act.entry()
}

/// The entry of a setting that is changed.
///
/// # Errors
/// [`ActNotRecorded`].
pub fn setting_entry(
    changed: &SettingChanged,
    by: &str,
    instant_ms: i64,
) -> Result<Entry, ActNotRecorded> {
    let act = Act {
        kind: LeafKind::Setting,
        by,
        instant_ms,
        rules: None,
        body: changed.to_bytes(),
    };
    act.entry()
}
