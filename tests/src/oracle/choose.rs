//! Choices of parts: every candidate against every line, then sorted.

use std::cmp::Ordering;
use std::collections::BTreeMap;

use loftwright_dsl::quantity::Rational;
use loftwright_dsl::syntax::tree::{
    Choose, Expression, ExpressionKind, Needs, Preference, Prefers, RungKind,
};

use super::candidate::{Candidate, is_own, seen_from_outside};
use super::operators::{Answer, all_known, fault, number};
use super::table::distance;
use super::{Cause, Oracle, Outcome, Pick, Place, Scope, State, Undecided, Value};

/// Whether a line is to be looked at.
enum When {
    Asked,
    LeftOut,
    Undecided(Undecided),
}

impl<'a> Oracle<'a> {
    pub(super) fn choose(&self, choose: &'a Choose, place: &Place) -> Outcome {
        let scope = self.scope_of(place, choose.for_each.as_ref());
        if let Some(ended) = self.only_when(choose.only_when.as_ref(), &scope) {
            return ended;
        }
        self.climb(choose, place, &scope)
            .unwrap_or_else(|ended| ended)
    }

    /// The original needs, then the ladder.
    fn climb(
        &self,
        choose: &'a Choose,
        place: &Place,
        scope: &Scope<'a>,
    ) -> Result<Outcome, Outcome> {
        let original: Vec<&Needs> = choose.needs.iter().collect();
        let taken = self.taken_before(choose, place);
        if let Some(pick) = self.best(choose, &original, Some(&taken), None, scope)? {
            return Ok(Outcome::Chosen(pick));
        }
        for (rung, step) in choose.rungs.iter().enumerate() {
            match &step.kind {
                RungKind::Needs(replacement) => {
                    let mut lines = original.clone();
                    let subject = subject_text(&replacement.condition);
                    let same = |line: &&&Needs| subject_text(&line.condition) == subject;
                    let replaced = original.iter().position(|line| same(&line));
                    match replaced {
                        Some(replaced) => lines[replaced] = replacement,
                        None => lines.push(replacement),
                    }
                    let pick = self.best(choose, &lines, Some(&taken), Some(rung), scope)?;
                    if let Some(pick) = pick {
                        return Ok(Outcome::Chosen(pick));
                    }
                }
                RungKind::Orders => {
                    if let Some(pick) = self.best(choose, &original, None, Some(rung), scope)? {
                        return Ok(Outcome::Ordered(pick));
                    }
                }
                RungKind::LeavesOpen => return Ok(Outcome::LeftOpen),
            }
        }
        Ok(Outcome::NoneOnHand)
    }

    /// What the choices and clubs before this one took: by part and piece, how many.
    fn taken_before(
        &self,
        choose: &Choose,
        place: &Place,
    ) -> BTreeMap<(usize, Option<usize>), i64> {
        let mut earlier = Vec::new();
        for name in self.choices_in_order(&choose.from.text) {
            let other = &self.rules.chooses[&name];
            let mut places = self.places(&name);
            if let (Some(for_each), Some(Some(_))) =
                (&other.for_each, places.first().map(|place| place.member))
            {
                let line = self.line_of(&name, for_each);
                let at = |member| Place {
                    name: name.clone(),
                    member: Some(member),
                };
                places = line.iter().copied().map(at).collect();
            }
            let is_own = name == choose.name.text;
            let before = places.into_iter().take_while(|other| other != place);
            earlier.extend(before.map(|place| (place, other)));
            if is_own {
                break;
            }
        }
        let mut taken = BTreeMap::new();
        for (place, other) in earlier {
            let (Some(takes), Outcome::Chosen(pick)) = (&other.takes, self.outcome(&place)) else {
                continue;
            };
            *taken.entry((pick.part, pick.piece)).or_insert(0) +=
                takes.count.value.to_whole().unwrap();
        }
        taken
    }

