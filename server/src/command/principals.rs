//! `principals`: who may ask a service what. The data directory is changed, so the service is
//! stopped meanwhile, and knows of the change from its next start on.

use std::collections::BTreeSet;
use std::path::{Path, PathBuf};
use std::time::SystemTime;

use clap::{Args, Subcommand, ValueEnum};

use super::output::print;
use super::serve::runtime;
use crate::audit::act::{RoleGiven, SettingChanged};
use crate::ending::{CommandError, Ended};
use crate::registry::{
    ActNotRecorded, ApiKey, NotTakenUp, Principals, Role, fault_of_name, instant_ms, key_hash,
    role_entry, setting_entry,
};
use crate::rpc::recording::Recording;
use crate::rpc::request::fault_of_reason;
use crate::store::{Entry, RecorderSettings, StoreError};

/// What `principals` takes.
#[derive(Debug, Args)]
pub struct Arguments {
    #[command(subcommand)]
    what: What,
}

#[derive(Debug, Subcommand)]
enum What {
    /// Give somebody roles and a new key, which is printed this once; an old key ends
    Add {
        /// The name: lower-case letters, digits and hyphens
        #[arg(value_name = "NAME")]
        name: String,
        /// A role; may be given several times
        #[arg(long, value_name = "ROLE", required = true)]
        role: Vec<RoleName>,
        #[command(flatten)]
        data: Data,
    },
    /// List the principals, their roles, and whether one may activate what he published
    List {
        #[command(flatten)]
        data: Data,
    },
    /// Take all roles and the key from somebody
    Remove {
        /// The name
        #[arg(value_name = "NAME")]
        name: String,
        #[command(flatten)]
        data: Data,
    },
    /// Whether whoever published a revision may put it in force himself: for a workshop of one
    OwnActivation {
        /// Allow or refuse it
        answer: Answer,
        /// Why, in one line; it is recorded
        #[arg(long, value_name = "TEXT")]
        reason: String,
        #[command(flatten)]
        data: Data,
    },
}

#[derive(Debug, Args)]
struct Data {
    /// The data directory; its service must be stopped, and goes by the change from its next start
    #[arg(long, value_name = "DIR")]
    data: PathBuf,
}

