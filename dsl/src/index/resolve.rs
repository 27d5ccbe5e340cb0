//! From what the checker noted to declared names.

use std::collections::BTreeMap;

use super::{DeclarationId, Index, Use};
use crate::check::{Symbol, Target};
use crate::syntax::Span;

impl Index {
    /// Ties the program's declarations to the names they were read from.
    pub(super) fn tie_symbols(&mut self) {
        let program = &self.program;
        let parts = program.parts.entries();
        let groups = program.groups.entries();
        let all = (program.vocabularies.entries())
            .map(|(id, found)| (Symbol::Vocabulary(id), &found.name))
            .chain((program.inputs.entries()).map(|(id, found)| (Symbol::Input(id), &found.name)))
            .chain(parts.map(|(id, found)| (Symbol::Part(id), &found.name)))
            .chain(groups.map(|(id, found)| (Symbol::Group(id), &found.name)))
            .chain((program.models.entries()).map(|(id, found)| (Symbol::Model(id), &found.name)))
            .chain((program.lets.entries()).map(|(id, found)| (Symbol::Let(id), &found.name)))
            .chain(
                (program.decisions.entries())
                    .map(|(id, found)| (Symbol::Decision(id), &found.name)),
            )
            .chain((program.chooses.entries()).map(|(id, found)| (Symbol::Choose(id), &found.name)))
            .chain((program.limits.entries()).map(|(id, found)| (Symbol::Limit(id), &found.name)))
            .chain(
                (program.cautions.entries()).map(|(id, found)| (Symbol::Caution(id), &found.name)),
            );
        self.symbols = all
            .filter_map(|(symbol, name)| Some((self.named(name)?, symbol)))
            .collect();
    }

    /// The declared names by what the checker calls them.
    pub(super) fn ids(&self) -> BTreeMap<Symbol, DeclarationId> {
        let tied = self.symbols.iter();
        tied.map(|(id, symbol)| (*symbol, *id)).collect()
    }

    /// The use that the checker noted; none where the declaration itself could not be read.
    pub(super) fn resolve(
        &self,
        span: Span,
        target: Target,
        ids: &BTreeMap<Symbol, DeclarationId>,
    ) -> Option<Use> {
        let program = &self.program;
        let (symbol, member) = match target {
            Target::Symbol(symbol) | Target::Plural(symbol) => (symbol, None),
            Target::Word(id, word) => {
                let words = &program.vocabularies[id].words;
                (Symbol::Vocabulary(id), Some(words.get(word)?))
            }
            Target::PartField(id, field) => {
                let field = program.parts[id].fields.get(field)?;
                (Symbol::Part(id), Some(&field.name))
            }
            Target::GroupField(id, field) => {
                let field = program.groups[id].fields.get(field)?;
                (Symbol::Group(id), Some(&field.name))
            }
            Target::CandidateLet(id, index) => {
                let let_ = program.chooses[id].lets.get(index)?;
                (Symbol::Choose(id), Some(&let_.name))
            }
        };
        let owner = ids.get(&symbol).copied()?;
        let target_id = match member {
            Some(name) => self.member(owner, name)?,
            None => owner,
        };
        Some(Use {
            span,
            target: target_id,
            is_plural: matches!(target, Target::Plural(_)),
        })
    }

    /// The plural of a part where it is written is a use of its name too.
    pub(super) fn written_plurals(&self) -> Vec<Use> {
        let parts = self.declarations.entries();
        parts
            .filter_map(|(target, declaration)| {
                let plural = declaration.plural.as_ref()?;
                Some(Use {
                    span: plural.span,
                    target,
                    is_plural: true,
                })
            })
            .collect()
    }
}
