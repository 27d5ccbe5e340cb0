//! What is to be said of a declared name: never of a player, only of the declaration.

use std::collections::BTreeSet;

use super::{DeclarationId, Index, Kind};
use crate::check::Symbol;
use crate::digest::{declaration_digests, stands_on_digits};
use crate::program::{Origin, Source, Type, Value};

/// A declared name described for people.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Description {
    /// How it is declared: its first line, with the type of a let that does not state it.
    pub signature: String,
    /// The name of its type.
    pub type_name: Option<String>,
    /// The unit in which its values are shown.
    pub unit: Option<String>,
    /// The lowest and highest value, where it is declared with them.
    pub range: Option<String>,
    /// The question that a shop asks.
    pub ask: Option<String>,
    /// What it is about.
    pub about: Option<String>,
    /// Where it comes from.
    pub source: Option<String>,
    /// The layer that declares it.
    pub layer: String,
    /// The layer whose declaration it replaces.
    pub replaces: Option<String>,
    /// The layer whose declaration replaces it.
    pub replaced_by: Option<String>,
    /// What a replacement of it stands on, where a ruleset above may replace it.
    pub stands_on: Option<String>,
    /// The decisions, choices, limits and cautions that rest on it: directly, or through lets
    /// alone; in the order of their names.
    pub decides: Vec<String>,
    /// How many cases speak of it.
    pub cases: usize,
    /// Whether the engine reads it from the rules.
    pub is_read_by_the_engine: bool,
}

impl Index {
    /// Describes a declared name.
    pub fn describe(&self, id: DeclarationId) -> Description {
        let declaration = &self.declarations[id];
        let typed = self.type_of(id);
        let symbol = self.symbols.get(&id).copied();
        let (about, source) = symbol.map_or((None, None), |symbol| self.about_and_source(symbol));
        let ask = match symbol {
            Some(Symbol::Input(input)) => self.program.inputs[input].ask.clone(),
            _ => None,
        };
        let mut replacing = self.declarations.entries();
        let replaced_by = replacing.find(|(_, other)| other.replaces == Some(id));
        let layer_of = |id: DeclarationId| self.layer_name(self.declarations[id].layer);
        let users = self.users(id);
        let of_kind = |kind| {
            let is_kind = |user: &&DeclarationId| self.declarations[**user].kind == kind;
            users.iter().filter(is_kind).count()
        };
        Description {
            signature: self.signature(id),
            type_name: typed
                .as_ref()
                .map(|(value_type, _)| self.type_name(*value_type)),
            unit: typed
                .as_ref()
                .and_then(|(value_type, shown)| shown.unit_text(*value_type))
                .map(str::to_owned),
            range: self.range(id),
            ask,
            about,
            source,
            layer: self.layer_name(declaration.layer),
            replaces: declaration.replaces.map(layer_of),
            replaced_by: replaced_by.map(|(other, _)| layer_of(other)),
            stands_on: replaced_by.is_none().then(|| self.stands_on(id)).flatten(),
            decides: self.decides(id),
            cases: of_kind(Kind::Case),
            is_read_by_the_engine: of_kind(Kind::Reads) > 0,
        }
    }

    /// The digits that a replacement of a declaration below writes; none of the contract's and the
    /// ruleset's own, which nothing replaces.
    fn stands_on(&self, id: DeclarationId) -> Option<String> {
        let declaration = &self.declarations[id];
        let top = self.program.layers.len().saturating_sub(1);
        let is_below = declaration.owner.is_none() && (1..top).contains(&declaration.layer);
        let program = self.program().filter(|_| is_below)?;
        let digests = declaration_digests(program);
        Some(stands_on_digits(digests.get(&declaration.name)?).to_owned())
    }

    /// The name of a layer, counted from the engine's contract.
    pub fn layer_name(&self, layer: usize) -> String {
        let found = self.program.layers.get(layer);
        found.map(|layer| layer.name.clone()).unwrap_or_default()
    }

