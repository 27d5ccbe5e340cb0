//! The checked program: every name resolved, every expression typed, nothing left to look up.
//!
//! A [`Program`] is what the checker hands to the engine. It holds the layers merged into one:
//! the engine's contract, the rulesets built upon, the ruleset itself. Its order of evaluation is
//! a topological order with ties broken by name, so that neither the files nor their order matter.

mod choose;
mod cuts;
mod decision;
mod expression;
mod group;
mod row_index;
mod row_masks;
mod rows;
mod show;
mod value;
mod vocabulary;

pub use choose::*;
pub use decision::*;
pub use expression::*;
pub use group::*;
pub use row_index::RowIndex;
pub use row_masks::RowMasks;
pub use rows::*;
pub use show::Shown;
pub use show::unit_factor;
pub(crate) use show::{mixed_fraction, usual_unit};
pub use value::{Element, Record, Type, Value};
pub use vocabulary::{Vocabulary, VocabularyKind};

use crate::arena::{Arena, Id};
use crate::quantity::Date;
use crate::syntax::{Span, tree};

/// The id of a vocabulary.
pub type VocabularyId = Id<Vocabulary>;
/// The id of an input.
pub type InputId = Id<Input>;
/// The id of a part.
pub type PartId = Id<Part>;
/// The id of a group.
pub type GroupId = Id<Group>;
/// The id of a model.
pub type ModelId = Id<Model>;
/// The id of a let.
pub type LetId = Id<Let>;
/// The id of a decision.
pub type DecisionId = Id<Decision>;
/// The id of a choice of parts.
pub type ChooseId = Id<Choose>;
/// The id of a limit.
pub type LimitId = Id<Limit>;
/// The id of a caution.
pub type CautionId = Id<Caution>;

/// A checked ruleset with everything below it.
#[derive(Clone, Debug)]
pub struct Program {
    /// The ruleset's name.
    pub name: String,
    /// Its title for people.
    pub title: String,
    /// The layers, lowest first; the first is the engine's contract.
    pub layers: Vec<Layer>,
    /// The version of the engine's contract.
    pub contract_version: u32,
    /// Closed vocabularies: choices and scales.
    pub vocabularies: Arena<Vocabulary>,
    /// Readings of the player.
    pub inputs: Arena<Input>,
    /// Kinds of catalogue records.
    pub parts: Arena<Part>,
    /// Groups of clubs.
    pub groups: Arena<Group>,
    /// Computations of the engine that rules may call.
    pub models: Arena<Model>,
    /// Named values.
    pub lets: Arena<Let>,
    /// Decisions.
    pub decisions: Arena<Decision>,
    /// Choices of parts.
    pub chooses: Arena<Choose>,
    /// Limits.
    pub limits: Arena<Limit>,
    /// Cautions.
    pub cautions: Arena<Caution>,
    /// The cases of all layers that were not dropped or replaced, by title.
    pub cases: Vec<Case>,
    /// The order of evaluation: every node after what it depends on.
    pub order: Vec<Node>,
    /// What identifies this program.
    pub digests: Digests,
}

impl Program {
    /// The group that a node is evaluated for; `None` where it is evaluated once for the bag.
    pub fn group_of(&self, node: Node) -> Option<GroupId> {
        match node {
            Node::Input(_) | Node::Group(_) => None,
            Node::Let(id) => self.lets[id].for_each,
            Node::Decision(id) => self.decisions[id].for_each.as_ref().map(|each| each.group),
            Node::Choose(id) => self.chooses[id].for_each.as_ref().map(|each| each.group),
            Node::Limit(id) => self.limits[id].for_each,
            Node::Caution(id) => self.cautions[id].for_each,
        }
    }

    /// The name of a node's declaration.
    pub fn name_of(&self, node: Node) -> &str {
        match node {
            Node::Input(id) => &self.inputs[id].name,
            Node::Let(id) => &self.lets[id].name,
            Node::Group(id) => &self.groups[id].name,
            Node::Decision(id) => &self.decisions[id].name,
            Node::Choose(id) => &self.chooses[id].name,
            Node::Limit(id) => &self.limits[id].name,
            Node::Caution(id) => &self.cautions[id].name,
        }
    }

    /// The works of the bench that a caution's `at` names, in the order of the work.
    pub fn works_of<'a>(&'a self, caution: &'a Caution) -> impl Iterator<Item = String> + 'a {
        let works = self
            .vocabularies
            .iter()
            .find(|known| known.name == BENCH_WORK);
        let text_of = move |work| works.map(|works| works.text_of(work));
        caution.at.iter().filter_map(move |work| text_of(*work))
    }

