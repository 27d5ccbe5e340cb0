//! Other clubs and what was chosen for them: `of the first G`, `previous`, fields of a choice.

use loftwright_dsl::syntax::tree::{Choose, Position};

use super::{Oracle, Place, Scope, State};

impl Oracle<'_> {
    /// `X of the first G`.
    pub(super) fn of_member(
        &self,
        name: &str,
        position: Position,
        group: &str,
        scope: &Scope,
    ) -> State {
        let step = match position {
            Position::Next => 1,
            Position::Previous => -1,
            Position::First | Position::Last => {
                let members = match self.group(group) {
                    Ok(members) => members,
                    // The one entry that the declaration has for the whole group.
                    Err(_) if self.rules.node(name).is_some() => {
                        return self.declared(name, &Scope::default());
                    }
                    Err(_) => return self.group_state(group),
                };
                let count = members.list.len();
                let member = if position == Position::First {
                    0
                } else {
                    count.wrapping_sub(1)
                };
                if count == 0 {
                    return State::None;
                }
                return self.of_club(name, (group.to_owned(), member));
            }
        };
        if self.group(group).is_err() {
            return match self.rules.node(name) {
                Some(_) => self.declared(name, &Scope::default()),
                None => self.group_state(group),
            };
        }
        match self.neighbour(scope, step) {
            Some(neighbour) => {
                let club = neighbour.club.unwrap();
                match self.same_club(&club, group) {
                    Ok(Some(member)) => self.of_club(name, (group.to_owned(), member)),
                    Ok(None) => State::None,
                    Err(undecided) => State::Undecided(undecided),
                }
            }
            None => State::None,
        }
    }

    fn of_club(&self, name: &str, club: (String, usize)) -> State {
        if self.rules.group_field(&club.0, name).is_some() {
            return self.club_field(&club.0, club.1, name);
        }
        let scope = Scope {
            club: Some(club),
            ..Scope::default()
        };
        self.declared(name, &scope)
    }

    /// The scope of the club before or after the one at hand, in the order of the declaration.
    pub(super) fn neighbour<'c>(&self, scope: &Scope<'c>, step: isize) -> Option<Scope<'c>> {
        let (line, position) = scope.line.as_ref()?;
        let position = position.checked_add_signed(step)?;
        let member = *line.get(position)?;
        let (group, _) = scope.club.as_ref()?;
        Some(Scope {
            club: Some((group.clone(), member)),
            line: Some((line.clone(), position)),
            ..scope.clone()
        })
    }

    /// A bare `previous`: the declaration's own value for the club before this one.
    pub(super) fn previous_value(&self, scope: &Scope) -> State {
        let owner = scope.owner.clone().unwrap();
        match self.neighbour(scope, -1) {
            Some(Scope {
                club: Some((_, member)),
                ..
            }) => self.state(&Place {
                name: owner,
                member: Some(member),
            }),
            _ => State::None,
        }
    }

    /// The choice whose field is asked for, of the same club.
    pub(super) fn field_of_choice(&self, choose: &Choose, field: &str, scope: &Scope) -> State {
        let state = self.declared(&choose.name.text, scope);
        if !matches!(state, State::Known(_)) {
            return state;
        }
        let member = match (&choose.for_each, &scope.club) {
            (Some(each), Some(club)) => self.same_club(club, &each.group.text).unwrap(),
            _ => None,
        };
        self.picked_field(choose, member, field)
    }
}
