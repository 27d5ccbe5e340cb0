//! The body of a record: the request as it was sent and the recommendation that was given, in the
//! canonical encoding.
//!
//! The names of decisions, fields and clubs and the texts of rules stand in it again and again: it
//! is kept deflated, at about a tenth of its size.

use loftwright_proto::v1 as pb;
use miniz_oxide::deflate::compress_to_vec;
use miniz_oxide::inflate::decompress_to_vec_with_limit;
use prost::Message;
use zeroize::Zeroizing;

use super::canonical::{from_value, to_value};
use crate::audit::encoding::{Value, decode, encode};
use crate::store::Outcome;

/// The version of this layout.
const VERSION: u32 = 1;
/// How hard it is deflated: beyond this, a few per cent of the size cost twice the time.
const DEFLATE_LEVEL: u8 = 4;
/// The longest content that is inflated: what bounds the memory that a hostile body takes.
const LONGEST_CONTENT_BYTES: usize = 1 << 26;
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
        let content = Value::map([
            ("request", to_value(REQUEST, &self.request)?),
            (
                "recommendation",
                to_value(RECOMMENDATION, &self.recommendation)?,
            ),
        ]);
        let content = Zeroizing::new(encode(&content).ok()?);
        let deflated = compress_to_vec(&content, DEFLATE_LEVEL);
        let value = Value::map([
            ("version", VERSION.into()),
            ("deflated", Value::Bytes(deflated)),
        ]);
        encode(&value).ok()
    }

    /// The body of its bytes; `None` where they are none, or of a later layout.
    pub(crate) fn of_bytes(bytes: &[u8]) -> Option<Self> {
        let Value::Map(mut values) = decode(&content_of_bytes(bytes)?).ok()? else {
            return None;
        };
        let request = from_value(REQUEST, values.remove("request")?)?;
        let recommendation = from_value(RECOMMENDATION, values.remove("recommendation")?)?;
        values.is_empty().then_some(Body {
            request,
            recommendation,
        })
    }
}

/// The content of a body's bytes, inflated: a map of the request and the recommendation. `None`
/// where they are of no body, or of a later layout.
pub(crate) fn content_of_bytes(bytes: &[u8]) -> Option<Zeroizing<Vec<u8>>> {
    let Value::Map(mut values) = decode(bytes).ok()? else {
        return None;
    };
    if values.remove("version") != Some(VERSION.into()) {
        return None;
    }
    let Some(Value::Bytes(deflated)) = values.remove("deflated") else {
        return None;
    };
    let content = decompress_to_vec_with_limit(&deflated, LONGEST_CONTENT_BYTES).ok()?;
    values.is_empty().then_some(Zeroizing::new(content))
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

#[cfg(test)]
mod tests {
    use super::*;

    fn body(decisions: usize) -> Body {
        let decision = |number: usize| pb::DecisionReport {
            name: format!("decision_{}", number % 40),
            club: Some(format!("{} iron", number % 9)),
            about: Some("What the trade says of it, in a sentence or two.".to_owned()),
            ..pb::DecisionReport::default()
        };
        Body {
            request: pb::RecommendRequest {
                subject: "a pseudonym".to_owned(),
                ..pb::RecommendRequest::default()
            },
            recommendation: pb::Recommendation {
                decisions: (0..decisions).map(decision).collect(),
                ..pb::Recommendation::default()
            },
        }
    }

    #[test]
    fn a_body_is_read_as_it_was_written_and_small() {
        for decisions in [0, 1, 400] {
            let bytes = body(decisions).to_bytes().expect("bytes");
            assert_eq!(Body::of_bytes(&bytes), Some(body(decisions)));
        }
        let bytes = body(400).to_bytes().expect("bytes");
        let plain = to_value(RECOMMENDATION, &body(400).recommendation).expect("a value");
        let plain = encode(&plain).expect("bytes");
        assert!(
            bytes.len() * 10 < plain.len(),
            "{} of {}",
            bytes.len(),
            plain.len()
        );
    }

    #[test]
    fn what_is_no_body_is_none() {
        let bytes = body(3).to_bytes().expect("bytes");
        assert_eq!(Body::of_bytes(b""), None);
        for place in 0..bytes.len() {
            let mut other = bytes.clone();
            if let Some(byte) = other.get_mut(place) {
                *byte ^= 0x10;
            }
            assert_ne!(Body::of_bytes(&other), Some(body(3)), "byte {place}");
        }
    }
}
