//! Units as people write them, and the ones to write.

use loftwright_dsl::quantity::{Dimension, UNITS};

use super::names::nearest;

/// Other ways to write a unit, in lower case, and the unit's own.
const OTHER_WAYS: &[(&str, &str)] = &[
    ("\"", "in"),
    ("inch", "in"),
    ("inches", "in"),
    ("'", "ft"),
    ("foot", "ft"),
    ("feet", "ft"),
    ("yard", "yd"),
    ("yards", "yd"),
    ("yds", "yd"),
    ("metre", "m"),
    ("metres", "m"),
    ("meter", "m"),
    ("meters", "m"),
    ("gr", "g"),
    ("gram", "g"),
    ("grams", "g"),
    ("grains", "grain"),
    ("kgs", "kg"),
    ("lbs", "lb"),
    ("pounds", "lb"),
    ("ounce", "oz"),
    ("ounces", "oz"),
    ("degree", "deg"),
    ("degrees", "deg"),
    ("degs", "deg"),
    ("kmh", "km/h"),
    ("kph", "km/h"),
    ("mps", "m/s"),
    ("fps", "ft/s"),
    ("sec", "s"),
    ("seconds", "s"),
    ("hour", "hours"),
    ("day", "days"),
    ("week", "weeks"),
    ("cc", "cm3"),
    ("ccm", "cm3"),
    ("c", "degC"),
    ("f", "degF"),
    ("%", "percent"),
    ("pts", "points"),
];

/// The unit that somebody meant who wrote `text`: another way to write one, one in the wrong case,
/// or the nearest.
pub(super) fn meant_unit(text: &str) -> Option<&'static str> {
    let lower = text.to_lowercase();
    let other_way = || {
        OTHER_WAYS
            .iter()
            .find(|(way, _)| *way == lower)
            .map(|(_, unit)| *unit)
    };
    let symbols = || UNITS.iter().map(|unit| unit.symbol);
    symbols()
        .find(|symbol| symbol.to_lowercase() == lower)
        .or_else(other_way)
        // Of one or two letters almost any other unit is near: nothing is guessed from them.
        .or_else(|| nearest(text, symbols().filter(|symbol| symbol.len() > 2)))
}

/// A product of units of the dimension, such as `deg/m`; `None` where none can be written.
pub(super) fn written_in_base_units(dimension: Dimension) -> Option<String> {
    let powers = [
        ("kg", dimension.mass),
        ("m", dimension.length),
        ("deg", dimension.angle),
        ("point", dimension.swingweight),
        ("money", dimension.money),
        ("s", dimension.time),
    ];
    // A temperature in a product has no unit of its own in the language.
    if dimension.temperature != 0 {
        return None;
    }
    let repeated = |sign: i8| {
        powers.iter().flat_map(move |(symbol, power)| {
            let times = usize::try_from(power.saturating_mul(sign)).unwrap_or(0);
            std::iter::repeat_n(*symbol, times)
        })
    };
    let mut text = repeated(1).collect::<Vec<_>>().join("*");
    if text.is_empty() {
        return None;
    }
    for symbol in repeated(-1) {
        text.push('/');
        text.push_str(symbol);
    }
    Some(text)
}
