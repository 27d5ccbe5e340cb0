//! The body of a record: the request as it was sent and the recommendation that was given, in the
//! canonical encoding.
//!
//! At its head stands what a replay looks at: the request, the day, and a digest of what the
//! decisions came to ([`compared_digest`]), so that whether another evaluation comes to the same is
//! told without reading the rest. The rest is the recommendation. The names of decisions, fields
//! and clubs and the texts of rules stand in it again and again: it is kept in columns that refer
//! to the texts of the rules, deflated, at about a twentieth of its size.

use std::collections::BTreeSet;

use loftwright_proto::v1 as pb;
use miniz_oxide::deflate::compress_to_vec;
use miniz_oxide::inflate::decompress_to_vec_with_limit;
use prost::Message;

use super::canonical::{from_value, to_value};
use crate::audit::columns::{KnownTexts, of_columns, to_columns};
use crate::audit::encoding::{Borrowed, decode, encode_borrowed};
use crate::audit::merkle::Hash;
use crate::replay::digest::ComparedDigest;
use crate::store::Outcome;
use crate::wiped::WipedBytes;

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
        let wire = self.recommendation.encode_to_vec();
        let mut recommendation = to_value(RECOMMENDATION, &wire)?;
        // It stands at the head.
        recommendation.remove(MADE_ON);
        let content = WipedBytes(to_columns(&recommendation, known).ok()?);
        let deflated = compress_to_vec(&content, DEFLATE_LEVEL);
        let wire = self.request.encode_to_vec();
        let request = to_columns(&to_value(REQUEST, &wire)?, known).ok()?;
        let compared = compared_digest(&self.recommendation);
        let value = Borrowed::Map(vec![
            ("compared", Borrowed::Bytes(compared.as_bytes())),
            ("deflated", Borrowed::Bytes(&deflated)),
            (MADE_ON, Borrowed::Text(&self.recommendation.made_on)),
            ("request", Borrowed::Bytes(&request)),
            ("version", Borrowed::Whole(VERSION.into())),
        ]);
        encode_borrowed(&value).ok()
    }

    /// The body of its bytes, with the texts that they were written with; `None` where they are
    /// none, or of another layout, or where the digest at the head is not that of the decisions.
    pub(crate) fn of_bytes(bytes: &[u8], known: &KnownTexts) -> Option<Self> {
        let head = BodyHead::of_bytes(bytes)?;
        let content = head.content()?;
        let recommendation = of_columns(&content, known).ok()?;
        if recommendation.entry(MADE_ON).is_some() {
            return None;
        }
        let recommendation = pb::Recommendation {
            made_on: head.made_on.to_owned(),
            ..from_value(RECOMMENDATION, &recommendation)?
        };
        let body = Body {
            request: from_value(REQUEST, &head.request(known)?)?,
            recommendation,
        };
        (compared_digest(&body.recommendation) == head.compared).then_some(body)
    }
}

impl<'b> BodyHead<'b> {
    /// The head of a body's bytes; `None` where they are of no body, or of another layout.
    pub(crate) fn of_bytes(bytes: &'b [u8]) -> Option<Self> {
        let head = decode(bytes).ok()?;
        let [
            ("compared", Borrowed::Bytes(compared)),
            ("deflated", Borrowed::Bytes(deflated)),
            (MADE_ON, Borrowed::Text(made_on)),
            ("request", Borrowed::Bytes(request)),
            ("version", Borrowed::Whole(version)),
        ] = head.entries()?
        else {
            return None;
        };
        (*version == VERSION.into()).then_some(BodyHead {
            compared: Hash::of_slice(compared)?,
            made_on,
            request,
            deflated,
        })
    }

    /// The request; `None` where it is none.
    pub(crate) fn request(&self, known: &'b KnownTexts) -> Option<Borrowed<'b>> {
        of_columns(self.request, known).ok()
    }

    /// The recommendation without its day, in columns; `None` where it is none.
    pub(crate) fn content(&self) -> Option<WipedBytes> {
        let content = decompress_to_vec_with_limit(self.deflated, LONGEST_CONTENT_BYTES);
        content.ok().map(WipedBytes)
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
    encode_borrowed(&to_value(name, &message.encode_to_vec())?).ok()
}

/// Where two recommendations differ: paths of fields, `most` of them at most.
pub(crate) fn differences(
    one: &pb::Recommendation,
    other: &pb::Recommendation,
    most: usize,
) -> Option<Vec<String>> {
    let mut found = Vec::new();
    let (one, other) = (one.encode_to_vec(), other.encode_to_vec());
    let (one, other) = (
        to_value(RECOMMENDATION, &one)?,
        to_value(RECOMMENDATION, &other)?,
    );
    compare("", &one, &other, most, &mut found);
    Some(found)
}

fn compare(
    path: &str,
    one: &Borrowed<'_>,
    other: &Borrowed<'_>,
    most: usize,
    found: &mut Vec<String>,
) {
    if one == other || found.len() >= most {
        return;
    }
    match (one, other) {
        (Borrowed::Map(fields), Borrowed::Map(others)) => {
            let names = fields.iter().chain(others).map(|(name, _)| *name);
            for name in names.collect::<BTreeSet<_>>() {
                let path = match path {
                    "" => name.to_owned(),
                    path => format!("{path}.{name}"),
                };
                let one = one.entry(name).unwrap_or(&Borrowed::Nothing);
                let other = other.entry(name).unwrap_or(&Borrowed::Nothing);
                compare(&path, one, other, most, found);
            }
        }
        (Borrowed::List(one), Borrowed::List(other)) if one.len() == other.len() => {
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
    let value = Borrowed::Map(vec![
        ("reason", Borrowed::Text(reason)),
        ("version", Borrowed::Whole(ERASURE_VERSION.into())),
    ]);
    encode_borrowed(&value).ok()
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
        let plain = content_of(RECOMMENDATION, &body(400).recommendation).expect("bytes");
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
