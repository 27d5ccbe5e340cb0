//! `decide`: which of its lines are clauses and which are rows, and how they make a body.

use super::clause::{Clause, begins_with, many, once};
use super::reading::{Node, Reading, child, parts};
use crate::diagnostic::{Code, Diagnostic};
use crate::syntax::Span;
use crate::syntax::grammar::Rule;
use crate::syntax::nearest::nearest;
use crate::syntax::reader::{Line, looks_like_row, tokens};
use crate::syntax::tree::{
    Column, Decide, DecideBody, Gives, HitPolicy, Name, NextStep, Progression, Step, Table,
    TypeReference,
};

const CLAUSES: &[Clause] = &[
    once("about", Rule::about_line),
    once("source", Rule::source_line),
    once("only when", Rule::only_when_line),
    once("shown in", Rule::shown_in_line),
    many("never", Rule::promise_line),
    many("tested never", Rule::promise_line),
    once("by", Rule::by_line),
    once("gives", Rule::gives_line),
    many("then by", Rule::then_by_line),
    many("then", Rule::then_line),
    once("kept gives", Rule::kept_line),
    once("first gives", Rule::first_line),
    once("next gives", Rule::next_line),
    once("next by", Rule::next_by_line),
    once("last gives", Rule::last_line),
];

/// The table that rows belong to at this point.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Open {
    Nothing,
    Body,
    Step,
    Next,
}

/// What is gathered of a decision's body.
#[derive(Debug)]
struct Gathered {
    open: Open,
    table: Option<Table>,
    gives: Option<Gives>,
    kept: Option<Gives>,
    first: Option<Gives>,
    next: Option<NextStep>,
    last: Option<Gives>,
    steps: Vec<Step>,
}

impl Reading<'_, '_> {
    pub(super) fn decide(&mut self, header: Line, body: &[Line]) -> Option<Decide> {
        let node = self.parse(header, Rule::decide);
        let built = node.and_then(|node| {
            Some(Decide {
                name: self.name_in(&node)?,
                type_reference: self.type_in(&node)?,
                for_each: self.for_each_in(&node),
                shown_in: self.shown_in_of(&node),
                about: None,
                source: None,
                only_when: None,
                body: DecideBody::Table(no_table(self.line_span(header))),
                steps: Vec::new(),
                promises: Vec::new(),
            })
        });
        let has_header = built.is_some();
        let mut decide = built.unwrap_or_else(|| lost(self.line_span(header)));
        let mut gathered = Gathered {
            open: Open::Nothing,
            table: None,
            gives: None,
            kept: None,
            first: None,
            next: None,
            last: None,
            steps: Vec::new(),
        };
        for line in body {
            self.decide_line(&mut decide, &mut gathered, *line);
        }
        self.check_rows(&gathered);
        decide.body = self.body(self.line_span(header), &mut gathered);
        decide.steps = gathered.steps;
        has_header.then_some(decide)
    }

    fn decide_line(&mut self, decide: &mut Decide, gathered: &mut Gathered, line: Line) {
        let text = self.text_of(line);
        let Some(clause) = clause_of(text, gathered.open) else {
            self.row_line(gathered, line);
            return;
        };
        let span = self.line_span(line);
        let node = self.known_clause(clause, line);
        // Rows below a header that cannot be read still belong to it.
        gathered.open = match clause.rule {
            Rule::by_line => Open::Body,
            Rule::then_by_line => Open::Step,
            Rule::next_by_line => Open::Next,
            Rule::about_line
            | Rule::source_line
            | Rule::only_when_line
            | Rule::shown_in_line
            | Rule::promise_line => gathered.open,
            _ => Open::Nothing,
        };
        match clause.rule {
            Rule::by_line | Rule::then_by_line | Rule::next_by_line => {
                let table = node.and_then(|node| self.table(&node, span));
                let table = table.unwrap_or_else(|| no_table(span));
                match clause.rule {
                    Rule::by_line if gathered.table.is_none() => gathered.table = Some(table),
                    Rule::then_by_line => gathered.steps.push(Step::Table(table)),
                    Rule::next_by_line if gathered.next.is_none() => {
                        gathered.next = Some(NextStep::Table(table));
                    }
                    _ => {}
                }
            }
            _ => {
                if let Some(node) = node {
                    self.decide_clause(decide, gathered, &node);
                }
            }
        }
    }

