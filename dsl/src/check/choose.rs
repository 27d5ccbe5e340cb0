//! Choices of parts.

use super::checker::{Checker, Symbol};
use super::scope::{CandidateScope, Scope};
use crate::diagnostic::{Code, Diagnostic};
use crate::program::{
    AgreesOn, CandidateLet, CandidateValue, ChooseId, ExpressionKind, Needs, Preference, Prefers,
    Rung, RungKind, TieBreak, Type,
};
use crate::quantity::Dimension;
use crate::syntax::Span;
use crate::syntax::tree::{self, DeclarationKind, Name};

impl<'a> Checker<'a> {
    /// The bodies of all choices, then the order in which those of one part take from the stock.
    pub(super) fn check_chooses(&mut self) {
        let chooses = self.choose_trees();
        for (id, choose) in &chooses {
            self.ensure_candidate_lets(*id);
            self.check_choose(*id, choose);
        }
        for (id, choose) in &chooses {
            let after: Vec<ChooseId> = choose
                .after
                .iter()
                .filter_map(|name| match self.symbol(name) {
                    Some(Symbol::Choose(other)) => Some(other),
                    _ => {
                        let known: Vec<String> = self
                            .program
                            .chooses
                            .iter()
                            .map(|choose| choose.name.clone())
                            .collect();
                        self.unknown_name(name, "a choice of parts", known)
                    }
                })
                .collect();
            self.program.chooses[*id].after = after;
        }
    }

    fn choose_trees(&self) -> Vec<(ChooseId, &'a tree::Choose)> {
        let merged = self.merged;
        merged
            .entries
            .iter()
            .filter_map(
                |entry| match (&entry.declaration.kind, self.symbols.get(entry.name)) {
                    (DeclarationKind::Choose(choose), Some(Symbol::Choose(id))) => {
                        Some((*id, &**choose))
                    }
                    _ => None,
                },
            )
            .collect()
    }

    fn choose_scope(&self, id: ChooseId) -> Scope {
        let choose = &self.program.chooses[id];
        let lets = choose
            .lets
            .iter()
            .map(|let_| (let_.name.clone(), let_.value.value_type, let_.shown.clone()))
            .collect();
        Scope {
            group: choose.for_each.as_ref().map(|for_each| for_each.group),
            candidate: Some(CandidateScope {
                part: choose.part,
                choose: Some(id),
                setting: choose.in_each.map(|(_, setting)| setting),
                lets,
                is_subject: false,
            }),
            previous: None,
        }
    }

    /// The lets of a choice, which other declarations may speak of before its turn.
    pub(super) fn ensure_candidate_lets(&mut self, id: ChooseId) {
        if !self.lets_begun.insert(id) {
            return;
        }
        let Some((_, choose)) = self
            .choose_trees()
            .into_iter()
            .find(|(other, _)| *other == id)
        else {
            return;
        };
        for let_ in &choose.lets {
            let scope = self.choose_scope(id);
            if let Some(value) = self.expression(&let_.value, &scope, None) {
                let shown = self.shown_of(&value);
                self.program.chooses[id].lets.push(CandidateLet {
                    name: let_.name.text.clone(),
                    value,
                    shown,
                });
            }
        }
    }

    fn check_choose(&mut self, id: ChooseId, choose: &'a tree::Choose) {
        let scope = self.choose_scope(id);
        let outside = Scope::of_group(scope.group);
        if let Some(for_each) = &choose.for_each
            && let Some(order) = self.order(for_each, &outside)
            && let Some(shell) = &mut self.program.chooses[id].for_each
        {
            shell.order = Some(order);
        }
        if let Some(only_when) = &choose.only_when {
            self.program.chooses[id].only_when = self.condition(only_when, &outside);
        }
        self.takes(id, choose);
        for agrees in &choose.agrees_on {
            if let Some(agrees) = self.agrees_on(id, agrees) {
                self.program.chooses[id].agrees_on.push(agrees);
            }
        }
        let needs: Vec<Option<Needs>> = choose
            .needs
            .iter()
            .map(|needs| self.needs(needs, &scope, &outside))
            .collect();
        self.program.chooses[id].needs = needs.into_iter().flatten().collect();
        let prefers: Vec<Option<Prefers>> = choose
            .prefers
            .iter()
            .map(|prefers| self.prefers(prefers, &scope, &outside))
            .collect();
        self.program.chooses[id].prefers = prefers.into_iter().flatten().collect();
        for tie in &choose.ties {
            if let Some(key) = self.tie(&tie.by, &scope) {
                let largest_first = tie.largest_first;
                self.program.chooses[id]
                    .ties
                    .push(TieBreak { key, largest_first });
            }
        }
        for rung in &choose.rungs {
            if let Some(rung) = self.rung(id, rung, &scope, &outside) {
                self.program.chooses[id].rungs.push(rung);
            }
        }
    }

