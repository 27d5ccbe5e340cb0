//! Dimensions: what kind of thing a quantity measures.

use std::fmt;

/// The exponents of the base dimensions.
///
/// Angle is a base dimension (in degrees), so that an angle is never mistaken for a number and a
/// spin is an angle over a time. A swingweight point and money are base dimensions of their own.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Dimension {
    /// Exponent of length (metre).
    pub length: i8,
    /// Exponent of mass (kilogram).
    pub mass: i8,
    /// Exponent of time (second).
    pub time: i8,
    /// Exponent of angle (degree).
    pub angle: i8,
    /// Exponent of temperature (kelvin).
    pub temperature: i8,
    /// Exponent of swingweight (point).
    pub swingweight: i8,
    /// Exponent of money (the shop's own currency).
    pub money: i8,
}

const fn base(length: i8, mass: i8, time: i8, angle: i8) -> Dimension {
    Dimension {
        length,
        mass,
        time,
        angle,
        temperature: 0,
        swingweight: 0,
        money: 0,
    }
}

impl Dimension {
    /// No dimension: a plain number.
    pub const NUMBER: Dimension = base(0, 0, 0, 0);
    /// Length.
    pub const LENGTH: Dimension = base(1, 0, 0, 0);
    /// Mass.
    pub const MASS: Dimension = base(0, 1, 0, 0);
    /// Angle.
    pub const ANGLE: Dimension = base(0, 0, 0, 1);
    /// Time.
    pub const TIME: Dimension = base(0, 0, 1, 0);
    /// Speed.
    pub const SPEED: Dimension = base(1, 0, -1, 0);
    /// Spin: angle over time.
    pub const SPIN: Dimension = base(0, 0, -1, 1);
    /// Frequency.
    pub const FREQUENCY: Dimension = base(0, 0, -1, 0);
    /// Volume.
    pub const VOLUME: Dimension = base(3, 0, 0, 0);
    /// Density: mass over volume.
    pub const DENSITY: Dimension = base(-3, 1, 0, 0);
    /// Pressure.
    pub const PRESSURE: Dimension = base(-1, 1, -2, 0);
    /// Moment of inertia.
    pub const MOMENT_OF_INERTIA: Dimension = base(2, 1, 0, 0);
    /// A difference of temperature.
    pub const TEMPERATURE: Dimension = Dimension {
        temperature: 1,
        ..Dimension::NUMBER
    };
    /// A difference of swingweight.
    pub const SWINGWEIGHT: Dimension = Dimension {
        swingweight: 1,
        ..Dimension::NUMBER
    };
    /// Money.
    pub const MONEY: Dimension = Dimension {
        money: 1,
        ..Dimension::NUMBER
    };

    /// The dimensions that have a name of their own in the language.
    pub const NAMED: &'static [(&'static str, Dimension)] = &[
        ("number", Dimension::NUMBER),
        ("length", Dimension::LENGTH),
        ("mass", Dimension::MASS),
        ("angle", Dimension::ANGLE),
        ("time", Dimension::TIME),
        ("speed", Dimension::SPEED),
        ("spin", Dimension::SPIN),
        ("frequency", Dimension::FREQUENCY),
        ("volume", Dimension::VOLUME),
        ("density", Dimension::DENSITY),
        ("pressure", Dimension::PRESSURE),
        ("moment_of_inertia", Dimension::MOMENT_OF_INERTIA),
        ("temperature_change", Dimension::TEMPERATURE),
        ("swingweight_change", Dimension::SWINGWEIGHT),
        ("money", Dimension::MONEY),
    ];

    fn exponents(self) -> [i8; 7] {
        [
            self.length,
            self.mass,
            self.time,
            self.angle,
            self.temperature,
            self.swingweight,
            self.money,
        ]
    }

    fn combine(self, other: Self, sign: i8) -> Option<Self> {
        let add = |left: i8, right: i8| left.checked_add(right.checked_mul(sign)?);
        Some(Dimension {
            length: add(self.length, other.length)?,
            mass: add(self.mass, other.mass)?,
            time: add(self.time, other.time)?,
            angle: add(self.angle, other.angle)?,
            temperature: add(self.temperature, other.temperature)?,
            swingweight: add(self.swingweight, other.swingweight)?,
            money: add(self.money, other.money)?,
        })
    }

    /// The dimension of a product; `None` where an exponent leaves eight bits.
    pub fn times(self, other: Self) -> Option<Self> {
        self.combine(other, 1)
    }

    /// The dimension of a quotient; `None` where an exponent leaves eight bits.
    pub fn over(self, other: Self) -> Option<Self> {
        self.combine(other, -1)
    }

    /// The dimension with a name of the language, if `name` is one.
    pub fn named(name: &str) -> Option<Self> {
        Self::NAMED
            .iter()
            .find(|(known, _)| *known == name)
            .map(|(_, dimension)| *dimension)
    }
}

impl fmt::Display for Dimension {
    /// The dimension's own name, or its factors (`angle / length`).
    fn fmt(&self, formatter: &mut fmt::Formatter<'_>) -> fmt::Result {
        if let Some((name, _)) = Self::NAMED.iter().find(|(_, dimension)| dimension == self) {
            return formatter.write_str(name);
        }
        const BASES: [&str; 7] = [
            "length",
            "mass",
            "time",
            "angle",
            "temperature",
            "swingweight",
            "money",
        ];
        let factor = |base: &str, power: i8| match power {
            1 => base.to_owned(),
            _ => format!("{base}^{power}"),
        };
        let powers = self.exponents();
        let pairs = || BASES.iter().zip(powers);
        let above: Vec<_> = pairs()
            .filter(|(_, power)| *power > 0)
            .map(|(base, power)| factor(base, power))
            .collect();
        let below: Vec<_> = pairs()
            .filter(|(_, power)| *power < 0)
            .map(|(base, power)| factor(base, -power))
            .collect();
        let above = if above.is_empty() {
            "1".to_owned()
        } else {
            above.join(" × ")
        };
        formatter.write_str(&above)?;
        for factor in below {
            write!(formatter, " / {factor}")?;
        }
        Ok(())
    }
}
