//! Where a list goes on, as a caller carries it: sealed, so that only a token that was handed out
//! here for the same list is taken back.
//!
//! The key is of the process: a token from before a restart is refused by name, and the list is
//! asked for anew.

use base64::Engine;
use base64::engine::general_purpose::URL_SAFE_NO_PAD;
use ring::hmac;
use ring::rand::SystemRandom;

use super::refusal::{FieldFault, Refusal};

/// The bytes of a tag that travel.
const TAG_BYTES: usize = 16;

/// Seals places of lists, and opens them again.
#[derive(Clone)]
pub(super) struct PageTokens(Option<hmac::Key>);

impl std::fmt::Debug for PageTokens {
    /// Not the key.
    fn fmt(&self, formatter: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        formatter.write_str("PageTokens(..)")
    }
}

impl PageTokens {
    /// Tokens of this process.
    pub(super) fn new() -> Self {
        PageTokens(hmac::Key::generate(hmac::HMAC_SHA256, &SystemRandom::new()).ok())
    }

    fn tag(&self, list: &str, place: u64) -> Result<hmac::Tag, Refusal> {
        let key = self.0.as_ref().ok_or(Refusal::OwnFault)?;
        let mut context = hmac::Context::with_key(key);
        context.update(&place.to_be_bytes());
        context.update(list.as_bytes());
        Ok(context.sign())
    }

    /// The token of a place in a list; `list` says which, with all that it was asked for.
    pub(super) fn seal(&self, list: &str, place: u64) -> Result<String, Refusal> {
        let tag = self.tag(list, place)?;
        let mut bytes = place.to_be_bytes().to_vec();
        bytes.extend(tag.as_ref().iter().take(TAG_BYTES));
        Ok(URL_SAFE_NO_PAD.encode(bytes))
    }

    /// The place of a token; `None` where none was sent.
    pub(super) fn open(&self, list: &str, token: &str) -> Result<Option<u64>, Refusal> {
        if token.is_empty() {
            return Ok(None);
        }
        let bytes = URL_SAFE_NO_PAD.decode(token).unwrap_or_default();
        let Some((place, tag)) = bytes.split_first_chunk() else {
            return Err(foreign());
        };
        let place = u64::from_be_bytes(*place);
        let expected = self.tag(list, place)?;
        if expected.as_ref().get(..TAG_BYTES) == Some(tag) {
            return Ok(Some(place));
        }
        Err(foreign())
    }
}

fn foreign() -> Refusal {
    Refusal::Faults(vec![FieldFault {
        field: "page_token".to_owned(),
        sentence: "a token was sent that is not of this list, or from before the service was \
                   started; ask for the list from its beginning"
            .to_owned(),
    }])
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn only_a_token_of_the_same_list_and_process_is_taken_back() {
        let tokens = PageTokens::new();
        let token = tokens.seal("revisions of skerry", 7).expect("a token");
        let open = |tokens: &PageTokens, list, token: &str| tokens.open(list, token).ok();
        assert_eq!(open(&tokens, "revisions of skerry", &token), Some(Some(7)));
        assert_eq!(open(&tokens, "revisions of skerry", ""), Some(None));
        assert_eq!(open(&tokens, "revisions of common", &token), None);
        assert_eq!(
            open(&PageTokens::new(), "revisions of skerry", &token),
            None
        );
        let mut other = token.into_bytes();
        other[3] ^= 1;
        let other = String::from_utf8(other).expect("ASCII");
        for wrong in [other.as_str(), "AAAA", "not a token"] {
            assert_eq!(open(&tokens, "revisions of skerry", wrong), None, "{wrong}");
        }
    }
}
