//! What the checker knows of a declared name: its type, its club, its part.

use super::{DeclarationId, Index, Kind};
use crate::check::{PLAIN, Symbol};
use crate::program::{Field, Shown, Type, VocabularyKind};
use crate::quantity::Dimension;

impl Index {
    /// The type of a declaration's values, and how they are shown.
    pub fn type_of(&self, id: DeclarationId) -> Option<(Type, Shown)> {
        let declaration = &self.declarations[id];
        let owner = declaration.owner.and_then(|owner| self.symbols.get(&owner));
        let program = &self.program;
        let name = declaration.name.as_str();
        match (self.symbols.get(&id).or(owner)?, declaration.kind) {
            (Symbol::Input(id), Kind::Input) => {
                let input = &program.inputs[*id];
                Some((input.value_type, input.shown.clone()))
            }
            (Symbol::Let(id), Kind::Let) => {
                let let_ = &program.lets[*id];
                // What could not be typed still holds what stood in for it, at its own name.
                let is_typed = let_.value.span != let_.origin.span;
                is_typed.then(|| (let_.value_type, let_.shown.clone()))
            }
            (Symbol::Decision(id), Kind::Decision) => {
                let decision = &program.decisions[*id];
                Some((decision.value_type, decision.shown.clone()))
            }
            (Symbol::Model(id), Kind::Model) => {
                Some((program.models[*id].value_type, Shown::default()))
            }
            (Symbol::Model(id), Kind::Argument) => {
                let mut arguments = program.models[*id].arguments.iter();
                let found = arguments.find(|argument| argument.name == name)?;
                Some((found.value_type, Shown::default()))
            }
            (Symbol::Part(id), Kind::Field) => field_type(&program.parts[*id].fields, name),
            (Symbol::Group(id), Kind::Field) => field_type(&program.groups[*id].fields, name),
            (Symbol::Choose(id), Kind::CandidateLet) => {
                let mut lets = program.chooses[*id].lets.iter();
                let found = lets.find(|let_| let_.name == name)?;
                Some((found.value.value_type, found.shown.clone()))
            }
            _ => None,
        }
    }

    /// Whether a reading is personal.
    pub fn is_private(&self, id: DeclarationId) -> bool {
        match self.symbols.get(&id) {
            Some(Symbol::Input(id)) => self.program.inputs[*id].private.is_some(),
            _ => false,
        }
    }

    /// The group for each of which a declaration has a value.
    pub fn group_of(&self, id: DeclarationId) -> Option<DeclarationId> {
        let program = &self.program;
        let group = match self.symbols.get(&id)? {
            Symbol::Let(id) => program.lets[*id].for_each,
            Symbol::Decision(id) => program.decisions[*id].for_each.as_ref().map(|f| f.group),
            Symbol::Choose(id) => program.chooses[*id].for_each.as_ref().map(|f| f.group),
            Symbol::Limit(id) => program.limits[*id].for_each,
            Symbol::Caution(id) => program.cautions[*id].for_each,
            _ => None,
        }?;
        self.named(&program.groups[group].name)
    }

    /// The part that a choice chooses.
    pub fn part_of(&self, id: DeclarationId) -> Option<DeclarationId> {
        match self.symbols.get(&id)? {
            Symbol::Choose(id) => {
                let part = self.program.chooses[*id].part;
                self.named(&self.program.parts[part].name)
            }
            _ => None,
        }
    }

    /// The group that owns the fields of a group.
    pub fn field_owner(&self, group: DeclarationId) -> Option<DeclarationId> {
        match self.symbols.get(&group)? {
            Symbol::Group(id) => {
                let owner = crate::check::field_owner(&self.program, *id);
                self.named(&self.program.groups[owner].name)
            }
            _ => None,
        }
    }

    /// A type's name for people.
    pub fn type_name(&self, value_type: Type) -> String {
        value_type.name(&self.program)
    }

    /// Every name of a type that may stand after a `:`.
    pub fn type_names(&self) -> Vec<String> {
        let dimensions = Dimension::NAMED.iter().map(|(name, _)| *name);
        let plain = PLAIN.iter().map(|(name, _)| *name);
        let vocabularies = self.program.vocabularies.iter();
        let vocabularies = vocabularies.map(|vocabulary| vocabulary.name.as_str());
        let names = dimensions.chain(plain).chain(vocabularies);
        names.map(str::to_owned).collect()
    }

    /// The type of a vocabulary that is called so.
    pub fn type_named(&self, vocabulary: &str) -> Option<Type> {
        let mut known = self.program.vocabularies.entries();
        let (id, found) = known.find(|(_, known)| known.name == vocabulary)?;
        Some(match found.kind {
            VocabularyKind::Choice => Type::Choice(id),
            VocabularyKind::Scale { .. } => Type::Scale(id),
        })
    }

    /// The words of a type: those of a vocabulary, `yes` and `no` of a flag.
    pub fn words_of(&self, value_type: Type) -> Vec<String> {
        match value_type {
            Type::Choice(id) | Type::Scale(id) => self.program.vocabularies[id].words.clone(),
            Type::Flag => vec!["yes".to_owned(), "no".to_owned()],
            _ => Vec::new(),
        }
    }

    /// The plural by which a part or group is spoken of.
    pub fn plural_of(&self, id: DeclarationId) -> String {
        let declaration = &self.declarations[id];
        let written = declaration
            .plural
            .as_ref()
            .map(|plural| plural.text.clone());
        written.unwrap_or_else(|| format!("{}s", declaration.name))
    }
}

fn field_type(fields: &[Field], name: &str) -> Option<(Type, Shown)> {
    let found = fields.iter().find(|field| field.name == name)?;
    Some((found.value_type, found.shown.clone()))
}
