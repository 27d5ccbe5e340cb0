//! The air: how dense it is where the club is played.
//!
//! [`density_kg_m3`]: CIPM-2007, A. Picard, R. S. Davis, M. Gläser, K. Fujii, *Revised formula for
//! the density of moist air (CIPM-2007)*, Metrologia 45 (2008) 149-155, for air with 400 parts in a
//! million of carbon dioxide. It is said for 600 to 1100 hPa and 15 to 27 °C (there within 0.0022
//! %); beyond that, the answer says so.
//!
//! [`standard_pressure_pa`] and [`standard_temperature_k`]: *U.S. Standard Atmosphere, 1976* (NOAA,
//! NASA, USAF), its lowest layer, by height above the sea (geometric, as a map gives it). It is the
//! air of an average day: where the pressure or the temperature at the course is known, take that.

use super::answer::{Answer, BeyondLiterature};
use super::math::{exp, pow};
use super::outside_range::{OutsideRange, Range};

const TEMPERATURE: Range = Range {
    argument: "temperature",
    unit: "K",
    least: 233.15,
    most: 333.15,
};
const PRESSURE: Range = Range {
    argument: "pressure",
    unit: "Pa",
    least: 30_000.0,
    most: 120_000.0,
};
const HUMIDITY: Range = Range {
    argument: "humidity",
    unit: "",
    least: 0.0,
    most: 1.0,
};
/// Within the lowest layer of the standard atmosphere.
const ALTITUDE: Range = Range::metres("altitude", -1_000.0, 11_000.0);

/// 0 °C in kelvin.
const ZERO_CELSIUS_K: f64 = 273.15;

/// The density of moist air in kg/m³.
///
/// Temperature 233.15 to 333.15 K (−40 to 60 °C), pressure 30,000 to 120,000 Pa, relative humidity
/// 0 to 1. Beyond what the literature covers: below 15 or above 27 °C, below 600 or above 1100 hPa.
///
/// # Errors
/// An argument beyond its range, or no number.
pub fn density_kg_m3(
    temperature_k: f64,
    pressure_pa: f64,
    humidity: f64,
) -> Result<Answer, OutsideRange> {
    let temperature_k = TEMPERATURE.check(temperature_k)?;
    let pressure_pa = PRESSURE.check(pressure_pa)?;
    let humidity = HUMIDITY.check(humidity)?;
    let celsius = temperature_k - ZERO_CELSIUS_K;
    let vapour = vapour_fraction(temperature_k, pressure_pa, humidity);
    let compressibility = compressibility(temperature_k, pressure_pa, vapour);
    let dry_kg_m3 = MOLAR_MASS_OVER_GAS_CONSTANT * pressure_pa / (compressibility * temperature_k);
    Ok(Answer {
        value: dry_kg_m3 * (1.0 - LIGHTER_VAPOUR * vapour),
        beyond: beyond_cipm(celsius, pressure_pa),
    })
}

/// Molar mass of dry air over the molar gas constant, in kg K/J (equation 2 of the paper).
const MOLAR_MASS_OVER_GAS_CONSTANT: f64 = 3.483_740e-3;
/// By how much vapour is lighter than dry air: 1 − M(water) / M(dry air).
const LIGHTER_VAPOUR: f64 = 0.378_0;

/// The mole fraction of water vapour (appendix A1.1 and A1.2).
fn vapour_fraction(temperature_k: f64, pressure_pa: f64, humidity: f64) -> f64 {
    let celsius = temperature_k - ZERO_CELSIUS_K;
    let exponent = 1.237_884_7e-5 * temperature_k * temperature_k - 1.912_131_6e-2 * temperature_k
        + 33.937_110_47
        - 6.343_164_5e3 / temperature_k;
    let saturation_pa = exp(exponent);
    let enhancement = 1.000_62 + 3.14e-8 * pressure_pa + 5.6e-7 * celsius * celsius;
    humidity * enhancement * saturation_pa / pressure_pa
}