    /// The choices from a kind of part, by name; before each goes what it says it comes `after`.
    fn choices_in_order(&self, from: &str) -> Vec<String> {
        let mut order = Vec::new();
        for choose in self
            .rules
            .chooses
            .values()
            .filter(|other| other.from.text == from)
        {
            self.put_in_order(choose, &mut order);
        }
        order
    }

    fn put_in_order(&self, choose: &Choose, order: &mut Vec<String>) {
        if order.contains(&choose.name.text) {
            return;
        }
        for after in &choose.after {
            let other = &self.rules.chooses[&after.text];
            if other.from.text == choose.from.text {
                self.put_in_order(other, order);
            }
        }
        order.push(choose.name.text.clone());
    }

    /// The best candidate that meets these needs: from the stock less what is taken, or, without
    /// `taken`, from the whole catalogue to be ordered.
    fn best(
        &self,
        choose: &'a Choose,
        needs: &[&Needs],
        taken: Option<&BTreeMap<(usize, Option<usize>), i64>>,
        rung: Option<usize>,
        scope: &Scope<'a>,
    ) -> Result<Option<Pick>, Outcome> {
        let kind = &self
            .rules
            .part_of_plural(&choose.from.text)
            .unwrap()
            .name
            .text;
        let nobody = Candidate::new(kind, None, None, None, choose, scope);
        let needs = self.lines_asked(needs, &nobody)?;
        let prefers = self.preferences_asked(choose, &nobody)?;
        let mut met = Vec::new();
        for candidate in self.candidates(choose, kind, taken, scope) {
            if self.meets(&needs, &candidate, taken.is_none())? {
                let score = self.score(&prefers, &candidate)?;
                met.push((score, candidate));
            }
        }
        met.sort_by(|(left_score, left), (right_score, right)| {
            let by_score = right_score.cmp(left_score);
            by_score
                .then_with(|| self.tie(choose, left, right))
                .then_with(|| {
                    let place = |candidate: &Candidate| {
                        let part = candidate.part.map(|(_, part)| part.id.clone());
                        let piece = candidate.piece.map(|(_, piece)| piece.id.clone());
                        (part, piece, candidate.setting.map(|(setting, _)| setting))
                    };
                    place(left).cmp(&place(right))
                })
        });
        Ok(met.first().map(|(_, candidate)| {
            let (part, record) = candidate.part.unwrap();
            let piece = candidate.piece.map_or("", |(_, piece)| &piece.id);
            Pick {
                part,
                piece: candidate.piece.map(|(piece, _)| piece),
                setting: candidate.setting.map(|(setting, _)| setting),
                rung,
                codes: format!("{} {piece}", record.id),
            }
        }))
    }

