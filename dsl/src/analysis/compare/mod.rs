//! Two versions of a ruleset held against each other, declaration by declaration.
//!
//! A decision by rows is compared exactly in its own columns: the regions of the joint space of
//! both versions in which its outcome differs (`rows`). Everything else is compared by what it says
//! (`lines`): equal where the meaning is, shown as it is written. What changed is followed through
//! the new version's graph to what depends on it. Pure: no files, and nothing is printed here.

mod change;
mod choose_lines;
mod lines;
mod regions;
mod rows;

use std::collections::{BTreeMap, BTreeSet};

use self::lines::{Line, Lines};
use crate::check::dependencies;
use crate::program::{Decision, Node, Program};
use crate::syntax::Folder;

pub use self::change::{
    Change, Comparison, How, Identity, LineChange, Named, OutcomeSide, RegionChange, RowSide,
};
pub use self::rows::{ComparedAxis, ComparedRegion, ComparedRows, Side, compare_rows};

/// The most regions of a decision that are listed; the count of the rest is kept.
pub const MOST_REGIONS_SHOWN: usize = 20;

/// A checked ruleset and the files its places point into.
#[derive(Clone, Copy, Debug)]
pub struct Version<'a> {
    /// The program.
    pub program: &'a Program,
    /// The files.
    pub folder: &'a Folder,
}

/// Compares two versions; at most `most_regions` regions of a decision are listed.
pub fn compare(old: Version<'_>, new: Version<'_>, most_regions: usize) -> Comparison {
    let (before, after) = (declarations(&old), declarations(&new));
    let names: BTreeSet<&Key> = before.keys().chain(after.keys()).collect();
    let mut changes = Vec::new();
    for key in names {
        let change = match (before.get(key), after.get(key)) {
            (Some(one), Some(other)) => changed(key, (&old, one), (&new, other), most_regions),
            (Some(one), None) => Some(alone(key, How::Removed, &old, one)),
            (None, Some(other)) => Some(alone(key, How::Added, &new, other)),
            (None, None) => None,
        };
        changes.extend(change);
    }
    add_dependents(new.program, &mut changes);
    let digests = (&old.program.digests, &new.program.digests);
    Comparison {
        old: identity(old.program),
        new: identity(new.program),
        same_meaning: digests.0.meaning == digests.1.meaning,
        same_text: digests.0.text == digests.1.text,
        changes,
    }
}

fn identity(program: &Program) -> Identity {
    Identity {
        name: program.name.clone(),
        title: program.title.clone(),
        meaning: program.digests.meaning.clone(),
        text: program.digests.text.clone(),
    }
}

/// A declaration by kind and name.
type Key = (Kind, String);

/// The kinds in the order in which they are listed.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
enum Kind {
    Vocabulary,
    Input,
    Part,
    Group,
    Let,
    Decision,
    Choose,
    Limit,
    Caution,
}

impl Kind {
    fn word(self) -> &'static str {
        match self {
            Kind::Vocabulary => "vocabulary",
            Kind::Input => "input",
            Kind::Part => "part",
            Kind::Group => "group",
            Kind::Let => "let",
            Kind::Decision => "decide",
            Kind::Choose => "choose",
            Kind::Limit => "limit",
            Kind::Caution => "caution",
        }
    }
}

/// What one version says of a declaration.
struct Declared<'p> {
    lines: Vec<Line>,
    decision: Option<&'p Decision>,
}

fn declarations<'v>(version: &'v Version<'v>) -> BTreeMap<Key, Declared<'v>> {
    let program = version.program;
    let mut all: BTreeMap<Key, Declared<'v>> = BTreeMap::new();
    let mut add = |kind: Kind, name: &str, say: &dyn Fn(&mut Lines<'v>)| {
        let mut lines = Lines::new(version);
        say(&mut lines);
        let declared = Declared {
            lines: lines.done(),
            decision: None,
        };
        all.insert((kind, name.to_owned()), declared);
    };
    for vocabulary in program.vocabularies.iter() {
        add(Kind::Vocabulary, &vocabulary.name, &|lines| {
            lines.vocabulary(vocabulary);
        });
    }
    for input in program.inputs.iter() {
        add(Kind::Input, &input.name, &|lines| lines.input(input));
    }
    for part in program.parts.iter() {
        add(Kind::Part, &part.name, &|lines| lines.part(part));
    }
    for group in program.groups.iter() {
        add(Kind::Group, &group.name, &|lines| {
            lines.group_declared(group)
        });
    }
    for declared in program.lets.iter() {
        add(Kind::Let, &declared.name, &|lines| {
            lines.let_declared(declared)
        });
    }
    for choose in program.chooses.iter() {
        add(Kind::Choose, &choose.name, &|lines| lines.choose(choose));
    }
    for limit in program.limits.iter() {
        add(Kind::Limit, &limit.name, &|lines| lines.limit(limit));
    }
    for caution in program.cautions.iter() {
        add(Kind::Caution, &caution.name, &|lines| {
            lines.caution(caution)
        });
    }
    for decision in program.decisions.iter() {
        let mut lines = Lines::new(version);
        lines.decision(decision);
        let declared = Declared {
            lines: lines.done(),
            decision: Some(decision),
        };
        all.insert((Kind::Decision, decision.name.clone()), declared);
    }
    all
}