    fn signature(&self, id: DeclarationId) -> String {
        let declaration = &self.declarations[id];
        let name = &declaration.name;
        let owner = declaration
            .owner
            .map(|owner| self.declarations[owner].name.as_str());
        let type_text = self
            .type_of(id)
            .map(|(value_type, _)| format!(" : {}", self.type_name(value_type)))
            .unwrap_or_default();
        match (declaration.kind, owner) {
            (Kind::Word, Some(owner)) => format!("{name}, a value of {owner}"),
            (Kind::Field, Some(owner)) => format!("{owner}.{name}{type_text}"),
            (Kind::Argument, Some(owner)) => format!("{name}{type_text}, of {owner}"),
            (Kind::CandidateLet, Some(owner)) => format!("let {name}{type_text}, of {owner}"),
            (Kind::Let, _) => {
                let group = self
                    .group_of(id)
                    .map(|group| &self.declarations[group].name);
                let group = group.map(|group| format!(", for each {group}"));
                format!("let {name}{type_text}{}", group.unwrap_or_default())
            }
            _ => self.first_line(id),
        }
    }

    /// The first line of a declaration without its comment.
    fn first_line(&self, id: DeclarationId) -> String {
        let whole = self.declarations[id].whole;
        let text = self.folder[whole.file].text.get(whole.start..whole.end);
        let line = text
            .and_then(|text| text.lines().next())
            .unwrap_or_default();
        let line = if line.contains('"') {
            line
        } else {
            line.split('#').next().unwrap_or(line)
        };
        line.split_whitespace().collect::<Vec<_>>().join(" ")
    }

    fn about_and_source(&self, symbol: Symbol) -> (Option<String>, Option<String>) {
        let program = &self.program;
        let origin: Option<&Origin> = match symbol {
            Symbol::Vocabulary(_) => None,
            Symbol::Input(id) => Some(&program.inputs[id].origin),
            Symbol::Part(id) => Some(&program.parts[id].origin),
            Symbol::Group(id) => Some(&program.groups[id].origin),
            Symbol::Model(id) => Some(&program.models[id].origin),
            Symbol::Let(id) => Some(&program.lets[id].origin),
            Symbol::Decision(id) => Some(&program.decisions[id].origin),
            Symbol::Choose(id) => Some(&program.chooses[id].origin),
            Symbol::Limit(id) => Some(&program.limits[id].origin),
            Symbol::Caution(id) => Some(&program.cautions[id].origin),
        };
        let source = origin.and_then(|origin| origin.source.as_ref());
        (
            origin.and_then(|origin| origin.about.clone()),
            source.map(|source| match source {
                Source::CommonPractice => "common practice".to_owned(),
                Source::Published(text) => text.clone(),
            }),
        )
    }

    fn range(&self, id: DeclarationId) -> Option<String> {
        let declaration = &self.declarations[id];
        let program = &self.program;
        let owner = declaration.owner.and_then(|owner| self.symbols.get(&owner));
        let name = declaration.name.as_str();
        let field = |fields: &[crate::program::Field]| {
            let found = fields.iter().find(|field| field.name == name);
            found.and_then(|field| field.between.clone())
        };
        let between: Option<(Value, Value)> =
            match (self.symbols.get(&id).or(owner)?, declaration.kind) {
                (Symbol::Input(id), Kind::Input) => program.inputs[*id].between.clone(),
                (Symbol::Part(id), Kind::Field) => field(&program.parts[*id].fields),
                (Symbol::Group(id), Kind::Field) => field(&program.groups[*id].fields),
                (Symbol::Model(id), Kind::Argument) => {
                    let mut arguments = program.models[*id].arguments.iter();
                    let found = arguments.find(|argument| argument.name == name)?;
                    found.between.clone()
                }
                _ => None,
            };
        let (low, high) = between?;
        let (value_type, shown) = self.type_of(id)?;
        let text = |value: &Value| match (value, value_type) {
            (Value::Word(_), Type::Choice(_) | Type::Scale(_)) | (Value::Number(_), _) => {
                shown.text(program, value_type, value)
            }
            _ => String::new(),
        };
        Some(format!("{} through {}", text(&low), text(&high)))
    }

    /// What rests on a name directly or through lets alone.
    fn decides(&self, id: DeclarationId) -> Vec<String> {
        let mut seen = BTreeSet::from([id]);
        let mut waiting = vec![id];
        let mut names = BTreeSet::new();
        while let Some(next) = waiting.pop() {
            for user in self.users(next) {
                let declaration = &self.declarations[user];
                match declaration.kind {
                    Kind::Let if seen.insert(user) => waiting.push(user),
                    Kind::Decision | Kind::Choose | Kind::Limit | Kind::Caution => {
                        names.insert(declaration.name.clone());
                    }
                    _ => {}
                }
            }
        }
        names.into_iter().collect()
    }
}
