//! Along a group: the order of the clubs, and `kept`, `first`, `next`, `last`.

use std::cmp::Ordering;
use std::rc::Rc;

use loftwright_dsl::syntax::tree::{ForEach, NextStep, Progression};

use super::decision::Progress;
use super::operators::number;
use super::{Oracle, Outcome, Scope, State, Value};

impl Oracle<'_> {
    /// The clubs of a group in the order of a declaration: by the key, those without one after the
    /// others, ties in the group's own order.
    pub(super) fn line(&self, for_each: &ForEach) -> Vec<usize> {
        let group = &for_each.group.text;
        let count = self.group(group).unwrap().list.len();
        let mut line: Vec<usize> = (0..count).collect();
        let Some(order) = &for_each.order else {
            return line;
        };
        let key = |member: usize| {
            let scope = Scope {
                club: Some((group.clone(), member)),
                ..Scope::default()
            };
            let state = if self.rules.group_field(group, &order.by.text).is_some() {
                self.club_field(group, member, &order.by.text)
            } else {
                self.declared(&order.by.text, &scope)
            };
            match state {
                State::Known(value) => Some(number(&value)),
                _ => None,
            }
        };
        let keys: Vec<_> = line.iter().map(|member| key(*member)).collect();
        line.sort_by(|left, right| match (keys[*left], keys[*right]) {
            (Some(left), Some(right)) if order.largest_first => right.cmp(&left),
            (Some(left), Some(right)) => left.cmp(&right),
            (Some(_), None) => Ordering::Less,
            (None, Some(_)) => Ordering::Greater,
            (None, None) => Ordering::Equal,
        });
        line
    }

    /// The clubs in the order of a declaration, worked out once.
    pub(super) fn line_of(&self, name: &str, for_each: &ForEach) -> Rc<Vec<usize>> {
        if let Some(known) = self.lines.borrow().get(name) {
            return known.clone();
        }
        let line = Rc::new(self.line(for_each));
        self.lines
            .borrow_mut()
            .insert(name.to_owned(), line.clone());
        line
    }

    /// The value of a progression for the club at hand; how many tables it has.
    pub(super) fn progression(
        &self,
        progression: &Progression,
        progress: &mut Progress,
        scope: &Scope,
    ) -> Result<usize, Outcome> {
        let tables = usize::from(matches!(progression.next, Some(NextStep::Table(_))));
        let (line, position) = scope.line.clone().unwrap();
        let (group, member) = scope.club.clone().unwrap();
        let is_kept = |other: usize| self.is_kept(&(group.clone(), other));
        let counts =
            |other: usize| progression.kept.is_none() || is_kept(other).flag() != Some(true);
        if let Some(kept) = &progression.kept {
            match is_kept(member) {
                State::Known(Value::Flag(true)) => {
                    self.gives(&kept.value, progress, scope)?;
                    return Ok(tables);
                }
                // Only the set says who is kept: who waits for it is neither first nor last yet.
                undecided @ State::Undecided(_) => {
                    progress.is_worth(undecided);
                    return Ok(tables);
                }
                _ => {}
            }
        }
        let is_first = !line[..position].iter().any(|other| counts(*other));
        let is_last = !line[position + 1..].iter().any(|other| counts(*other));
        if is_first {
            self.gives(&progression.first.value, progress, scope)?;
        } else if let (true, Some(last)) = (is_last, &progression.last) {
            self.gives(&last.value, progress, scope)?;
        } else {
            match &progression.next {
                Some(NextStep::Gives(next)) => self.gives(&next.value, progress, scope)?,
                Some(NextStep::Table(table)) => self.ask(table, 0, progress, scope)?,
                None => {}
            }
        }
        Ok(tables)
    }

    /// Whether the player keeps this club.
    fn is_kept(&self, club: &(String, usize)) -> State {
        if self.rules.group_field(&club.0, "is_kept").is_some() {
            return self.club_field(&club.0, club.1, "is_kept");
        }
        match self.same_club(club, "club") {
            Ok(Some(member)) => self.club_field("club", member, "is_kept"),
            Ok(None) => State::None,
            Err(undecided) => State::Undecided(undecided),
        }
    }
}