    fn decide_clause(&mut self, decide: &mut Decide, gathered: &mut Gathered, node: &Node<'_>) {
        match node.as_rule() {
            Rule::about_line => decide.about = self.text_in(node),
            Rule::source_line => decide.source = self.source(node),
            Rule::only_when_line => decide.only_when = self.expression_in(node),
            Rule::shown_in_line => decide.shown_in = self.shown_in_of(node),
            Rule::promise_line => decide.promises.extend(self.promise(node)),
            Rule::gives_line => gathered.gives = self.gives(node),
            Rule::kept_line => gathered.kept = self.gives(node),
            Rule::first_line => gathered.first = self.gives(node),
            Rule::last_line => gathered.last = self.gives(node),
            Rule::next_line => {
                let gives = self.gives(node).map(NextStep::Gives);
                gathered.next = gathered.next.take().or(gives);
            }
            _ => {
                for part in parts(node) {
                    let span = self.span(&part);
                    let post = self.post(&part);
                    gathered
                        .steps
                        .extend(post.map(|post| Step::Post(*post, span)));
                }
            }
        }
    }

    fn row_line(&mut self, gathered: &mut Gathered, line: Line) {
        let text = self.text_of(line);
        let is_clause_slip = slip_of(text);
        if !line.is_damaged && (gathered.open == Open::Nothing || is_clause_slip) {
            if !is_clause_slip && looks_like_row(text) {
                let finding = Diagnostic::error(
                    Code::Syntax,
                    self.line_span(line),
                    "a row that stands below no table",
                )
                .with_help("rows stand below `by …`, `then by …` or `next by …`");
                self.fail_with(finding);
            } else {
                self.unknown_clause("a `decide`", CLAUSES, line);
            }
            return;
        }
        let row = self
            .parse(line, Rule::row_line)
            .and_then(|node| self.row(&node));
        let span = self.line_span(line);
        let table = match gathered.open {
            Open::Body => gathered.table.as_mut(),
            Open::Step => gathered.steps.last_mut().and_then(|step| match step {
                Step::Table(table) => Some(table),
                Step::Post(..) => None,
            }),
            Open::Next => match gathered.next.as_mut() {
                Some(NextStep::Table(table)) => Some(table),
                _ => None,
            },
            Open::Nothing => None,
        };
        match (table, row) {
            (Some(table), Some(row)) => {
                table.span = table.span.to(span);
                table.rows.push(row);
            }
            _ => self.damage(),
        }
    }

    fn table(&mut self, line: &Node<'_>, span: Span) -> Option<Table> {
        let header = child(line, Rule::table_header)?;
        let mut table = no_table(span);
        for part in parts(&header) {
            match part.as_rule() {
                Rule::column => {
                    let value = self.column(&part)?;
                    table.columns.push(Column { value });
                }
                Rule::hit_first => table.hit_policy = HitPolicy::First,
                _ => table.if_unknown = Some(self.result_in(&part)?),
            }
        }
        Some(table)
    }

    fn gives(&mut self, line: &Node<'_>) -> Option<Gives> {
        let given = child(line, Rule::given_value)?;
        let value = self.expression_in(&given)?;
        Some(Gives {
            value,
            because: self.because_in(&given),
            span: self.span(line),
        })
    }

    fn check_rows(&mut self, gathered: &Gathered) {
        let next = match &gathered.next {
            Some(NextStep::Table(table)) => Some(table),
            _ => None,
        };
        let steps = gathered.steps.iter().filter_map(|step| match step {
            Step::Table(table) => Some(table),
            Step::Post(..) => None,
        });
        for table in gathered.table.iter().chain(next).chain(steps) {
            if table.rows.is_empty() {
                self.missing(
                    table.span,
                    "a table without rows",
                    "write its rows below it, each with what it `gives`",
                );
            }
        }
    }

    fn body(&mut self, header: Span, gathered: &mut Gathered) -> DecideBody {
        self.one_body(gathered);
        if let Some(gives) = gathered.gives.take() {
            return DecideBody::Gives(gives);
        }
        if let Some(table) = gathered.table.take() {
            return DecideBody::Table(table);
        }
        if let Some(first) = gathered.first.take() {
            return DecideBody::Progression(Box::new(Progression {
                kept: gathered.kept.take(),
                first,
                next: gathered.next.take(),
                last: gathered.last.take(),
            }));
        }
        if gathered.kept.is_some() || gathered.next.is_some() || gathered.last.is_some() {
            self.missing(
                header,
                "a decision along a group without `first gives`",
                "say what the first club takes: `first gives …`",
            );
        } else {
            self.missing(
                header,
                "a decision that does not say how it is decided",
                "it needs one of: rows below `by …`, `gives …`, `first gives …`",
            );
        }
        DecideBody::Table(no_table(header))
    }

