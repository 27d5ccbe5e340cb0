//! Texts with `{values}` filled in for a club.

use loftwright_dsl::program::TextPiece;

use super::value::state_text;
use super::view::View;
use crate::outcome::Place;

/// The text for the club; a value that is not settled is told as *not known*.
pub(crate) fn filled(view: &View<'_>, place: Place, pieces: &[TextPiece]) -> String {
    let mut text = String::new();
    for piece in pieces {
        match piece {
            TextPiece::Words(words) => text.push_str(words),
            TextPiece::Value(expression, shown) => {
                let state = view.groups.state_at(view, place, expression);
                text.push_str(&state_text(
                    view.program,
                    expression.value_type,
                    shown,
                    &state,
                ));
            }
        }
    }
    text
}
