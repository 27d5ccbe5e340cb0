//! The answer: a bag that can be built, with its reasons, ready to be shown or sent.
//!
//! Everything here is rendered from the trace and the program's texts; nothing is decided here.

use loftwright_dsl::program::{Digests, Layer};
use serde::Serialize;

/// What a player is recommended.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Recommendation {
    /// The ruleset's name and title.
    pub ruleset: Layer,
    /// What identifies the rules.
    pub digests: Digests,
    /// The version of the contract.
    pub contract_version: u32,
    /// The version of the engine's semantics.
    pub semantics_version: u32,
    /// The player's hand, where it is known.
    pub hand: Option<String>,
    /// The clubs, driver first; empty where the set itself is not decided.
    pub clubs: Vec<ClubBuild>,
    /// How the set was made up; `None` where it was not.
    pub plan: Option<PlanReport>,
    /// Every decision and choice, in the order of evaluation, but for those over clubs that are not
    /// in the set.
    pub decisions: Vec<DecisionReport>,
    /// Every limit.
    pub limits: Vec<LimitReport>,
    /// The cautions that are raised.
    pub cautions: Vec<CautionReport>,
    /// Readings that are missing, with the decisions that wait for them; by name.
    pub missing: Vec<MissingReading>,
    /// Readings for which a default was assumed.
    pub assumed: Vec<NamedText>,
    /// Decisions within one spread of a bound of the row that decided.
    pub borderline: Vec<Borderline>,
    /// The reading that would settle most; absent where none would settle anything.
    pub next_reading: Option<NextReading>,
}

/// A name with a text.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct NamedText {
    /// The name.
    pub name: String,
    /// The text.
    pub text: String,
}

/// A value that is settled, or why it is not.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Settled<T = ShownValue> {
    /// Settled.
    Value(T),
    /// Does not apply.
    None,
    /// Not settled: a sentence such as ``needs `wedge_attack_angle` ``.
    Open(String),
}

/// A value with its text for people and its exact number.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct ShownValue {
    /// As a person reads it: `35 1/2 in`, `stiff`, `D2`.
    pub text: String,
    /// The kind of value.
    pub kind: ValueKind,
    /// The exact number in base units (`3/8`, `0.9017`) for numeric kinds; `2026-05-01` for dates;
    /// `true`/`false` for flags; the word itself for choices and scales; the part's code for a
    /// part.
    pub exact: String,
    /// The base unit or dimension's name for numeric kinds: `length`, `angle`, `number`; the name
    /// of the vocabulary for words; empty otherwise.
    pub measure: String,
}

/// The kind of a value.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum ValueKind {
    /// A quantity.
    Quantity,
    /// A temperature in kelvin.
    Temperature,
    /// A swingweight in points above A0.
    Swingweight,
    /// A count.
    Count,
    /// A date.
    Date,
    /// A flag.
    Flag,
    /// A word of a choice or scale.
    Word,
    /// A text.
    Text,
}

/// One club as it is to be built.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct ClubBuild {
    /// What the bench calls it: `driver`, `3 wood`, `7 iron`, `pitching wedge`, `wedge 2`.
    pub name: String,
    /// `driver`, `fairway`, `hybrid`, `iron`, `wedge` or `putter`.
    pub kind: String,
    /// The number within its kind.
    pub number: Option<i64>,
    /// Whether the player keeps it: nothing is built.
    pub is_kept: bool,
    /// The loft that the plan wants.
    pub loft: Settled,
    /// How far it carries.
    pub carry: Settled,
    /// How much less than the next longer club.
    pub gap: Settled,
    /// The length.
    pub length: Settled,
    /// The lie.
    pub lie: Settled,
    /// How far the head's loft is bent; positive is weaker.
    pub bend: Settled,
    /// The head.
    pub head: Settled<PartBuild>,
    /// The shaft.
    pub shaft: Settled<PartBuild>,
    /// The grip.
    pub grip: Settled<PartBuild>,
    /// Wraps of build-up tape.
    pub grip_wraps: Settled,
    /// The swingweight that is wanted.
    pub target_swingweight: Settled,
    /// The swingweight of the chosen pieces as they are.
    pub swingweight: Settled,
    /// The mass of the chosen pieces as they are.
    pub mass: Settled,
    /// The balance point from the butt.
    pub balance: Settled,
    /// The moment of inertia about the butt.
    pub moment: Settled,
    /// The moment of inertia that is wanted, where the club is matched by it.
    pub target_moment: Settled,
    /// The mass at the head that brings it to the target.
    pub head_mass_change: Settled,
    /// The shaft as cut.
    pub shaft_length: Settled,
    /// What is cut off the shaft's tip.
    pub tip_cut: Settled,
    /// What is cut off the shaft's butt.
    pub butt_cut: Settled,
    /// What goes into the tip of the shaft.
    pub tip_weight: Settled,
    /// What goes onto the head.
    pub lead: Settled,
    /// The loft that leaves the bench, as the sleeve is set or the head is bent.
    pub delivered_loft: Settled,
    /// How far it may be from its targets when it is checked.
    pub tolerances: Tolerances,
    /// Every other decision for this club, by name: flex, bounce, …
    pub named: Vec<(String, Settled)>,
}

