//! From what the checker noted to declared names.

use super::{Index, Use};
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

    fn name_of(&self, symbol: Symbol) -> &str {
        let program = &self.program;
        match symbol {
            Symbol::Vocabulary(id) => &program.vocabularies[id].name,
            Symbol::Input(id) => &program.inputs[id].name,
            Symbol::Part(id) => &program.parts[id].name,
            Symbol::Group(id) => &program.groups[id].name,
            Symbol::Model(id) => &program.models[id].name,
            Symbol::Let(id) => &program.lets[id].name,
            Symbol::Decision(id) => &program.decisions[id].name,
            Symbol::Choose(id) => &program.chooses[id].name,
            Symbol::Limit(id) => &program.limits[id].name,
            Symbol::Caution(id) => &program.cautions[id].name,
        }
    }

    /// The use that the checker noted; none where the declaration itself could not be read.
    pub(super) fn resolve(&self, span: Span, target: Target) -> Option<Use> {
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
        let owner = self.named(self.name_of(symbol))?;
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