    fn candidates(
        &self,
        choose: &'a Choose,
        kind: &str,
        taken: Option<&BTreeMap<(usize, Option<usize>), i64>>,
        scope: &Scope<'a>,
    ) -> Vec<Candidate<'a>> {
        let mut candidates = Vec::new();
        for (index, part) in self.parts.kinds.get(kind).into_iter().flatten().enumerate() {
            let mut pieces = Vec::new();
            match taken {
                None => pieces.push(None),
                Some(taken) if part.pieces.is_empty() => {
                    let gone = taken.get(&(index, None)).copied().unwrap_or(0);
                    if part.on_hand - gone > 0 {
                        pieces.push(None);
                    }
                }
                Some(taken) => {
                    let on_hand = part.pieces.iter().enumerate();
                    let free =
                        on_hand.filter(|(piece, _)| !taken.contains_key(&(index, Some(*piece))));
                    pieces.extend(free.map(Some));
                }
            }
            for piece in pieces {
                let of = |setting| {
                    Candidate::new(kind, Some((index, part)), piece, setting, choose, scope)
                };
                match choose
                    .in_each
                    .as_ref()
                    .map(|list| part.lists.get(&list.text))
                {
                    None => candidates.push(of(None)),
                    Some(settings) => {
                        let settings = settings.into_iter().flatten().enumerate();
                        candidates.extend(settings.map(|setting| of(Some(setting))));
                    }
                }
            }
        }
        candidates
    }

    fn when(&self, when: Option<&Expression>, nobody: &Candidate) -> Result<When, Outcome> {
        let Some(when) = when else {
            return Ok(When::Asked);
        };
        let scope = nobody.scope().as_ruleset().expecting(None);
        Ok(match self.evaluate(when, &scope)? {
            State::Known(Value::Flag(true)) => When::Asked,
            State::Undecided(undecided) => When::Undecided(undecided),
            _ => When::LeftOut,
        })
    }

    /// The lines that are asked, once the ruleset's side of each is decided.
    fn lines_asked<'n>(
        &self,
        needs: &[&'n Needs],
        nobody: &Candidate,
    ) -> Result<Vec<&'n Needs>, Outcome> {
        let mut asked = Vec::new();
        let mut merged = Undecided::default();
        for line in needs {
            match self.when(line.when.as_ref(), nobody)? {
                When::LeftOut => continue,
                When::Undecided(undecided) => {
                    merged.merge(&undecided);
                    continue;
                }
                When::Asked => {}
            }
            match self.holds(&line.condition, nobody)? {
                State::Undecided(undecided) => merged.merge(&rulesets_own(undecided)),
                State::None => return Err(Outcome::DoesNotApply),
                State::Known(_) => {}
            }
            asked.push(*line);
        }
        if merged == Undecided::default() {
            Ok(asked)
        } else {
            Err(State::Undecided(merged).into_outcome())
        }
    }

    fn holds(&self, condition: &Expression, candidate: &Candidate) -> Answer {
        self.evaluate(condition, &candidate.scope().as_subject())
    }

    fn meets(
        &self,
        needs: &[&Needs],
        candidate: &Candidate,
        is_ordered: bool,
    ) -> Result<bool, Outcome> {
        for line in needs {
            match self.holds(&line.condition, candidate)? {
                State::Known(Value::Flag(true)) => {}
                State::Undecided(undecided) => {
                    let rest = rulesets_own(undecided.clone());
                    if rest != Undecided::default() {
                        return Err(State::Undecided(rest).into_outcome());
                    }
                    // What is measured on the single piece is ordered to measure.
                    let is_measured = |cause: &Cause| match cause {
                        Cause::PartField(_, field) => self
                            .rules
                            .part_field(candidate.kind(), field)
                            .is_some_and(|field| field.of_each_piece),
                        _ => false,
                    };
                    if !(is_ordered && undecided.causes.iter().all(is_measured)) {
                        return Ok(false);
                    }
                }
                _ => return Ok(false),
            }
        }
        Ok(true)
    }

    /// The lines that are weighed.
    fn preferences_asked(
        &self,
        choose: &'a Choose,
        nobody: &Candidate,
    ) -> Result<Vec<&'a Prefers>, Outcome> {
        let mut asked = Vec::new();
        for line in &choose.prefers {
            if !matches!(self.when(line.when.as_ref(), nobody)?, When::Asked) {
                continue;
            }
            let state = match &line.what {
                Preference::Holds(condition) => self.holds(condition, nobody)?,
                Preference::Near {
                    value,
                    near,
                    within,
                } => match self.near(value, near, within, nobody)? {
                    Ok(_) => State::Known(Value::Flag(true)),
                    Err(state) => state,
                },
            };
            match state {
                State::Undecided(undecided)
                    if rulesets_own(undecided.clone()) != Undecided::default() => {}
                State::None => {}
                _ => asked.push(line),
            }
        }
        Ok(asked)
    }

    fn near(
        &self,
        value: &Expression,
        near: &Expression,
        within: &Expression,
        candidate: &Candidate,
    ) -> Result<Result<Vec<Value>, State>, Outcome> {
        let subject = candidate.scope().as_subject();
        let vocabulary = self.vocabulary_of(value, &subject);
        let value = self.evaluate(value, &subject)?;
        let ruleset = candidate.scope().as_ruleset();
        let near = self.evaluate(near, &ruleset.expecting(vocabulary))?;
        let within = self.evaluate(within, &ruleset.expecting(None))?;
        Ok(all_known(&[value, near, within]))
    }

    fn score(&self, prefers: &[&Prefers], candidate: &Candidate) -> Result<Rational, Outcome> {
        let mut total = Rational::ZERO;
        for line in prefers {
            let weight = line.weight.value;
            let score = match &line.what {
                Preference::Holds(condition) => match self.holds(condition, candidate)?.flag() {
                    Some(true) => weight,
                    _ => Rational::ZERO,
                },
                Preference::Near {
                    value,
                    near,
                    within,
                } => match self.near(value, near, within, candidate)? {
                    Err(_) => Rational::ZERO,
                    Ok(values) => {
                        let share = distance(&values[0], &values[1])?;
                        let share = share.over(number(&values[2])).map_err(fault)?;
                        let left = Rational::ONE.minus(share).map_err(fault)?;
                        weight.times(left.max(Rational::ZERO)).map_err(fault)?
                    }
                },
            };
            total = total.plus(score).map_err(fault)?;
        }
        Ok(total)
    }

    fn tie(&self, choose: &Choose, left: &Candidate, right: &Candidate) -> Ordering {
        for key in &choose.ties {
            let name = &key.by.text;
            let state = |candidate: &Candidate| candidate.let_or_field(self, name);
            let order = match (state(left), state(right)) {
                (State::Known(left), State::Known(right)) => {
                    let order = match (&left, &right) {
                        (Value::Text(left), Value::Text(right)) => left.cmp(right),
                        (Value::Flag(left), Value::Flag(right)) => left.cmp(right),
                        _ => number(&left).cmp(&number(&right)),
                    };
                    if key.largest_first {
                        order.reverse()
                    } else {
                        order
                    }
                }
                (State::Known(_), _) => Ordering::Less,
                (_, State::Known(_)) => Ordering::Greater,
                _ => Ordering::Equal,
            };
            if order != Ordering::Equal {
                return order;
            }
        }
        Ordering::Equal
    }

    /// A field or let of the part that was picked.
    pub(super) fn picked_field(
        &self,
        choose: &Choose,
        member: Option<usize>,
        field: &str,
    ) -> State {
        let choose = &self.rules.chooses[&choose.name.text];
        let place = Place {
            name: choose.name.text.clone(),
            member,
        };
        let (Outcome::Chosen(pick) | Outcome::Ordered(pick)) = self.outcome(&place) else {
            panic!("{place} picked nothing");
        };
        let kind = &self
            .rules
            .part_of_plural(&choose.from.text)
            .unwrap()
            .name
            .text;
        let part = &self.parts.kinds[kind][pick.part];
        let piece = pick.piece.map(|piece| (piece, &part.pieces[piece]));
        let setting = pick.setting.map(|setting| {
            let list = &choose.in_each.as_ref().unwrap().text;
            (setting, &part.lists[list][setting])
        });
        let scope: Scope = self.scope_of(&place, choose.for_each.as_ref());
        let candidate = Candidate::new(
            kind,
            Some((pick.part, part)),
            piece,
            setting,
            choose,
            &scope,
        );
        seen_from_outside(candidate.let_or_field(self, field))
    }
}

/// What of this is not the candidate's own.
fn rulesets_own(mut undecided: Undecided) -> Undecided {
    undecided.causes.retain(|cause| !is_own(cause));
    undecided
}

/// The subject of a line as it is written, places in the text left out.
fn subject_text(condition: &Expression) -> String {
    let subject = match &condition.kind {
        ExpressionKind::Compare { subject, .. } => subject,
        _ => condition,
    };
    let mut text = format!("{subject:?}");
    while let Some(start) = text.find("Span {") {
        let end = text[start..].find('}').unwrap();
        text.replace_range(start..=start + end, "_");
    }
    text
}
