//! The lines of a choice of parts in the order in which they count.

use super::gather::Desk;
use super::words::one_line;
use super::{ChoiceDetail, ChoiceLine};
use crate::check::field_owner;
use crate::program::{
    CandidateValue, Choose, Expression, ExpressionKind, Needs, RungKind, TieBreak,
};

impl Desk<'_> {
    /// What a choice says.
    pub(super) fn choice(&self, choose: &Choose) -> ChoiceDetail {
        let part = &self.program.parts[choose.part];
        let field_name = |index: usize| part.fields.get(index).map(|field| field.name.clone());
        ChoiceDetail {
            from: part.plural.clone(),
            in_each_of_its: choose.in_each.and_then(|(field, _)| field_name(field)),
            takes_from_the_stock: choose.takes.is_some(),
            together: choose.together,
            after: choose
                .after
                .iter()
                .map(|other| self.program.chooses[*other].name.clone())
                .collect(),
            lines: self.choice_lines(choose),
        }
    }

    fn choice_lines(&self, choose: &Choose) -> Vec<ChoiceLine> {
        let mut lines: Vec<ChoiceLine> = choose
            .lets
            .iter()
            .map(|let_| {
                line(
                    "let",
                    format!("{} = {}", let_.name, self.written(&let_.value)),
                )
            })
            .collect();
        let part = &self.program.parts[choose.part];
        lines.extend(choose.agrees_on.iter().map(|agrees| {
            let field = part.fields.get(agrees.field);
            let name = field.map_or_else(String::new, |field| field.name.clone());
            ChoiceLine {
                when: agrees.when.as_ref().map(|when| self.written(when)),
                ..line("agrees on", name)
            }
        }));
        lines.extend(choose.needs.iter().map(|needs| self.needs("needs", needs)));
        lines.extend(choose.prefers.iter().map(|prefers| ChoiceLine {
            weight: Some(prefers.weight.to_text()),
            when: prefers.when.as_ref().map(|when| self.written(when)),
            because: prefers.because.clone(),
            ..line("prefers", one_line(&prefers.text))
        }));
        lines.extend(choose.ties.iter().map(|tie| self.tie(choose, *tie)));
        lines.extend(choose.rungs.iter().map(|rung| {
            let rung_line = match &rung.kind {
                RungKind::Needs { needs, .. } => {
                    let needs = self.needs("if none on hand", needs);
                    let text = format!("needs {}", needs.text);
                    ChoiceLine { text, ..needs }
                }
                RungKind::Orders => line("if none on hand", "orders".to_owned()),
                RungKind::LeavesOpen => line("if none on hand", "leaves open".to_owned()),
            };
            ChoiceLine {
                because: rung.says.clone().or(rung_line.because),
                ..rung_line
            }
        }));
        lines
    }

    fn needs(&self, word: &str, needs: &Needs) -> ChoiceLine {
        ChoiceLine {
            when: needs.when.as_ref().map(|when| self.written(when)),
            because: needs.because.clone(),
            ..line(word, one_line(&needs.text))
        }
    }

    fn tie(&self, choose: &Choose, tie: TieBreak) -> ChoiceLine {
        let part = &self.program.parts[choose.part];
        let name = match tie.key {
            CandidateValue::Field(index) => part.fields.get(index).map(|field| &field.name),
            CandidateValue::Let(index) => choose.lets.get(index).map(|let_| &let_.name),
            CandidateValue::Setting(index) => {
                let setting = choose.in_each.map(|(_, part)| &self.program.parts[part]);
                setting.and_then(|part| part.fields.get(index).map(|field| &field.name))
            }
        };
        let name = name.map_or("", String::as_str);
        let order = if tie.largest_first {
            "largest first"
        } else {
            "smallest first"
        };
        line("ties by", format!("{name}, {order}"))
    }

    /// What a text in braces names.
    pub(super) fn value_name(&self, value: &Expression) -> String {
        let program = self.program;
        match &value.kind {
            ExpressionKind::Input(id) => program.inputs[*id].name.clone(),
            ExpressionKind::Let(id, _) => program.lets[*id].name.clone(),
            ExpressionKind::Decision(id, _) => program.decisions[*id].name.clone(),
            ExpressionKind::Field { group, field, .. } => {
                let owner = &program.groups[field_owner(program, *group)];
                let field = owner.fields.get(*field).map(|field| field.name.as_str());
                format!("{}.{}", owner.name, field.unwrap_or_default())
            }
            ExpressionKind::Chosen { choose, value, .. } => {
                let choose = &program.chooses[*choose];
                let part = &program.parts[choose.part];
                let name = match value {
                    CandidateValue::Field(index) => {
                        part.fields.get(*index).map(|field| &field.name)
                    }
                    CandidateValue::Let(index) => choose.lets.get(*index).map(|let_| &let_.name),
                    CandidateValue::Setting(_) => None,
                };
                format!("{}.{}", choose.name, name.map_or("", String::as_str))
            }
            _ => "…".to_owned(),
        }
    }
}

fn line(word: &str, text: String) -> ChoiceLine {
    ChoiceLine {
        word: word.to_owned(),
        text,
        weight: None,
        when: None,
        because: None,
    }
}