/// How far a finished club may be from its targets, either way.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Tolerances {
    /// Of its length.
    pub length: Settled,
    /// Of its loft.
    pub loft: Settled,
    /// Of its lie.
    pub lie: Settled,
    /// Of its swingweight.
    pub swingweight: Settled,
    /// Of its moment of inertia about the butt.
    pub moment: Settled,
}

/// How the set for full swings was made up, and what it was judged by.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct PlanReport {
    /// How many clubs it has, the putter not counted.
    pub clubs: usize,
    /// Of how many that could be there.
    pub contenders: usize,
    /// The largest step in carry.
    pub largest_gap: ShownValue,
    /// The clubs on both sides of it, the longer one first.
    pub largest_gap_between: Option<(String, String)>,
    /// Whether no step is wider than the rules want it.
    pub is_within_widest: bool,
    /// What the steps differ from their mean by: the root of the mean of the squares, to 0.1 yd.
    pub unevenness: String,
    /// The sum of the reluctances.
    pub reluctance: String,
    /// What stood in the way or is to be looked at, in sentences without a full stop.
    pub notes: Vec<String>,
}

/// A part that goes into a club.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct PartBuild {
    /// The choice it comes from.
    pub choice: String,
    /// The part's code.
    pub part_id: String,
    /// The piece's code, where single pieces are measured.
    pub piece_id: Option<String>,
    /// Whether it is to be ordered.
    pub is_ordered: bool,
    /// The lead time of an order in days.
    pub lead_time_days: Option<i64>,
    /// What the ladder says, where it led here.
    pub says: Option<String>,
    /// The sleeve setting's fields, by name.
    pub setting: Vec<(String, String)>,
    /// The fields that are known, by name.
    pub fields: Vec<(String, ShownValue)>,
    /// The values computed for it (`let`), by name.
    pub computed: Vec<(String, Settled)>,
}

impl PartBuild {
    /// A field that is known.
    pub fn field(&self, name: &str) -> Option<&ShownValue> {
        let mut fields = self.fields.iter();
        fields
            .find(|(known, _)| known == name)
            .map(|(_, value)| value)
    }
}

/// A decision or choice with its reasons.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct DecisionReport {
    /// Its name.
    pub name: String,
    /// The club, where it is decided for each.
    pub club: Option<String>,
    /// The group, where it is decided for each.
    pub group: Option<String>,
    /// How it ended.
    pub ending: Ending,
    /// The value, or the part's code; absent where nothing is decided.
    pub value: Option<ShownValue>,
    /// One sentence where it did not come to a value: which readings are needed, what blocks it.
    pub explanation: Option<String>,
    /// The readings that are needed, by name.
    pub needs: Vec<String>,
    /// The decisions that block it, by name.
    pub blocked_by: Vec<String>,
    /// How it came about, step by step.
    pub steps: Vec<StepReport>,
    /// What it rests on beyond what the literature covers: a sentence for each model and quantity.
    /// The value is the same with and without.
    pub beyond_literature: Vec<String>,
    /// What it is about.
    pub about: Option<String>,
    /// `common practice`, or the publication.
    pub source: Option<String>,
    /// The layer that decided.
    pub layer: String,
    /// The layer whose declaration it replaced.
    pub replaces: Option<String>,
    /// How sure it is, where that was asked and it rests on an uncertain reading.
    pub sureness: Option<Sureness>,
}

/// How a decision ended.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Ending {
    /// Decided.
    Decided,
    /// Readings are missing.
    Needs,
    /// Something it rests on is not decided.
    Blocked,
    /// Does not apply.
    DoesNotApply,
    /// The readings contradict each other.
    Contradicted,
    /// A model was asked beyond its range.
    OutsideRange,
    /// A group that cannot be made.
    Infeasible,
    /// Arithmetic without an answer.
    Faulted,
    /// Chosen from what is on hand.
    Chosen,
    /// To be ordered.
    Ordered,
    /// Left open.
    LeftOpen,
    /// None on hand.
    NoneOnHand,
}

