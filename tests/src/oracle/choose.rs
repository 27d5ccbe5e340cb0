//! Choices of parts: every candidate against every line, then sorted; the ladder; who comes first.

use std::cmp::Ordering;
use std::collections::BTreeMap;
use std::rc::Rc;

use loftwright_dsl::quantity::Rational;
use loftwright_dsl::syntax::tree::{Choose, Expression, ExpressionKind, Needs, RungKind};

use super::candidate::{Candidate, seen_from_outside};
use super::family::Family;
use super::{Oracle, Outcome, Place, Scope, State};

/// What has been taken of each part or piece.
pub type Taken = BTreeMap<(usize, Option<usize>), i64>;

/// What there is to choose from.
#[derive(Clone, Default)]
pub struct Supply {
    /// What others took before.
    pub(super) taken: Taken,
    /// The family that candidates must be of.
    pub(super) family: Option<Family>,
}

/// Where candidates come from.
#[derive(Clone, Copy, PartialEq)]
pub enum Source {
    /// What lies in the drawers.
    OnHand,
    /// The parts themselves.
    Catalogue,
}

/// How a choice ends for a club, and what its part scored.
#[derive(Clone)]
pub struct Found {
    pub(super) outcome: Outcome,
    pub(super) score: Rational,
}

impl From<Outcome> for Found {
    fn from(outcome: Outcome) -> Self {
        Found {
            outcome,
            score: Rational::ZERO,
        }
    }
}

impl<'a> Oracle<'a> {
    pub(super) fn choose(&self, choose: &'a Choose, place: &Place) -> Outcome {
        let is_together = choose
            .takes
            .as_ref()
            .is_some_and(|takes| takes.together.is_some());
        if is_together || !choose.agrees_on.is_empty() {
            return self.whole_choice(choose)[&place.member.unwrap()].clone();
        }
        let scope = self.scope_of(place, choose.for_each.as_ref());
        if let Some(ended) = self.only_when(choose.only_when.as_ref(), &scope) {
            return ended;
        }
        let mut supply = Supply {
            taken: self.taken_by_earlier(choose),
            family: None,
        };
        for sister in self.places_in_order(choose) {
            if sister == *place {
                break;
            }
            take(choose, &self.outcome(&sister), &mut supply.taken);
        }
        self.climb(choose, &scope, &supply, None).outcome
    }

    /// A choice that is made for all its clubs at once, worked out once.
    fn whole_choice(&self, choose: &'a Choose) -> Rc<BTreeMap<usize, Outcome>> {
        let name = &choose.name.text;
        if let Some(known) = self.wholes.borrow().get(name) {
            return known.clone();
        }
        let supply = Supply {
            taken: self.taken_by_earlier(choose),
            family: None,
        };
        let whole = Rc::new(self.agreed(choose, &supply));
        self.wholes.borrow_mut().insert(name.clone(), whole.clone());
        whole
    }

    /// The choice for all its clubs from one supply, one after the other or together.
    pub(super) fn for_all(&self, choose: &'a Choose, supply: &Supply) -> BTreeMap<usize, Found> {
        if choose
            .takes
            .as_ref()
            .is_some_and(|takes| takes.together.is_some())
        {
            return self.together(choose, supply);
        }
        let mut supply = supply.clone();
        let mut found = BTreeMap::new();
        for place in self.places_in_order(choose) {
            let scope = self.scope_of(&place, choose.for_each.as_ref());
            let ended = self.only_when(choose.only_when.as_ref(), &scope);
            let result = match ended {
                Some(ended) => ended.into(),
                None => self.climb(choose, &scope, &supply, None),
            };
            take(choose, &result.outcome, &mut supply.taken);
            found.insert(place.member.unwrap(), result);
        }
        found
    }

    /// The original needs, then the ladder; or the ladder alone from a rung on.
    pub(super) fn climb(
        &self,
        choose: &'a Choose,
        scope: &Scope<'a>,
        supply: &Supply,
        from_rung: Option<usize>,
    ) -> Found {
        self.climbed(choose, scope, supply, from_rung)
            .unwrap_or_else(Found::from)
    }

