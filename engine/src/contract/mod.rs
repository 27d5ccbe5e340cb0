//! The names by which the engine reads the rules, looked up once for a program.
//!
//! `contract.rules` is the list for people and for the checker; this is where its names become ids.
//! A maker finds everything among the nodes that its group is `made … from`, so that everything is
//! there when the group's turn comes.

mod plan;

use loftwright_dsl::program::{ChooseId, GroupId, Node, PartId, Program, Type, VocabularyId};

pub(crate) use self::plan::{LoftsOnHandNames, MakeUpNames};

/// A name that the engine reads and the program does not have. A checked program has them all.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum MissingName {
    /// The engine has no such maker.
    #[error("the engine has no maker `{0}`")]
    Maker(String),
    /// The maker reads this, and the group is not made from it.
    #[error("`{maker}` reads `{name}`, and the group is not made from it")]
    Node {
        /// The maker.
        maker: &'static str,
        /// What it reads.
        name: &'static str,
    },
    /// A group or part has no such field.
    #[error("`{of}` has no field `{name}`")]
    Field {
        /// The group or part.
        of: String,
        /// The field.
        name: &'static str,
    },
    /// The kinds of clubs lack one.
    #[error("the kinds of clubs have no `{0}`")]
    Kind(&'static str),
}

/// The makers of the engine, each with what it reads.
#[derive(Clone, Debug)]
pub(crate) enum Maker {
    /// The lofts that heads can be brought to, and the clubs that the player keeps.
    LoftsOnHand(Box<LoftsOnHandNames>),
    /// The set for full swings.
    MakeUp(Box<MakeUpNames>),
    /// The bag from counts, lofts and the clubs that the player keeps.
    StandardSet(Box<StandardSetNames>),
    /// The clubs as they leave the bench.
    Assemble(Box<AssembleNames>),
}

/// What `standard_set` reads and writes.
#[derive(Clone, Debug)]
pub(crate) struct StandardSetNames {
    pub(crate) driver_target_loft: Node,
    /// The plan, and of its clubs: kind, carry, gap.
    pub(crate) plan: GroupId,
    pub(crate) plan_fields: [usize; 3],
    pub(crate) driver: i32,
    pub(crate) putter: i32,
    /// Fairways, hybrids, irons and wedges.
    pub(crate) planned: [PlannedNames; 4],
    pub(crate) kept: GroupId,
    pub(crate) kept_kind: usize,
    pub(crate) kept_loft: usize,
    pub(crate) kept_length: usize,
    pub(crate) kept_shaft_mass: usize,
    pub(crate) kept_carry: usize,
    /// The fields of the made group by their places: kind, is_kept, loft, kept_length, shaft_mass,
    /// carry, gap.
    pub(crate) fields: [usize; 7],
    pub(crate) width: usize,
}

/// A kind of which the rules plan several.
#[derive(Clone, Copy, Debug)]
pub(crate) struct PlannedNames {
    pub(crate) kind: i32,
    pub(crate) group: GroupId,
    pub(crate) loft: Node,
}

/// What `assemble` reads and writes.
#[derive(Clone, Debug)]
pub(crate) struct AssembleNames {
    pub(crate) club: GroupId,
    pub(crate) club_kind: usize,
    pub(crate) club_is_kept: usize,
    pub(crate) club_loft: usize,
    pub(crate) club_kept_length: usize,
    pub(crate) club_length: Node,
    pub(crate) target_swingweight: Node,
    pub(crate) target_moment: Node,
    pub(crate) grip_wraps: Node,
    pub(crate) tip_trim: Node,
    pub(crate) most_tip_weight: Node,
    /// By kind.
    pub(crate) builds: [BuildNames; 6],
    pub(crate) grip: PieceNames<1>,
    /// The fields of the made group by their places: kind, is_kept, loft, length, mass, balance,
    /// swingweight, moment, head_mass_change, shaft_length, tip_cut, butt_cut, tip_weight, lead.
    pub(crate) fields: [usize; 14],
    pub(crate) width: usize,
}