    /// A program of vocabularies alone: enough to show and order values.
    pub fn of_vocabularies(vocabularies: Arena<Vocabulary>) -> Self {
        Program {
            name: String::new(),
            title: String::new(),
            layers: Vec::new(),
            contract_version: 0,
            vocabularies,
            inputs: Arena::new(),
            parts: Arena::new(),
            groups: Arena::new(),
            models: Arena::new(),
            lets: Arena::new(),
            decisions: Arena::new(),
            chooses: Arena::new(),
            limits: Arena::new(),
            cautions: Arena::new(),
            cases: Vec::new(),
            order: Vec::new(),
            digests: Digests {
                meaning: String::new(),
                text: String::new(),
            },
        }
    }
}

/// A layer of a program.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Layer {
    /// `contract`, or the ruleset's name.
    pub name: String,
    /// The ruleset's title.
    pub title: String,
}

/// The two SHA-256 digests of a program, in lower-case hexadecimal.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Digests {
    /// Over all that decides outcomes.
    pub meaning: String,
    /// Over what people read: titles, about, because, says, ask, sources.
    pub text: String,
}

/// A node of the graph of evaluation.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Node {
    /// A reading.
    Input(InputId),
    /// A named value.
    Let(LetId),
    /// A group: its size, members and fields.
    Group(GroupId),
    /// A decision.
    Decision(DecisionId),
    /// A choice of parts.
    Choose(ChooseId),
    /// A limit.
    Limit(LimitId),
    /// A caution.
    Caution(CautionId),
}

/// What a declaration has to say for itself, in the trace and for people.
#[derive(Clone, Debug)]
pub struct Origin {
    /// Where the name stands.
    pub span: Span,
    /// The index in [`Program::layers`] of the layer that declares it.
    pub layer: usize,
    /// The index of the layer whose declaration this one replaced.
    pub replaces: Option<usize>,
    /// What it is about.
    pub about: Option<String>,
    /// Where it comes from.
    pub source: Option<Source>,
}

/// Where a rule comes from.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Source {
    /// A rule of thumb of the trade without a published source.
    CommonPractice,
    /// A publication.
    Published(String),
}

/// A reading of the player.
#[derive(Clone, Debug)]
pub struct Input {
    /// The name.
    pub name: String,
    /// Where it is declared and why.
    pub origin: Origin,
    /// The type.
    pub value_type: Type,
    /// How it is shown.
    pub shown: Shown,
    /// The question that a shop asks.
    pub ask: Option<String>,
    /// The lowest and highest reading allowed; both belong to it.
    pub between: Option<(Value, Value)>,
    /// The usual standard deviation of one shot, in the units of a difference of the type.
    pub spread: Option<Value>,
    /// The strike that it is measured at, together with the other readings of it.
    pub strike: Option<String>,
    /// What is assumed where nothing is given; the trace says so.
    pub default: Option<Value>,
    /// Whether it is personal, and of what kind (`health`).
    pub private: Option<Option<String>>,
    /// When it is asked at all.
    pub only_when: Option<Expression>,
    /// Earlier names under which callers may still send it.
    pub formerly: Vec<String>,
    /// Whether the engine fills it (`today`).
    pub filled_by_the_engine: bool,
}

/// A kind of catalogue record.
#[derive(Clone, Debug)]
pub struct Part {
    /// The name: `head`.
    pub name: String,
    /// The plural: `heads`.
    pub plural: String,
    /// Where it is declared.
    pub origin: Origin,
    /// The fields.
    pub fields: Vec<Field>,
}

/// A field of a part or group.
#[derive(Clone, Debug)]
pub struct Field {
    /// The name.
    pub name: String,
    /// The type.
    pub value_type: Type,
    /// How it is shown.
    pub shown: Shown,
    /// Whether a record may leave it out.
    pub may_be_unknown: bool,
    /// Whether it is measured on the single piece, not known of the part.
    pub of_each_piece: bool,
    /// The lowest and highest value allowed; both belong to it.
    pub between: Option<(Value, Value)>,
}

impl Part {
    /// The index of the field `name`.
    pub fn field_index(&self, name: &str) -> Option<usize> {
        self.fields.iter().position(|field| field.name == name)
    }
}

/// A computation of the engine.
#[derive(Clone, Debug)]
pub struct Model {
    /// The name.
    pub name: String,
    /// Where it comes from.
    pub origin: Origin,
    /// Its arguments in order.
    pub arguments: Vec<ModelArgument>,
    /// The type of its answer.
    pub value_type: Type,
    /// The resolution of its answer, in base units.
    pub answers_to: Value,
}

