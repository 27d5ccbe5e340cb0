//! Who may ask what: the principals of the log's role leaves, found by their keys.
//!
//! Of a key only its SHA-256 is kept, which is enough: a key is 32 random bytes, and nobody guesses
//! what a hash of such is of. Where no role was ever given, everybody on this machine is
//! [`Principals::NOBODY_KNOWN`] and may do everything; from the first one on, a caller without a
//! key that is known is refused, also once the last principal was removed.

use std::collections::{BTreeMap, BTreeSet};
use std::fmt;
use std::sync::Arc;

use base64::Engine;
use base64::engine::general_purpose::URL_SAFE_NO_PAD;
use ring::rand::{SecureRandom, SystemRandom};
use sha2::{Digest, Sha256};
use zeroize::Zeroizing;

use crate::audit::act::{RoleGiven, SettingChanged};
use crate::audit::merkle::Hash;

/// The random bytes of a key.
const KEY_BYTES: usize = 32;
/// The longest name of a principal, in characters.
const LONGEST_NAME: usize = 64;

/// What somebody may be.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Role {
    /// Puts rules in force.
    Approver,
    /// Reads and proves the record.
    Auditor,
    /// A shop's system: asks for recommendations.
    Caller,
    /// Writes rules and brings the parts.
    Editor,
    /// Runs the service: erasures, stock.
    Operator,
}

/// Somebody who asks.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Principal {
    /// His name, as the log has it.
    pub name: String,
    /// What he is.
    pub roles: BTreeSet<Role>,
    /// Whether he is told apart from others: he came with a key.
    pub is_known: bool,
}

/// The principals, and the settings that say what they may.
#[derive(Clone, Debug)]
pub struct Principals {
    by_name: BTreeMap<String, Known>,
    /// Whether a role was ever given.
    were_any: bool,
    own_activation: bool,
    nobody_known: Arc<Principal>,
}

#[derive(Clone, Debug)]
struct Known {
    principal: Arc<Principal>,
    key_hash: Hash,
}

/// Why a caller is not known.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum NotKnown {
    /// He sent no key.
    NoKey,
    /// Nobody has the key that he sent.
    UnknownKey,
}

/// A new key, to be shown once.
pub struct ApiKey(Zeroizing<String>);

impl Role {
    /// All of them, by their names.
    pub const ALL: [Role; 5] = [
        Role::Approver,
        Role::Auditor,
        Role::Caller,
        Role::Editor,
        Role::Operator,
    ];

    /// The role's name.
    pub fn text(self) -> &'static str {
        match self {
            Role::Approver => "approver",
            Role::Auditor => "auditor",
            Role::Caller => "caller",
            Role::Editor => "editor",
            Role::Operator => "operator",
        }
    }

    /// The role of a name.
    pub fn of_text(text: &str) -> Option<Self> {
        Role::ALL.into_iter().find(|role| role.text() == text)
    }
}

impl fmt::Display for Role {
    fn fmt(&self, formatter: &mut fmt::Formatter<'_>) -> fmt::Result {
        formatter.write_str(self.text())
    }
}

impl Default for Principals {
    fn default() -> Self {
        Principals {
            by_name: BTreeMap::new(),
            were_any: false,
            own_activation: false,
            nobody_known: Arc::new(Principal {
                name: Self::NOBODY_KNOWN.to_owned(),
                roles: Role::ALL.into(),
                is_known: false,
            }),
        }
    }
}

impl Principals {
    /// What everybody is called as long as nobody is told apart.
    pub const NOBODY_KNOWN: &str = "local";
    /// What this program calls itself where it acts by itself.
    pub const THE_PROGRAM: &str = "loftwright";

    /// Takes in a leaf that gives somebody roles.
    pub fn give(&mut self, given: &RoleGiven) {
        self.were_any = true;
        let known = |role: &String| {
            let found = Role::of_text(role);
            if found.is_none() {
                let name = &given.name;
                tracing::warn!(%name, %role, "the log gives a role that this program does not know");
            }
            found
        };
        let roles: BTreeSet<Role> = given.roles.iter().filter_map(known).collect();
        let Some(key_hash) = given.key_hash.filter(|_| !roles.is_empty()) else {
            self.by_name.remove(&given.name);
            return;
        };
        let principal = Arc::new(Principal {
            name: given.name.clone(),
            roles,
            is_known: true,
        });
        let known = Known {
            principal,
            key_hash,
        };
        self.by_name.insert(given.name.clone(), known);
    }

    /// Takes in a leaf that changes a setting.
    pub fn set(&mut self, changed: &SettingChanged) {
        if changed.name == SettingChanged::OWN_ACTIVATION {
            self.own_activation = changed.is_on;
        } else {
            let setting = &changed.name;
            tracing::warn!(%setting, "the log changes a setting that this program does not know");
        }
    }

    /// Whether whoever published a revision may put it in force himself.
    pub fn own_activation_is_allowed(&self) -> bool {
        self.own_activation
    }

    /// Whether a role was ever given, so that callers need keys.
    pub fn need_keys(&self) -> bool {
        self.were_any
    }

    /// All principals, by name.
    pub fn all(&self) -> impl Iterator<Item = &Principal> {
        self.by_name.values().map(|known| known.principal.as_ref())
    }

