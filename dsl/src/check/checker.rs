//! What all passes share: the program in the making, the names, the findings.

use std::collections::{BTreeMap, BTreeSet};

use super::foreign::right_form;
use super::merge::{Entry, Merged, group_of};
use super::uses::Target;
use crate::arena::Arena;
use crate::diagnostic::{Code, Diagnostic, Severity};
use crate::program::{
    CautionId, ChooseId, DecisionId, GroupId, InputId, LetId, LimitId, ModelId, Origin, PartId,
    Program, Source, VocabularyId,
};
use crate::syntax::nearest::nearest;
use crate::syntax::tree;
use crate::syntax::{Folder, Span};

/// What a declared name stands for.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub(crate) enum Symbol {
    Vocabulary(VocabularyId),
    Input(InputId),
    Part(PartId),
    Group(GroupId),
    Model(ModelId),
    Let(LetId),
    Decision(DecisionId),
    Choose(ChooseId),
    Limit(LimitId),
    Caution(CautionId),
}

impl Symbol {
    /// What a person calls it.
    pub(super) fn word(self) -> &'static str {
        match self {
            Symbol::Vocabulary(_) => "a vocabulary",
            Symbol::Input(_) => "an input",
            Symbol::Part(_) => "a part",
            Symbol::Group(_) => "a group",
            Symbol::Model(_) => "a model",
            Symbol::Let(_) => "a let",
            Symbol::Decision(_) => "a decision",
            Symbol::Choose(_) => "a choice of parts",
            Symbol::Limit(_) => "a limit",
            Symbol::Caution(_) => "a caution",
        }
    }
}

/// How far a let is: its type may be needed before its turn.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Progress {
    Waiting,
    UnderWay,
    Done,
    Failed,
}

/// The checker at work.
pub(super) struct Checker<'a> {
    pub(super) folder: &'a Folder,
    pub(super) merged: &'a Merged<'a>,
    pub(super) program: Program,
    pub(super) symbols: BTreeMap<&'a str, Symbol>,
    pub(super) plurals: BTreeMap<String, PartId>,
    pub(super) let_trees: Vec<(&'a tree::Let, Progress)>,
    /// The lets that are being typed, each for the one before it.
    pub(super) lets_under_way: Vec<LetId>,
    /// The choices whose candidate lets are typed, or being typed: none waits for itself.
    pub(super) lets_begun: BTreeSet<ChooseId>,
    pub(super) diagnostics: Vec<Diagnostic>,
    /// Places of which nothing is said, since another finding is the reason.
    pub(super) silent: Vec<Span>,
    /// What each name stands for, as far as it was resolved.
    pub(super) uses: Vec<(Span, Target)>,
}

impl<'a> Checker<'a> {
    pub(super) fn new(folder: &'a Folder, merged: &'a Merged<'a>, contract_version: u32) -> Self {
        let top = merged.layers.last();
        Checker {
            folder,
            merged,
            program: Program {
                name: top.map(|layer| layer.name.clone()).unwrap_or_default(),
                title: top.map(|layer| layer.title.clone()).unwrap_or_default(),
                layers: merged.layers.clone(),
                contract_version,
                ..Program::of_vocabularies(Arena::new())
            },
            symbols: BTreeMap::new(),
            plurals: BTreeMap::new(),
            let_trees: Vec::new(),
            lets_under_way: Vec::new(),
            lets_begun: BTreeSet::new(),
            diagnostics: Vec::new(),
            silent: Vec::new(),
            uses: Vec::new(),
        }
    }

    /// All passes in their order.
    pub(super) fn run(&mut self) {
        self.declare();
        self.check_groups();
        self.check_hidden_names();
        self.check_bodies();
        self.check_contract();
        self.check_cases();
        self.order_graph();
        self.note_unused();
        self.prove_tables();
    }

    /// What every declaration says, and nothing that is found about it.
    pub(super) fn read(mut self) -> Program {
        self.declare();
        self.check_groups();
        self.check_bodies();
        self.order_graph();
        self.program
    }

    fn check_bodies(&mut self) {
        self.check_lets();
        self.check_inputs();
        self.check_decisions();
        self.check_chooses();
        self.check_limits_and_cautions();
    }

    /// The program, its digests taken, the findings, and what the names stand for.
    pub(super) fn finish(self) -> (Program, Vec<Diagnostic>, Vec<(Span, Target)>) {
        let mut program = self.program;
        program.digests = crate::digest::digests(&program);
        (program, self.diagnostics, self.uses)
    }

    /// Reports an error; the value is for `return self.error(…)` where a pass goes no further.
    pub(super) fn error<T>(
        &mut self,
        code: Code,
        span: Span,
        message: impl Into<String>,
    ) -> Option<T> {
        self.report(Diagnostic::error(code, span, message))
    }

