//! A club as it was built beside the one that was recommended: every difference, with its reason.
//!
//! A measure within the tolerance that the recommendation itself states is no difference. What was
//! not settled is overridden by nothing.

use std::collections::BTreeMap;

use loftwright_dsl::quantity::{Dimension, ParsedLiteral, Rational, parse_literal};
use loftwright_engine::intake::{nearest, quoted};
use loftwright_proto::v1 as pb;

use super::fields::{self, MEASURES, OfPart, PARTS, Recommended};
use crate::audit::act::{BuiltClub, DecidingRow, Override};
use crate::rpc::refusal::FieldFault;

/// A club that was compared.
pub(super) struct Compared {
    /// What is recorded of it.
    pub(super) built: BuiltClub,
    /// Where it differs.
    pub(super) overrides: Vec<Override>,
    /// The parts that it takes, by kind.
    pub(super) parts: BTreeMap<&'static str, BuiltPart>,
}

/// A part that goes into a club.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct BuiltPart {
    /// Its code.
    pub(super) part: String,
    /// The piece.
    pub(super) piece: Option<String>,
    /// Whether it was ordered, and no piece of the stock is named for it.
    pub(super) is_ordered: bool,
    /// The path of the field that names it, where one was sent.
    pub(super) field: Option<String>,
}

/// What was sent of a club.
struct Sent<'a> {
    recommendation: &'a pb::Recommendation,
    club: &'a pb::ClubBuild,
    /// By name: the place among the fields, and the field.
    fields: BTreeMap<&'a str, (usize, &'a pb::BuiltField)>,
    path: String,
    faults: Vec<FieldFault>,
    built: BTreeMap<String, String>,
    overrides: Vec<Override>,
}

/// One thing of a club, recommended and built.
struct Difference<'a> {
    field: &'a pb::BuiltField,
    place: usize,
    recommended: Option<String>,
    decision: &'a str,
}

/// Compares a club. `sent` is what was said of it, at `path`, or none: then it was built as
/// recommended.
///
/// # Errors
/// Every fault.
pub(super) fn compare(
    recommendation: &pb::Recommendation,
    club: &pb::ClubBuild,
    sent: Option<(&str, &pb::BuiltClub)>,
) -> Result<Compared, Vec<FieldFault>> {
    let (path, fields) = match sent {
        Some((path, sent)) => (path.to_owned(), sent.fields.as_slice()),
        None => (String::new(), &[][..]),
    };
    let mut sent = Sent {
        recommendation,
        club,
        fields: BTreeMap::new(),
        path,
        faults: Vec::new(),
        built: BTreeMap::new(),
        overrides: Vec::new(),
    };
    sent.take(fields);
    let parts = PARTS
        .into_iter()
        .filter_map(|kind| Some((kind, sent.part(kind)?)))
        .collect();
    for measure in &MEASURES {
        let recommended = measure.of(club);
        sent.measure(
            measure.name,
            recommended,
            measure.decision,
            measure.tolerance,
        );
    }
    for named in &club.named_decisions {
        let recommended = Recommended::of_value(named.value.as_ref());
        sent.measure(&named.name, recommended, &named.name, "");
    }
    if !sent.faults.is_empty() {
        return Err(sent.faults);
    }
    Ok(Compared {
        built: BuiltClub {
            name: club.name.clone(),
            fields: sent.built,
        },
        overrides: sent.overrides,
        parts,
    })
}

impl<'a> Sent<'a> {
    fn fault(&mut self, place: usize, of: &str, sentence: String) {
        let path = &self.path;
        let field = format!("{path}.fields[{place}].{of}");
        self.faults.push(FieldFault { field, sentence });
    }

    /// Takes the fields by name; names that are not known and those that come twice are faults.
    fn take(&mut self, fields: &'a [pb::BuiltField]) {
        let known = fields::names(self.club);
        for (place, field) in fields.iter().enumerate() {
            if !known.contains(&field.name) {
                let near = nearest(&field.name, known.iter().map(String::as_str));
                let near = near.map_or_else(String::new, |near| {
                    format!("did you mean {}? ", quoted(near))
                });
                let list: Vec<String> = known.iter().map(|name| quoted(name)).collect();
                let sentence = format!(
                    "{} was sent; {near}the fields of this club are {}",
                    quoted(&field.name),
                    list.join(", ")
                );
                self.fault(place, "name", sentence);
            } else if self.fields.contains_key(field.name.as_str()) {
                let sentence = format!("{} was sent twice", quoted(&field.name));
                self.fault(place, "name", sentence);
            } else {
                self.fields.insert(&field.name, (place, field));
            }
        }
    }

