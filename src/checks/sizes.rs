//! The sizes that cylinders are commonly made in.

use crate::quantity::{UnitExpr, UnitSystem, significant};
pub use crate::schema::COMMON_BORES;

/// How far catalogues round a bore, mm: 22.2 mm for 7/8 in, 15.87 mm for 5/8 in.
pub const ROUNDING: f64 = 0.05;

const INCH: f64 = 25.4;

/// The commonly made bore nearest to a value, in mm.
pub fn common_bore_near(bore: f64) -> Option<f64> {
    let after = COMMON_BORES.partition_point(|other| *other < bore);
    let neighbours = [after.checked_sub(1), Some(after)];
    let neighbours = neighbours.into_iter().flatten();
    neighbours
        .filter_map(|i| COMMON_BORES.get(i).copied())
        .min_by(|a, b| (a - bore).abs().total_cmp(&(b - bore).abs()))
}

/// Whether a commonly made bore is one of the inch sizes.
pub fn is_inch_size(bore: f64) -> bool {
    let sixteenths = bore / INCH * 16.0;
    (sixteenths - sixteenths.round()).abs() < 1e-6 || bore == 17.78
}

/// A value as a person would write it: inch sizes as fractions, everything else as a short decimal.
pub fn written(value: f64, unit: Option<&UnitExpr>) -> String {
    let Some(unit) = unit else {
        return significant(value, 4);
    };
    let number = unit.outward(value);
    let sixteenths = number * 16.0;
    let in_sixteenths = unit.to_string() == "in"
        && (sixteenths - sixteenths.round()).abs() < 1e-9
        && sixteenths.round() > 0.0;
    if !in_sixteenths {
        return format!("{} {unit}", significant(number, 4));
    }
    let sixteenths = sixteenths.round() as u64;
    let (whole, mut over, mut under) = (sixteenths / 16, sixteenths % 16, 16);
    while over > 0 && over % 2 == 0 {
        over /= 2;
        under /= 2;
    }
    match (whole, over) {
        (whole, 0) => format!("{whole} in"),
        (0, over) => format!("{over}/{under} in"),
        (whole, over) => format!("{whole} {over}/{under} in"),
    }
}

/// A bore as an author who uses one system of units writes it. Inch sizes are fractions, as they are sold. Metric
/// sizes are in mm, or for an author in inches `0.8661 in`.
pub fn bore_written(bore: f64, system: UnitSystem) -> String {
    let in_inches = is_inch_size(bore) || system == UnitSystem::Imperial;
    let unit = if in_inches { "in" } else { "mm" };
    written(bore, UnitExpr::parse(unit).ok().as_ref())
}

/// A bore in a sentence, as [`bore_written`] gives it. For an author in inches, a metric size is followed by the name
/// under which it is sold: `0.866 in (22 mm)`.
pub fn bore_named(bore: f64, system: UnitSystem) -> String {
    if is_inch_size(bore) || system != UnitSystem::Imperial {
        return bore_written(bore, system);
    }
    let sold = bore_written(bore, UnitSystem::Metric);
    format!("{} in ({sold})", significant(bore / INCH, 3))
}

/// A size with its indefinite article, as its first number is spoken: `an 11/16 in`, `an 18 mm`, `a 7/8 in`.
pub fn with_article(size: &str) -> String {
    let first = size.split(|c: char| !c.is_ascii_digit()).next();
    let article = match first {
        Some("11" | "18") => "an",
        Some(number) if number.starts_with('8') => "an",
        _ => "a",
    };
    format!("{article} {size}")
}

/// Which way a value is rounded.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Rounding {
    Up,
    Down,
}

