//! Typed arenas: a vector whose indices are minted by it alone.

use std::cmp::Ordering;
use std::fmt;
use std::hash::{Hash, Hasher};
use std::marker::PhantomData;
use std::ops::{Index, IndexMut};

/// The index of a `T` in its [`Arena`].
pub struct Id<T> {
    index: u32,
    marker: PhantomData<fn() -> T>,
}

impl<T> Id<T> {
    /// The place in the arena, counted from 0 in the order of insertion.
    pub fn index(self) -> usize {
        usize::try_from(self.index).unwrap_or(usize::MAX)
    }
}

impl<T> Clone for Id<T> {
    fn clone(&self) -> Self {
        *self
    }
}
impl<T> Copy for Id<T> {}
impl<T> PartialEq for Id<T> {
    fn eq(&self, other: &Self) -> bool {
        self.index == other.index
    }
}
impl<T> Eq for Id<T> {}
impl<T> PartialOrd for Id<T> {
    fn partial_cmp(&self, other: &Self) -> Option<Ordering> {
        Some(self.cmp(other))
    }
}
impl<T> Ord for Id<T> {
    fn cmp(&self, other: &Self) -> Ordering {
        self.index.cmp(&other.index)
    }
}
impl<T> Hash for Id<T> {
    fn hash<H: Hasher>(&self, state: &mut H) {
        self.index.hash(state);
    }
}
impl<T> fmt::Debug for Id<T> {
    fn fmt(&self, formatter: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(formatter, "#{}", self.index)
    }
}

/// Values of one kind, each with an [`Id`].
#[derive(Clone, Debug)]
pub struct Arena<T> {
    items: Vec<T>,
}

impl<T> Default for Arena<T> {
    fn default() -> Self {
        Arena { items: Vec::new() }
    }
}

impl<T> Arena<T> {
    /// An arena without values.
    pub fn new() -> Self {
        Self::default()
    }

    /// Adds a value and returns its id.
    pub fn push(&mut self, item: T) -> Id<T> {
        let index = u32::try_from(self.items.len()).unwrap_or(u32::MAX);
        self.items.push(item);
        Id {
            index,
            marker: PhantomData,
        }
    }

    /// How many values there are.
    pub fn len(&self) -> usize {
        self.items.len()
    }

    /// Whether there are none.
    pub fn is_empty(&self) -> bool {
        self.items.is_empty()
    }

    /// The values in the order of insertion.
    pub fn iter(&self) -> impl DoubleEndedIterator<Item = &T> + ExactSizeIterator {
        self.items.iter()
    }

    /// The ids in the order of insertion.
    pub fn ids(&self) -> impl DoubleEndedIterator<Item = Id<T>> + ExactSizeIterator + use<T> {
        let length = u32::try_from(self.items.len()).unwrap_or(u32::MAX);
        (0..length).map(|index| Id {
            index,
            marker: PhantomData,
        })
    }

    /// Ids and values in the order of insertion.
    pub fn entries(&self) -> impl DoubleEndedIterator<Item = (Id<T>, &T)> {
        self.ids().zip(self.items.iter())
    }
}

impl<T> Index<Id<T>> for Arena<T> {
    type Output = T;

    #[expect(
        clippy::indexing_slicing,
        reason = "an id is minted by `push` of its own arena only"
    )]
    fn index(&self, id: Id<T>) -> &T {
        &self.items[id.index()]
    }
}

impl<T> IndexMut<Id<T>> for Arena<T> {
    #[expect(
        clippy::indexing_slicing,
        reason = "an id is minted by `push` of its own arena only"
    )]
    fn index_mut(&mut self, id: Id<T>) -> &mut T {
        &mut self.items[id.index()]
    }
}