/// Which choices a club of a kind is built from.
#[derive(Clone, Copy, Debug)]
pub(crate) struct BuildNames {
    pub(crate) kind: i32,
    /// Its mass.
    pub(crate) head: PieceNames<1>,
    /// Its mass, length and balance point.
    pub(crate) shaft: PieceNames<3>,
}

/// A choice and the fields that are read of what was chosen.
#[derive(Clone, Copy, Debug)]
pub(crate) struct PieceNames<const N: usize> {
    pub(crate) choose: ChooseId,
    pub(crate) fields: [usize; N],
}

impl Maker {
    /// The maker of this name for a group that is made from these nodes.
    pub(crate) fn named(
        name: &str,
        program: &Program,
        group: GroupId,
        from: &[Node],
    ) -> Result<Self, MissingName> {
        let from = |maker| From {
            program,
            maker,
            nodes: from,
        };
        Ok(match name {
            "lofts_on_hand" => {
                let names = LoftsOnHandNames::of(&from("lofts_on_hand"), group)?;
                Maker::LoftsOnHand(Box::new(names))
            }
            "make_up" => Maker::MakeUp(Box::new(MakeUpNames::of(&from("make_up"), group)?)),
            "standard_set" => {
                let names = StandardSetNames::of(&from("standard_set"), group)?;
                Maker::StandardSet(Box::new(names))
            }
            "assemble" => Maker::Assemble(Box::new(AssembleNames::of(&from("assemble"), group)?)),
            other => return Err(MissingName::Maker(other.to_owned())),
        })
    }
}

impl StandardSetNames {
    fn of(from: &From<'_>, made: GroupId) -> Result<Self, MissingName> {
        let kinds = from.kinds(made)?;
        let planned = |kind, loft| {
            Ok(PlannedNames {
                kind: from.kind(kinds, kind)?,
                group: from.group(kind)?,
                loft: from.node(loft)?,
            })
        };
        let kept = from.group("kept")?;
        let [
            kept_kind,
            kept_loft,
            kept_length,
            kept_shaft_mass,
            kept_carry,
        ] = from.fields(kept, ["kind", "loft", "length", "shaft_mass", "carry"])?;
        let names = [
            "kind",
            "is_kept",
            "loft",
            "kept_length",
            "shaft_mass",
            "carry",
            "gap",
        ];
        let plan = from.group("planned")?;
        Ok(StandardSetNames {
            driver_target_loft: from.node("driver_target_loft")?,
            plan,
            plan_fields: from.fields(plan, ["kind", "carry", "gap"])?,
            driver: from.kind(kinds, "driver")?,
            putter: from.kind(kinds, "putter")?,
            planned: [
                planned("fairway", "fairway_loft")?,
                planned("hybrid", "hybrid_loft")?,
                planned("iron", "iron_loft")?,
                planned("wedge", "wedge_loft")?,
            ],
            kept,
            kept_kind,
            kept_loft,
            kept_length,
            kept_shaft_mass,
            kept_carry,
            fields: from.fields(made, names)?,
            width: from.width(made),
        })
    }
}

impl AssembleNames {
    /// The fields of the clubs that are looked at.
    pub(crate) fn club_fields(&self) -> [usize; 4] {
        [
            self.club_kind,
            self.club_is_kept,
            self.club_loft,
            self.club_kept_length,
        ]
    }

    fn of(from: &From<'_>, made: GroupId) -> Result<Self, MissingName> {
        let kinds = from.kinds(made)?;
        let club = from.group("club")?;
        let [club_kind, club_is_kept, club_loft, club_kept_length] =
            from.fields(club, ["kind", "is_kept", "loft", "kept_length"])?;
        let build = |kind, head, shaft| {
            Ok(BuildNames {
                kind: from.kind(kinds, kind)?,
                head: from.piece(head, ["mass"])?,
                shaft: from.piece(shaft, ["mass", "length", "balance"])?,
            })
        };
        let names = [
            "kind",
            "is_kept",
            "loft",
            "length",
            "mass",
            "balance",
            "swingweight",
            "moment",
            "head_mass_change",
            "shaft_length",
            "tip_cut",
            "butt_cut",
            "tip_weight",
            "lead",
        ];
        Ok(AssembleNames {
            club,
            club_kind,
            club_is_kept,
            club_loft,
            club_kept_length,
            club_length: from.node("club_length")?,
            target_swingweight: from.node("target_swingweight")?,
            target_moment: from.node("target_moment")?,
            grip_wraps: from.node("grip_wraps")?,
            tip_trim: from.node("tip_trim")?,
            most_tip_weight: from.node("most_tip_weight")?,
            builds: [
                build("driver", "driver_head", "wood_shaft")?,
                build("fairway", "fairway_head", "wood_shaft")?,
                build("hybrid", "hybrid_head", "wood_shaft")?,
                build("iron", "iron_head", "iron_shaft")?,
                build("wedge", "wedge_head", "wedge_shaft")?,
                build("putter", "putter_head", "putter_shaft")?,
            ],
            grip: from.piece("club_grip", ["mass"])?,
            fields: from.fields(made, names)?,
            width: from.width(made),
        })
    }
}