/// A value rounded to what a person would measure. It has the given number of digits in its unit; in inches, up to
/// three digits are sixteenths.
pub fn rounded(value: f64, unit: Option<&UnitExpr>, way: Rounding, digits: i32) -> f64 {
    let number = unit.map_or(value, |unit| unit.outward(value));
    if number == 0.0 || !number.is_finite() {
        return value;
    }
    let in_inches = unit.is_some_and(|unit| unit.to_string() == "in");
    let steps = if in_inches && digits <= 3 {
        16.0
    } else {
        // No finer than a workshop can measure: a thousandth of an inch, a hundredth of a millimeter.
        let finest = match unit.map(ToString::to_string).as_deref() {
            Some("in") => 1000.0,
            Some("mm") => 100.0,
            _ => f64::INFINITY,
        };
        let steps = 10f64.powi(digits - 1 - number.abs().log10().floor() as i32);
        steps.min(finest)
    };
    // A whole number of steps, up to rounding, is kept.
    let nearest = (number * steps).round();
    let is_whole = (nearest - number * steps).abs() < 1e-9 * nearest.abs();
    let count = match way {
        Rounding::Up if !is_whole => (number * steps).ceil(),
        Rounding::Down if !is_whole => (number * steps).floor(),
        Rounding::Up | Rounding::Down => nearest,
    };
    unit.map_or(count / steps, |unit| unit.inward(count / steps))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_size_has_the_article_that_its_number_is_spoken_with() {
        assert_eq!(with_article("11/16 in"), "an 11/16 in");
        assert_eq!(with_article("18 mm"), "an 18 mm");
        assert_eq!(with_article("8 mm"), "an 8 mm");
        assert_eq!(with_article("1 1/8 in"), "a 1 1/8 in");
        assert_eq!(with_article("0.866 in (22 mm)"), "a 0.866 in (22 mm)");
        assert_eq!(with_article("7/8 in"), "a 7/8 in");
    }

    #[test]
    fn values_are_rounded_as_one_measures() {
        let unit = |text| UnitExpr::parse(text).unwrap();
        let (mm, inch) = (unit("mm"), unit("in"));
        assert_eq!(rounded(134.67, Some(&mm), Rounding::Down, 3), 134.0);
        assert_eq!(rounded(8.301, Some(&mm), Rounding::Up, 3), 8.31);
        assert_eq!(rounded(134.0, Some(&mm), Rounding::Down, 3), 134.0);
        assert!((rounded(134.67, Some(&mm), Rounding::Down, 4) - 134.6).abs() < 1e-9);
        // 5.302 in
        assert_eq!(rounded(134.67, Some(&inch), Rounding::Down, 3), 5.25 * 25.4);
        assert_eq!(rounded(134.67, Some(&inch), Rounding::Up, 3), 5.3125 * 25.4);
        assert_eq!(rounded(0.0, Some(&mm), Rounding::Down, 3), 0.0);
        assert_eq!(rounded(-8.301, Some(&mm), Rounding::Up, 3), -8.3);
    }

    #[test]
    fn bores_are_written_as_they_are_sold() {
        for (bore, system, is_written, is_named) in [
            (22.225, UnitSystem::Metric, "7/8 in", "7/8 in"),
            (22.225, UnitSystem::Imperial, "7/8 in", "7/8 in"),
            (22.0, UnitSystem::Metric, "22 mm", "22 mm"),
            (22.0, UnitSystem::Imperial, "0.8661 in", "0.866 in (22 mm)"),
        ] {
            assert_eq!(bore_written(bore, system), is_written);
            assert_eq!(bore_named(bore, system), is_named);
        }
    }

    #[test]
    fn inch_sizes_are_written_as_fractions() {
        let inch = UnitExpr::parse("in").unwrap();
        for (mm, text) in [
            (22.225, "7/8 in"),
            (28.575, "1 1/8 in"),
            (25.4, "1 in"),
            (17.78, "0.7 in"),
        ] {
            assert_eq!(written(mm, Some(&inch)), text);
        }
        let mm = UnitExpr::parse("mm").unwrap();
        assert_eq!(written(22.225, Some(&mm)), "22.23 mm");
    }

    #[test]
    fn common_bores_rise_and_hold_every_sixteenth() {
        assert!(COMMON_BORES.windows(2).all(|pair| pair[0] < pair[1]));
        for sixteenths in 8..=20 {
            let bore = f64::from(sixteenths) / 16.0 * INCH;
            let found = COMMON_BORES.iter().any(|known| (known - bore).abs() < 1e-9);
            assert!(found, "{sixteenths}/16 in");
            assert!(is_inch_size(bore));
        }
    }
}