/// An argument of a model.
#[derive(Clone, Debug)]
pub struct ModelArgument {
    /// The name.
    pub name: String,
    /// The type.
    pub value_type: Type,
    /// The range outside which the outcome is *outside range*.
    pub between: Option<(Value, Value)>,
}

/// A named value.
#[derive(Clone, Debug)]
pub struct Let {
    /// The name.
    pub name: String,
    /// Where it is declared.
    pub origin: Origin,
    /// The type.
    pub value_type: Type,
    /// How it is shown.
    pub shown: Shown,
    /// The group it is computed for.
    pub for_each: Option<GroupId>,
    /// The value.
    pub value: Expression,
    /// The value itself, where it is a constant: a bound of rows.
    pub constant: Option<Value>,
}

/// A limit: a condition that must hold.
#[derive(Clone, Debug)]
pub struct Limit {
    /// The name.
    pub name: String,
    /// Where it comes from.
    pub origin: Origin,
    /// The group it holds for.
    pub for_each: Option<GroupId>,
    /// What must hold.
    pub condition: Expression,
    /// The condition as it is written.
    pub text: String,
    /// When it is asked at all.
    pub only_when: Option<Expression>,
    /// The days on which it is in force: first, and first after.
    pub in_force: Option<(Date, Option<Date>)>,
    /// What it says.
    pub says: Vec<TextPiece>,
}

/// The choice of the contract whose words a caution's `at` takes: the works of the bench, in their
/// order.
pub const BENCH_WORK: &str = "bench_work";

/// A caution: a condition that is pointed out.
#[derive(Clone, Debug)]
pub struct Caution {
    /// The name.
    pub name: String,
    /// Where it comes from.
    pub origin: Origin,
    /// The group it is raised for.
    pub for_each: Option<GroupId>,
    /// When it is raised.
    pub condition: Expression,
    /// The condition as it is written.
    pub text: String,
    /// When it is asked at all.
    pub only_when: Option<Expression>,
    /// The days on which it is in force: first, and first after.
    pub in_force: Option<(Date, Option<Date>)>,
    /// What it says.
    pub says: Vec<TextPiece>,
    /// The works of the bench at which it stands, as values of [`BENCH_WORK`], each once, in the
    /// order of the work; empty: before all work.
    pub at: Vec<i32>,
}

/// A piece of a text with `{values}`.
#[derive(Clone, Debug)]
pub enum TextPiece {
    /// Words.
    Words(String),
    /// A value, shown as its declaration is.
    Value(Expression, Shown),
}

/// A case of a ruleset: what is given and what must come out.
#[derive(Clone, Debug)]
pub struct Case {
    /// The title.
    pub title: String,
    /// Where it is declared.
    pub span: Span,
    /// The layer that declares it.
    pub layer: usize,
    /// The readings.
    pub given: Vec<(InputId, GivenReading)>,
    /// The clubs given with the player, field by field: number from 1, field, value.
    pub given_members: Vec<(GroupId, u32, usize, Value)>,
    /// The name of the stock.
    pub with_stock: Option<String>,
    /// What must come out.
    pub expect: Vec<Expectation>,
}

/// A reading of a case.
#[derive(Clone, Debug)]
pub enum GivenReading {
    /// Unknown.
    Unknown,
    /// This value.
    Exact(Value),
    /// Every value of a range.
    Through(Value, Value),
}

/// What a case expects.
#[derive(Clone, Debug)]
pub struct Expectation {
    /// Where it stands.
    pub span: Span,
    /// The line as it is written.
    pub text: String,
    /// What is expected.
    pub kind: ExpectationKind,
}

/// The forms of an expectation.
#[derive(Clone, Debug)]
pub enum ExpectationKind {
    /// A caution is, or is not, raised (for any club).
    Caution(CautionId, bool),
    /// A limit is, or is not, broken (for any club).
    Limit(LimitId, bool),
    /// Every member's value; fails where there is no member. `None` stands for *does not apply*.
    Every(Valued, Option<Value>),
    /// The decision comes to a `cannot happen` row for every club it is asked for.
    CannotHappen(DecisionId),
    /// The decision needs the reading.
    Needs(Valued, InputId),
    /// One value, or one a member in the order of the decision. `None` stands for *does not apply*.
    Values(Valued, Vec<Option<Value>>),
    /// The value of one member.
    OfMember(Valued, tree::Position, GroupId, Option<Value>),
}

/// What a case can look at.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Valued {
    /// A decision.
    Decision(DecisionId),
    /// A let.
    Let(LetId),
    /// A choice of parts.
    Choose(ChooseId),
}
