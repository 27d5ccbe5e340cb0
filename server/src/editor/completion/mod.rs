//! What may stand where the cursor is.
//!
//! The line is half written and often cannot be read, so [`context`] looks at its words; what they
//! mean is asked of the index. What fits the type that is expected comes first.

mod context;
mod offers;
mod words;

use std::collections::BTreeSet;

use loftwright_dsl::index::{DeclarationId, Index};
use lsp_types::{CompletionItem, CompletionItemKind};

use super::session::Place;
use context::{Context, Wanted};

/// The completions at a place.
pub(super) fn complete(place: &Place<'_>) -> Vec<CompletionItem> {
    let text = place.checked.index.folder[place.file].text.as_str();
    let before = text.get(..place.offset).unwrap_or_default();
    let context = Context::of(before);
    let mut offers = Offers {
        items: Vec::new(),
        seen: BTreeSet::new(),
        enclosing: place.checked.index.enclosing(place.file, place.offset),
        index: &place.checked.index,
        context: &context,
    };
    offers.collect();
    offers.items
}

/// The completions in the making.
struct Offers<'a> {
    index: &'a Index,
    context: &'a Context<'a>,
    /// The declaration that the cursor stands in.
    enclosing: Option<DeclarationId>,
    items: Vec<CompletionItem>,
    /// The labels of them.
    seen: BTreeSet<String>,
}

/// How near an offer is to what is expected: the first are shown first.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Rank {
    Fits,
    Possible,
    Word,
}

impl Offers<'_> {
    fn collect(&mut self) {
        match &self.context.wanted {
            Wanted::Nothing => {}
            Wanted::Declaration => self.words(words::declarations()),
            Wanted::Replaced(kind) => self.replaceable(kind),
            Wanted::Clause => self.clause(),
            Wanted::Type => self.types(),
            Wanted::Unit => self.units(),
            Wanted::Group => self.groups(),
            Wanted::Plural => self.plurals(),
            Wanted::Ruleset => self.rulesets(),
            Wanted::Given => self.given(),
            Wanted::Expected => self.expected(),
            Wanted::ValueOf(name) => self.value_of(name),
            Wanted::Work => self.works(),
            Wanted::Member(owner) => self.members_of(owner),
            Wanted::Compared(subject) => self.compared(subject),
            Wanted::Result => self.result(),
            Wanted::Cell(column) => self.cell(column.as_deref()),
            Wanted::Subject => self.subject(),
            Wanted::Expression => self.expression(),
        }
    }

    fn offer(&mut self, label: &str, kind: CompletionItemKind, detail: String, rank: Rank) {
        if !self.seen.insert(label.to_owned()) {
            return;
        }
        let rank = match rank {
            Rank::Fits => 0,
            Rank::Possible => 1,
            Rank::Word => 2,
        };
        self.items.push(CompletionItem {
            label: label.to_owned(),
            kind: Some(kind),
            detail: (!detail.is_empty()).then_some(detail),
            sort_text: Some(format!("{rank}{label}")),
            ..CompletionItem::default()
        });
    }

    fn words(&mut self, words: &[&str]) {
        for word in words {
            self.offer(word, CompletionItemKind::KEYWORD, String::new(), Rank::Word);
        }
    }
}