    /// Reports a finding.
    pub(super) fn report<T>(&mut self, diagnostic: Diagnostic) -> Option<T> {
        self.diagnostics.push(diagnostic);
        None
    }

    /// The text at a place, on one line.
    pub(super) fn text(&self, span: Span) -> String {
        let text = &self.folder[span.file].text;
        let lines: Vec<&str> = text
            .get(span.start..span.end)
            .unwrap_or_default()
            .lines()
            // A comment inside a declaration is not part of what it says.
            .map(|line| {
                if line.contains('"') {
                    line
                } else {
                    line.split('#').next().unwrap_or(line)
                }
            })
            .collect();
        lines
            .join(" ")
            .split_whitespace()
            .collect::<Vec<_>>()
            .join(" ")
    }

    /// What a declaration has to say for itself.
    pub(super) fn origin(
        &self,
        entry: &Entry<'_>,
        span: Span,
        about: Option<&tree::Text>,
        source: Option<&tree::Source>,
    ) -> Origin {
        Origin {
            span,
            layer: entry.layer,
            replaces: entry.replaces,
            about: about.map(|text| text.text.clone()),
            source: source.map(|source| match source {
                tree::Source::CommonPractice(_) => Source::CommonPractice,
                tree::Source::Published(text) => Source::Published(text.text.clone()),
            }),
        }
    }

    /// A name that is declared nowhere, with the nearest that is.
    pub(super) fn unknown_name<T>(
        &mut self,
        name: &tree::Name,
        what: &str,
        near: impl IntoIterator<Item = String>,
    ) -> Option<T> {
        if self.is_lost(&name.text) {
            return self.say_nothing(name.span);
        }
        let known: Vec<String> = near.into_iter().collect();
        if let Some(right) = right_form(&name.text, what) {
            let finding = Diagnostic::near_miss(name.span, &name.text, right);
            return self.report(finding);
        }
        let declared = self.symbols.get(name.text.as_str());
        let is_kind = !what.contains("field") && !what.contains("list") && what != "declared";
        let other = declared.filter(|_| is_kind && !what.starts_with("declared,"));
        let (code, message) = match other.filter(|_| !known.contains(&name.text)) {
            Some(other) => {
                let message = format!("`{}` is {}, not {what}", name.text, other.word());
                (Code::WrongKind, message)
            }
            None => (Code::UnknownName, format!("`{}` is not {what}", name.text)),
        };
        let mut finding = Diagnostic::error(code, name.span, message);
        let near = nearest(&name.text, known.iter().map(String::as_str));
        if let Some(nearest) = near {
            finding = finding.with_help(format!("did you mean `{nearest}`?"));
        }
        self.report(finding)
    }

    /// Whether a name belongs to a declaration that is at fault itself, which is reported: it could
    /// not be read, or not be taken in.
    pub(super) fn is_lost(&self, name: &str) -> bool {
        let is_error = |finding: &Diagnostic| finding.severity == Severity::Error;
        let is_declared = |entry: &Entry<'_>| entry.name == name;
        let is_refused = || !self.merged.lost.is_empty() || self.diagnostics.iter().any(is_error);
        self.merged.lost.contains(name)
            || !self.symbols.contains_key(name)
                && self.merged.entries.iter().any(is_declared)
                && is_refused()
    }

    /// Whether a place stands in a declaration for each club of a group of which not all is known:
    /// there is none of the name, or lines of it could not be read.
    pub(super) fn is_of_a_lost_group(&self, place: Span) -> bool {
        let holds = |outer: Span| {
            outer.file == place.file && outer.start <= place.start && place.end <= outer.end
        };
        let mut entries = self.merged.entries.iter();
        let entry = entries.find(|entry| holds(entry.declaration.span));
        let group = entry.and_then(|entry| group_of(&entry.declaration.kind));
        group.is_some_and(|group| {
            let is_group = matches!(
                self.symbols.get(group.text.as_str()),
                Some(Symbol::Group(_))
            );
            !is_group || self.is_damaged(&group.text)
        })
    }

    /// Notes a place where nothing is said, since another finding is the reason: nothing is proved
    /// of what it stands in.
    pub(super) fn say_nothing<T>(&mut self, span: Span) -> Option<T> {
        self.silent.push(span);
        None
    }

    /// Whether lines are missing in what declares a name.
    pub(super) fn is_damaged(&self, name: &str) -> bool {
        let mut entries = self.merged.entries.iter();
        entries.any(|entry| entry.name == name && entry.declaration.is_damaged)
    }

    /// Every declared name.
    pub(super) fn declared_names(&self) -> Vec<String> {
        self.symbols.keys().map(|name| (*name).to_owned()).collect()
    }
}
