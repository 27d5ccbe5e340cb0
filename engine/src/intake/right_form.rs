//! Numbers written in a form that is not the language's, answered with the form that is.
//!
//! A text that is no literal is tidied step by step: pasted characters, signs, exponents, commas,
//! units by another name. Where the tidied text is one, the sentence says what was wrong and what
//! to write; it is never read in its place, because only the sender knows what was meant.

use loftwright_dsl::program::Type;
use loftwright_dsl::quantity::LiteralError;

use super::expected::Expected;
use super::names::did_you_mean;
use super::quote::quoted;
use super::units::meant_unit;

/// The largest exponent that is written out.
const MOST_WRITTEN_PLACES: usize = 15;

/// The sentence for a text that is no literal.
pub(super) fn sentence(expected: &Expected<'_>, text: &str, error: &LiteralError) -> String {
    let sent = quoted(text);
    let needed = expected.needed();
    if is_not_finite(text) {
        return format!("{sent} is not a finite number; {needed}");
    }
    let tidied = Tidied::of(expected, text);
    if let Some(value) = expected.value_of_literal(&tidied.text) {
        let (reasons, write) = (tidied.reasons(), quoted(&tidied.text));
        return match expected.allows(&value) {
            true => format!("{sent} {reasons}; write {write}"),
            false => format!(
                "{sent} {reasons}, and {write} is out of range; {} is allowed",
                expected.text()
            ),
        };
    }
    if !tidied.reasons.is_empty() {
        return format!("{sent} {}; {needed}", tidied.reasons());
    }
    match (error, expected.value_type) {
        (LiteralError::Arithmetic { fault, .. }, _) => format!("{sent}: {fault}; {needed}"),
        (LiteralError::NotADate(_), _) => format!("{sent} is not a day of the calendar; {needed}"),
        (_, Type::Date) => format!("{sent} is not a date; {needed}"),
        (_, Type::Swingweight) => format!("{sent} is not a swingweight; {needed}"),
        (_, Type::Count) => format!("{sent} is not a whole number; {needed}"),
        (LiteralError::NotANumber(_), _) => format!("{sent} is not a number; {needed}"),
        (LiteralError::UnknownUnit(unit), _) => {
            let meant = did_you_mean(meant_unit(unit));
            format!("{} in {sent} is not a unit; {needed}{meant}", quoted(unit))
        }
    }
}

/// The text itself where it is a literal of the expected type, else its right form.
pub(super) fn literal(expected: &Expected<'_>, text: &str) -> Option<String> {
    if expected.value_of_literal(text).is_some() {
        return Some(text.to_owned());
    }
    let tidied = Tidied::of(expected, text).text;
    expected.value_of_literal(&tidied).map(|_| tidied)
}

/// `NaN`, `inf`, `-Infinity`, with or without a unit behind.
fn is_not_finite(text: &str) -> bool {
    let lower = text
        .trim_start_matches(['+', '-', '\u{2212}'])
        .to_lowercase();
    let word = lower.split_whitespace().next().unwrap_or_default();
    matches!(word, "nan" | "inf" | "infinity" | "∞")
}

/// A text on its way to the right form, with what was wrong.
struct Tidied {
    text: String,
    reasons: Vec<String>,
}

impl Tidied {
    fn of(expected: &Expected<'_>, text: &str) -> Self {
        let mut tidied = Tidied {
            text: text.to_owned(),
            reasons: Vec::new(),
        };
        if expected.value_type == Type::Swingweight {
            let upper = text.to_uppercase();
            if expected.value_of_literal(&upper).is_some() {
                tidied.take(upper, "is in lower case".to_owned());
            }
            return tidied;
        }
        tidied.replace_characters();
        tidied.drop_plus_sign();
        tidied.write_out_exponent();
        tidied.part_without_comma();
        tidied.complete_point();
        tidied.name_unit(expected);
        tidied
    }

    fn reasons(&self) -> String {
        self.reasons.join(" and ")
    }

    fn take(&mut self, text: String, reason: String) {
        self.text = text;
        if !self.reasons.contains(&reason) {
            self.reasons.push(reason);
        }
    }

    fn replace_characters(&mut self) {
        let mut plain = String::new();
        let mut reasons = Vec::new();
        for character in self.text.chars() {
            match plain_form(character) {
                Some((instead, name)) => {
                    plain.push_str(instead);
                    reasons.push(match character.is_ascii_graphic() {
                        true => format!("holds {}, {name}", quoted(&character.to_string())),
                        false => format!("holds U+{:04X}, {name}", u32::from(character)),
                    });
                }
                None => plain.push(character),
            }
        }
        if !reasons.is_empty() {
            let plain = plain.split_whitespace().collect::<Vec<_>>().join(" ");
            for reason in reasons {
                self.take(plain.clone(), reason);
            }
        }
    }

    fn drop_plus_sign(&mut self) {
        if let Some(rest) = self.text.strip_prefix('+') {
            self.take(
                rest.trim_start().to_owned(),
                "begins with a plus sign".to_owned(),
            );
        }
    }

    fn write_out_exponent(&mut self) {
        let (sign, number, rest) = cut(&self.text);
        let Some((power, rest)) = exponent(rest) else {
            return;
        };
        let reason = "has an exponent".to_owned();
        let written = written_out(number, power).map(|digits| format!("{sign}{digits}{rest}"));
        let text = written.unwrap_or_else(|| self.text.clone());
        self.take(text, reason);
    }

