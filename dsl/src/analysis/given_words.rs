//! Which words of a choice or scale a decision can give.
//!
//! Every word that may come out is in the set; where that cannot be said, all may. Half steps of a
//! scale come about by moves, so only whole words are missed.

use std::collections::{BTreeMap, BTreeSet};

use crate::diagnostic::{Code, Diagnostic};
use crate::program::{
    Body, Decision, DecisionId, Expression, ExpressionKind, Program, RowResult, Step, Table, Type,
    Value, Vocabulary, VocabularyKind,
};

/// Decisions and lets behind each other: beyond this many every word is possible.
const MOST_DEEP: usize = 64;
/// Sums of moves that are kept apart: beyond this many every word is possible.
const MOST_SUMS: usize = 256;

/// The words that may come out; `None` for all.
type Words = Option<BTreeSet<i32>>;

/// Computes the words of decisions, each decision's once.
pub(crate) struct GivenWords<'p> {
    program: &'p Program,
    known: BTreeMap<DecisionId, Words>,
}

impl<'p> GivenWords<'p> {
    pub(crate) fn new(program: &'p Program) -> Self {
        GivenWords {
            program,
            known: BTreeMap::new(),
        }
    }

    /// A note where a decision by rows can never give some word of its type. One that gives half of
    /// the words or fewer is taken to mean it: the type is then that of a wider list.
    pub(crate) fn missed(&mut self, id: DecisionId) -> Option<Diagnostic> {
        let decision = &self.program.decisions[id];
        let (Type::Choice(own) | Type::Scale(own)) = decision.value_type else {
            return None;
        };
        if !matches!(decision.body, Body::Table(_)) {
            return None;
        }
        let vocabulary = &self.program.vocabularies[own];
        let given = self.of_decision(id, MOST_DEEP)?;
        let (met, missed): (Vec<i32>, Vec<i32>) =
            whole_words(vocabulary).partition(|word| given.contains(word));
        if missed.len() >= met.len() {
            return None;
        }
        let quoted = |word| format!("`{}`", vocabulary.text_of(word));
        let missed: Vec<String> = missed.into_iter().map(quoted).collect();
        let (last, most) = missed.split_last()?;
        let listed = match most {
            [] => last.clone(),
            most => format!("{} or {last}", most.join(", ")),
        };
        let message = format!("no row of `{}` can give {listed}", decision.name);
        let finding = Diagnostic::note(Code::NeverGiven, decision.origin.span, message);
        Some(finding.with_help(format!(
            "a condition that asks `{}` for it never holds; if it is meant to come out, a row is missing",
            decision.name
        )))
    }

    fn of_decision(&mut self, id: DecisionId, deep: usize) -> Words {
        if let Some(known) = self.known.get(&id) {
            return known.clone();
        }
        let decision = &self.program.decisions[id];
        let words = self.after_steps(decision, deep.checked_sub(1)?);
        self.known.insert(id, words.clone());
        words
    }

    fn after_steps(&mut self, decision: &'p Decision, deep: usize) -> Words {
        let mut words = match &decision.body {
            Body::Table(table) => self.of_table(table, &BTreeSet::new(), deep)?,
            Body::Gives(gives) => self.of_expression(&gives.value, deep)?,
            Body::Progression(_) => return None,
        };
        // Moves of several tables are summed and applied once.
        let mut sums = BTreeSet::from([0_i32]);
        for step in &decision.steps {
            match step {
                Step::Table(table) => {
                    words = self.of_table(table, &words, deep)?;
                    let moves = moves_of(table);
                    sums = sums
                        .iter()
                        .flat_map(|sum| moves.iter().map(|more| sum.saturating_add(*more)))
                        .collect();
                    if sums.len() > MOST_SUMS {
                        return None;
                    }
                }
                Step::OrIfUnknown { instead, .. } => {
                    words.extend(self.of_expression(instead, deep)?);
                }
                Step::KeptWithin { .. } | Step::Rounded { .. } => return None,
            }
        }
        Some(self.moved(decision.value_type, &words, &sums))
    }

    /// What the rows of a table leave behind of the words before it.
    fn of_table(&mut self, table: &'p Table, before: &BTreeSet<i32>, deep: usize) -> Words {
        let mut words = BTreeSet::new();
        let results = table.rows.iter().map(|row| &row.result);
        for result in results.chain(&table.if_unknown) {
            match result {
                RowResult::Gives(value) => words.extend(self.of_expression(value, deep)?),
                RowResult::Keeps | RowResult::Moves(_) => words.extend(before),
                RowResult::CannotHappen => {}
                RowResult::Adds(_) | RowResult::TakesOff(_) => return None,
            }
        }
        Some(words)
    }

    fn of_expression(&mut self, expression: &'p Expression, deep: usize) -> Words {
        match &expression.kind {
            ExpressionKind::Constant(Value::Word(word)) => Some(BTreeSet::from([*word])),
            ExpressionKind::None => Some(BTreeSet::new()),
            ExpressionKind::Let(id, _) => {
                let value = &self.program.lets[*id].value;
                self.of_expression(value, deep.checked_sub(1)?)
            }
            ExpressionKind::Decision(id, _) => self.of_decision(*id, deep),
            ExpressionKind::If {
                then, otherwise, ..
            } => {
                let mut words = self.of_expression(then, deep)?;
                words.extend(self.of_expression(otherwise, deep)?);
                Some(words)
            }
            ExpressionKind::OrIfUnknown { value, instead } => {
                let mut words = self.of_expression(value, deep)?;
                words.extend(self.of_expression(instead, deep)?);
                Some(words)
            }
            ExpressionKind::Moved(value, half_steps) => {
                let words = self.of_expression(value, deep)?;
                Some(self.moved(value.value_type, &words, &BTreeSet::from([*half_steps])))
            }
            _ => None,
        }
    }

    /// The words moved by each of the sums and stopped at the ends of the scale.
    fn moved(
        &self,
        value_type: Type,
        words: &BTreeSet<i32>,
        sums: &BTreeSet<i32>,
    ) -> BTreeSet<i32> {
        let Type::Scale(scale) = value_type else {
            return words.clone();
        };
        let highest = self.program.vocabularies[scale].highest().max(0);
        let moved = |word: &i32| {
            let word = *word;
            sums.iter()
                .map(move |sum| word.saturating_add(*sum).clamp(0, highest))
        };
        words.iter().flat_map(moved).collect()
    }
}

fn moves_of(table: &Table) -> BTreeSet<i32> {
    let results = table.rows.iter().map(|row| &row.result);
    let moves = results.chain(&table.if_unknown).map(|result| match result {
        RowResult::Moves(half_steps) => *half_steps,
        _ => 0,
    });
    moves.collect()
}

fn whole_words(vocabulary: &Vocabulary) -> impl Iterator<Item = i32> {
    let is_scale = matches!(vocabulary.kind, VocabularyKind::Scale { .. });
    let words = vocabulary.values().into_iter();
    words.filter(move |word| !is_scale || word % 2 == 0)
}
