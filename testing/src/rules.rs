//! Rules to publish.

use loftwright_proto::v1 as pb;

/// A house of one file.
pub fn house(text: impl Into<String>) -> pb::RulesetSource {
    pb::RulesetSource {
        layers: vec![pb::RulesLayer {
            name: "house".to_owned(),
            files: vec![pb::RulesFile {
                name: "house.rules".to_owned(),
                text: text.into(),
            }],
        }],
    }
}

/// The request that publishes them.
pub fn to_publish(source: pb::RulesetSource) -> pb::PublishRulesetRequest {
    pb::PublishRulesetRequest {
        source: Some(source),
        validate_only: false,
    }
}
