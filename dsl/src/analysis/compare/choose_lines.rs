//! A choice of parts as lines.

use super::lines::Lines;
use crate::program::{
    CandidateValue, Choose, Expression, Needs, Preference, Prefers, Program, RungKind, TieBreak,
};

impl Lines<'_> {
    /// A choice of parts.
    pub(super) fn choose(&mut self, choose: &Choose) {
        let program = self.version.program;
        let part = &program.parts[choose.part];
        let mut from = part.plural.clone();
        if let Some((field, _)) = choose.in_each
            && let Some(field) = part.fields.get(field)
        {
            from.push_str(&format!(", in each of its {}", field.name));
        }
        self.say("from", from);
        self.for_each(choose.for_each.as_ref());
        self.only_when(choose.only_when.as_ref());
        let after: Vec<&str> = choose
            .after
            .iter()
            .map(|id| program.chooses[*id].name.as_str())
            .collect();
        if !after.is_empty() {
            self.say("after", after.join(", "));
        }
        for declared in &choose.lets {
            let (text, token) = (
                self.source(declared.value.span),
                self.token(&declared.value),
            );
            let name = &declared.name;
            self.with_token("let", format!("{name} = {text}"), format!("{name} {token}"));
        }
        if let Some(takes) = choose.takes {
            let together = if choose.together { ", together" } else { "" };
            self.say("takes", format!("{takes} from on_hand{together}"));
        }
        for agrees in &choose.agrees_on {
            let name = part.fields.get(agrees.field).map(|field| &field.name);
            let mut text = name.cloned().unwrap_or_default();
            let mut token = text.clone();
            self.when(agrees.when.as_ref(), &mut text, &mut token);
            self.with_token("agrees on", text, token);
        }
        for needs in &choose.needs {
            let (text, token) = self.needs_line(needs);
            self.with_token("needs", text, token);
            self.read("because", needs.because.as_deref());
        }
        for prefers in &choose.prefers {
            let (text, token) = self.prefers_line(prefers);
            self.with_token("prefers", text, token);
            self.read("because", prefers.because.as_deref());
        }
        for tie in &choose.ties {
            let text = tie_text(program, choose, *tie);
            self.say("ties by", text);
        }
        for rung in &choose.rungs {
            match &rung.kind {
                RungKind::Orders => self.say("if none on hand", "orders"),
                RungKind::LeavesOpen => self.say("if none on hand", "leaves open"),
                RungKind::Needs { needs, .. } => {
                    let (text, token) = self.needs_line(needs);
                    self.with_token("if none on hand", format!("needs {text}"), token);
                }
            }
            self.read("says", rung.says.as_deref());
        }
        self.read("about", choose.origin.about.as_deref());
    }

    fn when(&self, when: Option<&Expression>, text: &mut String, token: &mut String) {
        if let Some(when) = when {
            text.push_str(&format!(" when {}", self.source(when.span)));
            token.push_str(&format!(" when {}", self.token(when)));
        }
    }

    fn needs_line(&self, needs: &Needs) -> (String, String) {
        let (mut text, mut token) = (needs.text.clone(), self.token(&needs.condition));
        self.when(needs.when.as_ref(), &mut text, &mut token);
        (text, token)
    }

    fn prefers_line(&self, prefers: &Prefers) -> (String, String) {
        let mut token = match &prefers.what {
            Preference::Holds(condition) => self.token(condition),
            Preference::Near {
                value,
                near,
                within,
            } => [value, near, within].map(|part| self.token(part)).join(" "),
        };
        let weight = format!(" weight {}", prefers.weight);
        token.push_str(&weight);
        let mut text = format!("{}{weight}", prefers.text);
        self.when(prefers.when.as_ref(), &mut text, &mut token);
        (text, token)
    }
}

fn tie_text(program: &Program, choose: &Choose, tie: TieBreak) -> String {
    let part = &program.parts[choose.part];
    let setting = choose.in_each.map(|(_, setting)| &program.parts[setting]);
    let name = match tie.key {
        CandidateValue::Field(field) => part.fields.get(field).map(|field| &field.name),
        CandidateValue::Let(index) => choose.lets.get(index).map(|declared| &declared.name),
        CandidateValue::Setting(field) => setting
            .and_then(|part| part.fields.get(field))
            .map(|field| &field.name),
    };
    let first = match tie.largest_first {
        true => "largest first",
        false => "smallest first",
    };
    format!("{}, {first}", name.cloned().unwrap_or_default())
}
