//! The header of a leaf, and the leaf as bytes.

use super::super::encoding::{
    Borrowed, DecodeFault, EncodeFault, FieldFault, Fields, decode_first, encode_borrowed,
};
use super::super::merkle::{Hash, leaf_hash};
use super::kind::LeafKind;

/// The largest leaf.
pub const LARGEST_LEAF_BYTES: usize = 4096;
/// The longest name of a principal, in bytes.
pub const LONGEST_PRINCIPAL_BYTES: usize = 256;

/// The version of this layout of a header.
const VERSION: u32 = 1;

/// What a leaf says in the clear.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct LeafHeader {
    /// Its place in the log, counted from 0.
    pub position: u64,
    /// When, in milliseconds of UTC since 1970 began, without leap seconds.
    pub instant_ms: i64,
    /// What it records.
    pub kind: LeafKind,
    /// Who did it: the name of the API key or certificate; a person's pseudonym.
    pub principal: String,
    /// The keyed hash of the request's id, where it had one.
    pub request_id_hash: Option<Hash>,
    /// The digest of what the rules mean.
    pub meaning_digest: Option<Hash>,
    /// The digest of the rules' words for people.
    pub text_digest: Option<Hash>,
    /// SHA-256 of the revision's exact source, as it is kept and can be attached to evidence.
    pub rules_digest: Option<Hash>,
    /// The version of the contract between engine and rules.
    pub contract_version: Option<u32>,
    /// The version of what the engine makes of them.
    pub semantics_version: Option<u32>,
    /// SHA-256 of the snapshot of catalogue and stock, in its canonical form.
    pub parts_digest: Option<Hash>,
    /// The commitment to the subject's pseudonym.
    pub subject_commitment: Option<Hash>,
}

/// A leaf: its header, and the commitment to its body.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Leaf {
    /// What it says in the clear.
    pub header: LeafHeader,
    /// The [`body_commitment`](super::body_commitment).
    pub commitment: Hash,
}

