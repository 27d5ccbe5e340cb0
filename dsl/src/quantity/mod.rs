//! Exact quantities: numbers, dimensions, units and the literals a fitter writes.
//!
//! A quantity is a rational in the coherent base units of its dimension (metre, kilogram, second,
//! degree, kelvin, point, money). No float ever decides on which side of a boundary a reading lies:
//! 34.5 in and 876.3 mm are the same number here.

mod date;
mod dimension;
mod literal;
mod number;
mod small;
mod unit;

pub use date::Date;
pub use dimension::Dimension;
pub use literal::{LiteralError, ParsedLiteral, parse_literal};
pub use number::{ArithmeticFault, Rational, Rounding};
pub use unit::{UNITS, Unit, unit_named};
