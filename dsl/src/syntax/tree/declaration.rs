//! Declarations other than `decide`, `choose` and `case`.

use super::{Case, Choose, Decide, DropCase, Expression, Literal, Name, Number, Text};
use crate::quantity::Date;
use crate::syntax::Span;

/// One declaration: what begins in column 1 and the indented lines below it.
#[derive(Clone, Debug)]
pub struct Declaration {
    /// The whole of it, first to last character.
    pub span: Span,
    /// Whether `replace` stands before it.
    pub replaces: bool,
    /// `stands on "8f3a22c1"`: the meaning of what it replaces, when this was written.
    pub stands_on: Option<Text>,
    /// Whether a line of it could not be read, which is reported: its name and type are right, its
    /// content is not whole, so nothing can be said of what it lacks.
    pub is_damaged: bool,
    /// What it declares.
    pub kind: DeclarationKind,
}

/// What a declaration declares.
#[derive(Clone, Debug)]
pub enum DeclarationKind {
    /// `ruleset`
    Ruleset(Ruleset),
    /// `scale`
    Scale(Scale),
    /// `choice`
    Choice(Choice),
    /// `input`
    Input(Box<Input>),
    /// `let`
    Let(Box<Let>),
    /// `part`
    Part(Part),
    /// `group`
    Group(Box<Group>),
    /// `model`
    Model(Model),
    /// `reads`, in the contract only.
    Reads(Reads),
    /// `decide`
    Decide(Box<Decide>),
    /// `choose`
    Choose(Box<Choose>),
    /// `limit`
    Limit(Box<Limit>),
    /// `caution`
    Caution(Box<Caution>),
    /// `case`
    Case(Box<Case>),
    /// `drop case`
    DropCase(DropCase),
}

/// `ruleset NAME` with its title, language version and the ruleset it builds on.
#[derive(Clone, Debug)]
pub struct Ruleset {
    /// The name.
    pub name: Name,
    /// `title "…"`.
    pub title: Option<Text>,
    /// `language 1`.
    pub language: Option<Number>,
    /// `builds on NAME`.
    pub builds_on: Option<Name>,
}

/// `scale NAME is a < b < c [, in halves]`.
#[derive(Clone, Debug)]
pub struct Scale {
    /// The name.
    pub name: Name,
    /// The whole steps, lowest first.
    pub steps: Vec<Name>,
    /// Whether half steps stand between them.
    pub in_halves: bool,
}

/// `choice NAME is a, b, c`.
#[derive(Clone, Debug)]
pub struct Choice {
    /// The name.
    pub name: Name,
    /// The values.
    pub values: Vec<Name>,
}

/// A type as written: `angle`, `list of setting`, `angle or none`.
#[derive(Clone, Debug)]
pub struct TypeReference {
    /// Where it stands.
    pub span: Span,
    /// Whether `list of` stands before it.
    pub is_list: bool,
    /// The name of the dimension, vocabulary or part.
    pub name: Name,
    /// Whether `or none` follows.
    pub or_none: bool,
}

/// `between A and B`.
#[derive(Clone, Debug)]
pub struct Range {
    /// The lowest.
    pub low: Literal,
    /// The highest.
    pub high: Literal,
}

/// `shown in inches, to 1/4`.
#[derive(Clone, Debug)]
pub struct ShownIn {
    /// The unit's symbol; `inches`, `degrees`, `grams`, `yards` read as `in`, `deg`, `g`, `yd`.
    pub unit: Name,
    /// The step it is shown to.
    pub step: Option<Number>,
}

/// `input NAME : TYPE`.
#[derive(Clone, Debug)]
pub struct Input {
    /// The name.
    pub name: Name,
    /// The type.
    pub type_reference: TypeReference,
    /// `filled by the engine`.
    pub filled_by_the_engine: bool,
    /// `shown in …`.
    pub shown_in: Option<ShownIn>,
    /// `ask "…"`.
    pub ask: Option<Text>,
    /// `about "…"`.
    pub about: Option<Text>,
    /// `between A and B`.
    pub between: Option<Range>,
    /// `spread S`.
    pub spread: Option<Literal>,
    /// `of strike NAME`, behind the spread.
    pub strike: Option<Name>,
    /// `default D`.
    pub default: Option<Literal>,
    /// `private [health]`: present, with the kind where one is named.
    pub private: Option<Option<Name>>,
    /// `only when C`.
    pub only_when: Option<Expression>,
    /// `formerly OLD`.
    pub formerly: Vec<Name>,
}

/// `let NAME [: TYPE] [, for each G] = E`.
#[derive(Clone, Debug)]
pub struct Let {
    /// The name.
    pub name: Name,
    /// The type, where it is stated.
    pub type_reference: Option<TypeReference>,
    /// The group it is computed for.
    pub for_each: Option<ForEach>,
    /// The value.
    pub value: Expression,
}

/// `for each G [in order of F [, largest first]]`.
#[derive(Clone, Debug)]
pub struct ForEach {
    /// The group.
    pub group: Name,
    /// The order along the bag.
    pub order: Option<Order>,
}

/// `in order of F, largest first`.
#[derive(Clone, Debug)]
pub struct Order {
    /// A field of the group, or a decision or let for each of it.
    pub by: Name,
    /// Whether the largest comes first.
    pub largest_first: bool,
}

