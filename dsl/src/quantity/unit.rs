//! Units: every unit the trade uses, by its exact factor.
//!
//! Source of the factors: NIST Special Publication 811 (2008), appendix B, where exact factors are
//! in bold (1 in = 25.4 mm, 1 lb = 0.45359237 kg); the conventional inch of mercury is
//! 25.4 × 133.322387415 Pa.

use super::{Dimension, Rational};

/// A unit of measure.
#[derive(Clone, Copy, Debug)]
pub struct Unit {
    /// What a fitter writes: `in`, `deg`, `km/h`.
    pub symbol: &'static str,
    /// What the unit measures.
    pub dimension: Dimension,
    /// Numerator of the exact factor to the base unit.
    numerator: i128,
    /// Denominator of the exact factor to the base unit.
    denominator: i128,
    /// Where zero of this scale lies, in hundredths of the base unit: 0 for all but temperatures.
    zero_hundredths: (i128, i128),
    /// Whether a literal in this unit is a point on a scale (a temperature), not a size.
    pub is_point: bool,
}

const fn unit(symbol: &'static str, dimension: Dimension, factor: (i128, i128)) -> Unit {
    Unit {
        symbol,
        dimension,
        numerator: factor.0,
        denominator: factor.1,
        zero_hundredths: (0, 1),
        is_point: false,
    }
}

const fn scale(symbol: &'static str, factor: (i128, i128), zero_hundredths: (i128, i128)) -> Unit {
    Unit {
        symbol,
        dimension: Dimension::TEMPERATURE,
        numerator: factor.0,
        denominator: factor.1,
        zero_hundredths,
        is_point: true,
    }
}

/// Every unit of the language, longest symbols of a kind first where one begins another.
pub const UNITS: &[Unit] = &[
    unit("in", Dimension::LENGTH, (127, 5_000)),
    unit("mm", Dimension::LENGTH, (1, 1_000)),
    unit("cm", Dimension::LENGTH, (1, 100)),
    unit("m", Dimension::LENGTH, (1, 1)),
    unit("ft", Dimension::LENGTH, (381, 1_250)),
    unit("yd", Dimension::LENGTH, (1_143, 1_250)),
    unit("kg", Dimension::MASS, (1, 1)),
    unit("g", Dimension::MASS, (1, 1_000)),
    unit("oz", Dimension::MASS, (28_349_523_125, 1_000_000_000_000)),
    unit("lb", Dimension::MASS, (45_359_237, 100_000_000)),
    unit("grain", Dimension::MASS, (6_479_891, 100_000_000_000)),
    unit("deg", Dimension::ANGLE, (1, 1)),
    unit("mph", Dimension::SPEED, (1_397, 3_125)),
    unit("km/h", Dimension::SPEED, (5, 18)),
    unit("m/s", Dimension::SPEED, (1, 1)),
    unit("ft/s", Dimension::SPEED, (381, 1_250)),
    // One turn is 360 degrees, one minute 60 seconds.
    unit("rpm", Dimension::SPIN, (6, 1)),
    unit("s", Dimension::TIME, (1, 1)),
    unit("ms", Dimension::TIME, (1, 1_000)),
    unit("hours", Dimension::TIME, (3_600, 1)),
    unit("days", Dimension::TIME, (86_400, 1)),
    unit("weeks", Dimension::TIME, (604_800, 1)),
    unit("cpm", Dimension::FREQUENCY, (1, 60)),
    unit("cm3", Dimension::VOLUME, (1, 1_000_000)),
    unit(
        "cm2",
        Dimension {
            length: 2,
            ..Dimension::NUMBER
        },
        (1, 10_000),
    ),
    unit("kg/m3", Dimension::DENSITY, (1, 1)),
    scale("degC", (1, 1), (27_315, 1)),
    // 0 degF is 459.67 × 5/9 kelvin.
    scale("degF", (5, 9), (45_967 * 5, 9)),
    unit("hPa", Dimension::PRESSURE, (100, 1)),
    unit(
        "inHg",
        Dimension::PRESSURE,
        (254 * 133_322_387_415, 10_000_000_000),
    ),
    unit("percent", Dimension::NUMBER, (1, 100)),
    unit("points", Dimension::SWINGWEIGHT, (1, 1)),
    unit("point", Dimension::SWINGWEIGHT, (1, 1)),
    unit("money", Dimension::MONEY, (1, 1)),
];

impl Unit {
    /// How many base units one of this unit is.
    pub fn factor(&self) -> Rational {
        Rational::fraction(self.numerator, self.denominator).unwrap_or(Rational::ONE)
    }

    /// Where this unit's zero lies on the base scale: 273.15 for `degC`, 0 for all but
    /// temperatures.
    pub fn zero(&self) -> Rational {
        let (numerator, denominator) = self.zero_hundredths;
        Rational::fraction(numerator, denominator * 100).unwrap_or(Rational::ZERO)
    }
}

/// The unit with the symbol `symbol`, if there is one.
pub fn unit_named(symbol: &str) -> Option<&'static Unit> {
    UNITS.iter().find(|unit| unit.symbol == symbol)
}