/// What a group is made from.
struct From<'a> {
    program: &'a Program,
    maker: &'static str,
    nodes: &'a [Node],
}

impl From<'_> {
    fn node(&self, name: &'static str) -> Result<Node, MissingName> {
        let has_name = |node: &&Node| self.program.name_of(**node) == name;
        let missing = MissingName::Node {
            maker: self.maker,
            name,
        };
        self.nodes.iter().find(has_name).copied().ok_or(missing)
    }

    /// A part that the contract reads.
    fn part(&self, name: &'static str) -> Result<PartId, MissingName> {
        let mut parts = self.program.parts.entries();
        let found = parts.find(|(_, part)| part.name == name);
        found.map(|(id, _)| id).ok_or(MissingName::Node {
            maker: self.maker,
            name,
        })
    }

    /// How many fields a club of a group has.
    fn width(&self, group: GroupId) -> usize {
        self.program.groups[group].fields.len()
    }

    fn group(&self, name: &'static str) -> Result<GroupId, MissingName> {
        match self.node(name)? {
            Node::Group(group) => Ok(group),
            _ => Err(MissingName::Node {
                maker: self.maker,
                name,
            }),
        }
    }

    fn piece<const N: usize>(
        &self,
        name: &'static str,
        fields: [&'static str; N],
    ) -> Result<PieceNames<N>, MissingName> {
        let Node::Choose(choose) = self.node(name)? else {
            return Err(MissingName::Node {
                maker: self.maker,
                name,
            });
        };
        let part = self.program.chooses[choose].part;
        Ok(PieceNames {
            choose,
            fields: part_fields(self.program, part, fields)?,
        })
    }

    fn fields<const N: usize>(
        &self,
        group: GroupId,
        names: [&'static str; N],
    ) -> Result<[usize; N], MissingName> {
        let declared = &self.program.groups[group];
        places(names, &declared.name, |name| declared.field_index(name))
    }

    /// The vocabulary of the kinds of clubs, from the made group's own field.
    fn kinds(&self, made: GroupId) -> Result<VocabularyId, MissingName> {
        let declared = &self.program.groups[made];
        let kind = declared.fields.iter().find(|field| field.name == "kind");
        match kind.map(|field| field.value_type) {
            Some(Type::Choice(kinds)) => Ok(kinds),
            _ => Err(MissingName::Field {
                of: declared.name.clone(),
                name: "kind",
            }),
        }
    }

    fn kind(&self, kinds: VocabularyId, name: &'static str) -> Result<i32, MissingName> {
        self.program.vocabularies[kinds]
            .value_of(name)
            .ok_or(MissingName::Kind(name))
    }
}

fn part_fields<const N: usize>(
    program: &Program,
    part: PartId,
    names: [&'static str; N],
) -> Result<[usize; N], MissingName> {
    let declared = &program.parts[part];
    places(names, &declared.name, |name| declared.field_index(name))
}

fn places<const N: usize>(
    names: [&'static str; N],
    of: &str,
    find: impl Fn(&str) -> Option<usize>,
) -> Result<[usize; N], MissingName> {
    let mut found = [0; N];
    for (place, name) in found.iter_mut().zip(names) {
        *place = find(name).ok_or_else(|| MissingName::Field {
            of: of.to_owned(),
            name,
        })?;
    }
    Ok(found)
}
