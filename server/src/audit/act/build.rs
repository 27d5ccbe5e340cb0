//! What was really built was confirmed. Its body is the player's: it is sealed under his key.

use std::collections::BTreeMap;

use super::super::encoding::{EncodeFault, Fields, Value};
use super::super::merkle::Hash;
use super::parts::texts;
use super::{ActFault, StockChange, body, fields, map};

const VERSION: u32 = 1;

/// What is recorded of a build. Its header has the rules and parts of the recommendation.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct BuildConfirmed {
    /// The place of the recommendation's record.
    pub record: u64,
    /// The hash of its leaf.
    pub record_leaf: Hash,
    /// The place of the earlier confirmation that this one replaces.
    pub supersedes: Option<u64>,
    /// The clubs that were to be built, in the bag's order.
    pub clubs: Vec<BuiltClub>,
    /// Where the build differs from the recommendation.
    pub overrides: Vec<Override>,
    /// What came off the stock, or back onto it.
    pub stock: Vec<StockChange>,
}

/// A club as it is built.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct BuiltClub {
    /// Its name in the recommendation.
    pub name: String,
    /// Its parts, pieces and measures by name, as texts; none where it was not built.
    pub fields: BTreeMap<String, String>,
}

/// A difference between what was recommended and what was built.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Override {
    /// The club.
    pub club: String,
    /// What of it: the name of a field; absent where the club was not built at all.
    pub field: Option<String>,
    /// What was recommended; absent where nothing was.
    pub recommended: Option<String>,
    /// What was built; absent where nothing was.
    pub built: Option<String>,
    /// Why.
    pub reason: String,
    /// The decision or choice of the rules that is overridden, where there is one.
    pub decision: Option<String>,
    /// The row that decided it, where one did.
    pub row: Option<DecidingRow>,
}

/// A row of a decision.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct DecidingRow {
    /// The table's number in the decision, from 1.
    pub table: u32,
    /// The row's number in the table, from 1.
    pub row: u32,
}

impl BuildConfirmed {
    /// The body.
    ///
    /// # Errors
    /// [`EncodeFault`]: never, unless a text is larger than any.
    pub fn to_bytes(&self) -> Result<Vec<u8>, EncodeFault> {
        let clubs = self.clubs.iter().map(BuiltClub::to_value).collect();
        let overrides = self.overrides.iter().map(Override::to_value).collect();
        let stock = self.stock.iter().map(StockChange::to_value).collect();
        body(
            VERSION,
            [
                ("record", Some(self.record.into())),
                ("record_leaf", Some(self.record_leaf.into())),
                ("supersedes", self.supersedes.map(Into::into)),
                ("clubs", Some(Value::List(clubs))),
                ("overrides", Some(Value::List(overrides))),
                ("stock", Some(Value::List(stock))),
            ],
        )
    }

    /// The act of a body.
    ///
    /// # Errors
    /// [`ActFault`].
    pub fn of_bytes(bytes: &[u8]) -> Result<Self, ActFault> {
        let mut fields = fields(bytes, VERSION)?;
        let clubs: Vec<Fields<'_>> = fields.needed("clubs")?;
        let overrides: Vec<Fields<'_>> = fields.needed("overrides")?;
        let stock: Vec<Fields<'_>> = fields.needed("stock")?;
        let act = BuildConfirmed {
            record: fields.needed("record")?,
            record_leaf: fields.needed("record_leaf")?,
            supersedes: fields.optional("supersedes")?,
            clubs: each(clubs, BuiltClub::of_fields)?,
            overrides: each(overrides, Override::of_fields)?,
            stock: each(stock, StockChange::of_fields)?,
        };
        fields.none_left()?;
        Ok(act)
    }
}

fn each<'a, T>(
    maps: Vec<Fields<'a>>,
    of_fields: impl Fn(Fields<'a>) -> Result<T, ActFault>,
) -> Result<Vec<T>, ActFault> {
    maps.into_iter().map(of_fields).collect()
}

impl BuiltClub {
    fn to_value(&self) -> Value {
        map([
            ("name", Some(self.name.as_str().into())),
            ("fields", Some(texts(&self.fields))),
        ])
    }

    fn of_fields(mut fields: Fields<'_>) -> Result<Self, ActFault> {
        let club = BuiltClub {
            name: fields.needed("name")?,
            fields: fields.needed("fields")?,
        };
        fields.none_left()?;
        Ok(club)
    }
}

impl Override {
    fn to_value(&self) -> Value {
        let text = |text: &Option<String>| text.as_deref().map(Value::from);
        map([
            ("club", Some(self.club.as_str().into())),
            ("field", text(&self.field)),
            ("recommended", text(&self.recommended)),
            ("built", text(&self.built)),
            ("reason", Some(self.reason.as_str().into())),
            ("decision", text(&self.decision)),
            ("table", self.row.map(|row| row.table.into())),
            ("row", self.row.map(|row| row.row.into())),
        ])
    }

    fn of_fields(mut fields: Fields<'_>) -> Result<Self, ActFault> {
        let table: Option<u32> = fields.optional("table")?;
        let row: Option<u32> = fields.optional("row")?;
        let difference = Override {
            club: fields.needed("club")?,
            field: fields.optional("field")?,
            recommended: fields.optional("recommended")?,
            built: fields.optional("built")?,
            reason: fields.needed("reason")?,
            decision: fields.optional("decision")?,
            row: table
                .zip(row)
                .map(|(table, row)| DecidingRow { table, row }),
        };
        fields.none_left()?;
        Ok(difference)
    }
}
