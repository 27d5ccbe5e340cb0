//! Groups of clubs.

use super::{Expression, Field, GroupId, Node, Origin};

/// A group of clubs.
#[derive(Clone, Debug)]
pub struct Group {
    /// The name, in the singular: `wedge`.
    pub name: String,
    /// Where it is declared.
    pub origin: Origin,
    /// How its members come about.
    pub members: Members,
    /// The fields that the group itself has. A group `is OTHER where …` has those of the other.
    pub fields: Vec<Field>,
    /// The identity class: groups of one class share their clubs, so that inside `for each` of one
    /// of them a value of another means the same club. A group made from groups shares their
    /// clubs; so does a group `is OTHER where …`.
    pub identity: usize,
}

/// How the members of a group come about.
#[derive(Clone, Debug)]
pub enum Members {
    /// The player's own clubs.
    GivenWithThePlayer,
    /// As many as a count says; members are numbered from 1.
    AsManyAs(Expression),
    /// Made by a maker of the engine.
    MadeBy {
        /// The maker's name.
        maker: String,
        /// What it is made from.
        from: Vec<Node>,
    },
    /// Those of a wider group for which a condition holds.
    Where {
        /// The wider group.
        of: GroupId,
        /// The condition on the member at hand.
        condition: Expression,
    },
}

impl Group {
    /// The index of the group's own field `name`.
    pub fn field_index(&self, name: &str) -> Option<usize> {
        self.fields.iter().position(|field| field.name == name)
    }
}