    /// Reports a decision with two bodies.
    fn one_body(&mut self, gathered: &Gathered) {
        const BODIES: &[&str] = &[
            "by",
            "gives",
            "first gives",
            "kept gives",
            "next gives",
            "next by",
            "last gives",
        ];
        let along = gathered.first.is_some() || gathered.next.is_some() || gathered.last.is_some();
        let bodies = [gathered.table.is_some(), gathered.gives.is_some(), along];
        let count = bodies.iter().filter(|is_there| **is_there).count();
        let both_next = self
            .clauses
            .get("next gives")
            .copied()
            .zip(self.clauses.get("next by").copied());
        if count < 2 && both_next.is_none() {
            return;
        }
        let mut places: Vec<_> = BODIES
            .iter()
            .filter_map(|words| self.clauses.get(words).map(|span| (*span, *words)))
            .collect();
        if count < 2 {
            places.retain(|(_, words)| words.starts_with("next"));
        }
        places.sort();
        let mut places = places.into_iter();
        let Some((first, first_words)) = places.next() else {
            return;
        };
        let Some((second, words)) =
            places.find(|(_, words)| count < 2 || body_of(words) != body_of(first_words))
        else {
            return;
        };
        let finding = Diagnostic::error(
            Code::ClauseCount,
            second,
            format!("`{words}` where `{first_words}` already says how it is decided"),
        )
        .also_at(first, "here")
        .with_help("a decision is by rows, or `gives` an expression, or goes along a group");
        self.fail_with(finding);
    }
}

fn body_of(words: &str) -> u8 {
    match words {
        "by" => 0,
        "gives" => 1,
        _ => 2,
    }
}

/// The clause a line of a decision is, or `None` for a row.
fn clause_of(text: &str, open: Open) -> Option<&'static Clause> {
    let mut words = tokens(text, 0, text.len()).map(|(_, word)| word);
    let (first, second) = (words.next()?, words.next().unwrap_or(""));
    // A value may be called `source` or `first`: the row's verb after it tells.
    let is_row_verb = matches!(
        second,
        "gives" | "moves" | "keeps" | "adds" | "takes" | "cannot" | "or" | "and" | "plus"
    );
    let ends_next = open == Open::Next && matches!(first, "last" | "first" | "kept");
    if open != Open::Nothing && is_row_verb && !ends_next {
        return None;
    }
    CLAUSES
        .iter()
        .find(|clause| begins_with(text, clause.words))
        .or_else(|| {
            let is_clause_word = matches!(
                first,
                "about"
                    | "source"
                    | "only"
                    | "shown"
                    | "never"
                    | "tested"
                    | "then"
                    | "gives"
                    | "by"
            );
            let along =
                matches!(first, "next" | "last" | "first" | "kept") && open == Open::Nothing;
            CLAUSES
                .iter()
                .find(|clause| (is_clause_word || along) && begins_with(clause.words, first))
        })
}

/// Whether a line is rather a clause with a slip in its first word than a row.
fn slip_of(text: &str) -> bool {
    let mut words = tokens(text, 0, text.len()).map(|(_, word)| word);
    let first = words.next().unwrap_or("");
    let has_verb = words.any(|word| {
        matches!(
            word,
            "gives" | "moves" | "keeps" | "adds" | "takes" | "cannot" | "and" | "or"
        )
    });
    let firsts = [
        "about", "source", "only", "shown", "never", "tested", "then",
    ];
    !has_verb && nearest(first, firsts).is_some()
}

fn no_table(span: Span) -> Table {
    Table {
        span,
        columns: Vec::new(),
        hit_policy: HitPolicy::Unique,
        if_unknown: None,
        rows: Vec::new(),
    }
}

/// A decision whose first line is lost: its lines are read for their findings.
fn lost(span: Span) -> Decide {
    let name = Name {
        text: String::new(),
        span,
    };
    Decide {
        type_reference: TypeReference {
            span,
            is_list: false,
            name: name.clone(),
            or_none: false,
        },
        name,
        for_each: None,
        shown_in: None,
        about: None,
        source: None,
        only_when: None,
        body: DecideBody::Table(no_table(span)),
        steps: Vec::new(),
        promises: Vec::new(),
    }
}
