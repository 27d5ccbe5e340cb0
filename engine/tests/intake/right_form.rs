//! Numbers written in a form that is not the language's: the right form, or what is needed.

use loftwright_dsl::program::Type;

use crate::value::{ANGLE, LENGTH, SPIN, sentence};

/// Type, text, and the sentence with the text to write.
const RIGHT_FORMS: &[(Type, &str, &str)] = &[
    (
        LENGTH,
        "1e3 mm",
        "`1e3 mm` has an exponent; write `1000 mm`",
    ),
    (
        LENGTH,
        "8.763E+2 mm",
        "`8.763E+2 mm` has an exponent; write `876.3 mm`",
    ),
    (
        LENGTH,
        "8763e-1 mm",
        "`8763e-1 mm` has an exponent; write `876.3 mm`",
    ),
    (
        ANGLE,
        "+5 deg",
        "`+5 deg` begins with a plus sign; write `5 deg`",
    ),
    (
        ANGLE,
        "-.5 deg",
        "`-.5 deg` begins with a point; write `-0.5 deg`",
    ),
    (
        ANGLE,
        "5. deg",
        "`5. deg` has a point without decimals; write `5 deg`",
    ),
    (
        ANGLE,
        "6,5 deg",
        "`6,5 deg` has a decimal comma; write `6.5 deg`",
    ),
    (
        SPIN,
        "2_600 rpm",
        "`2_600 rpm` holds `_`, an underscore; write `2600 rpm`",
    ),
    (
        LENGTH,
        "34 inches",
        "`34 inches` has `inches`, which is not a unit; write `34 in`",
    ),
    (
        ANGLE,
        "5 Deg",
        "`5 Deg` has `Deg`, which is not a unit; write `5 deg`",
    ),
    (
        ANGLE,
        "\u{2212}6.5\u{a0}deg",
        "`\u{2212}6.5\u{a0}deg` holds U+2212, a typographic minus sign and holds U+00A0, a \
             typographic space; write `-6.5 deg`",
    ),
    (
        ANGLE,
        "5°",
        "`5°` holds U+00B0, a degree sign; write `5 deg`",
    ),
    (
        Type::Temperature,
        "20°C",
        "`20°C` holds U+00B0, a degree sign; write `20 degC`",
    ),
    (
        LENGTH,
        "5'10\"",
        "`5'10\"` holds `'`, a sign for feet and holds `\"`, a sign for inches; write \
             `5 ft 10 in`",
    ),
    (
        LENGTH,
        "34½ in",
        "`34½ in` holds U+00BD, a pasted fraction; write `34 1/2 in`",
    ),
    (Type::Swingweight, "d2", "`d2` is in lower case; write `D2`"),
];

/// Type, text, and the sentence with what is needed.
const NEEDED: &[(Type, &str, &str)] = &[
    (
        ANGLE,
        "NaN",
        "`NaN` is not a finite number; an angle is needed, such as `-6.5 deg`",
    ),
    (
        ANGLE,
        "-inf deg",
        "`-inf deg` is not a finite number; an angle is needed, such as `-6.5 deg`",
    ),
    (
        ANGLE,
        "Infinity",
        "`Infinity` is not a finite number; an angle is needed, such as `-6.5 deg`",
    ),
    (
        ANGLE,
        "steep",
        "`steep` is not a number; an angle is needed, such as `-6.5 deg`",
    ),
    (
        LENGTH,
        "5 furlong",
        "`furlong` in `5 furlong` is not a unit; a length is needed, such as `34 1/2 in`",
    ),
    (
        SPIN,
        "7,125 rpm",
        "`7,125 rpm` has a comma, which may part thousands or decimals; a spin is needed, \
             such as `2600 rpm`",
    ),
    (
        LENGTH,
        "1e99 mm",
        "`1e99 mm` has an exponent; a length is needed, such as `34 1/2 in`",
    ),
    (
        LENGTH,
        "1/0 in",
        "`1/0 in`: division by zero; a length is needed, such as `34 1/2 in`",
    ),
    (
        Type::Date,
        "2026-02-30",
        "`2026-02-30` is not a day of the calendar; a date is needed, such as `2026-05-01`",
    ),
    (
        Type::Date,
        "1 May",
        "`1 May` is not a date; a date is needed, such as `2026-05-01`",
    ),
    (
        Type::Swingweight,
        "D12",
        "`D12` is not a swingweight; a swingweight is needed, such as `D2`",
    ),
    (
        Type::Count,
        "3.5",
        "`3.5` is not a whole number; a whole number is needed, such as `3`",
    ),
    (
        Type::Count,
        "three",
        "`three` is not a whole number; a whole number is needed, such as `3`",
    ),
    (
        Type::Temperature,
        "-300 degC",
        "`-300 degC` is below absolute zero; a temperature is needed, such as `20 degC`",
    ),
    (
        ANGLE,
        " ",
        "the text is empty; an angle is needed, such as `-6.5 deg`; what is not known is left \
             out",
    ),
    (
        ANGLE,
        "unknown",
        "`unknown` is not a number; an angle is needed, such as `-6.5 deg`; what is not known \
             is left out",
    ),
    (
        ANGLE,
        "0.123456789012345678901 deg",
        "`0.123456789012345678901 deg` has 22 digits; at most 20 are read of one number",
    ),
    (
        Type::Text,
        "two\nlines",
        "`two\\u{a}lines` holds the control character U+000A; a text of one line is needed",
    ),
];

#[test]
fn forms_of_other_programs_are_answered_with_the_right_one() {
    for (value_type, text, expected) in RIGHT_FORMS {
        assert_eq!(sentence(*value_type, text), *expected);
    }
}

#[test]
fn what_cannot_be_put_right_is_told_what_is_needed() {
    for (value_type, text, expected) in NEEDED {
        assert_eq!(sentence(*value_type, text), *expected);
    }
}
