//! What is offered for each thing that may be wanted.

use loftwright_dsl::index::{Declaration, DeclarationId, Kind};
use loftwright_dsl::program::{BENCH_WORK, Type};
use loftwright_dsl::quantity::{Dimension, UNITS};
use lsp_types::CompletionItemKind;

use super::{Offers, Rank, words};
use crate::files::built_in;

impl Offers<'_> {
    pub(super) fn clause(&mut self) {
        let kind = self.context.kind();
        self.words(words::clauses(kind));
        let is_in_table = self
            .context
            .lines_above
            .iter()
            .any(|line| line.trim_start().starts_with("by ") || line.contains(" by "));
        if kind == "decide" && is_in_table {
            let column = self.context.first_column();
            self.cell(column.as_deref());
        }
    }

    pub(super) fn replaceable(&mut self, word: &str) {
        let highest = self
            .index
            .declarations
            .iter()
            .map(|found| found.layer)
            .max();
        let names: Vec<(String, Kind)> = self
            .index
            .declarations
            .iter()
            .filter(|found| found.layer > 0 && Some(found.layer) != highest)
            .filter(|found| !found.is_replaced && is_of_word(found, word))
            .map(|found| (found.name.clone(), found.kind))
            .collect();
        for (name, kind) in names {
            self.offer(&name, shape(kind), kind.word().to_owned(), Rank::Fits);
        }
    }

    pub(super) fn types(&mut self) {
        for name in self.index.type_names() {
            let shape = CompletionItemKind::CLASS;
            self.offer(&name, shape, "type".to_owned(), Rank::Fits);
        }
        self.words(&["list of"]);
    }

    /// The units of the dimension that is expected first, then all others.
    pub(super) fn units(&mut self) {
        let dimension = self.expected_dimension();
        for unit in UNITS {
            let rank = match dimension {
                Some(wanted) if wanted == unit.dimension => Rank::Fits,
                Some(_) => continue,
                None => Rank::Possible,
            };
            let shape = CompletionItemKind::UNIT;
            self.offer(unit.symbol, shape, unit.dimension.to_string(), rank);
        }
        if self.context.kind() == "decide" {
            self.words(words::CONDITIONS);
        }
    }

    /// The dimension of the declaration at hand, or of the row's column.
    fn expected_dimension(&self) -> Option<Dimension> {
        let name = match self.context.column_at_hand() {
            Some(column) => column,
            None => self.context.declared_name(),
        };
        self.type_of(&name)?.dimension()
    }

    pub(super) fn groups(&mut self) {
        self.named(|kind| kind == Kind::Group, Rank::Fits);
    }

    pub(super) fn plurals(&mut self) {
        let declared = self.index.declarations.entries();
        let parts = declared.filter(|(_, found)| found.kind == Kind::Part && !found.is_replaced);
        let plurals: Vec<String> = parts.map(|(id, _)| self.index.plural_of(id)).collect();
        for plural in plurals {
            let shape = CompletionItemKind::STRUCT;
            self.offer(&plural, shape, "parts".to_owned(), Rank::Fits);
        }
    }

    pub(super) fn rulesets(&mut self) {
        for name in built_in::ruleset_names() {
            let shape = CompletionItemKind::MODULE;
            self.offer(name, shape, "built in".to_owned(), Rank::Fits);
        }
    }

    pub(super) fn given(&mut self) {
        self.named(|kind| kind == Kind::Input, Rank::Fits);
        self.words(&["kept"]);
    }

    pub(super) fn expected(&mut self) {
        let kinds = [Kind::Decision, Kind::Let, Kind::Choose];
        self.named(|kind| kinds.contains(&kind), Rank::Fits);
        self.words(&["every", "caution", "no caution", "limit", "no limit"]);
        self.named(
            |kind| matches!(kind, Kind::Caution | Kind::Limit),
            Rank::Possible,
        );
    }

    pub(super) fn value_of(&mut self, name: &str) {
        let name = match name {
            "every" => self.context.before.split_whitespace().nth(2),
            _ => Some(name),
        };
        if let Some(found) = name.and_then(|name| self.type_of(name)) {
            self.values(found);
        }
        self.words(&["unknown", "none"]);
    }

    /// The works of the bench at which a caution may stand.
    pub(super) fn works(&mut self) {
        if let Some(works) = self.index.type_named(BENCH_WORK) {
            self.values(works);
        }
    }

    pub(super) fn members_of(&mut self, owner: &str) {
        let Some(id) = self.index.named(owner) else {
            return;
        };
        let of_chosen = self.index.part_of(id);
        let fields_of = of_chosen.or_else(|| self.index.field_owner(id));
        for owner in [Some(id), fields_of].into_iter().flatten() {
            self.members(owner);
        }
    }

    pub(super) fn compared(&mut self, subject: &str) {
        if let Some(found) = self.type_of(subject) {
            self.values(found);
        }
        self.words(&["known", "not", "none", "one of"]);
        self.expression();
    }

    pub(super) fn result(&mut self) {
        let name = self.context.declared_name();
        if let Some(found) = self.type_of(&name) {
            self.values(found);
            self.named_of_type(found);
        }
        self.expression();
    }

    pub(super) fn cell(&mut self, column: Option<&str>) {
        if let Some(found) = column.and_then(|column| self.type_of(column)) {
            self.values(found);
        }
        self.words(words::CONDITIONS);
    }

    pub(super) fn subject(&mut self) {
        if let Some(choose) = self.enclosing {
            self.members(choose);
            if let Some(part) = self.index.part_of(choose) {
                self.members(part);
            }
        }
        self.words(&["any", "the size of", "not"]);
    }

    pub(super) fn expression(&mut self) {
        let at_hand = self.enclosing.and_then(|id| self.index.group_of(id));
        if let Some(owner) = at_hand.and_then(|group| self.index.field_owner(group)) {
            self.members(owner);
        }
        if let Some(id) = self.enclosing
            && self.index.declarations[id].kind == Kind::Choose
        {
            self.members(id);
        }
        let kinds = [Kind::Input, Kind::Let, Kind::Decision];
        self.named(|kind| kinds.contains(&kind), Rank::Possible);
        let kinds = [Kind::Group, Kind::Choose, Kind::Model];
        self.named(|kind| kinds.contains(&kind), Rank::Possible);
        self.words(words::EXPRESSIONS);
    }

    /// The values of a type, where they can be listed.
    fn values(&mut self, value_type: Type) {
        let detail = self.index.type_name(value_type);
        for word in self.index.words_of(value_type) {
            let shape = CompletionItemKind::ENUM_MEMBER;
            self.offer(&word, shape, detail.clone(), Rank::Fits);
        }
    }

    fn named(&mut self, is_wanted: impl Fn(Kind) -> bool, rank: Rank) {
        let declared = self.index.declarations.entries();
        let wanted: Vec<DeclarationId> = declared
            .filter(|(_, found)| is_wanted(found.kind) && !found.is_replaced)
            .map(|(id, _)| id)
            .collect();
        for id in wanted {
            self.declared(id, rank);
        }
    }

    fn named_of_type(&mut self, value_type: Type) {
        let declared = self.index.declarations.entries();
        let wanted: Vec<DeclarationId> = declared
            .filter(|(_, found)| found.kind.is_named() && !found.is_replaced)
            .filter(|(id, _)| {
                self.index
                    .type_of(*id)
                    .is_some_and(|found| found.0 == value_type)
            })
            .map(|(id, _)| id)
            .collect();
        for id in wanted {
            self.declared(id, Rank::Fits);
        }
    }

    fn members(&mut self, owner: DeclarationId) {
        for id in self.index.members(owner) {
            self.declared(id, Rank::Fits);
        }
    }

    fn declared(&mut self, id: DeclarationId, rank: Rank) {
        let found = &self.index.declarations[id];
        let type_name = self
            .index
            .type_of(id)
            .map(|found| self.index.type_name(found.0));
        let word = found.kind.word();
        let detail = type_name.map_or_else(|| word.to_owned(), |name| format!("{word} : {name}"));
        let (name, kind) = (found.name.clone(), found.kind);
        self.offer(&name, shape(kind), detail, rank);
    }

    /// The type of a name as it stands in a line: a declaration, or a field of the part or club at
    /// hand.
    fn type_of(&self, text: &str) -> Option<Type> {
        let name = text.strip_prefix("its ").unwrap_or(text);
        let (owner, field) = match name.split_once('.') {
            Some((owner, field)) => (Some(self.index.named(owner)?), field),
            None => (None, name),
        };
        let at_hand = self.enclosing.and_then(|id| {
            let group = self.index.group_of(id);
            self.index.part_of(id).or(group)
        });
        let owners = [owner, owner.and_then(|id| self.index.part_of(id)), at_hand];
        let in_owner = owners.into_iter().flatten().find_map(|owner| {
            let owner = self.index.field_owner(owner).unwrap_or(owner);
            self.index.member(owner, field)
        });
        let found = match owner {
            Some(_) => in_owner?,
            None => in_owner.or_else(|| self.index.named(field))?,
        };
        self.index.type_of(found).map(|found| found.0)
    }
}

fn is_of_word(found: &Declaration, word: &str) -> bool {
    match word {
        "scale" | "choice" => found.kind == Kind::Vocabulary,
        "decide" => found.kind == Kind::Decision,
        "choose" => found.kind == Kind::Choose,
        _ => found.kind.word() == word,
    }
}

fn shape(kind: Kind) -> CompletionItemKind {
    match kind {
        Kind::Vocabulary => CompletionItemKind::ENUM,
        Kind::Word => CompletionItemKind::ENUM_MEMBER,
        Kind::Field | Kind::Argument => CompletionItemKind::FIELD,
        Kind::Part => CompletionItemKind::STRUCT,
        Kind::Group => CompletionItemKind::CLASS,
        Kind::Model => CompletionItemKind::INTERFACE,
        Kind::Input => CompletionItemKind::VARIABLE,
        Kind::Let | Kind::CandidateLet => CompletionItemKind::CONSTANT,
        Kind::Decision | Kind::Choose => CompletionItemKind::FUNCTION,
        Kind::Limit | Kind::Caution | Kind::Case => CompletionItemKind::EVENT,
        Kind::Ruleset | Kind::Reads => CompletionItemKind::MODULE,
    }
}
