//! Declarations as lines that can be held against each other: what each says, as it is written, and
//! a token that is equal where the meaning is.

use super::Version;
use crate::digest::of_expression;
use crate::program::{
    Body, Caution, Decision, Expression, Field, ForEach, Gives, Group, GroupId, Input, Let, Limit,
    Members, NextStep, Part, RowResult, Shown, Step, Table, TextPiece, Type, Value, Vocabulary,
    VocabularyKind,
};
use crate::quantity::Date;
use crate::syntax::Span;
use crate::syntax::tree::HitPolicy;

/// One line of a declaration.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct Line {
    /// What it says something of: `between`, `needs`; lines of one declaration may share it.
    pub(super) what: &'static str,
    /// As it is written.
    pub(super) text: String,
    /// Equal for lines of the same meaning.
    token: String,
    /// Whether it decides nothing and is only read.
    pub(super) is_only_text: bool,
}

impl Line {
    pub(super) fn is_same(&self, other: &Line) -> bool {
        self.what == other.what && self.token == other.token
    }
}

/// Gathers the lines of a declaration of one version.
pub(super) struct Lines<'v> {
    pub(super) version: &'v Version<'v>,
    lines: Vec<Line>,
}

impl<'v> Lines<'v> {
    pub(super) fn new(version: &'v Version<'v>) -> Self {
        Lines {
            version,
            lines: Vec::new(),
        }
    }

    pub(super) fn done(self) -> Vec<Line> {
        self.lines
    }

    pub(super) fn say(&mut self, what: &'static str, text: impl Into<String>) {
        let text = text.into();
        self.lines.push(Line {
            what,
            token: text.clone(),
            text,
            is_only_text: false,
        });
    }

    pub(super) fn read(&mut self, what: &'static str, text: Option<&str>) {
        if let Some(text) = text {
            self.lines.push(Line {
                what,
                token: text.to_owned(),
                text: format!("\"{text}\""),
                is_only_text: true,
            });
        }
    }

    pub(super) fn with_token(&mut self, what: &'static str, text: String, token: String) {
        self.lines.push(Line {
            what,
            text,
            token,
            is_only_text: false,
        });
    }

    /// The source text at a place, on one line and without comments.
    pub(super) fn source(&self, span: Span) -> String {
        let text = &self.version.folder[span.file].text;
        let lines = text.get(span.start..span.end).unwrap_or_default().lines();
        let plain: Vec<&str> = lines
            .map(|line| match line.contains('"') {
                true => line,
                false => line.split('#').next().unwrap_or(line),
            })
            .flat_map(str::split_whitespace)
            .collect();
        plain.join(" ")
    }

    pub(super) fn token(&self, expression: &Expression) -> String {
        of_expression(self.version.program, expression)
    }

    fn expression(&mut self, what: &'static str, expression: &Expression) {
        let (text, token) = (self.source(expression.span), self.token(expression));
        self.with_token(what, text, token);
    }

    pub(super) fn only_when(&mut self, condition: Option<&Expression>) {
        if let Some(condition) = condition {
            self.expression("only when", condition);
        }
    }

    fn value(&self, shown: &Shown, value_type: Type, value: &Value) -> String {
        let program = self.version.program;
        crate::analysis::literal_text(program, shown, value_type, value)
    }

    fn value_type(&mut self, value_type: Type) {
        let text = value_type.name(self.version.program);
        self.say("type", text);
    }

    fn group(&mut self, what: &'static str, group: Option<GroupId>) {
        if let Some(group) = group {
            let name = self.version.program.groups[group].name.clone();
            self.say(what, name);
        }
    }

    pub(super) fn for_each(&mut self, for_each: Option<&ForEach>) {
        let Some(each) = for_each else { return };
        let mut text = self.version.program.groups[each.group].name.clone();
        let mut token = text.clone();
        if let Some(order) = &each.order {
            let largest = if order.largest_first {
                ", largest first"
            } else {
                ""
            };
            text.push_str(&format!(" in order of {}{largest}", order.text));
            token.push_str(&format!(" {}{largest}", self.token(&order.key)));
        }
        self.with_token("for each", text, token);
    }

    fn between(&mut self, shown: &Shown, value_type: Type, between: Option<&(Value, Value)>) {
        if let Some((low, high)) = between {
            let (low, high) = (
                self.value(shown, value_type, low),
                self.value(shown, value_type, high),
            );
            self.say("between", format!("{low} and {high}"));
        }
    }