/// Why bytes are no leaf, or a leaf has no bytes.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum LeafFault {
    /// It is longer than the limit.
    #[error("a leaf has at most {LARGEST_LEAF_BYTES} bytes, and this one {0}")]
    TooLong(usize),
    /// The header is not in the canonical encoding.
    #[error("the header is not in the canonical encoding: {0}")]
    Encoding(#[from] DecodeFault),
    /// A field is missing, of another form, or not known.
    #[error("the header's {0}")]
    Field(#[from] FieldFault),
    /// Another version of the layout.
    #[error("the header is of version {0}; this program knows version {VERSION}")]
    Version(u32),
    /// A kind that is not known.
    #[error("`{0}` is no kind of record that is known")]
    Kind(String),
    /// A record of this kind must name it.
    #[error("a record of the kind `{kind}` must have `{name}`")]
    Lacks {
        /// The kind.
        kind: LeafKind,
        /// The field.
        name: &'static str,
    },
    /// The principal is too long or empty.
    #[error("the principal has 1 through {LONGEST_PRINCIPAL_BYTES} bytes, and this one {0}")]
    Principal(usize),
    /// After the header stand not exactly the 32 bytes of the commitment.
    #[error("after the header stand the 32 bytes of the commitment, and these are {0}")]
    Commitment(usize),
    /// A header is larger than what is read again: none is.
    #[error(transparent)]
    Encode(#[from] EncodeFault),
}

impl Leaf {
    /// The bytes that are hashed.
    ///
    /// # Errors
    /// [`LeafFault`], where the header lacks what its kind must have.
    pub fn to_bytes(&self) -> Result<Vec<u8>, LeafFault> {
        self.header.check()?;
        let mut bytes = encode_borrowed(&Borrowed::Map(self.header.values().collect()))?;
        bytes.extend(self.commitment.as_bytes());
        Ok(bytes)
    }

    /// The leaf of its bytes.
    ///
    /// # Errors
    /// The first [`LeafFault`].
    pub fn parse(bytes: &[u8]) -> Result<Self, LeafFault> {
        if bytes.len() > LARGEST_LEAF_BYTES {
            return Err(LeafFault::TooLong(bytes.len()));
        }
        let (value, length) = decode_first(bytes)?;
        let header = LeafHeader::of_value(value)?;
        let rest = bytes.get(length..).unwrap_or_default();
        let commitment = Hash::of_slice(rest).ok_or(LeafFault::Commitment(rest.len()))?;
        Ok(Leaf { header, commitment })
    }

    /// The hash of the leaf in the tree.
    ///
    /// # Errors
    /// [`LeafFault`], where it has no bytes.
    pub fn hash(&self) -> Result<Hash, LeafFault> {
        self.to_bytes().map(|bytes| leaf_hash(&bytes))
    }
}

impl LeafHeader {
    /// The header of an act without a request, that rests on no rules and no parts. It takes its
    /// place as it is kept.
    pub fn bare(kind: LeafKind, instant_ms: i64, principal: &str) -> Self {
        LeafHeader {
            position: 0,
            instant_ms,
            kind,
            principal: principal.to_owned(),
            request_id_hash: None,
            meaning_digest: None,
            text_digest: None,
            rules_digest: None,
            contract_version: None,
            semantics_version: None,
            parts_digest: None,
            subject_commitment: None,
        }
    }

    /// What it says, in the order of the names.
    fn values(&self) -> impl Iterator<Item = (&'static str, Borrowed<'_>)> {
        fn hash(hash: Option<&Hash>) -> Option<Borrowed<'_>> {
            hash.map(|hash| Borrowed::Bytes(hash.as_bytes()))
        }
        let whole = |number: i128| Some(Borrowed::Whole(number));
        let version = |version: Option<u32>| version.and_then(|version| whole(version.into()));
        let values = [
            ("contract_version", version(self.contract_version)),
            ("instant_ms", whole(self.instant_ms.into())),
            ("kind", Some(Borrowed::Text(self.kind.text()))),
            ("meaning_digest", hash(self.meaning_digest.as_ref())),
            ("parts_digest", hash(self.parts_digest.as_ref())),
            ("position", whole(self.position.into())),
            ("principal", Some(Borrowed::Text(&self.principal))),
            ("request_id_hash", hash(self.request_id_hash.as_ref())),
            ("rules_digest", hash(self.rules_digest.as_ref())),
            ("semantics_version", version(self.semantics_version)),
            ("subject_commitment", hash(self.subject_commitment.as_ref())),
            ("text_digest", hash(self.text_digest.as_ref())),
            ("version", whole(VERSION.into())),
        ];
        let known = values.into_iter();
        known.filter_map(|(name, value)| Some((name, value?)))
    }

    fn of_value(value: Borrowed<'_>) -> Result<Self, LeafFault> {
        let mut fields = Fields::of(value)?;
        let version = fields.needed("version")?;
        if version != VERSION {
            return Err(LeafFault::Version(version));
        }
        let kind: &str = fields.needed("kind")?;
        // As the names ascend: in this order they are taken soonest.
        let header = LeafHeader {
            contract_version: fields.optional("contract_version")?,
            instant_ms: fields.needed("instant_ms")?,
            kind: LeafKind::of_text(kind).ok_or_else(|| LeafFault::Kind(kind.to_owned()))?,
            meaning_digest: fields.optional("meaning_digest")?,
            parts_digest: fields.optional("parts_digest")?,
            position: fields.needed("position")?,
            principal: fields.needed("principal")?,
            request_id_hash: fields.optional("request_id_hash")?,
            rules_digest: fields.optional("rules_digest")?,
            semantics_version: fields.optional("semantics_version")?,
            subject_commitment: fields.optional("subject_commitment")?,
            text_digest: fields.optional("text_digest")?,
        };
        fields.none_left()?;
        header.check()?;
        Ok(header)
    }

    /// Whether it has what its kind must have.
    fn check(&self) -> Result<(), LeafFault> {
        let length = self.principal.len();
        if length == 0 || length > LONGEST_PRINCIPAL_BYTES {
            return Err(LeafFault::Principal(length));
        }
        let kind = self.kind;
        let needs = [
            (
                "meaning_digest",
                kind.is_of_rules(),
                self.meaning_digest.is_some(),
            ),
            (
                "text_digest",
                kind.is_of_rules(),
                self.text_digest.is_some(),
            ),
            (
                "contract_version",
                kind.is_of_rules(),
                self.contract_version.is_some(),
            ),
            (
                "semantics_version",
                kind.is_by_rules(),
                self.semantics_version.is_some(),
            ),
            (
                "parts_digest",
                kind.is_of_parts(),
                self.parts_digest.is_some(),
            ),
            (
                "subject_commitment",
                kind.is_of_a_subject(),
                self.subject_commitment.is_some(),
            ),
        ];
        let lacking = needs.into_iter().find(|(_, needs, has)| *needs && !has);
        match lacking {
            None => Ok(()),
            Some((name, _, _)) => Err(LeafFault::Lacks { kind, name }),
        }
    }
}