    fn takes(&mut self, id: ChooseId, choose: &tree::Choose) {
        let Some(takes) = &choose.takes else { return };
        if let Some(span) = takes.together {
            if choose.for_each.is_some() {
                self.program.chooses[id].together = true;
            } else {
                let _: Option<()> = self.report(not_for_each(span, "together"));
            }
        }
        match takes.count.value.to_whole() {
            Some(1) => self.program.chooses[id].takes = Some(1),
            _ => {
                let count = takes.count.value;
                let message = format!("`takes {count}`: a choice is of one part for one club");
                let finding = Diagnostic::error(Code::DoesNotGoWith, takes.count.span, message)
                    .with_help("write `takes 1 from on_hand`, and a choice of its own for each");
                let _: Option<()> = self.report(finding);
            }
        }
        let part = self.program.chooses[id].part;
        if let Some((_, value_type)) = self.part_field(part, &takes.from)
            && value_type != Type::Count
        {
            let _: Option<()> = self.mismatch(takes.from.span, value_type, Type::Count);
        }
    }

    /// `agrees on FIELD [when C]`: the condition is asked once, outside any club.
    fn agrees_on(&mut self, id: ChooseId, agrees: &tree::AgreesOn) -> Option<AgreesOn> {
        let when = agrees
            .when
            .as_ref()
            .map(|when| self.condition(when, &Scope::bag()));
        if self.program.chooses[id].for_each.is_none() {
            return self.report(not_for_each(agrees.span, "agrees on"));
        }
        let (field, value_type) = self.part_field(self.program.chooses[id].part, &agrees.field)?;
        if value_type.is_list() {
            let name = self.type_name(value_type);
            let message = format!(
                "`{}` is a {name}: parts agree on one value, not on a list",
                agrees.field.text
            );
            return self.error(Code::TypeMismatch, agrees.field.span, message);
        }
        let when = match when {
            Some(when) => Some(when?),
            None => None,
        };
        Some(AgreesOn {
            field,
            when,
            span: agrees.span,
        })
    }

    fn needs(&mut self, needs: &tree::Needs, scope: &Scope, outside: &Scope) -> Option<Needs> {
        let condition = self.condition(&needs.condition, &scope.on_subject_side(true));
        let when = match &needs.when {
            Some(when) => Some(self.condition(when, outside)?),
            None => None,
        };
        let condition = condition?;
        Some(Needs {
            subject: first_candidate(&condition),
            condition,
            text: self.text(needs.condition.span),
            when,
            because: needs.because.as_ref().map(|text| text.text.clone()),
            span: needs.span,
        })
    }

    fn prefers(
        &mut self,
        prefers: &tree::Prefers,
        scope: &Scope,
        outside: &Scope,
    ) -> Option<Prefers> {
        let what = match &prefers.what {
            tree::Preference::Holds(condition) => {
                Preference::Holds(self.condition(condition, &scope.on_subject_side(true))?)
            }
            tree::Preference::Near {
                value,
                near,
                within,
            } => self.near(value, near, within, scope)?,
        };
        let when = match &prefers.when {
            Some(when) => Some(self.condition(when, outside)?),
            None => None,
        };
        let text = match &prefers.what {
            tree::Preference::Holds(condition) => self.text(condition.span),
            tree::Preference::Near { value, within, .. } => self.text(value.span.to(within.span)),
        };
        Some(Prefers {
            what,
            text,
            weight: prefers.weight.value,
            when,
            because: prefers.because.as_ref().map(|text| text.text.clone()),
        })
    }