    /// A scale or choice.
    pub(super) fn vocabulary(&mut self, vocabulary: &Vocabulary) {
        let (separator, end) = match vocabulary.kind {
            VocabularyKind::Choice => (", ", ""),
            VocabularyKind::Scale { in_halves: false } => (" < ", ""),
            VocabularyKind::Scale { in_halves: true } => (" < ", ", in halves"),
        };
        self.say(
            "words",
            format!("{}{end}", vocabulary.words.join(separator)),
        );
    }

    /// A reading.
    pub(super) fn input(&mut self, input: &Input) {
        self.value_type(input.value_type);
        self.between(&input.shown, input.value_type, input.between.as_ref());
        if let Some(default) = &input.default {
            let text = self.value(&input.shown, input.value_type, default);
            self.say("default", text);
        }
        if let Some(spread) = &input.spread {
            let spread_type = match input.value_type.dimension() {
                Some(dimension) => Type::Quantity(dimension),
                None => input.value_type,
            };
            let text = self.value(&input.shown, spread_type, spread);
            self.say("spread", text);
        }
        if let Some(strike) = &input.strike {
            self.say("of strike", strike.clone());
        }
        if let Some(private) = &input.private {
            self.say("private", private.clone().unwrap_or_default());
        }
        self.only_when(input.only_when.as_ref());
        self.read("ask", input.ask.as_deref());
    }

    fn fields(&mut self, fields: &[Field]) {
        for field in fields {
            let mut text = format!(
                "{} : {}",
                field.name,
                field.value_type.name(self.version.program)
            );
            if field.of_each_piece {
                text.push_str(", of each piece");
            }
            if field.may_be_unknown {
                text.push_str(", may be unknown");
            }
            if let Some((low, high)) = &field.between {
                let low = self.value(&field.shown, field.value_type, low);
                let high = self.value(&field.shown, field.value_type, high);
                text.push_str(&format!(", between {low} and {high}"));
            }
            self.say("has", text);
        }
    }

    /// A kind of part.
    pub(super) fn part(&mut self, part: &Part) {
        self.say("plural", part.plural.clone());
        self.fields(&part.fields);
    }

    /// A group of clubs.
    pub(super) fn group_declared(&mut self, group: &Group) {
        match &group.members {
            Members::GivenWithThePlayer => self.say("members", "given with the player"),
            Members::AsManyAs(count) => self.expression("as many as", count),
            Members::MadeBy { maker, from } => {
                let from: Vec<&str> = from
                    .iter()
                    .map(|node| self.version.program.name_of(*node))
                    .collect();
                self.say("made by", format!("{maker} from {}", from.join(", ")));
            }
            Members::Where { of, condition } => {
                self.group("is", Some(*of));
                self.expression("where", condition);
            }
        }
        self.fields(&group.fields);
    }

    /// A named value.
    pub(super) fn let_declared(&mut self, declared: &Let) {
        self.value_type(declared.value_type);
        self.group("for each", declared.for_each);
        self.expression("is", &declared.value);
    }

    /// All of a decision but its rows.
    pub(super) fn decision(&mut self, decision: &Decision) {
        self.value_type(decision.value_type);
        self.for_each(decision.for_each.as_ref());
        self.only_when(decision.only_when.as_ref());
        match &decision.body {
            Body::Table(table) => self.table_head("by", table),
            Body::Gives(gives) => self.gives("gives", gives),
            Body::Progression(progression) => {
                if let Some(kept) = &progression.kept {
                    self.gives("kept gives", kept);
                }
                self.gives("first gives", &progression.first);
                match &progression.next {
                    Some(NextStep::Gives(gives)) => self.gives("next gives", gives),
                    Some(NextStep::Table(table)) => self.table_head("next by", table),
                    None => {}
                }
                if let Some(last) = &progression.last {
                    self.gives("last gives", last);
                }
            }
        }
        for step in &decision.steps {
            match step {
                Step::Table(table) => self.table_head("then by", table),
                Step::KeptWithin { low, high, text } => {
                    let token = format!("kept {} {}", self.token(low), self.token(high));
                    self.with_token("then", text.clone(), token);
                }
                Step::Rounded { rounding, to, text } => {
                    let token = format!("{rounding:?} {}", self.token(to));
                    self.with_token("then", text.clone(), token);
                }
                Step::OrIfUnknown { instead, text } => {
                    let token = format!("or {}", self.token(instead));
                    self.with_token("then", text.clone(), token);
                }
            }
        }
        for promise in &decision.promises {
            self.lines.push(Line {
                what: "promise",
                token: promise.text.clone(),
                text: promise.text.clone(),
                is_only_text: true,
            });
        }
        self.read("about", decision.origin.about.as_deref());
    }

