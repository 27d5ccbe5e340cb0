//! Evaluations that need nothing of each other, done side by side.
//!
//! Which worker does what is left to chance; what is done does not rest on it, and the answers come
//! in the order of the questions. So the number of workers never shows in an answer.

use std::num::NonZeroUsize;
use std::sync::atomic::{AtomicUsize, Ordering};
use std::thread;

/// How many work on one answer.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Workers(NonZeroUsize);

/// More than these have too little to do each.
const MOST_WORKERS: NonZeroUsize = NonZeroUsize::MIN.saturating_add(7);

impl Workers {
    /// One: nothing is done side by side.
    pub const ONE: Workers = Workers(NonZeroUsize::MIN);

    /// So many, as far as there is work for them.
    pub fn new(count: NonZeroUsize) -> Self {
        Workers(count.min(MOST_WORKERS))
    }

    /// How many.
    pub fn count(self) -> usize {
        self.0.get()
    }
}

/// Answers questions in their order, each by whichever worker is free; every worker has a state of
/// its own to work with, the caller the first.
pub(super) fn answered<W: Send, Q: Sync, A: Send>(
    workers: &mut [W],
    questions: &[Q],
    answer: impl Fn(&mut W, &Q) -> A + Sync,
) -> Vec<A> {
    let next = AtomicUsize::new(0);
    let work = |worker: &mut W| {
        let mut answers = Vec::new();
        loop {
            let place = next.fetch_add(1, Ordering::Relaxed);
            let Some(question) = questions.get(place) else {
                return answers;
            };
            answers.push((place, answer(worker, question)));
        }
    };
    let Some((first, others)) = workers.split_first_mut() else {
        return Vec::new();
    };
    let mut answers = thread::scope(|scope| {
        let others: Vec<_> = others
            .iter_mut()
            .map(|worker| scope.spawn(|| work(worker)))
            .collect();
        let mut answers = work(first);
        for other in others {
            match other.join() {
                Ok(more) => answers.extend(more),
                Err(panic) => std::panic::resume_unwind(panic),
            }
        }
        answers
    });
    answers.sort_by_key(|(place, _)| *place);
    answers.into_iter().map(|(_, answer)| answer).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn answers_come_in_the_order_of_the_questions_whoever_gives_them() {
        let questions: Vec<usize> = (0..100).collect();
        for count in 1..=9 {
            let mut given = vec![0; count];
            let answers = answered(&mut given, &questions, |given, question| {
                *given += 1;
                question * 2
            });
            let expected: Vec<usize> = (0..100).map(|question| question * 2).collect();
            assert_eq!(answers, expected, "{count} workers");
            assert_eq!(given.iter().sum::<usize>(), 100, "each question once");
        }
    }

    #[test]
    fn there_are_at_most_eight_and_at_least_one() {
        let counts = [1, 2, 8, 9, 1000].map(|count| {
            let count = NonZeroUsize::new(count).expect("not 0");
            Workers::new(count).count()
        });
        assert_eq!(counts, [1, 2, 8, 8, 8]);
        assert_eq!(Workers::ONE.count(), 1);
    }
}
