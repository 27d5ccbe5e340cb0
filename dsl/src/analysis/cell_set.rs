//! Sets of cells of one axis, as runs of neighbouring places.

/// A set of places on an axis: runs `start..end`, in order, neither overlapping nor touching.
#[derive(Clone, Debug, Default, PartialEq, Eq, PartialOrd, Ord)]
pub struct CellSet {
    runs: Vec<(usize, usize)>,
}

impl CellSet {
    /// No place.
    pub fn empty() -> Self {
        CellSet::default()
    }

    /// The places `start..end`.
    pub fn run(start: usize, end: usize) -> Self {
        let mut set = CellSet::default();
        set.push(start, end);
        set
    }

    /// The places of runs in any order; they may overlap.
    pub fn of_runs(runs: impl IntoIterator<Item = (usize, usize)>) -> Self {
        let mut sorted: Vec<(usize, usize)> = runs.into_iter().collect();
        sorted.sort_unstable();
        let mut set = CellSet::default();
        for (start, end) in sorted {
            set.push(start, end);
        }
        set
    }

    /// Adds the run `start..end`, which begins at or after the last one's start.
    pub(crate) fn push(&mut self, start: usize, end: usize) {
        if start >= end {
            return;
        }
        match self.runs.last_mut() {
            Some((_, last)) if *last >= start => *last = (*last).max(end),
            _ => self.runs.push((start, end)),
        }
    }

    /// The runs, each `start..end`, in order.
    pub fn runs(&self) -> &[(usize, usize)] {
        &self.runs
    }

    /// The places, in order.
    pub fn places(&self) -> impl Iterator<Item = usize> + '_ {
        self.runs.iter().flat_map(|(start, end)| *start..*end)
    }

    /// The lowest place.
    pub fn first(&self) -> Option<usize> {
        self.runs.first().map(|(start, _)| *start)
    }

    /// Whether there is no place in it.
    pub fn is_empty(&self) -> bool {
        self.runs.is_empty()
    }

    /// Whether it holds every place of an axis of `length` places.
    pub fn is_full(&self, length: usize) -> bool {
        length == 0 || self.runs == [(0, length)]
    }

    /// Whether the place is in it.
    pub fn contains(&self, place: usize) -> bool {
        let after = self.runs.partition_point(|(start, _)| *start <= place);
        after
            .checked_sub(1)
            .and_then(|index| self.runs.get(index))
            .is_some_and(|(_, end)| place < *end)
    }

    /// How many places there are.
    pub fn count(&self) -> usize {
        self.runs.iter().map(|(start, end)| end - start).sum()
    }

    /// The places in either.
    #[must_use]
    pub fn union(&self, other: &Self) -> Self {
        CellSet::of_runs(self.runs.iter().chain(&other.runs).copied())
    }

    /// The places in both.
    #[must_use]
    pub fn intersection(&self, other: &Self) -> Self {
        let mut set = CellSet::default();
        let (mut ours, mut theirs) = (self.runs.iter().peekable(), other.runs.iter().peekable());
        while let (Some(one), Some(two)) = (ours.peek(), theirs.peek()) {
            set.push(one.0.max(two.0), one.1.min(two.1));
            if one.1 <= two.1 {
                ours.next();
            } else {
                theirs.next();
            }
        }
        set
    }

    /// The places of an axis of `length` places that are not in it.
    #[must_use]
    pub fn complement(&self, length: usize) -> Self {
        let mut set = CellSet::default();
        let mut from = 0;
        for (start, end) in &self.runs {
            set.push(from, (*start).min(length));
            from = *end;
        }
        set.push(from, length);
        set
    }
}