    fn gives(&mut self, what: &'static str, gives: &Gives) {
        let token = self.token(&gives.value);
        self.with_token(what, gives.text.clone(), token);
        self.read("because", gives.because.as_deref());
    }

    /// What a table looks at; its rows are held against each other region by region.
    fn table_head(&mut self, what: &'static str, table: &Table) {
        let columns: Vec<&str> = table
            .columns
            .iter()
            .map(|column| column.text.as_str())
            .collect();
        let mut text = columns.join(" and ");
        let tokens: Vec<String> = table
            .columns
            .iter()
            .map(|column| self.token(&column.value))
            .collect();
        let mut token = tokens.join(" ");
        if table.hit_policy == HitPolicy::First {
            text.push_str(", first");
            token.push_str(", first");
        }
        if let Some(result) = &table.if_unknown {
            let result = self.result(result);
            text.push_str(&format!(", if unknown {}", result.0));
            token.push_str(&format!(", if unknown {}", result.1));
        }
        self.with_token(what, text, token);
    }

    fn result(&self, result: &RowResult) -> (String, String) {
        let with = |verb: &str, value: &Expression| {
            (
                format!("{verb} {}", self.source(value.span)),
                format!("{verb} {}", self.token(value)),
            )
        };
        let plain = |text: String| (text.clone(), text);
        match result {
            RowResult::Gives(value) => with("gives", value),
            RowResult::Adds(value) => with("adds", value),
            RowResult::TakesOff(value) => with("takes off", value),
            RowResult::Keeps => plain("keeps".to_owned()),
            RowResult::Moves(half_steps) => plain(format!("moves {half_steps} half steps")),
            RowResult::CannotHappen => plain("cannot happen".to_owned()),
        }
    }

    /// The rows of all tables, as they are written.
    pub(super) fn rows(&mut self, decision: &Decision) {
        for table in decision.tables() {
            for row in &table.rows {
                self.say("row", row.text.clone());
            }
        }
    }

    /// The reasons of all rows.
    pub(super) fn reasons(&mut self, decision: &Decision) {
        for table in decision.tables() {
            for row in &table.rows {
                self.read("because", row.because.as_deref());
            }
        }
    }

    /// A limit.
    pub(super) fn limit(&mut self, limit: &Limit) {
        self.group("for each", limit.for_each);
        self.only_when(limit.only_when.as_ref());
        let token = self.token(&limit.condition);
        self.with_token("holds where", limit.text.clone(), token);
        self.in_force(limit.in_force);
        self.says(&limit.says);
    }

    /// A caution.
    pub(super) fn caution(&mut self, caution: &Caution) {
        self.group("for each", caution.for_each);
        self.only_when(caution.only_when.as_ref());
        let token = self.token(&caution.condition);
        self.with_token("raised where", caution.text.clone(), token);
        self.in_force(caution.in_force);
        let works: Vec<String> = self.version.program.works_of(caution).collect();
        if !works.is_empty() {
            self.read("at", Some(&works.join(", ")));
        }
        self.says(&caution.says);
    }

    fn in_force(&mut self, days: Option<(Date, Option<Date>)>) {
        match days {
            None => {}
            Some((from, None)) => self.say("in force", format!("from {from}")),
            Some((from, Some(until))) => self.say("in force", format!("from {from} until {until}")),
        }
    }

    fn says(&mut self, pieces: &[TextPiece]) {
        let mut text = String::new();
        for piece in pieces {
            match piece {
                TextPiece::Words(words) => text.push_str(words),
                TextPiece::Value(value, _) => {
                    text.push_str(&format!("{{{}}}", self.source(value.span)));
                }
            }
        }
        if !text.is_empty() {
            self.read("says", Some(&text));
        }
    }
}
