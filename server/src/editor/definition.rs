//! Where a name is declared, and where it is used.

use lsp_types::Location;

use super::session::Place;

/// Where the name at a place is declared; at a declaration that replaces another, where that is.
/// Nothing where the declaration is built into the program: no file holds it.
pub(super) fn definition(place: &Place<'_>) -> Option<Location> {
    let index = &place.checked.index;
    let found = index.name_at(place.file, place.offset)?;
    let declaration = &index.declarations[found.target];
    let replaced = declaration.replaces.filter(|_| found.is_declaration);
    let meant = replaced.unwrap_or(found.target);
    place.checked.location(index.declarations[meant].span)
}

/// Every place where the name at a place stands, of all layers that are on disk.
pub(super) fn references(place: &Place<'_>, with_declarations: bool) -> Vec<Location> {
    let index = &place.checked.index;
    let Some(found) = index.name_at(place.file, place.offset) else {
        return Vec::new();
    };
    let family = index.family(found.target);
    let mut spans: Vec<_> = family
        .iter()
        .flat_map(|id| index.uses_of(*id).map(|found| found.span))
        .collect();
    if with_declarations {
        spans.extend(family.iter().map(|id| index.declarations[*id].span));
    }
    spans.sort();
    spans
        .into_iter()
        .filter_map(|span| place.checked.location(span))
        .collect()
}
