//! From the trees of all layers to the names that they declare.

use std::collections::BTreeMap;

use super::declaration::{Declaration, DeclarationId, Kind};
use crate::arena::Arena;
use crate::syntax::Span;
use crate::syntax::tree::{self, DeclarationKind, Name};

/// What the trees declare.
#[derive(Debug, Default)]
pub(super) struct Collected {
    pub(super) declarations: Arena<Declaration>,
    /// What a plain name stands for: the declaration of the highest layer that counts.
    pub(super) named: BTreeMap<String, DeclarationId>,
    /// Words, fields, lets and arguments by their owner and name.
    pub(super) members: BTreeMap<(DeclarationId, String), DeclarationId>,
    cases: BTreeMap<String, DeclarationId>,
}

/// Collects every declared name; which of two counts follows the merging of layers.
pub(super) fn collect(layers: &[Vec<tree::Declaration>]) -> Collected {
    let mut collected = Collected::default();
    for (layer, declarations) in layers.iter().enumerate() {
        for declaration in declarations {
            collected.add(layer, declaration);
        }
    }
    collected
}

impl Collected {
    // Long because every kind of declaration has its arm.
    fn add(&mut self, layer: usize, declaration: &tree::Declaration) {
        let whole = declaration.span;
        let top = |kind, name: &Name| Declaration {
            name: name.text.clone(),
            kind,
            span: name.span,
            whole,
            owner: None,
            layer,
            replaces: None,
            is_replaced: false,
            plural: None,
            formerly: Vec::new(),
        };
        match &declaration.kind {
            DeclarationKind::Ruleset(ruleset) => {
                self.declarations.push(top(Kind::Ruleset, &ruleset.name));
            }
            DeclarationKind::Scale(scale) => {
                let id = self.named(declaration, top(Kind::Vocabulary, &scale.name));
                self.words(id, &scale.steps);
            }
            DeclarationKind::Choice(choice) => {
                let id = self.named(declaration, top(Kind::Vocabulary, &choice.name));
                self.words(id, &choice.values);
            }
            DeclarationKind::Input(input) => {
                let formerly = input.formerly.clone();
                let plain = top(Kind::Input, &input.name);
                self.named(declaration, Declaration { formerly, ..plain });
            }
            DeclarationKind::Part(part) => {
                let plural = part.plural.clone();
                let plain = top(Kind::Part, &part.name);
                let id = self.named(declaration, Declaration { plural, ..plain });
                self.fields(id, &part.fields);
            }
            DeclarationKind::Group(group) => {
                let id = self.named(declaration, top(Kind::Group, &group.name));
                self.fields(id, &group.fields);
            }
            DeclarationKind::Model(model) => {
                let id = self.named(declaration, top(Kind::Model, &model.name));
                for argument in &model.arguments {
                    let whole = argument.name.span.to(argument.type_reference.span);
                    self.member(id, Kind::Argument, &argument.name, whole);
                }
            }
            DeclarationKind::Let(let_) => {
                self.named(declaration, top(Kind::Let, &let_.name));
            }
            DeclarationKind::Decide(decide) => {
                self.named(declaration, top(Kind::Decision, &decide.name));
            }
            DeclarationKind::Choose(choose) => {
                let id = self.named(declaration, top(Kind::Choose, &choose.name));
                for let_ in &choose.lets {
                    let whole = let_.name.span.to(let_.value.span);
                    self.member(id, Kind::CandidateLet, &let_.name, whole);
                }
            }
            DeclarationKind::Limit(limit) => {
                self.named(declaration, top(Kind::Limit, &limit.name));
            }
            DeclarationKind::Caution(caution) => {
                self.named(declaration, top(Kind::Caution, &caution.name));
            }
            DeclarationKind::Reads(reads) => {
                self.declarations.push(top(Kind::Reads, &reads.name));
            }
            DeclarationKind::Case(case) => self.case(declaration, layer, &case.title),
            DeclarationKind::DropCase(_) => {}
        }
    }

    /// As the merging of layers has it: a second of the same layer, or one that does not say
    /// `replace`, leaves the first in its place.
    fn named(&mut self, read: &tree::Declaration, declaration: Declaration) -> DeclarationId {
        let below = self.named.get(&declaration.name).copied();
        let name = declaration.name.clone();
        let Some(below) = below else {
            let id = self.declarations.push(declaration);
            self.named.insert(name, id);
            return id;
        };
        let under = &self.declarations[below];
        let counts = read.replaces
            && under.layer != 0
            && under.layer != declaration.layer
            && under.kind == declaration.kind;
        let replaces = counts.then_some(below);
        let id = self.declarations.push(Declaration {
            replaces,
            ..declaration
        });
        if counts {
            self.declarations[below].is_replaced = true;
            self.named.insert(name, id);
        }
        id
    }

    fn case(&mut self, read: &tree::Declaration, layer: usize, title: &tree::Text) {
        let below = self.cases.get(&title.text).copied();
        let replaces = below.filter(|_| read.replaces);
        if let Some(below) = replaces {
            self.declarations[below].is_replaced = true;
        }
        let id = self.declarations.push(Declaration {
            name: title.text.clone(),
            kind: Kind::Case,
            span: title.span,
            whole: read.span,
            owner: None,
            layer,
            replaces,
            is_replaced: false,
            plural: None,
            formerly: Vec::new(),
        });
        self.cases.insert(title.text.clone(), id);
    }

    fn words(&mut self, owner: DeclarationId, words: &[Name]) {
        for word in words {
            self.member(owner, Kind::Word, word, word.span);
        }
    }

    fn fields(&mut self, owner: DeclarationId, fields: &[tree::Field]) {
        for field in fields {
            let whole = field.name.span.to(field.type_reference.span);
            self.member(owner, Kind::Field, &field.name, whole);
        }
    }

    fn member(&mut self, owner: DeclarationId, kind: Kind, name: &Name, whole: Span) {
        let layer = self.declarations[owner].layer;
        let id = self.declarations.push(Declaration {
            name: name.text.clone(),
            kind,
            span: name.span,
            whole,
            owner: Some(owner),
            layer,
            replaces: None,
            is_replaced: false,
            plural: None,
            formerly: Vec::new(),
        });
        // The first of two of a name is the one that counts.
        self.members.entry((owner, name.text.clone())).or_insert(id);
    }
}