    fn climbed(
        &self,
        choose: &'a Choose,
        scope: &Scope<'a>,
        supply: &Supply,
        from_rung: Option<usize>,
    ) -> Result<Found, Outcome> {
        let original: Vec<&Needs> = choose.needs.iter().collect();
        let usual = match choose.takes {
            Some(_) => Source::OnHand,
            None => Source::Catalogue,
        };
        if from_rung.is_none()
            && let Some(found) = self.best(choose, &original, usual, supply, scope)?
        {
            return Ok(found.chosen(None));
        }
        for (rung, step) in choose.rungs.iter().enumerate().skip(from_rung.unwrap_or(0)) {
            match &step.kind {
                RungKind::Needs(replacement) => {
                    let lines = replaced(choose, replacement);
                    if let Some(found) = self.best(choose, &lines, usual, supply, scope)? {
                        return Ok(found.chosen(Some(rung)));
                    }
                }
                RungKind::Orders => {
                    let found = self.ordered(choose, &original, supply, scope)?;
                    if let Some(found) = found {
                        return Ok(found.ordered(rung));
                    }
                }
                RungKind::LeavesOpen => return Ok(Outcome::LeftOpen.into()),
            }
        }
        Ok(Outcome::NoneOnHand.into())
    }

    /// The places of a choice in its stated order.
    pub(super) fn places_in_order(&self, choose: &Choose) -> Vec<Place> {
        let name = &choose.name.text;
        let places = self.places(name);
        let is_for_clubs = places.first().is_some_and(|place| place.member.is_some());
        match (&choose.for_each, is_for_clubs) {
            (Some(for_each), true) => {
                let line = self.line_of(name, for_each);
                let at = |member: &usize| Place {
                    name: name.clone(),
                    member: Some(*member),
                };
                line.iter().map(at).collect()
            }
            _ => places,
        }
    }

    /// What the choices before this one took: by part and piece, how many.
    fn taken_by_earlier(&self, choose: &Choose) -> Taken {
        let mut taken = Taken::new();
        if choose.takes.is_none() {
            return taken;
        }
        for name in self.rules.choices_in_order(&choose.from.text) {
            if name == choose.name.text {
                break;
            }
            let other = &self.rules.chooses[&name];
            for place in self.places_in_order(other) {
                take(other, &self.outcome(&place), &mut taken);
            }
        }
        taken
    }

