//! A service with a data directory in this process, and houses to publish.

use std::ops::Deref;
use std::path::Path;

use loftwright_proto::v1 as pb;
use loftwright_server::audit::act::{RoleGiven, SettingChanged};
use loftwright_server::registry::{key_hash, role_entry, setting_entry};
use loftwright_server::rpc::recording::Recording;
use loftwright_server::store::RecorderSettings;
use loftwright_testing::Service;
use tonic::{Request, Status};

pub(crate) use loftwright_testing::reason;

/// A running service.
pub(crate) struct Running(Service);

impl Deref for Running {
    type Target = Service;

    fn deref(&self) -> &Service {
        &self.0
    }
}

impl Running {
    pub(crate) async fn start(data: &Path) -> Self {
        Running(Service::start(data).await)
    }

    /// A service that keeps everything in memory.
    pub(crate) async fn in_memory() -> Self {
        Running(Service::of_previews().await)
    }

    pub(crate) async fn stop(self) {
        self.0.stop().await;
    }

    /// Publishes a house and returns its revision.
    pub(crate) async fn publish(&self, key: &str, house: pb::RulesetSource) -> String {
        let request = with_key(key, loftwright_testing::to_publish(house));
        let published = self.rulesets().publish_ruleset(request).await;
        let identity = published.expect("published").into_inner().identity;
        identity.expect("an identity").revision
    }

    pub(crate) async fn activate(
        &self,
        key: &str,
        revision: &str,
        expected: &str,
    ) -> Result<pb::ActivateRulesetResponse, Status> {
        let request = activation(revision, expected);
        let activated = self
            .rulesets()
            .activate_ruleset(with_key(key, request))
            .await;
        activated.map(tonic::Response::into_inner)
    }

    /// What a player is told by the house, and by which revision.
    pub(crate) async fn says(&self) -> (Vec<String>, String) {
        let answer = self.fitting().recommend(player("house")).await;
        let recommendation = answer.expect("an answer").into_inner().recommendation;
        let recommendation = recommendation.expect("a recommendation");
        let cautions = recommendation.cautions.into_iter();
        let of_house = cautions.filter(|caution| caution.name == "from_the_house");
        let identity = recommendation.ruleset.expect("an identity");
        (
            of_house.map(|caution| caution.text).collect(),
            identity.revision,
        )
    }
}

pub(crate) fn activation(revision: &str, expected: &str) -> pb::ActivateRulesetRequest {
    pb::ActivateRulesetRequest {
        ruleset: "house".to_owned(),
        revision: revision.to_owned(),
        expected_revision: expected.to_owned(),
        reason: "the spring meeting".to_owned(),
        validate_only: false,
    }
}

/// A request with a key; none where it is empty.
pub(crate) fn with_key<T>(key: &str, message: T) -> Request<T> {
    let mut request = Request::new(message);
    if !key.is_empty() {
        let value = format!("Bearer {key}").parse().expect("a header");
        request.metadata_mut().insert("authorization", value);
    }
    request
}

/// A house that says one thing to right-handers.
pub(crate) fn house(says: &str) -> pb::RulesetSource {
    house_with(says, "")
}

/// The same with more rules.
pub(crate) fn house_with(says: &str, more: &str) -> pb::RulesetSource {
    loftwright_testing::house(format!(
        "ruleset house\n  title \"A house\"\n  language 1\n  builds on common\n\n\
         caution from_the_house : player_hand is right\n  says \"{says}\"\n{more}"
    ))
}

/// A preview for a right-hander.
pub(crate) fn player(ruleset: &str) -> pb::RecommendRequest {
    let mut request = loftwright_testing::preview("steady-right-hander", ruleset, "player-7");
    // Only skerry asks that.
    request.readings.remove("bunker_sand");
    request
}

/// The same, to be recorded.
pub(crate) fn recorded(ruleset: &str, number: u32) -> pb::RecommendRequest {
    loftwright_testing::recorded(number, player(ruleset))
}

/// Gives principals roles in a data directory; the key of each is his name and ` key`.
pub(crate) async fn give(data: &Path, principals: &[(&str, &[&str])]) {
    let opened = Recording::open(data, RecorderSettings::default()).await;
    let (recording, writing) = opened.expect("a record");
    for (name, roles) in principals {
        let given = RoleGiven {
            name: (*name).to_owned(),
            roles: roles.iter().map(|role| (*role).to_owned()).collect(),
            key_hash: Some(key_hash(&key(name))),
        };
        let entry = role_entry(&given, "local", 1_795_000_000_000).expect("an entry");
        recording.record(entry).await.expect("recorded");
    }
    drop(recording);
    writing.await.expect("no panic");
}

/// Lets everybody put his own revisions in force.
pub(crate) async fn allow_own_activation(data: &Path) {
    let opened = Recording::open(data, RecorderSettings::default()).await;
    let (recording, writing) = opened.expect("a record");
    let changed = SettingChanged {
        name: SettingChanged::OWN_ACTIVATION.to_owned(),
        is_on: true,
        reason: "a workshop of one".to_owned(),
    };
    let entry = setting_entry(&changed, "local", 1_795_000_000_000).expect("an entry");
    recording.record(entry).await.expect("recorded");
    drop(recording);
    writing.await.expect("no panic");
}

pub(crate) fn key(name: &str) -> String {
    format!("{name}-key")
}
