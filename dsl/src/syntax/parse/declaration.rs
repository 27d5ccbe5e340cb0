//! What begins in column 1, and the simple declarations: ruleset, vocabularies, inputs, lets.

use super::clause::{Clause, begins_with, many, once};
use super::reading::{Node, Reading, child, has, parts};
use crate::diagnostic::{Code, Diagnostic};
use crate::digest::STANDS_ON_DIGITS;
use crate::syntax::grammar::Rule;
use crate::syntax::reader::{Line, short, tokens};
use crate::syntax::tree::{
    Choice, Declaration, DeclarationKind, ForEach, Input, Let, Name, Order, Ruleset, Scale,
    ShownIn, Source, Text, TypeReference,
};

/// What a replacement stands on.
const STANDS_ON: Clause = once("stands on", Rule::stands_on_line);

const RULESET: &[Clause] = &[
    once("title", Rule::title_line),
    once("language", Rule::language_line),
    once("builds on", Rule::builds_on_line),
];

const INPUT: &[Clause] = &[
    once("ask", Rule::ask_line),
    once("about", Rule::about_line),
    once("between", Rule::between_line),
    once("spread", Rule::spread_line),
    once("default", Rule::default_line),
    once("shown in", Rule::shown_in_line),
    once("only when", Rule::only_when_line),
    once("private", Rule::private_line),
    many("formerly", Rule::formerly_line),
];

impl Reading<'_, '_> {
    /// Reads one declaration: its first line and the indented ones.
    pub(super) fn declaration(&mut self, header: Line, body: &[Line]) -> Option<Declaration> {
        let start = self.line_span(header);
        let span = start.to(body.last().map_or(start, |line| self.line_span(*line)));
        let mut words = tokens(self.text_of(header), 0, header.end - header.start)
            .map(|(_, word)| word)
            .peekable();
        let replaces = words.next_if_eq(&"replace").is_some();
        let (keyword, next) = (words.next().unwrap_or(""), words.next().unwrap_or(""));
        let (stands_on, body) = self.stands_on(replaces, keyword, body);
        let body = body.as_slice();
        let kind = match keyword {
            "ruleset" => DeclarationKind::Ruleset(self.ruleset(header, body)?),
            "scale" => DeclarationKind::Scale(self.scale(header, body)?),
            "choice" => DeclarationKind::Choice(self.choice(header, body)?),
            "input" => DeclarationKind::Input(Box::new(self.input(header, body)?)),
            "let" => DeclarationKind::Let(Box::new(self.let_value(header, body)?)),
            "part" => DeclarationKind::Part(self.part(header, body)?),
            "group" => DeclarationKind::Group(Box::new(self.group(header, body)?)),
            "model" => DeclarationKind::Model(self.model(header, body)?),
            "reads" => DeclarationKind::Reads(self.reads(header, body, next)?),
            "decide" => DeclarationKind::Decide(Box::new(self.decide(header, body)?)),
            "choose" => DeclarationKind::Choose(Box::new(self.choose(header, body)?)),
            "limit" => DeclarationKind::Limit(Box::new(self.limit(header, body)?)),
            "caution" => DeclarationKind::Caution(Box::new(self.caution(header, body)?)),
            "drop" => DeclarationKind::DropCase(self.drop_case(header, body)?),
            "case" => DeclarationKind::Case(Box::new(self.case(header, body)?)),
            // `replace` without a declaration: the grammar of any of them says what is missing.
            _ => {
                self.parse(header, Rule::replace_what);
                return None;
            }
        };
        Some(Declaration {
            span,
            replaces,
            stands_on,
            is_damaged: self.is_damaged(),
            kind,
        })
    }

    /// The clause of every replacement, read before the lines of its kind, which are handed back.
    fn stands_on(
        &mut self,
        replaces: bool,
        keyword: &str,
        body: &[Line],
    ) -> (Option<Text>, Vec<Line>) {
        let has_meaning = !matches!(keyword, "ruleset" | "reads" | "drop" | "case");
        let (of_replacement, rest): (Vec<Line>, Vec<Line>) = body
            .iter()
            .partition(|line| has_meaning && begins_with(self.text_of(**line), STANDS_ON.words));
        let mut found = None;
        for line in of_replacement {
            let Some(node) = self.known_clause(&STANDS_ON, line) else {
                continue;
            };
            if replaces {
                found = self.text_in(&node).and_then(|text| self.digits(text));
            } else {
                let span = self.span(&node);
                let message = "this replaces nothing that it could stand on";
                let finding = Diagnostic::error(Code::DoesNotGoWith, span, message).with_help(
                    "`stands on` is written in a declaration that begins with `replace`",
                );
                self.fail_with(finding);
            }
        }
        (found, rest)
    }

    fn digits(&mut self, text: Text) -> Option<Text> {
        let is_digit = |byte: u8| byte.is_ascii_digit() || (b'a'..=b'f').contains(&byte);
        if text.text.len() == STANDS_ON_DIGITS && text.text.bytes().all(is_digit) {
            return Some(text);
        }
        let message = format!("`{}` is no digest's beginning", short(&text.text));
        let help = format!(
            "write {STANDS_ON_DIGITS} of the digits 0 to 9 and a to f; `00000000` is answered \
             with the right ones"
        );
        let finding = Diagnostic::error(Code::BadLiteral, text.span, message).with_help(help);
        self.fail_with(finding);
        None
    }