    fn best(
        &self,
        choose: &'a Choose,
        needs: &[&Needs],
        source: Source,
        supply: &Supply,
        scope: &Scope<'a>,
    ) -> Result<Option<Weighed<'a>>, Outcome> {
        self.best_of(choose, needs, source, false, supply, scope)
    }

    /// The best part of the whole catalogue, to be ordered.
    fn ordered(
        &self,
        choose: &'a Choose,
        needs: &[&Needs],
        supply: &Supply,
        scope: &Scope<'a>,
    ) -> Result<Option<Weighed<'a>>, Outcome> {
        self.best_of(choose, needs, Source::Catalogue, true, supply, scope)
    }

    /// The best candidate that meets these needs.
    fn best_of(
        &self,
        choose: &'a Choose,
        needs: &[&Needs],
        source: Source,
        is_ordered: bool,
        supply: &Supply,
        scope: &Scope<'a>,
    ) -> Result<Option<Weighed<'a>>, Outcome> {
        let nobody = self.nobody(choose, scope);
        let needs = self.lines_asked(needs, &nobody)?;
        let prefers = self.preferences_asked(choose, &nobody)?;
        let mut met = Vec::new();
        for candidate in self.candidates(choose, source, supply, scope) {
            if self.meets(&needs, &candidate, is_ordered)? {
                let score = self.score(&prefers, &candidate)?;
                met.push(Weighed { candidate, score });
            }
        }
        met.sort_by(|left, right| {
            let by_score = right.score.cmp(&left.score);
            by_score.then_with(|| self.in_order(choose, &left.candidate, &right.candidate))
        });
        Ok(met.into_iter().next())
    }

    /// The candidate of whom nothing is known.
    pub(super) fn nobody(&self, choose: &'a Choose, scope: &Scope<'a>) -> Candidate<'a> {
        let kind = &self
            .rules
            .part_of_plural(&choose.from.text)
            .unwrap()
            .name
            .text;
        Candidate::new(kind, None, None, None, choose, scope)
    }

    /// Who goes first among those of equal score: the `ties by` keys, then part, piece, setting.
    pub(super) fn in_order(
        &self,
        choose: &Choose,
        left: &Candidate,
        right: &Candidate,
    ) -> Ordering {
        self.tie(choose, left, right)
            .then_with(|| left.codes().cmp(&right.codes()))
    }

    /// Every candidate of a source, in order of part, piece and setting.
    pub(super) fn candidates(
        &self,
        choose: &'a Choose,
        source: Source,
        supply: &Supply,
        scope: &Scope<'a>,
    ) -> Vec<Candidate<'a>> {
        let kind = &self
            .rules
            .part_of_plural(&choose.from.text)
            .unwrap()
            .name
            .text;
        let mut candidates = Vec::new();
        for (index, part) in self.parts.kinds.get(kind).into_iter().flatten().enumerate() {
            let gone = |piece| supply.taken.get(&(index, piece)).copied().unwrap_or(0);
            let mut pieces = Vec::new();
            if source == Source::Catalogue || part.on_hand - gone(None) > 0 {
                pieces.push(None);
            }
            if source == Source::OnHand {
                let free = part.pieces.iter().enumerate();
                let free = free.filter(|(piece, _)| gone(Some(*piece)) == 0);
                pieces.extend(free.map(Some));
            }
            for piece in pieces {
                let of = |setting| {
                    Candidate::new(kind, Some((index, part)), piece, setting, choose, scope)
                };
                match &choose.in_each {
                    None => candidates.push(of(None)),
                    Some(list) => {
                        let settings = part.lists.get(&list.text).into_iter().flatten();
                        let settings = settings.enumerate();
                        candidates.extend(settings.map(|setting| of(Some(setting))));
                    }
                }
            }
        }
        candidates.retain(|candidate| self.is_of(supply.family.as_ref(), candidate));
        candidates
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

/// A candidate that meets what it must, and its score.
pub struct Weighed<'a> {
    pub(super) candidate: Candidate<'a>,
    pub(super) score: Rational,
}

impl Weighed<'_> {
    /// Taken by the original needs or a rung.
    pub(super) fn chosen(self, rung: Option<usize>) -> Found {
        Found {
            outcome: Outcome::Chosen(self.candidate.picked(rung)),
            score: self.score,
        }
    }

    fn ordered(self, rung: usize) -> Found {
        Found {
            outcome: Outcome::Ordered(self.candidate.picked(Some(rung))),
            score: self.score,
        }
    }
}

/// Counts what an outcome takes.
pub(super) fn take(choose: &Choose, outcome: &Outcome, taken: &mut Taken) {
    if let (Some(takes), Outcome::Chosen(pick)) = (&choose.takes, outcome) {
        let count = takes.count.value.to_whole().unwrap();
        *taken.entry((pick.part, pick.piece)).or_insert(0) += count;
    }
}

/// The original needs with the one line of the same subject replaced.
pub(super) fn replaced<'n>(choose: &'n Choose, replacement: &'n Needs) -> Vec<&'n Needs> {
    let mut lines: Vec<&Needs> = choose.needs.iter().collect();
    let subject = subject_text(&replacement.condition);
    let same = |line: &&Needs| subject_text(&line.condition) == subject;
    match lines.iter().position(same) {
        Some(replaced) => lines[replaced] = replacement,
        None => lines.push(replacement),
    }
    lines
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