/// One step of a decision's reasons.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct StepReport {
    /// What was looked at, by name, with its text: `steepness`, `8.1 deg`.
    pub readings: Vec<NamedText>,
    /// The table's number, counted from 1, where a row decided.
    pub table: Option<usize>,
    /// The row's number, counted from 1, where a row decided.
    pub row: Option<usize>,
    /// The row or expression as it is written: `over 8 deg gives high`.
    pub rule: String,
    /// The value after it.
    pub value: Option<String>,
    /// The rule's own reason.
    pub because: Option<String>,
}

/// A limit with its answer.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct LimitReport {
    /// Its name.
    pub name: String,
    /// The club, where it holds for each.
    pub club: Option<String>,
    /// Holds, broken, not known, or not asked.
    pub answer: LimitAnswer,
    /// The condition as it is written.
    pub condition: String,
    /// What it says, or why it is not known.
    pub text: Option<String>,
    /// `common practice`, or the publication.
    pub source: Option<String>,
}

/// The three answers of a limit, and that it was not asked.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum LimitAnswer {
    /// It holds.
    Holds,
    /// It is broken: the bag is marked, no club is removed.
    Broken,
    /// Something it rests on is not decided.
    NotKnown,
    /// It does not apply, or is not in force on the day.
    NotAsked,
}

/// A caution that is raised.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct CautionReport {
    /// Its name.
    pub name: String,
    /// The clubs it is raised for; empty where it speaks of the bag.
    pub clubs: Vec<String>,
    /// What it says.
    pub text: String,
    /// `common practice`, or the publication.
    pub source: Option<String>,
    /// The works of the bench at which it stands, in their order; empty: before all work.
    pub at: Vec<String>,
}

/// A reading that is missing.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct MissingReading {
    /// The input.
    pub input: String,
    /// The question to ask.
    pub ask: Option<String>,
    /// The decisions, choices, limits and cautions that wait for it, by name, in the order of
    /// evaluation.
    pub decisions: Vec<String>,
}

/// A decision whose reading lies close to a bound of the row that decided.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Borderline {
    /// The decision.
    pub decision: String,
    /// The club.
    pub club: Option<String>,
    /// The reading to take again.
    pub input: String,
    /// Its value.
    pub reading: String,
    /// The bound, as a value of the column.
    pub bound: String,
    /// How far the reading is from the bound, in spreads of the mean, to 1/100.
    pub spreads: String,
    /// What it comes to with the reading just past the bound: the value, or the sentence why there
    /// is none.
    pub other_side: Option<String>,
}

/// How sure a decision or choice is, over a fixed set of plausible readings.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Sureness {
    /// How many of the plausible sets of readings give the same outcome, as far as it is shown.
    pub same: usize,
    /// How many sets there are.
    pub of: usize,
    /// The most frequent other outcome.
    pub runner_up: Option<OutcomeCount>,
    /// The lowest and highest number, where it is a number and they differ as shown.
    pub range: Option<OutcomeRange>,
    /// Whether it is a number that moves with the readings, so that its range says more than the
    /// share.
    pub moves: bool,
    /// The single reading that turns it when moved by least; absent where none was found.
    pub nearest_change: Option<NearestChange>,
}

/// An outcome and how often it came up.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct OutcomeCount {
    /// The outcome, as a person reads it.
    pub text: String,
    /// How often.
    pub count: usize,
}

/// A range of numbers, as shown.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct OutcomeRange {
    /// The lowest.
    pub lowest: String,
    /// The highest.
    pub highest: String,
}

/// The nearest change of a decision along one reading.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct NearestChange {
    /// The reading.
    pub input: String,
    /// Where it turns.
    pub reading: String,
    /// How far that is from the reading, in spreads of the mean, to 1/100.
    pub spreads: String,
    /// What it turns to.
    pub outcome: String,
}

/// The reading that would settle most.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct NextReading {
    /// The input.
    pub input: String,
    /// The question to ask.
    pub ask: Option<String>,
    /// Whether it is missing, was assumed, or should be taken again.
    pub state: ReadingState,
    /// The decisions and choices that wait for it, or that it may turn, by name.
    pub decisions: Vec<String>,
    /// How many outcomes that are, each club counted.
    pub outcomes: usize,
    /// How many of those that wait it would settle, where that was tried.
    pub settles: Option<SettlesBetween>,
}

/// What is known of a reading.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum ReadingState {
    /// It was not given, and decisions wait for it.
    Missing,
    /// It was not given, and a default was assumed.
    Assumed,
    /// It was given, with a spread.
    Uncertain,
}

/// How many outcomes a reading settles, over its plausible values.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct SettlesBetween {
    /// With the value that settles fewest.
    pub least: usize,
    /// With the value that settles most.
    pub most: usize,
}
