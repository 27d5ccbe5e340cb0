//! The rules as the oracle sees them: the trees of all layers, found by name.

use std::collections::BTreeMap;

use loftwright_dsl::syntax::tree::{
    Caution, Choose, Decide, Declaration, DeclarationKind, Field, ForEach, Group, GroupOrigin,
    Input, Let, Limit, Model, Part,
};

/// Everything that is declared, the upper layers' replacements in place.
#[derive(Default)]
pub struct Rules {
    /// Scales and choices: the words in order, and whether it is a scale.
    pub vocabularies: BTreeMap<String, Vocabulary>,
    /// Inputs.
    pub inputs: BTreeMap<String, Input>,
    /// Lets.
    pub lets: BTreeMap<String, Let>,
    /// Decisions.
    pub decisions: BTreeMap<String, Decide>,
    /// Choices of parts.
    pub chooses: BTreeMap<String, Choose>,
    /// Groups.
    pub groups: BTreeMap<String, Group>,
    /// Parts.
    pub parts: BTreeMap<String, Part>,
    /// Models.
    pub models: BTreeMap<String, Model>,
    /// Limits.
    pub limits: BTreeMap<String, Limit>,
    /// Cautions.
    pub cautions: BTreeMap<String, Caution>,
    /// The choices from each kind of part, by its plural, in the order in which they take.
    pub(super) choice_order: BTreeMap<String, Vec<String>>,
}

/// A closed list of words.
pub struct Vocabulary {
    /// The words, lowest first.
    pub words: Vec<String>,
    /// Whether they are ordered and may have half steps.
    pub is_scale: bool,
}

impl Vocabulary {
    /// The place of a word: its index in a choice, twice its index in a scale.
    pub fn place(&self, word: &str) -> Option<i32> {
        let index = self.words.iter().position(|known| known == word)?;
        let index = i32::try_from(index).unwrap();
        Some(if self.is_scale { 2 * index } else { index })
    }

    /// The highest place.
    pub fn highest(&self) -> i32 {
        let last = i32::try_from(self.words.len()).unwrap() - 1;
        if self.is_scale { 2 * last } else { last }
    }
}

/// What a name declares, where it can be asked for its outcome.
#[derive(Clone, Copy)]
pub enum Node<'a> {
    /// A reading.
    Input(&'a Input),
    /// A let.
    Let(&'a Let),
    /// A decision.
    Decide(&'a Decide),
    /// A choice of parts.
    Choose(&'a Choose),
    /// A limit.
    Limit(&'a Limit),
    /// A caution.
    Caution(&'a Caution),
}

impl Rules {
    /// All layers, the contract first; a later declaration of a name stands for an earlier one.
    pub fn new(layers: &[Vec<Declaration>]) -> Self {
        let mut rules = Rules::default();
        for declaration in layers.iter().flatten() {
            rules.add(&declaration.kind);
        }
        rules.order_choices();
        rules
    }

    fn add(&mut self, kind: &DeclarationKind) {
        let text = |name: &loftwright_dsl::syntax::tree::Name| name.text.clone();
        match kind {
            DeclarationKind::Scale(scale) => {
                let words = scale.steps.iter().map(text).collect();
                let vocabulary = Vocabulary {
                    words,
                    is_scale: true,
                };
                self.vocabularies.insert(text(&scale.name), vocabulary);
            }
            DeclarationKind::Choice(choice) => {
                let words = choice.values.iter().map(text).collect();
                let vocabulary = Vocabulary {
                    words,
                    is_scale: false,
                };
                self.vocabularies.insert(text(&choice.name), vocabulary);
            }
            DeclarationKind::Input(input) => {
                self.inputs.insert(text(&input.name), (**input).clone());
            }
            DeclarationKind::Let(value) => {
                self.lets.insert(text(&value.name), (**value).clone());
            }
            DeclarationKind::Decide(decide) => {
                self.decisions
                    .insert(text(&decide.name), (**decide).clone());
            }
            DeclarationKind::Choose(choose) => {
                self.chooses.insert(text(&choose.name), (**choose).clone());
            }
            DeclarationKind::Group(group) => {
                self.groups.insert(text(&group.name), (**group).clone());
            }
            DeclarationKind::Part(part) => {
                self.parts.insert(text(&part.name), part.clone());
            }
            DeclarationKind::Model(model) => {
                self.models.insert(text(&model.name), model.clone());
            }
            DeclarationKind::Limit(limit) => {
                self.limits.insert(text(&limit.name), (**limit).clone());
            }
            DeclarationKind::Caution(caution) => {
                self.cautions
                    .insert(text(&caution.name), (**caution).clone());
            }
            DeclarationKind::Ruleset(_)
            | DeclarationKind::Reads(_)
            | DeclarationKind::Case(_)
            | DeclarationKind::DropCase(_) => {}
        }
    }

    /// What a name declares.
    pub fn node(&self, name: &str) -> Option<Node<'_>> {
        let input = self.inputs.get(name).map(Node::Input);
        input
            .or_else(|| self.lets.get(name).map(Node::Let))
            .or_else(|| self.decisions.get(name).map(Node::Decide))
            .or_else(|| self.chooses.get(name).map(Node::Choose))
            .or_else(|| self.limits.get(name).map(Node::Limit))
            .or_else(|| self.cautions.get(name).map(Node::Caution))
    }

    /// The names of all nodes.
    pub fn node_names(&self) -> Vec<String> {
        let names = self.inputs.keys().chain(self.lets.keys());
        let names = names
            .chain(self.decisions.keys())
            .chain(self.chooses.keys());
        let names = names.chain(self.limits.keys()).chain(self.cautions.keys());
        names.cloned().collect()
    }

    /// The part whose plural this is.
    pub fn part_of_plural(&self, plural: &str) -> Option<&Part> {
        self.parts.values().find(|part| match &part.plural {
            Some(name) => name.text == plural,
            None => format!("{}s", part.name.text) == plural,
        })
    }

    /// The group of this name or with this name as its plural.
    pub fn group_of_plural(&self, name: &str) -> Option<&Group> {
        let singular = name.strip_suffix('s').unwrap_or(name);
        self.groups.get(name).or_else(|| self.groups.get(singular))
    }

    /// The group that declares a field of this group, and the field.
    pub fn group_field(&self, group: &str, field: &str) -> Option<(String, &Field)> {
        let declared = self.groups.get(group)?;
        let own = declared.fields.iter().find(|own| own.name.text == field);
        if let Some(own) = own {
            return Some((group.to_owned(), own));
        }
        match &declared.origin {
            Some(GroupOrigin::Where { of, .. }) => self.group_field(&of.text, field),
            _ => None,
        }
    }

    /// A field of a part.
    pub fn part_field(&self, part: &str, field: &str) -> Option<&Field> {
        let declared = self.parts.get(part)?;
        declared.fields.iter().find(|own| own.name.text == field)
    }
}

impl Node<'_> {
    /// The group it is decided for.
    pub fn for_each(&self) -> Option<&ForEach> {
        match self {
            Node::Input(_) => None,
            Node::Let(value) => value.for_each.as_ref(),
            Node::Decide(decide) => decide.for_each.as_ref(),
            Node::Choose(choose) => choose.for_each.as_ref(),
            Node::Limit(limit) => limit.for_each.as_ref(),
            Node::Caution(caution) => caution.for_each.as_ref(),
        }
    }
}