    /// The part of a kind that was built in, and what differs of it.
    fn part(&mut self, kind: &'static str) -> Option<BuiltPart> {
        let recommended = fields::part_of(self.club, kind);
        let is_open = fields::is_open(self.club, kind);
        let decision = recommended.map_or("", |part| part.choice.as_str());
        let get = |sent: &Self, of: OfPart| {
            let mut fields = sent.fields.iter();
            fields
                .find(|(name, _)| fields::of_part(name) == Some((kind, of)))
                .map(|(_, field)| *field)
        };
        let code = get(self, OfPart::Code);
        let text_of = |field: Option<(usize, &pb::BuiltField)>| {
            let value = field.map(|(_, field)| field.value.trim());
            value.map(str::to_owned)
        };
        let of_recommended = recommended.map(|part| part.part_id.clone());
        let part = text_of(code).or_else(|| of_recommended.clone());
        let is_same = part == of_recommended;
        if let Some((place, field)) = code {
            self.judge(
                Difference {
                    field,
                    place,
                    recommended: of_recommended,
                    decision,
                },
                is_same || is_open,
            );
        }
        let piece = get(self, OfPart::Piece);
        // What was recommended of another part is not compared.
        let same = recommended.filter(|_| is_same);
        let of_recommended = same.and_then(|part| part.piece_id.clone());
        let is_free = of_recommended.is_none();
        let chosen = text_of(piece).or_else(|| of_recommended.clone());
        if let Some((place, field)) = piece {
            let is_fine = is_free || chosen == of_recommended;
            let recommended = of_recommended;
            self.judge(
                Difference {
                    field,
                    place,
                    recommended,
                    decision,
                },
                is_fine,
            );
        }
        self.setting(kind, same, decision, get(self, OfPart::Setting));
        let part = part.filter(|part| !part.is_empty())?;
        let piece_code = chosen.filter(|piece| !piece.is_empty());
        self.built.insert(kind.to_owned(), part.clone());
        if let Some(piece) = &piece_code {
            self.built.insert(format!("{kind}_piece"), piece.clone());
        }
        let named = piece.or(code).map(|(place, _)| place);
        Some(BuiltPart {
            is_ordered: piece_code.is_none() && same.is_some_and(|part| part.is_ordered),
            part,
            piece: piece_code,
            field: named.map(|place| format!("{}.fields[{place}].value", self.path)),
        })
    }

    fn setting(
        &mut self,
        kind: &str,
        part: Option<&pb::PartBuild>,
        decision: &str,
        sent: Option<(usize, &'a pb::BuiltField)>,
    ) {
        let recommended = part.and_then(fields::setting_of);
        let built = sent.map(|(_, field)| field.value.trim()).or(recommended);
        if let Some(built) = built.filter(|built| !built.is_empty()) {
            self.built
                .insert(format!("{kind}_setting"), built.to_owned());
        }
        let Some((place, field)) = sent else {
            return;
        };
        let is_fine = part.is_none() || built == recommended;
        let recommended = recommended.map(str::to_owned);
        self.judge(
            Difference {
                field,
                place,
                recommended,
                decision,
            },
            is_fine,
        );
    }

    /// A measure or decision of the club.
    fn measure(
        &mut self,
        name: &str,
        recommended: Recommended<'a>,
        decision: &'a str,
        tolerance: &str,
    ) {
        let text = match recommended {
            Recommended::Value(value) => Some(value.text.clone()),
            Recommended::Nothing | Recommended::Open => None,
        };
        let Some((place, field)) = self.fields.get(name).copied() else {
            if let Some(text) = text {
                self.built.insert(name.to_owned(), text);
            }
            return;
        };
        let value = field.value.trim();
        if !value.is_empty() {
            self.built.insert(name.to_owned(), value.to_owned());
        }
        let tolerance = self.tolerance(tolerance);
        let is_fine = match recommended {
            Recommended::Open => Ok(true),
            Recommended::Nothing => Ok(value.is_empty()),
            Recommended::Value(_) if value.is_empty() => Ok(false),
            Recommended::Value(wanted) => is_alike(wanted, value, tolerance),
        };
        match is_fine {
            Err(sentence) => self.fault(place, "value", sentence),
            Ok(is_fine) => self.judge(
                Difference {
                    field,
                    place,
                    recommended: text,
                    decision,
                },
                is_fine,
            ),
        }
    }

    /// How far a measure may be off, by the recommendation's own decision for this club.
    fn tolerance(&self, decision: &str) -> Option<Rational> {
        let found = self.report(decision)?;
        found.value.as_ref()?.exact.parse().ok()
    }

    /// The report of a decision for this club, or of one that is not for each club.
    fn report(&self, decision: &str) -> Option<&'a pb::DecisionReport> {
        let mut reports = self.recommendation.decisions.iter();
        reports.find(|report| {
            let club = report.club.as_ref();
            report.name == decision && club.is_none_or(|club| *club == self.club.name)
        })
    }

