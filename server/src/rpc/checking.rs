//! Whether what stands beside records is what their bodies say: what the store by itself cannot
//! see, since it does not read bodies.
//!
//! A subject whose hash is another could not be erased any more, and a request whose hash is
//! another would be refused as one that says something else.

use std::fmt::Display;

use super::convert::body::{outcome, request_content};
use super::recording::{Found, Recording};
use crate::audit::leaf::{LeafKind, subject_commitment};
use crate::audit::note::SignedNote;
use crate::store::{Beside, check_store};

/// The most places that are asked for at once.
const PLACES_AT_ONCE: usize = 1000;

/// Reads everything that is kept ([`check_store`]), every body that can be read, and every
/// signature of a checkpoint. The root of the tree is returned, in text.
///
/// # Errors
/// One sentence: the first that is not what was written, with the place of its record.
pub async fn check_record(recording: &Recording) -> Result<String, String> {
    let store = recording.store.as_ref();
    let root = check_store(store).await.map_err(|why| why.to_string())?;
    check_signatures(recording).await?;
    let kinds = [LeafKind::Recommendation, LeafKind::BuildConfirmed];
    let mut from = 0;
    loop {
        let places = store.places_of_kinds(&kinds, from, PLACES_AT_ONCE).await;
        let places = places.map_err(|why| why.to_string())?;
        let Some(last) = places.last() else {
            return Ok(root.to_string());
        };
        from = last + 1;
        for position in places {
            let checked = check(recording, position).await;
            checked.map_err(|why| format!("record {position}: {why}"))?;
        }
    }
}

/// Whether each checkpoint was signed by a key of the log that signed logs of its size.
async fn check_signatures(recording: &Recording) -> Result<(), String> {
    let keys = recording.keys().await.map_err(|why| why.to_string())?;
    let mut over = 0;
    loop {
        let checkpoints = recording.store.checkpoints(over, PLACES_AT_ONCE).await;
        let checkpoints = checkpoints.map_err(|why| why.to_string())?;
        let Some((last, _)) = checkpoints.last() else {
            return Ok(());
        };
        over = *last;
        for (size, note) in checkpoints {
            let wrong = |why: &dyn Display| {
                let last = size.saturating_sub(1);
                format!("record {last}: the checkpoint that ends with it: {why}")
            };
            let note = SignedNote::parse(note.as_bytes()).map_err(|why| wrong(&why))?;
            keys.verify(&note, size).map_err(|why| wrong(&why))?;
        }
    }
}

async fn check(recording: &Recording, position: u64) -> Result<(), String> {
    let found = recording
        .at(position)
        .await
        .map_err(|why| why.to_string())?;
    let found = found.ok_or("the leaf is missing")?;
    let beside = recording.store.beside(position).await;
    let beside = beside.map_err(|why| why.to_string())?;
    let fault = match found.leaf.header.kind {
        LeafKind::Recommendation => of_recommendation(recording, &found, &beside)?,
        _ => {
            let build = found.read_build().map_err(|why| why.to_string())?;
            let is_other = build.is_some_and(|build| beside.about != Some(build.record));
            is_other.then_some("lists say that it is the build of another record")
        }
    };
    fault.map_or(Ok(()), |fault| Err(fault.to_owned()))
}

/// What is wrong beside a recommendation; nothing is said of one whose subject was erased.
fn of_recommendation(
    recording: &Recording,
    found: &Found,
    beside: &Beside,
) -> Result<Option<&'static str>, String> {
    let Some(body) = found.read_body().map_err(|why| why.to_string())? else {
        return Ok(None);
    };
    let identity = recording.store.identity();
    let subject = body.request.subject.as_str();
    let content = request_content(&body.request).ok_or("its request cannot be written")?;
    // The id itself is not kept; what was said is hashed apart from it.
    let content = identity.request_mark("", "", &content).content;
    let commitment = beside
        .subject_salt
        .as_ref()
        .map(|salt| subject_commitment(salt, subject));
    let supersedes = body.request.supersedes.split_once('-');
    let supersedes = supersedes.and_then(|(position, _)| position.parse().ok());
    let findings = [
        (
            beside.subject_hash == Some(identity.subject_hash(subject)),
            "its subject would not be found again by the pseudonym, and could not be erased",
        ),
        (
            commitment == found.leaf.header.subject_commitment,
            "the salt of its subject is not the one that the leaf was made with",
        ),
        (
            beside.request_content.is_none_or(|kept| kept == content),
            "its request would not be known again",
        ),
        (
            beside.outcome == Some(outcome(&body.recommendation)),
            "lists say another outcome than its body",
        ),
        (
            beside.about == supersedes,
            "lists say that it replaces another record",
        ),
    ];
    let mut wrong = findings.into_iter().filter(|(is_right, _)| !is_right);
    Ok(wrong.next().map(|(_, what)| what))
}
