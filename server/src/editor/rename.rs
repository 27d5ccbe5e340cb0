//! A name changed in all files of its folder.

use loftwright_dsl::index::{DeclarationId, RenameRefusal};
use lsp_types::{PrepareRenameResponse, TextEdit, Uri, WorkspaceEdit};

use super::session::Place;

/// The name that would be changed, with its text.
///
/// # Errors
/// Why it cannot be changed.
pub(super) fn prepare(place: &Place<'_>) -> Result<Option<PrepareRenameResponse>, RenameRefusal> {
    let index = &place.checked.index;
    let Some(found) = index.name_at(place.file, place.offset) else {
        return Ok(None);
    };
    let id = renamed(place, found.target, found.is_plural)?;
    index.may_rename(id)?;
    Ok(Some(PrepareRenameResponse::RangeWithPlaceholder {
        range: place.checked.range(found.span),
        placeholder: index.declarations[id].name.clone(),
    }))
}

/// The edits that give the name at a place another; by file as the client can take them.
///
/// # Errors
/// Why it cannot have that name.
pub(super) fn rename(place: &Place<'_>, new: &str) -> Result<Option<WorkspaceEdit>, RenameRefusal> {
    let index = &place.checked.index;
    let Some(found) = index.name_at(place.file, place.offset) else {
        return Ok(None);
    };
    let id = renamed(place, found.target, found.is_plural)?;
    // The edits come file by file.
    let mut changes: Vec<(Uri, Vec<TextEdit>)> = Vec::new();
    for edit in index.rename(id, new)? {
        let Some(location) = place.checked.location(edit.span) else {
            continue;
        };
        let text_edit = TextEdit::new(location.range, edit.text);
        match changes.last_mut() {
            Some((uri, edits)) if *uri == location.uri => edits.push(text_edit),
            _ => changes.push((location.uri, vec![text_edit])),
        }
    }
    Ok(Some(WorkspaceEdit {
        changes: Some(changes.into_iter().collect()),
        ..WorkspaceEdit::default()
    }))
}

fn renamed(
    place: &Place<'_>,
    id: DeclarationId,
    is_plural: bool,
) -> Result<DeclarationId, RenameRefusal> {
    let name = &place.checked.index.declarations[id].name;
    if is_plural {
        Err(RenameRefusal::Plural(name.clone()))
    } else {
        Ok(id)
    }
}