    /// Notes an override, or what is wrong with its reason.
    fn judge(&mut self, difference: Difference<'_>, is_fine: bool) {
        let Difference {
            field,
            place,
            recommended,
            decision,
        } = difference;
        let has_reason = !field.reason.trim().is_empty();
        let wanted = recommended.as_deref().map_or("nothing".to_owned(), quoted);
        let value = field.value.trim();
        let built = match value {
            "" => "nothing".to_owned(),
            value => quoted(value),
        };
        match (is_fine, has_reason) {
            (true, false) => {}
            (true, true) => {
                let sentence = format!(
                    "{built} overrides nothing: {wanted} was recommended; leave the reason out"
                );
                self.fault(place, "reason", sentence);
            }
            (false, false) => {
                let sentence = format!(
                    "{built} was built as `{}` of the {} where {wanted} was recommended; say why",
                    field.name, self.club.name
                );
                self.fault(place, "reason", sentence);
            }
            (false, true) => {
                let row = self.report(decision).and_then(deciding_row);
                self.overrides.push(Override {
                    club: self.club.name.clone(),
                    field: Some(field.name.clone()),
                    recommended,
                    built: Some(value.to_owned()).filter(|built| !built.is_empty()),
                    reason: field.reason.trim().to_owned(),
                    decision: Some(decision.to_owned()).filter(|decision| !decision.is_empty()),
                    row,
                });
            }
        }
    }
}

/// The row that gave a decision its value: the first that stands in its steps.
fn deciding_row(report: &pb::DecisionReport) -> Option<DecidingRow> {
    report.steps.iter().find_map(|step| {
        let (table, row) = step.table.zip(step.row)?;
        Some(DecidingRow { table, row })
    })
}

/// Whether what was built is what was wanted: the same words, the same value, or one within the
/// tolerance.
///
/// # Errors
/// One sentence, where the text is no value of that kind.
fn is_alike(wanted: &pb::Value, built: &str, tolerance: Option<Rational>) -> Result<bool, String> {
    if built == wanted.text || built == wanted.exact {
        return Ok(true);
    }
    match wanted.kind() {
        pb::ValueKind::Word | pb::ValueKind::Text | pb::ValueKind::Unspecified => Ok(false),
        pb::ValueKind::Flag => match built {
            "yes" | "no" => Ok((built == "yes") == (wanted.exact == "true")),
            _ => Err(format!(
                "{} was sent; `yes` or `no` is needed",
                quoted(built)
            )),
        },
        _ => {
            let value = number(wanted, built)?;
            // What people are shown is rounded: who types it again means the same.
            let is_shown = number(wanted, &wanted.text).is_ok_and(|shown| shown == value);
            let exact: Option<Rational> = wanted.exact.parse().ok();
            let is_near = exact.is_some_and(|exact| {
                let off = exact.minus(value).map(Rational::size);
                off.is_ok_and(|off| off <= tolerance.unwrap_or(Rational::ZERO))
            });
            Ok(is_shown || is_near)
        }
    }
}

/// The number of a literal that measures what is wanted.
fn number(wanted: &pb::Value, text: &str) -> Result<Rational, String> {
    let right = || {
        let sent = quoted(text);
        format!(
            "{sent} was sent; a value such as {} is needed",
            quoted(&wanted.text)
        )
    };
    let literal = parse_literal(text).map_err(|why| format!("{}: {why}", right()))?;
    match (literal, wanted.kind()) {
        (
            ParsedLiteral::Quantity {
                value, dimension, ..
            },
            pb::ValueKind::Quantity,
        ) => {
            let is_it = dimension.to_string() == wanted.measure;
            is_it.then_some(value).ok_or_else(right)
        }
        (
            ParsedLiteral::Quantity {
                value, dimension, ..
            },
            pb::ValueKind::Count,
        ) if dimension == Dimension::NUMBER && value.is_whole() => Ok(value),
        (ParsedLiteral::Swingweight(value), pb::ValueKind::Swingweight)
        | (ParsedLiteral::Temperature { value, .. }, pb::ValueKind::Temperature) => Ok(value),
        (ParsedLiteral::Date(date), pb::ValueKind::Date) => Ok(Rational::whole(date.days())),
        _ => Err(right()),
    }
}
