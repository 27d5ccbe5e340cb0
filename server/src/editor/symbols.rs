//! What a file declares, as an outline.

use loftwright_dsl::index::{Declaration, DeclarationId, Kind};
use loftwright_dsl::syntax::FileId;
use lsp_types::{DocumentSymbol, SymbolKind};

use super::folders::Checked;

/// The declarations of a file in the order of their places, with what belongs to them.
pub(super) fn symbols(checked: &Checked, file: FileId) -> Vec<DocumentSymbol> {
    let declared = checked.index.declarations.entries();
    let tops = declared.filter(|(_, found)| found.span.file == file && found.owner.is_none());
    let mut symbols: Vec<DocumentSymbol> =
        tops.map(|(id, found)| symbol(checked, id, found)).collect();
    symbols.sort_by_key(|symbol| symbol.range.start);
    symbols
}

#[expect(
    deprecated,
    reason = "the struct has a field that the protocol no longer wants and no default"
)]
fn symbol(checked: &Checked, id: DeclarationId, found: &Declaration) -> DocumentSymbol {
    let index = &checked.index;
    let members: Vec<DocumentSymbol> = index
        .members(id)
        .into_iter()
        .map(|member| symbol(checked, member, &index.declarations[member]))
        .collect();
    let type_name = index.type_of(id).map(|(found, _)| index.type_name(found));
    let word = found.kind.word();
    DocumentSymbol {
        name: found.name.clone(),
        detail: Some(type_name.map_or_else(|| word.to_owned(), |name| format!("{word} : {name}"))),
        kind: kind(found.kind),
        tags: None,
        deprecated: None,
        range: checked.range(found.whole),
        selection_range: checked.range(found.span),
        children: (!members.is_empty()).then_some(members),
    }
}

fn kind(kind: Kind) -> SymbolKind {
    match kind {
        Kind::Ruleset => SymbolKind::MODULE,
        Kind::Vocabulary => SymbolKind::ENUM,
        Kind::Word => SymbolKind::ENUM_MEMBER,
        Kind::Input => SymbolKind::VARIABLE,
        Kind::Part => SymbolKind::STRUCT,
        Kind::Field | Kind::Argument => SymbolKind::FIELD,
        Kind::Group => SymbolKind::ARRAY,
        Kind::Model => SymbolKind::INTERFACE,
        Kind::Let | Kind::CandidateLet => SymbolKind::CONSTANT,
        Kind::Decision | Kind::Choose => SymbolKind::FUNCTION,
        Kind::Limit | Kind::Caution => SymbolKind::EVENT,
        Kind::Reads => SymbolKind::KEY,
        Kind::Case => SymbolKind::METHOD,
    }
}