    fn part_without_comma(&mut self) {
        let Some((before, after)) = self.text.split_once(',') else {
            return;
        };
        let decimals = after.bytes().take_while(u8::is_ascii_digit).count();
        if decimals == 3 || after.contains(',') {
            // `7,125`: thousands to one reader, decimals to the other.
            let reason = "has a comma, which may part thousands or decimals";
            self.take(self.text.clone(), reason.to_owned());
        } else {
            let reason = "has a decimal comma".to_owned();
            self.take(format!("{before}.{after}"), reason);
        }
    }

    fn complete_point(&mut self) {
        let (sign, number, rest) = cut(&self.text);
        if let Some(decimals) = number.strip_prefix('.') {
            let text = format!("{sign}0.{decimals}{rest}");
            self.take(text, "begins with a point".to_owned());
        } else if let Some(whole) = number.strip_suffix('.') {
            let text = format!("{sign}{whole}{rest}");
            self.take(text, "has a point without decimals".to_owned());
        }
    }

    fn name_unit(&mut self, expected: &Expected<'_>) {
        if expected.value_of_literal(&self.text).is_some() {
            return;
        }
        let (sign, number, rest) = cut(&self.text);
        let unit = rest.trim();
        if let Some(meant) = meant_unit(unit).filter(|meant| *meant != unit) {
            let text = format!("{sign}{} {meant}", number.trim_end());
            if expected.value_of_literal(&text).is_some() {
                let reason = format!("has {}, which is not a unit", quoted(unit));
                self.take(text, reason);
            }
        }
    }
}

/// The plain form of a character that was pasted, or that stands for a unit, and its name.
fn plain_form(character: char) -> Option<(&'static str, &'static str)> {
    Some(match character {
        '\u{2212}' => ("-", "a typographic minus sign"),
        '\u{2010}'..='\u{2015}' => ("-", "a dash"),
        '\u{a0}' | '\u{2000}'..='\u{200a}' | '\u{202f}' | '\u{205f}' | '\u{3000}' => {
            (" ", "a typographic space")
        }
        '\t' | '\n' | '\r' => (" ", "a tab or line end"),
        '\u{200b}'..='\u{200d}' | '\u{2060}' | '\u{feff}' => ("", "an invisible character"),
        '\u{bc}' => (" 1/4", "a pasted fraction"),
        '\u{bd}' => (" 1/2", "a pasted fraction"),
        '\u{be}' => (" 3/4", "a pasted fraction"),
        '\u{b0}' => (" deg", "a degree sign"),
        '\'' | '\u{2019}' | '\u{2032}' => (" ft ", "a sign for feet"),
        '"' | '\u{201d}' | '\u{2033}' => (" in", "a sign for inches"),
        '_' => ("", "an underscore"),
        _ => return None,
    })
}

/// Cuts `-1.5e3 mm` into sign, digits and what follows.
fn cut(text: &str) -> (&str, &str, &str) {
    let (sign, unsigned) = match text.strip_prefix('-') {
        Some(rest) => ("-", rest.trim_start()),
        None => ("", text),
    };
    let is_number = |byte: u8| byte.is_ascii_digit() || matches!(byte, b'.' | b'/' | b' ');
    let end = unsigned
        .bytes()
        .position(|byte| !is_number(byte))
        .unwrap_or(unsigned.len());
    let (number, rest) = unsigned.split_at_checked(end).unwrap_or((unsigned, ""));
    // The space between number and unit belongs to the unit.
    let trimmed = number.trim_end();
    let rest = unsigned.strip_prefix(trimmed).unwrap_or(rest);
    (sign, trimmed, rest)
}

/// The power of ten of `e-3 mm`, and what follows it.
fn exponent(rest: &str) -> Option<(i32, &str)> {
    let rest = rest.strip_prefix(['e', 'E'])?;
    let (is_negative, digits) = match rest.strip_prefix(['+', '-']) {
        Some(digits) => (rest.starts_with('-'), digits),
        None => (false, rest),
    };
    let end = digits
        .bytes()
        .position(|byte| !byte.is_ascii_digit())
        .unwrap_or(digits.len());
    let (power, rest) = digits.split_at_checked(end)?;
    if power.is_empty() {
        return None;
    }
    // A power beyond 32 bits is one that is not written out.
    let power = power.parse::<i32>().unwrap_or(i32::MAX);
    Some((if is_negative { -power } else { power }, rest))
}

/// The decimal digits of `number` times ten to the `power`; `None` where that would be long.
fn written_out(number: &str, power: i32) -> Option<String> {
    let places = usize::try_from(power.unsigned_abs()).ok()?;
    let (whole, decimals) = number.split_once('.').unwrap_or((number, ""));
    let is_digits = |part: &str| part.bytes().all(|byte| byte.is_ascii_digit());
    let is_plain = is_digits(whole) && is_digits(decimals) && !whole.is_empty();
    if places > MOST_WRITTEN_PLACES || !is_plain {
        return None;
    }
    let zeros = "0".repeat(places);
    let (digits, point) = if power < 0 {
        let digits = format!("{zeros}{whole}{decimals}");
        (digits, whole.len())
    } else {
        let digits = format!("{whole}{decimals}{zeros}");
        (digits, whole.len().checked_add(places)?)
    };
    let (whole, decimals) = digits.split_at_checked(point)?;
    let whole = whole.trim_start_matches('0');
    let whole = if whole.is_empty() { "0" } else { whole };
    let decimals = decimals.trim_end_matches('0');
    if decimals.is_empty() {
        Some(whole.to_owned())
    } else {
        Some(format!("{whole}.{decimals}"))
    }
}
