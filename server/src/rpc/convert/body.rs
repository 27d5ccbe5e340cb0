//! The body of a record: the request as it was sent and the recommendation that was given, in the
//! canonical encoding.

use loftwright_proto::v1 as pb;
use prost::Message;

use super::canonical::{from_value, to_value};
use crate::audit::encoding::{Value, decode, encode};
use crate::store::Outcome;

/// The version of this layout.
const VERSION: u32 = 1;
const REQUEST: &str = "loftwright.v1.RecommendRequest";
const RECOMMENDATION: &str = "loftwright.v1.Recommendation";

/// What is recorded of a recommendation.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Body {
    pub(crate) request: pb::RecommendRequest,
    pub(crate) recommendation: pb::Recommendation,
}

impl Body {
    /// The bytes; `None` where it nests deeper than can be read again.
    pub(crate) fn to_bytes(&self) -> Option<Vec<u8>> {
        let value = Value::map([
            ("version", VERSION.into()),
            ("request", to_value(REQUEST, &self.request)?),
            (
                "recommendation",
                to_value(RECOMMENDATION, &self.recommendation)?,
            ),
        ]);
        encode(&value).ok()
    }

    /// The body of its bytes; `None` where they are none, or of a later layout.
    pub(crate) fn of_bytes(bytes: &[u8]) -> Option<Self> {
        let Value::Map(mut values) = decode(bytes).ok()? else {
            return None;
        };
        if values.remove("version") != Some(VERSION.into()) {
            return None;
        }
        let request = from_value(REQUEST, values.remove("request")?)?;
        let recommendation = from_value(RECOMMENDATION, values.remove("recommendation")?)?;
        values.is_empty().then_some(Body {
            request,
            recommendation,
        })
    }
}

/// All that a request says but its id, as bytes: a retry says the same.
pub(crate) fn request_content(request: &pb::RecommendRequest) -> Option<Vec<u8>> {
    content_of(REQUEST, request)
}

/// The same of a message of the type `name`.
pub(crate) fn content_of(name: &str, message: &impl Message) -> Option<Vec<u8>> {
    encode(&to_value(name, message)?).ok()
}

/// Where two recommendations differ: paths of fields, `most` of them at most.
pub(crate) fn differences(
    one: &pb::Recommendation,
    other: &pb::Recommendation,
    most: usize,
) -> Option<Vec<String>> {
    let mut found = Vec::new();
    let (one, other) = (
        to_value(RECOMMENDATION, one)?,
        to_value(RECOMMENDATION, other)?,
    );
    compare("", &one, &other, most, &mut found);
    Some(found)
}

fn compare(path: &str, one: &Value, other: &Value, most: usize, found: &mut Vec<String>) {
    if one == other || found.len() >= most {
        return;
    }
    match (one, other) {
        (Value::Map(one), Value::Map(other)) => {
            let names: std::collections::BTreeSet<_> = one.keys().chain(other.keys()).collect();
            for name in names {
                let path = match path {
                    "" => name.clone(),
                    path => format!("{path}.{name}"),
                };
                let one = one.get(name).unwrap_or(&Value::Nothing);
                let other = other.get(name).unwrap_or(&Value::Nothing);
                compare(&path, one, other, most, found);
            }
        }
        (Value::List(one), Value::List(other)) if one.len() == other.len() => {
            for (index, (one, other)) in one.iter().zip(other).enumerate() {
                compare(&format!("{path}[{index}]"), one, other, most, found);
            }
        }
        _ => found.push(path.to_owned()),
    }
}

/// How a recommendation came out, for lists. It needs all its decisions.
pub(crate) fn outcome(recommendation: &pb::Recommendation) -> Outcome {
    let is_broken = |limit: &pb::LimitReport| limit.answer() == pb::LimitAnswer::Broken;
    let is_settled = |decision: &pb::DecisionReport| {
        matches!(
            decision.ending(),
            pb::Ending::Decided
                | pb::Ending::DoesNotApply
                | pb::Ending::Chosen
                | pb::Ending::Ordered
        )
    };
    if !recommendation.missing_readings.is_empty() {
        Outcome::NeedsReadings
    } else if recommendation.limits.iter().any(is_broken) {
        Outcome::LimitsBroken
    } else if recommendation.decisions.iter().all(is_settled) {
        Outcome::Complete
    } else {
        Outcome::Undecided
    }
}

/// The body of an erasure: why.
pub(crate) fn erasure_body(reason: &str) -> Option<Vec<u8>> {
    let value = Value::map([("version", VERSION.into()), ("reason", reason.into())]);
    encode(&value).ok()
}