fn whole(key: &Key, how: How) -> Change {
    Change {
        kind: key.0.word(),
        name: key.1.clone(),
        how,
        lines: Vec::new(),
        regions: Vec::new(),
        more_regions: 0,
        not_by_regions: None,
        dependents: Vec::new(),
    }
}

/// A declaration of one version alone: all that it says but for what is only read.
fn alone(key: &Key, how: How, version: &Version<'_>, declared: &Declared<'_>) -> Change {
    let mut change = whole(key, how);
    let mut lines = declared.lines.clone();
    if let Some(decision) = declared.decision {
        let mut rows = Lines::new(version);
        rows.rows(decision);
        lines.extend(rows.done());
    }
    let said = lines.into_iter().filter(|line| !line.is_only_text);
    change.lines = said
        .map(|line| {
            let text = Some(line.text);
            let (old, new) = match how {
                How::Removed => (text, None),
                _ => (None, text),
            };
            LineChange {
                what: line.what,
                old,
                new,
            }
        })
        .collect();
    change
}

fn changed(
    key: &Key,
    (old, before): (&Version<'_>, &Declared<'_>),
    (new, after): (&Version<'_>, &Declared<'_>),
    most_regions: usize,
) -> Option<Change> {
    let mut change = whole(key, How::Reworded);
    let mut is_meant = false;
    let differing = differing_lines(&before.lines, &after.lines, &mut is_meant);
    change.lines.extend(differing);
    if let (Some(one), Some(other)) = (before.decision, after.decision) {
        regions::add(&mut change, (old, one), (new, other), most_regions);
        is_meant |= !change.regions.is_empty();
        if change.not_by_regions.is_some() {
            let rows = |version, decision| {
                let mut lines = Lines::new(version);
                lines.rows(decision);
                lines.done()
            };
            let lines = differing_lines(&rows(old, one), &rows(new, other), &mut is_meant);
            change.lines.extend(lines);
        }
        let reasons = |version, decision| {
            let mut lines = Lines::new(version);
            lines.reasons(decision);
            lines.done()
        };
        let lines = differing_lines(&reasons(old, one), &reasons(new, other), &mut is_meant);
        change.lines.extend(lines);
    }
    if is_meant {
        change.how = How::Changed;
    }
    let is_same = change.lines.is_empty() && change.regions.is_empty();
    (!is_same).then_some(change)
}

/// The lines of one version that the other does not have. A pair of the same kind, of which each
/// version has one, is one change.
fn differing_lines(old: &[Line], new: &[Line], is_meant: &mut bool) -> Vec<LineChange> {
    let mut left: Vec<Option<&Line>> = new.iter().map(Some).collect();
    let mut removed: Vec<&Line> = Vec::new();
    for line in old {
        let same = left
            .iter_mut()
            .find(|other| other.is_some_and(|other| other.is_same(line)));
        match same {
            Some(found) => *found = None,
            None => removed.push(line),
        }
    }
    let mut added: Vec<&Line> = left.into_iter().flatten().collect();
    *is_meant |= removed.iter().chain(&added).any(|line| !line.is_only_text);
    let count = |lines: &[Line], what: &str| lines.iter().filter(|line| line.what == what).count();
    let mut changes = Vec::new();
    for line in removed {
        let is_single = count(old, line.what) == 1 && count(new, line.what) == 1;
        let pair = added
            .iter()
            .position(|other| is_single && other.what == line.what);
        changes.push(LineChange {
            what: line.what,
            old: Some(line.text.clone()),
            new: pair.map(|place| added.remove(place).text.clone()),
        });
    }
    changes.extend(added.into_iter().map(|line| LineChange {
        what: line.what,
        old: None,
        new: Some(line.text.clone()),
    }));
    changes
}

/// What depends on what changed and has not changed itself.
fn add_dependents(program: &Program, changes: &mut [Change]) {
    let graph = dependencies(program);
    let mut users: BTreeMap<Node, BTreeSet<Node>> = BTreeMap::new();
    for (node, needs) in &graph {
        for needed in needs {
            users.entry(*needed).or_default().insert(*node);
        }
    }
    let named: BTreeMap<&str, Node> = graph
        .keys()
        .map(|node| (program.name_of(*node), *node))
        .collect();
    let is_changed: BTreeSet<String> = changes
        .iter()
        .filter(|change| change.how != How::Reworded)
        .map(|change| change.name.clone())
        .collect();
    for change in changes.iter_mut() {
        if !matches!(change.how, How::Changed | How::Added) {
            continue;
        }
        let Some(start) = named.get(change.name.as_str()) else {
            continue;
        };
        let mut seen: BTreeSet<Node> = BTreeSet::new();
        let mut waiting = vec![*start];
        while let Some(node) = waiting.pop() {
            for user in users.get(&node).into_iter().flatten() {
                if seen.insert(*user) {
                    waiting.push(*user);
                }
            }
        }
        let names: BTreeSet<&str> = seen
            .into_iter()
            .map(|node| program.name_of(node))
            .filter(|name| !is_changed.contains(*name))
            .collect();
        change.dependents = names.into_iter().map(str::to_owned).collect();
    }
}
