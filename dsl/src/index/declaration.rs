//! A declared name, and what sort of thing it is.

use crate::arena::Id;
use crate::syntax::Span;
use crate::syntax::tree::Name;

/// The id of a declared name.
pub type DeclarationId = Id<Declaration>;

/// What a name is declared as.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Kind {
    /// The `ruleset` line.
    Ruleset,
    /// A scale or choice.
    Vocabulary,
    /// A value of a scale or choice.
    Word,
    /// A reading of the player.
    Input,
    /// A kind of catalogue record.
    Part,
    /// A field of a part or group.
    Field,
    /// A group of clubs.
    Group,
    /// A computation of the engine.
    Model,
    /// An argument of a model.
    Argument,
    /// A named value.
    Let,
    /// A decision.
    Decision,
    /// A choice of parts.
    Choose,
    /// A `let` of a choice of parts.
    CandidateLet,
    /// A limit.
    Limit,
    /// A caution.
    Caution,
    /// What the engine reads from the rules.
    Reads,
    /// A case; its name is its title.
    Case,
}

impl Kind {
    /// What a person calls it.
    pub fn word(self) -> &'static str {
        match self {
            Kind::Ruleset => "ruleset",
            Kind::Vocabulary => "vocabulary",
            Kind::Word => "value",
            Kind::Input => "input",
            Kind::Part => "part",
            Kind::Field => "field",
            Kind::Group => "group",
            Kind::Model => "model",
            Kind::Argument => "argument",
            Kind::Let => "let",
            Kind::Decision => "decision",
            Kind::Choose => "choice of parts",
            Kind::CandidateLet => "let of a choice",
            Kind::Limit => "limit",
            Kind::Caution => "caution",
            Kind::Reads => "reading of the engine",
            Kind::Case => "case",
        }
    }

    /// Whether rules may speak of it by its plain name from anywhere.
    pub fn is_named(self) -> bool {
        !matches!(
            self,
            Kind::Ruleset
                | Kind::Word
                | Kind::Field
                | Kind::Argument
                | Kind::CandidateLet
                | Kind::Reads
                | Kind::Case
        )
    }
}

/// A name where it is declared.
#[derive(Clone, Debug)]
pub struct Declaration {
    /// The name; of a case its title.
    pub name: String,
    /// What it is.
    pub kind: Kind,
    /// Where the name stands.
    pub span: Span,
    /// The whole declaration.
    pub whole: Span,
    /// The vocabulary of a value, the part or group of a field, the choice of a let, the model of
    /// an argument.
    pub owner: Option<DeclarationId>,
    /// The layer, counted from the engine's contract, which is 0.
    pub layer: usize,
    /// The declaration of a lower layer that this one replaces.
    pub replaces: Option<DeclarationId>,
    /// Whether a higher layer replaces this one: then no name stands for it.
    pub is_replaced: bool,
    /// Of a part, the plural where it is written.
    pub plural: Option<Name>,
    /// Of an input, the names by which callers may still send it.
    pub formerly: Vec<Name>,
}

/// A name where it is used, or the plural of a part where that is written.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct Use {
    /// Where it stands.
    pub span: Span,
    /// The declaration it stands for.
    pub target: DeclarationId,
    /// Whether the plural stands there.
    pub is_plural: bool,
}