    fn near(
        &mut self,
        value: &tree::Expression,
        near: &tree::Expression,
        within: &tree::Expression,
        scope: &Scope,
    ) -> Option<Preference> {
        let value = self.expression(value, &scope.on_subject_side(true), None)?;
        let difference = match value.value_type {
            Type::Scale(_) => Type::Quantity(Dimension::NUMBER),
            other => match other.dimension() {
                Some(dimension) if other != Type::Date => Type::Quantity(dimension),
                _ => {
                    let (text, name) = (self.text(value.span), self.type_name(other));
                    let message =
                        format!("`{text}` is of type {name}: nothing is near or far from it");
                    return self.error(Code::TypeMismatch, value.span, message);
                }
            },
        };
        let wanted = match value.value_type {
            Type::Count => Type::Quantity(Dimension::NUMBER),
            other => other,
        };
        let near = self.expression_of(near, scope, wanted);
        let within = self.expression_of(within, scope, difference);
        let (near, within) = (near?, within?);
        let is_nothing = matches!(&within.kind, ExpressionKind::Constant(distance)
            if distance.number().is_some_and(|number| number.is_zero() || number.is_negative()));
        if is_nothing {
            let text = self.text(within.span);
            let message = format!("`within {text}` leaves no room: write a distance above 0");
            return self.error(Code::MayDivideByZero, within.span, message);
        }
        Some(Preference::Near {
            value,
            near,
            within,
        })
    }

    fn tie(&mut self, name: &Name, scope: &Scope) -> Option<CandidateValue> {
        let found = self.its(name, scope)?;
        match found.kind {
            ExpressionKind::Candidate(value)
                if found.value_type.is_ordered() || found.value_type == Type::Text =>
            {
                Some(value)
            }
            _ => {
                let type_name = self.type_name(found.value_type);
                let message = format!(
                    "`{}` is of type {type_name}, whose values have no order",
                    name.text
                );
                self.error(Code::TypeMismatch, name.span, message)
            }
        }
    }

    fn rung(
        &mut self,
        id: ChooseId,
        rung: &tree::Rung,
        scope: &Scope,
        outside: &Scope,
    ) -> Option<Rung> {
        let kind = match &rung.kind {
            tree::RungKind::Orders => RungKind::Orders,
            tree::RungKind::LeavesOpen => RungKind::LeavesOpen,
            tree::RungKind::Needs(needs) => {
                let needs = self.needs(needs, scope, outside)?;
                let same: Vec<usize> = self.program.chooses[id]
                    .needs
                    .iter()
                    .enumerate()
                    .filter(|(_, line)| line.subject.is_some() && line.subject == needs.subject)
                    .map(|(index, _)| index)
                    .collect();
                if same.len() > 1 {
                    return self.error(
                        Code::ClauseCount,
                        rung.span,
                        "two `needs` lines have this subject: it is not clear which one this replaces",
                    );
                }
                RungKind::Needs {
                    replaces: same.first().copied(),
                    needs: Box::new(needs),
                }
            }
        };
        Some(Rung {
            kind,
            says: rung.says.as_ref().map(|text| text.text.clone()),
        })
    }
}

/// A clause that is about several clubs, in a choice for one.
fn not_for_each(span: Span, clause: &str) -> Diagnostic {
    let message = format!("`{clause}` is about several clubs, and this choice is for one");
    Diagnostic::error(Code::DoesNotGoWith, span, message)
        .with_help("a choice is made for several clubs with `for each` in its first line")
}

/// The candidate's value that a condition speaks of first.
fn first_candidate(condition: &crate::program::Expression) -> Option<CandidateValue> {
    if let ExpressionKind::Candidate(value) = &condition.kind {
        return Some(*value);
    }
    super::dependencies::children(condition)
        .into_iter()
        .find_map(first_candidate)
}
