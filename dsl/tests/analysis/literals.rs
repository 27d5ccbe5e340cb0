//! Values written as literals read back as exactly the same values.

use loftwright_dsl::analysis::literal_text;
use loftwright_dsl::program::{Shown, Type, Value};
use loftwright_dsl::quantity::{Date, Dimension, ParsedLiteral, Rational, UNITS, parse_literal};

use crate::numbers::Numbers;
use crate::tables::check_rules;

fn number(numbers: &mut Numbers) -> Rational {
    let below = [1, 2, 3, 4, 7, 8, 10, 16, 64, 1_000, 3_937][numbers.below(11)];
    let above = i128::try_from(numbers.below(100_000)).unwrap_or(0) - 50_000;
    Rational::fraction(above, below).unwrap_or(Rational::ZERO)
}

#[test]
fn quantities_and_temperatures_read_back() {
    let program = check_rules("let a = 1\n").program.unwrap();
    let mut numbers = Numbers(17);
    for unit in UNITS {
        for _ in 0..60 {
            let degrees = number(&mut numbers);
            // In this unit or beside it: half of the numbers are round in it, half in base units.
            let in_base = if numbers.once_in(2) {
                degrees.times(unit.factor()).unwrap()
            } else {
                degrees
            };
            let shown = Shown {
                unit: numbers.once_in(2).then(|| unit.symbol.to_owned()),
                step: Some(Rational::ONE),
            };
            let value_type = match unit.dimension {
                Dimension::TEMPERATURE if unit.is_point => Type::Temperature,
                Dimension::SWINGWEIGHT => continue,
                dimension => Type::Quantity(dimension),
            };
            let text = literal_text(&program, &shown, value_type, &Value::Number(in_base));
            let read = match parse_literal(&text) {
                Ok(ParsedLiteral::Quantity {
                    value, dimension, ..
                }) => {
                    assert_eq!(dimension, unit.dimension, "{text}");
                    value
                }
                Ok(ParsedLiteral::Temperature { value, .. }) => value,
                other => panic!("{text} of {}: {other:?}", unit.symbol),
            };
            assert_eq!(read, in_base, "{text} of {}", unit.symbol);
        }
    }
}

#[test]
fn dates_swingweights_and_counts_read_back() {
    let program = check_rules("let a = 1\n").program.unwrap();
    let text = |value_type, number: Rational| {
        literal_text(
            &program,
            &Shown::default(),
            value_type,
            &Value::Number(number),
        )
    };
    for days in [-40_000, 0, 20_574, 60_000] {
        let date = text(Type::Date, Rational::whole(days));
        assert_eq!(
            parse_literal(&date),
            Ok(ParsedLiteral::Date(Date::from_days(days)))
        );
    }
    for halves in 0..140 {
        let points = Rational::fraction(halves, 2).unwrap();
        let written = text(Type::Swingweight, points);
        assert_eq!(
            parse_literal(&written),
            Ok(ParsedLiteral::Swingweight(points)),
            "{written}"
        );
    }
    assert_eq!(text(Type::Swingweight, Rational::whole(32)), "D2");
    assert_eq!(text(Type::Count, Rational::whole(7)), "7");
}

#[test]
fn inches_are_written_as_fitters_write_them_and_others_in_a_unit_that_is_short() {
    let program = check_rules("let a = 1\n").program.unwrap();
    let length = |text: &str| match parse_literal(text) {
        Ok(ParsedLiteral::Quantity { value, .. }) => {
            let shown = Shown {
                unit: Some("in".to_owned()),
                step: None,
            };
            literal_text(
                &program,
                &shown,
                Type::Quantity(Dimension::LENGTH),
                &Value::Number(value),
            )
        }
        other => panic!("{text}: {other:?}"),
    };
    assert_eq!(length("35.25 in"), "35 1/4 in");
    assert_eq!(length("-1/16 in"), "-1/16 in");
    assert_eq!(length("35.1 in"), "35.1 in");
    assert_eq!(length("876.3 mm"), "34 1/2 in");
    assert_eq!(length("127.001 mm"), "127.001 mm");
    assert_eq!(length("1/3 in"), "1/3 in");
}