/// The compressibility factor Z (appendix A1.4).
fn compressibility(temperature_k: f64, pressure_pa: f64, vapour: f64) -> f64 {
    let celsius = temperature_k - ZERO_CELSIUS_K;
    let dry = 1.581_23e-6 - 2.933_1e-8 * celsius + 1.104_3e-10 * celsius * celsius;
    let once = 5.707e-6 - 2.051e-8 * celsius;
    let twice = 1.989_8e-4 - 2.376e-6 * celsius;
    let ratio = pressure_pa / temperature_k;
    let square = 1.83e-11 - 0.765e-8 * vapour * vapour;
    1.0 - ratio * (dry + once * vapour + twice * vapour * vapour) + ratio * ratio * square
}

/// Kelvin that become degrees Celsius are off by a rounding error: 288.15 K is 15 °C and no less.
const ROUNDING: f64 = 1e-9;

fn beyond_cipm(celsius: f64, pressure_pa: f64) -> Option<BeyondLiterature> {
    let figure = |quantity, unit, reached: f64, least, most| {
        (reached < least - ROUNDING || reached > most + ROUNDING).then_some(BeyondLiterature {
            quantity,
            reached,
            unit,
            least,
            most,
            source: "CIPM-2007",
        })
    };
    figure("the temperature", "degC", celsius, 15.0, 27.0)
        .or_else(|| figure("the pressure", "hPa", pressure_pa / 100.0, 600.0, 1100.0))
}

/// The temperature at sea level, in kelvin.
const SEA_LEVEL_TEMPERATURE_K: f64 = 288.15;
/// The pressure at sea level, in pascals.
const SEA_LEVEL_PRESSURE_PA: f64 = 101_325.0;
/// How fast it grows colder upward, in kelvin a metre of geopotential.
const LAPSE_K_PER_M: f64 = 0.006_5;
/// Gravity × molar mass / (gas constant × lapse): 9.80665 × 28.9644 / (8314.32 × 0.0065).
const PRESSURE_EXPONENT: f64 = 9.806_65 * 28.964_4 / (8_314.32 * LAPSE_K_PER_M);
/// The earth's radius with which the standard turns height into geopotential, in metres.
const EARTH_RADIUS_M: f64 = 6_356_766.0;

/// The temperature, in kelvin, of the standard atmosphere at a height above the sea.
///
/// Altitude −1000 to 11,000 m.
///
/// # Errors
/// An altitude beyond the range, or no number.
pub fn standard_temperature_k(altitude_m: f64) -> Result<f64, OutsideRange> {
    let altitude_m = ALTITUDE.check(altitude_m)?;
    let geopotential_m = EARTH_RADIUS_M * altitude_m / (EARTH_RADIUS_M + altitude_m);
    Ok(SEA_LEVEL_TEMPERATURE_K - LAPSE_K_PER_M * geopotential_m)
}

/// The pressure, in pascals, of the standard atmosphere at a height above the sea.
///
/// Altitude −1000 to 11,000 m.
///
/// # Errors
/// An altitude beyond the range, or no number.
pub fn standard_pressure_pa(altitude_m: f64) -> Result<f64, OutsideRange> {
    let share = standard_temperature_k(altitude_m)? / SEA_LEVEL_TEMPERATURE_K;
    Ok(SEA_LEVEL_PRESSURE_PA * pow(share, PRESSURE_EXPONENT))
}

#[cfg(test)]
mod tests {
    use super::super::checking::{assert_bits, assert_close};
    use super::*;

    fn celsius(degrees: f64) -> f64 {
        degrees + ZERO_CELSIUS_K
    }

    fn density(degrees: f64, pressure_pa: f64, humidity: f64) -> f64 {
        let answer = density_kg_m3(celsius(degrees), pressure_pa, humidity);
        answer.unwrap().value
    }

    #[test]
    fn a_laboratory_at_20_degrees_and_half_humid() {
        // Picard et al. 2008: 101325 Pa, 20 °C, 50 % relative humidity.
        let found = density(20.0, 101_325.0, 0.5);
        assert_close(found, 1.1993, 0.001 * 1.1993);
        assert_close(found, 1.1993, 0.000_05);
    }

    #[test]
    fn saturated_vapour_as_the_steam_tables_have_it() {
        // Saturation pressure of water, handbook (from memory): 20 °C 2339 Pa, 30 °C 4247 Pa.
        for (degrees, pascals) in [(20.0, 2339.0), (30.0, 4247.0)] {
            let enhancement = 1.004;
            let share = vapour_fraction(celsius(degrees), 101_325.0, 1.0);
            assert_close(share * 101_325.0 / enhancement, pascals, 0.001 * pascals);
        }
    }