/// The roles, as the command line has them.
#[derive(Clone, Copy, Debug, ValueEnum)]
enum RoleName {
    /// Puts rules in force
    Approver,
    /// Reads and proves the record
    Auditor,
    /// A shop's system: asks for recommendations
    Caller,
    /// Writes rules and brings the parts
    Editor,
    /// Runs the service: erasures, stock
    Operator,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
enum Answer {
    /// He may
    Allow,
    /// Somebody else does
    Refuse,
}

impl From<RoleName> for Role {
    fn from(name: RoleName) -> Role {
        match name {
            RoleName::Approver => Role::Approver,
            RoleName::Auditor => Role::Auditor,
            RoleName::Caller => Role::Caller,
            RoleName::Editor => Role::Editor,
            RoleName::Operator => Role::Operator,
        }
    }
}

/// Changes or lists the principals of a data directory.
///
/// # Errors
/// [`CommandError::BadInput`]: the directory is none or in use, the name is none, or not there.
pub fn run(arguments: &Arguments) -> Result<Ended, CommandError> {
    runtime(1)?.block_on(async {
        match &arguments.what {
            What::Add { name, role, data } => add(name, role, &data.data).await,
            What::List { data } => list(&data.data).await,
            What::Remove { name, data } => remove(name, &data.data).await,
            What::OwnActivation {
                answer,
                reason,
                data,
            } => own_activation(*answer, reason, &data.data).await,
        }
    })
}

async fn add(name: &str, roles: &[RoleName], data: &Path) -> Result<Ended, CommandError> {
    if let Some(fault) = fault_of_name(name) {
        return Err(CommandError::bad(fault));
    }
    let key = ApiKey::generate();
    let key = key.ok_or_else(|| CommandError::own("the system gives no random bytes"))?;
    let roles: BTreeSet<Role> = roles.iter().map(|role| Role::from(*role)).collect();
    let given = RoleGiven {
        name: name.to_owned(),
        roles: roles.iter().map(|role| role.text().to_owned()).collect(),
        key_hash: Some(key_hash(key.secret_text())),
    };
    let was_known = record(data, |principals, now| {
        let entry = role_entry(&given, Principals::NOBODY_KNOWN, now);
        Ok((entry, principals.named(name).is_some()))
    });
    if was_known.await? {
        eprintln!("{name}: the key before this one has ended");
    }
    eprintln!(
        "{name}: {}; the key is shown this once:",
        given.roles.join(", ")
    );
    print(&format!("{}\n", key.secret_text()))?;
    Ok(Ended::Answered)
}

async fn remove(name: &str, data: &Path) -> Result<Ended, CommandError> {
    let given = RoleGiven {
        name: name.to_owned(),
        roles: Vec::new(),
        key_hash: None,
    };
    let left = record(data, |principals, now| {
        let names: Vec<&str> = principals.all().map(|one| one.name.as_str()).collect();
        if !names.contains(&name) {
            return Err(unknown(name, &names));
        }
        let entry = role_entry(&given, Principals::NOBODY_KNOWN, now);
        Ok((entry, names.len() - 1))
    });
    let left = left.await?;
    print(&format!("{name} may do nothing any more\n"))?;
    if left == 0 {
        eprintln!("nobody is left: every call is refused until somebody is added");
    }
    Ok(Ended::Answered)
}

fn unknown(name: &str, known: &[&str]) -> CommandError {
    let there = match known {
        [] => "there is none".to_owned(),
        known => format!("there are `{}`", known.join("`, `")),
    };
    CommandError::bad(format!("no principal `{}`; {there}", name.escape_debug()))
}

async fn own_activation(answer: Answer, reason: &str, data: &Path) -> Result<Ended, CommandError> {
    if let Some(fault) = fault_of_reason(reason) {
        return Err(CommandError::bad(fault));
    }
    let changed = SettingChanged {
        name: SettingChanged::OWN_ACTIVATION.to_owned(),
        is_on: answer == Answer::Allow,
        reason: reason.to_owned(),
    };
    record(data, |_, now| {
        Ok((setting_entry(&changed, Principals::NOBODY_KNOWN, now), ()))
    })
    .await?;
    print(own_activation_text(changed.is_on))?;
    Ok(Ended::Answered)
}

fn own_activation_text(is_allowed: bool) -> &'static str {
    if is_allowed {
        "whoever published a revision may put it in force himself\n"
    } else {
        "whoever published a revision may not put it in force himself\n"
    }
}

async fn list(data: &Path) -> Result<Ended, CommandError> {
    let (recording, writing) = open(data).await?;
    let principals = recording.principals();
    let mut text = String::new();
    for principal in principals.all() {
        let roles: Vec<&str> = principal.roles.iter().map(|role| role.text()).collect();
        text.push_str(&format!("{}  {}\n", principal.name, roles.join(", ")));
    }
    if !principals.need_keys() {
        text.push_str("nobody was ever added: everybody on this machine may do everything\n");
    } else if text.is_empty() {
        text.push_str("nobody is left: every call is refused until somebody is added\n");
    }
    text.push_str(own_activation_text(principals.own_activation_is_allowed()));
    drop(recording);
    writing.await.map_err(CommandError::own)?;
    print(&text)?;
    Ok(Ended::Answered)
}

/// Records an act that is made in the knowledge of who there is.
async fn record<T>(
    data: &Path,
    act: impl FnOnce(&Principals, i64) -> Result<(Result<Entry, ActNotRecorded>, T), CommandError>,
) -> Result<T, CommandError> {
    let now = instant_ms(SystemTime::now());
    let now = now.ok_or_else(|| CommandError::own("this machine's clock stands before 1970"))?;
    let (recording, writing) = open(data).await?;
    let (entry, value) = act(recording.principals(), now)?;
    let recorded = recording.record(entry.map_err(CommandError::own)?).await;
    drop(recording);
    // Its end signs a checkpoint over the act.
    writing.await.map_err(CommandError::own)?;
    recorded.map_err(CommandError::own)?;
    Ok(value)
}

async fn open(data: &Path) -> Result<(Recording, tokio::task::JoinHandle<()>), CommandError> {
    let opened = Recording::open(data, RecorderSettings::default()).await;
    opened.map_err(|why| match why {
        NotTakenUp::Store(StoreError::InUse(_)) => CommandError::bad(format!(
            "{why}: a service reads who may ask it what when it starts, and not again"
        )),
        why => CommandError::bad(why),
    })
}