    /// The principal of a name.
    pub fn named(&self, name: &str) -> Option<&Principal> {
        self.by_name.get(name).map(|known| known.principal.as_ref())
    }

    /// Who comes with this key.
    ///
    /// # Errors
    /// [`NotKnown`].
    pub fn who(&self, key: Option<&str>) -> Result<Arc<Principal>, NotKnown> {
        if !self.were_any {
            return Ok(Arc::clone(&self.nobody_known));
        }
        let hash = key_hash(key.ok_or(NotKnown::NoKey)?);
        let mut known = self.by_name.values();
        let found = known.find(|known| known.key_hash == hash);
        let found = found.ok_or(NotKnown::UnknownKey)?;
        Ok(Arc::clone(&found.principal))
    }
}

/// What is wrong with a name that somebody is to have, in words.
pub fn fault_of_name(name: &str) -> Option<String> {
    if [Principals::NOBODY_KNOWN, Principals::THE_PROGRAM].contains(&name) {
        return Some(format!(
            "`{name}` is a name that this program uses itself; take another"
        ));
    }
    let is_plain = |one: char| one.is_ascii_lowercase() || one.is_ascii_digit() || one == '-';
    let is_long = name.chars().count() > LONGEST_NAME;
    (name.is_empty() || is_long || !name.chars().all(is_plain)).then(|| {
        format!(
            "`{}` was given; a name is 1 to {LONGEST_NAME} lower-case letters, digits and hyphens",
            name.escape_debug()
        )
    })
}

/// What is kept of a key.
pub fn key_hash(key: &str) -> Hash {
    Hash(Sha256::digest(key.as_bytes()).into())
}

impl ApiKey {
    /// A new key, of the system's randomness; `None` where it gives none.
    pub fn generate() -> Option<Self> {
        let mut bytes = Zeroizing::new([0; KEY_BYTES]);
        SystemRandom::new().fill(bytes.as_mut_slice()).ok()?;
        Some(ApiKey(Zeroizing::new(
            URL_SAFE_NO_PAD.encode(bytes.as_slice()),
        )))
    }

    /// The key itself.
    pub fn secret_text(&self) -> &str {
        &self.0
    }
}

impl fmt::Debug for ApiKey {
    /// Not the key.
    fn fmt(&self, formatter: &mut fmt::Formatter<'_>) -> fmt::Result {
        formatter.write_str("ApiKey(..)")
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn given(name: &str, roles: &[&str], key: Option<&str>) -> RoleGiven {
        RoleGiven {
            name: name.to_owned(),
            roles: roles.iter().map(|role| (*role).to_owned()).collect(),
            key_hash: key.map(key_hash),
        }
    }

    #[test]
    fn everybody_may_everything_until_the_first_role_and_nobody_after_the_last() {
        let mut principals = Principals::default();
        let anybody = principals.who(None).expect("local");
        assert_eq!((anybody.name.as_str(), anybody.is_known), ("local", false));
        assert_eq!(anybody.roles, Role::ALL.into());
        principals.give(&given("till-2", &["caller"], Some("key 1")));
        assert_eq!(principals.who(None), Err(NotKnown::NoKey));
        assert_eq!(principals.who(Some("key 2")), Err(NotKnown::UnknownKey));
        let till = principals.who(Some("key 1")).expect("the till");
        assert_eq!(till.roles, BTreeSet::from([Role::Caller]));
        principals.give(&given("till-2", &["caller"], Some("key 2")));
        assert_eq!(principals.who(Some("key 1")), Err(NotKnown::UnknownKey));
        principals.give(&given("till-2", &[], None));
        assert_eq!(principals.who(Some("key 2")), Err(NotKnown::UnknownKey));
        assert_eq!(principals.who(None), Err(NotKnown::NoKey));
    }

    #[test]
    fn a_role_of_a_later_release_gives_nothing() {
        let mut principals = Principals::default();
        principals.give(&given("ines", &["editor", "treasurer"], Some("key")));
        let ines = principals.who(Some("key")).expect("ines");
        assert_eq!(ines.roles, BTreeSet::from([Role::Editor]));
        principals.give(&given("ines", &["treasurer"], Some("key")));
        assert_eq!(principals.who(Some("key")), Err(NotKnown::UnknownKey));
    }

    #[test]
    fn keys_are_new_each_time_and_never_shown() {
        let [one, other] = [ApiKey::generate(), ApiKey::generate()].map(|key| key.expect("a key"));
        assert_ne!(one.secret_text(), other.secret_text());
        // RFC 4648: 32 bytes are 43 characters of base64 without padding.
        assert_eq!(one.secret_text().len(), 43);
        assert!(!format!("{one:?}").contains(one.secret_text()));
    }

    #[test]
    fn names_of_the_program_and_names_that_are_no_plain_words_are_refused() {
        for name in ["local", "loftwright", "", "Ines", "a b", &"a".repeat(65)] {
            assert!(fault_of_name(name).is_some(), "{name}");
        }
        for name in ["till-2", &"a".repeat(64)] {
            assert_eq!(fault_of_name(name), None);
        }
    }
}