    #[test]
    fn the_standard_atmosphere_at_three_heights() {
        // U.S. Standard Atmosphere 1976, table I, geometric heights: kelvin, pascals, kg/m³.
        for (altitude_m, kelvin, pascals, kg_m3) in [
            (0.0, 288.150, 101_325.0, 1.2250),
            (1500.0, 278.402, 84_559.7, 1.0581),
            (3000.0, 268.659, 70_121.2, 0.9093),
            // 3000 m of geopotential.
            (3001.416, 268.650, 70_108.5, 0.9091),
        ] {
            let temperature_k = standard_temperature_k(altitude_m).unwrap();
            let pressure_pa = standard_pressure_pa(altitude_m).unwrap();
            assert_close(temperature_k, kelvin, 0.001);
            assert_close(pressure_pa, pascals, 2.0);
            // The standard's own air is dry and ideal: ρ = p M / (R T).
            let ideal_kg_m3 = pressure_pa * 28.964_4 / (8_314.32 * temperature_k);
            assert_close(ideal_kg_m3, kg_m3, 0.000_1);
            // Two publications on the same dry air: within a thousandth.
            let moist = density_kg_m3(temperature_k, pressure_pa, 0.0).unwrap();
            assert_close(moist.value, kg_m3, 0.001 * kg_m3);
        }
    }

    #[test]
    fn air_thins_with_warmth_moisture_and_height() {
        for step in 0..40 {
            let degrees = f64::from(step);
            assert!(density(degrees + 1.0, 1e5, 0.5) < density(degrees, 1e5, 0.5));
            assert!(density(degrees, 1e5, 0.6) < density(degrees, 1e5, 0.5));
            let altitude_m = degrees * 100.0;
            let higher = standard_pressure_pa(altitude_m + 100.0).unwrap();
            assert!(higher < standard_pressure_pa(altitude_m).unwrap());
        }
    }

    #[test]
    fn beyond_the_weighing_room_the_answer_stands_and_says_so() {
        let cold = density_kg_m3(celsius(5.0), 101_325.0, 0.5).unwrap();
        let beyond = cold.beyond.unwrap();
        assert_eq!(beyond.quantity, "the temperature");
        assert_close(beyond.reached, 5.0, 1e-9);
        let thin = density_kg_m3(celsius(20.0), 55_000.0, 0.5).unwrap();
        assert_eq!(thin.beyond.unwrap().quantity, "the pressure");
        let usual = density_kg_m3(celsius(20.0), 101_325.0, 0.5).unwrap();
        assert_eq!(usual.beyond, None);
        // The standard day at the sea, on the edge: 15 °C.
        let standard = density_kg_m3(288.15, 101_325.0, 0.0).unwrap();
        assert_eq!(standard.beyond, None);
    }

    #[test]
    fn what_cannot_be_is_named() {
        let name = |answer: Result<Answer, OutsideRange>| answer.unwrap_err().argument;
        assert_eq!(name(density_kg_m3(celsius(-60.0), 1e5, 0.5)), "temperature");
        assert_eq!(name(density_kg_m3(f64::NAN, 1e5, 0.5)), "temperature");
        assert_eq!(name(density_kg_m3(celsius(20.0), 0.0, 0.5)), "pressure");
        assert_eq!(name(density_kg_m3(celsius(20.0), 1e5, 1.01)), "humidity");
        assert_eq!(
            standard_pressure_pa(20_000.0).unwrap_err().to_string(),
            "`altitude` is 20000 m; from -1000 to 11000 m is allowed"
        );
    }

    #[test]
    fn the_bits_are_the_same_on_every_machine_in_debug_and_release() {
        // Beside them: the paper's own figure, and the standard's own table.
        let moist_kg_m3 = density(20.0, 101_325.0, 0.5);
        assert_close(moist_kg_m3, 1.1993, 0.000_05);
        assert_bits(moist_kg_m3, 0x3ff3_3064_55bb_6bbe);
        let pressure_pa = standard_pressure_pa(1500.0).unwrap();
        assert_close(pressure_pa, 84_559.7, 1.0);
        assert_bits(pressure_pa, 0x40f4_a4fa_d3bc_5e0d);
    }
}