    fn ruleset(&mut self, header: Line, body: &[Line]) -> Option<Ruleset> {
        let name = self
            .parse(header, Rule::ruleset)
            .and_then(|node| self.name_in(&node));
        let (mut title, mut language, mut builds_on) = (None, None, None);
        for line in body {
            let Some(node) = self.clause("a `ruleset`", RULESET, *line) else {
                continue;
            };
            match node.as_rule() {
                Rule::title_line => title = self.text_in(&node),
                Rule::language_line => {
                    language = child(&node, Rule::number).and_then(|node| self.number(&node));
                }
                _ => builds_on = self.name_in(&node),
            }
        }
        Some(Ruleset {
            name: name?,
            title,
            language,
            builds_on,
        })
    }

    fn scale(&mut self, header: Line, body: &[Line]) -> Option<Scale> {
        let node = self.parse(header, Rule::scale);
        self.no_clauses("a `scale`", body);
        let node = node?;
        let mut names = self.names_in(&node).into_iter();
        Some(Scale {
            name: names.next()?,
            steps: names.collect(),
            in_halves: has(&node, Rule::kw_in_halves),
        })
    }

    fn choice(&mut self, header: Line, body: &[Line]) -> Option<Choice> {
        let node = self.parse(header, Rule::choice);
        self.no_clauses("a `choice`", body);
        let mut names = self.names_in(&node?).into_iter();
        Some(Choice {
            name: names.next()?,
            values: names.collect(),
        })
    }

    fn let_value(&mut self, header: Line, body: &[Line]) -> Option<Let> {
        let built = self.parse(header, Rule::let_value).and_then(|node| {
            Some(Let {
                name: self.name_in(&node)?,
                type_reference: self.type_in(&node),
                for_each: self.for_each_in(&node),
                value: self.expression_in(&node)?,
            })
        });
        self.no_clauses("a `let`", body);
        built
    }

    fn input(&mut self, header: Line, body: &[Line]) -> Option<Input> {
        let built = self.parse(header, Rule::input).and_then(|node| {
            Some(Input {
                name: self.name_in(&node)?,
                type_reference: self.type_in(&node)?,
                filled_by_the_engine: has(&node, Rule::kw_filled_by_the_engine),
                shown_in: self.shown_in_of(&node),
                ask: None,
                about: None,
                between: None,
                spread: None,
                strike: None,
                default: None,
                private: None,
                only_when: None,
                formerly: Vec::new(),
            })
        });
        // The lines are read for their findings even where the first one is lost.
        let mut input = built;
        for line in body {
            let node = self.clause("an `input`", INPUT, *line);
            if let (Some(input), Some(node)) = (input.as_mut(), node) {
                self.input_clause(input, &node);
            }
        }
        input
    }

    fn input_clause(&mut self, input: &mut Input, node: &Node<'_>) {
        match node.as_rule() {
            Rule::ask_line => input.ask = self.text_in(node),
            Rule::about_line => input.about = self.text_in(node),
            Rule::between_line => {
                input.between = child(node, Rule::range).and_then(|range| self.range(&range));
            }
            Rule::spread_line => {
                input.spread = self.literal_in(node);
                input.strike = self.name_in(node);
            }
            Rule::default_line => input.default = self.literal_in(node),
            Rule::shown_in_line => input.shown_in = self.shown_in_of(node),
            Rule::only_when_line => input.only_when = self.expression_in(node),
            Rule::private_line => input.private = Some(self.name_in(node)),
            _ => input.formerly.extend(self.name_in(node)),
        }
    }

    /// The type among the parts of a node.
    pub(super) fn type_in(&self, node: &Node<'_>) -> Option<TypeReference> {
        let node = child(node, Rule::type_reference)?;
        Some(TypeReference {
            span: self.span(&node),
            is_list: has(&node, Rule::kw_list_of),
            name: self.name_in(&node)?,
            or_none: has(&node, Rule::kw_or_none),
        })
    }

    /// `for each G in order of F, largest first` among the parts of a node.
    pub(super) fn for_each_in(&self, node: &Node<'_>) -> Option<ForEach> {
        let node = child(node, Rule::for_each)?;
        let mut names = self.names_in(&node).into_iter();
        let group = names.next()?;
        let order = names.next().map(|by: Name| Order {
            by,
            largest_first: is_largest_first(&node),
        });
        Some(ForEach { group, order })
    }

    /// `shown in inches, to 1/4` among the parts of a node.
    pub(super) fn shown_in_of(&mut self, node: &Node<'_>) -> Option<ShownIn> {
        let node = child(node, Rule::shown_in)?;
        let unit = child(&node, Rule::unit_name)?;
        let symbol = match unit.as_str() {
            "inches" => "in",
            "degrees" => "deg",
            "grams" => "g",
            "yards" => "yd",
            symbol => symbol,
        };
        let step = match child(&node, Rule::number) {
            Some(number) => Some(self.number(&number)?),
            None => None,
        };
        Some(ShownIn {
            unit: Name {
                text: symbol.to_owned(),
                span: self.span(&unit),
            },
            step,
        })
    }

    /// `source common practice` or `source "…"`.
    pub(super) fn source(&self, node: &Node<'_>) -> Option<Source> {
        match child(node, Rule::kw_common_practice) {
            Some(practice) => Some(Source::CommonPractice(self.span(&practice))),
            None => self.text_in(node).map(Source::Published),
        }
    }
}

/// Whether `largest first` stands among the parts of a node.
pub(super) fn is_largest_first(node: &Node<'_>) -> bool {
    parts(node).any(|part| part.as_rule() == Rule::largest_first && has(&part, Rule::kw_largest))
}