/// A field: `has NAME : TYPE …`.
#[derive(Clone, Debug)]
pub struct Field {
    /// The name.
    pub name: Name,
    /// The type.
    pub type_reference: TypeReference,
    /// `may be unknown`.
    pub may_be_unknown: bool,
    /// `of each piece`.
    pub of_each_piece: bool,
    /// `between A and B`.
    pub between: Option<Range>,
}

/// `part NAME [, plural NAMES]`.
#[derive(Clone, Debug)]
pub struct Part {
    /// The name.
    pub name: Name,
    /// The plural; the name with an `s` where it is not said.
    pub plural: Option<Name>,
    /// The fields.
    pub fields: Vec<Field>,
}

impl Part {
    /// The plural, said or not.
    pub fn plural_text(&self) -> String {
        match &self.plural {
            Some(plural) => plural.text.clone(),
            None => format!("{}s", self.name.text),
        }
    }
}

/// `group NAME …`.
#[derive(Clone, Debug)]
pub struct Group {
    /// The name.
    pub name: Name,
    /// How its members come about.
    pub origin: Option<GroupOrigin>,
    /// The fields.
    pub fields: Vec<Field>,
    /// `about "…"`.
    pub about: Option<Text>,
}

/// How the members of a group come about.
#[derive(Clone, Debug)]
#[expect(
    clippy::large_enum_variant,
    reason = "a tree is read once and walked; a box would cost more words than it saves bytes"
)]
pub enum GroupOrigin {
    /// `given with the player`
    GivenWithThePlayer,
    /// `as many as COUNT`
    AsManyAs(Name),
    /// `made by MAKER from A, B`
    MadeBy {
        /// The engine's maker.
        maker: Name,
        /// What it is made from.
        from: Vec<Name>,
    },
    /// `is OTHER where C`
    Where {
        /// The wider group.
        of: Name,
        /// Which of its members.
        condition: Expression,
    },
}

/// `model NAME(ARGUMENT : TYPE between A and B, …) : TYPE`.
#[derive(Clone, Debug)]
pub struct Model {
    /// The name.
    pub name: Name,
    /// The arguments in order.
    pub arguments: Vec<ModelArgument>,
    /// The type of the answer.
    pub type_reference: TypeReference,
    /// `about "…"`.
    pub about: Option<Text>,
    /// Where it comes from.
    pub source: Option<Source>,
    /// `answers to U`: the resolution of the answer.
    pub answers_to: Option<Literal>,
    /// Promises.
    pub promises: Vec<super::Promise>,
}

/// One argument of a model.
#[derive(Clone, Debug)]
pub struct ModelArgument {
    /// The name.
    pub name: Name,
    /// The type.
    pub type_reference: TypeReference,
    /// The range outside which the model has no answer.
    pub between: Option<Range>,
}

/// `reads NAME : TYPE [, for each G]`, or `reads part NAME` or `reads group NAME` with fields: what
/// the engine takes from the rules.
#[derive(Clone, Debug)]
pub struct Reads {
    /// The decision, choice, input, part or group.
    pub name: Name,
    /// What it must be.
    pub what: ReadsWhat,
}

/// What the contract reads.
#[derive(Clone, Debug)]
pub enum ReadsWhat {
    /// A decision or an input, or a choice where the type names a part.
    Value {
        /// The type it must have.
        type_reference: TypeReference,
        /// The group it must be decided for.
        for_each: Option<Name>,
    },
    /// A part that must have at least these fields.
    Part(Vec<Field>),
    /// A group that must have at least these fields.
    Group(Vec<Field>),
}

/// `source common practice` or `source "…"`.
#[derive(Clone, Debug)]
pub enum Source {
    /// A rule of thumb of the trade without a published source.
    CommonPractice(Span),
    /// A publication.
    Published(Text),
}

/// `limit NAME [, for each G] : CONDITION`.
#[derive(Clone, Debug)]
pub struct Limit {
    /// The name.
    pub name: Name,
    /// The group it holds for.
    pub for_each: Option<ForEach>,
    /// What must hold.
    pub condition: Expression,
    /// Where it comes from.
    pub source: Option<Source>,
    /// `about "…"`.
    pub about: Option<Text>,
    /// `says "…"`.
    pub says: Option<Text>,
    /// `only when C`.
    pub only_when: Option<Expression>,
    /// `in force from D [until D]`.
    pub in_force: Option<InForce>,
}

/// `in force from D [until D]`; `until` is the first day on which it no longer holds.
#[derive(Clone, Debug)]
pub struct InForce {
    /// The first day.
    pub from: Date,
    /// The first day after it.
    pub until: Option<Date>,
    /// Where it stands.
    pub span: Span,
}

/// `caution NAME [, for each G] : CONDITION`.
#[derive(Clone, Debug)]
pub struct Caution {
    /// The name.
    pub name: Name,
    /// The group it is raised for.
    pub for_each: Option<ForEach>,
    /// When it is raised.
    pub condition: Expression,
    /// `says "…"`, with `{values}`.
    pub says: Option<Text>,
    /// Where it comes from.
    pub source: Option<Source>,
    /// `about "…"`.
    pub about: Option<Text>,
    /// `only when C`.
    pub only_when: Option<Expression>,
    /// `in force from D [until D]`.
    pub in_force: Option<InForce>,
    /// `at W, W …`: the work of the bench that it belongs to; empty without such a line.
    pub at: Vec<Name>,
}
