//! The body of a record: the request as it was sent and the recommendation that was given, in the
//! canonical encoding.
//!
//! At its head stands what a replay looks at: the request, the day, and a digest of what the
//! decisions came to ([`compared_digest`]), so that whether another evaluation comes to the same is
//! told without reading the rest. The rest is the recommendation. The names of decisions, fields
//! and clubs and the texts of rules stand in it again and again: it is kept in columns that refer
//! to the texts of the rules, deflated, at about a twentieth of its size.

use loftwright_proto::v1 as pb;
use miniz_oxide::deflate::compress_to_vec;
use miniz_oxide::inflate::decompress_to_vec_with_limit;
use prost::Message;
use zeroize::Zeroizing;

use super::canonical::{from_value, to_value};
use crate::audit::columns::{KnownTexts, of_columns, to_columns};
use crate::audit::encoding::{Flat, Value, decode_flat_map, encode};
use crate::audit::merkle::Hash;
use crate::replay::digest::ComparedDigest;
use crate::store::Outcome;

/// The version of this layout.
const VERSION: u32 = 2;
/// The version of the layout of an erasure's body.
const ERASURE_VERSION: u32 = 1;
/// How hard it is deflated: beyond this, a few per cent of the size cost twice the time.
const DEFLATE_LEVEL: u8 = 4;
/// The longest content that is inflated: what bounds the memory that a hostile body takes.
const LONGEST_CONTENT_BYTES: usize = 1 << 26;
const MADE_ON: &str = "made_on";
const REQUEST: &str = "loftwright.v1.RecommendRequest";
const RECOMMENDATION: &str = "loftwright.v1.Recommendation";

/// What is recorded of a recommendation.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Body {
    pub(crate) request: pb::RecommendRequest,
    pub(crate) recommendation: pb::Recommendation,
}

/// The head of a body, and the rest as it is kept: both where they stand among its bytes.
#[derive(Clone, Copy)]
pub(crate) struct BodyHead<'b> {
    /// What the decisions came to: [`compared_digest`].
    pub(crate) compared: Hash,
    /// The day of the recommendation, as it is written.
    pub(crate) made_on: &'b str,
    /// The request, in columns.
    request: &'b [u8],
    /// The recommendation, in columns.
    deflated: &'b [u8],
}

impl Body {
    /// The bytes, with the texts of the rules that decided; `None` where it nests deeper than can
    /// be read again.
    pub(crate) fn to_bytes(&self, known: &KnownTexts) -> Option<Vec<u8>> {
        let Value::Map(mut recommendation) = to_value(RECOMMENDATION, &self.recommendation)? else {
            return None;
        };
        // It stands at the head.
        recommendation.remove(MADE_ON);
        let content = Zeroizing::new(to_columns(&Value::Map(recommendation), known).ok()?);
        let deflated = compress_to_vec(&content, DEFLATE_LEVEL);
        let request = to_columns(&to_value(REQUEST, &self.request)?, known).ok()?;
        let value = Value::map([
            ("version", VERSION.into()),
            ("compared", compared_digest(&self.recommendation).into()),
            (MADE_ON, self.recommendation.made_on.as_str().into()),
            ("request", Value::Bytes(request)),
            ("deflated", Value::Bytes(deflated)),
        ]);
        encode(&value).ok()
    }

    /// The body of its bytes, with the texts that they were written with; `None` where they are
    /// none, or of another layout, or where the digest at the head is not that of the decisions.
    pub(crate) fn of_bytes(bytes: &[u8], known: &KnownTexts) -> Option<Self> {
        let head = BodyHead::of_bytes(bytes)?;
        let Value::Map(mut recommendation) = head.recommendation(known)? else {
            return None;
        };
        let made_on = recommendation.insert(MADE_ON.to_owned(), head.made_on.into());
        if made_on.is_some() {
            return None;
        }
        let body = Body {
            request: from_value(REQUEST, head.request(known)?)?,
            recommendation: from_value(RECOMMENDATION, Value::Map(recommendation))?,
        };
        (compared_digest(&body.recommendation) == head.compared).then_some(body)
    }
}

impl<'b> BodyHead<'b> {
    /// The head of a body's bytes; `None` where they are of no body, or of another layout.
    pub(crate) fn of_bytes(bytes: &'b [u8]) -> Option<Self> {
        let mut values = decode_flat_map(bytes).ok()?;
        let mut bytes = |name| match values.remove(name) {
            Some(Flat::Bytes(bytes)) => Some(bytes),
            _ => None,
        };
        let compared = Hash::of_slice(bytes("compared")?)?;
        let (request, deflated) = (bytes("request")?, bytes("deflated")?);
        let Some(Flat::Text(made_on)) = values.remove(MADE_ON) else {
            return None;
        };
        let is_of_version = values.remove("version") == Some(Flat::Whole(VERSION.into()));
        (is_of_version && values.is_empty()).then_some(BodyHead {
            compared,
            made_on,
            request,
            deflated,
        })
    }

    /// The request; `None` where it is none.
    pub(crate) fn request(&self, known: &KnownTexts) -> Option<Value> {
        of_columns(self.request, known).ok()
    }

    /// The recommendation without its day; `None` where it is none.
    pub(crate) fn recommendation(&self, known: &KnownTexts) -> Option<Value> {
        let content = decompress_to_vec_with_limit(self.deflated, LONGEST_CONTENT_BYTES).ok()?;
        of_columns(&Zeroizing::new(content), known).ok()
    }
}

/// The digest of what the decisions of a recommendation came to.
fn compared_digest(recommendation: &pb::Recommendation) -> Hash {
    let mut digest = ComparedDigest::default();
    for decision in &recommendation.decisions {
        let value = decision.value.as_ref();
        digest.decision(
            &decision.name,
            decision.club.as_deref().unwrap_or(""),
            decision.ending().as_str_name(),
            value.map(|value| (value.exact.as_str(), value.text.as_str())),
        );
    }
    digest.finish()
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
    let value = Value::map([
        ("version", ERASURE_VERSION.into()),
        ("reason", reason.into()),
    ]);
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

    fn known() -> KnownTexts {
        KnownTexts::of_source(b"about \"What the trade says of it.\"\ndecide decision_1\n")
            .expect("texts")
    }

    #[test]
    fn a_body_is_read_as_it_was_written_and_small() {
        for decisions in [0, 1, 400] {
            let bytes = body(decisions).to_bytes(&known()).expect("bytes");
            assert_eq!(Body::of_bytes(&bytes, &known()), Some(body(decisions)));
        }
        let bytes = body(400).to_bytes(&known()).expect("bytes");
        let plain = to_value(RECOMMENDATION, &body(400).recommendation).expect("a value");
        let plain = encode(&plain).expect("bytes");
        assert!(
            bytes.len() * 20 < plain.len(),
            "{} of {}",
            bytes.len(),
            plain.len()
        );
    }

    #[test]
    fn what_is_no_body_is_none() {
        let bytes = body(3).to_bytes(&known()).expect("bytes");
        assert_eq!(Body::of_bytes(b"", &known()), None);
        for place in 0..bytes.len() {
            let mut other = bytes.clone();
            if let Some(byte) = other.get_mut(place) {
                *byte ^= 0x10;
            }
            assert_ne!(
                Body::of_bytes(&other, &known()),
                Some(body(3)),
                "byte {place}"
            );
        }
    }
}
