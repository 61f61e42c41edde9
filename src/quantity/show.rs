//! Values as people read them.

use super::{Dimension, Money, UnitExpr, UnitSystem, decimal, usual_unit};

/// A number with `digits` significant digits and no trailing zeros: `22.2`, `1234`, `0.0421`. Digits before the point
/// are never rounded.
pub fn significant(value: f64, digits: usize) -> String {
    if !value.is_finite() {
        return value.to_string();
    }
    let magnitude = if value == 0.0 {
        0
    } else {
        value.abs().log10().floor() as i32
    };
    let decimals = (digits as i32 - 1 - magnitude).clamp(0, 9) as usize;
    let text = format!("{value:.decimals$}");
    let text = if text.contains('.') {
        text.trim_end_matches('0').trim_end_matches('.')
    } else {
        &text
    };
    if text == "-0" { "0" } else { text }.to_owned()
}

/// How values are shown to one author: in the units that this author writes.
///
/// For each dimension it is the unit passed to [`Display::learn`] most often. If the author has written no unit of a
/// dimension, it is the usual one of the system that the author mostly uses.
#[derive(Clone, PartialEq, Debug, Default)]
pub struct Display {
    seen: Vec<(UnitExpr, usize)>,
}

impl Display {
    /// Counts one use of a unit by the author. Plain numbers are not counted: an efficiency in % does not mean
    /// that ratios are read in %.
    pub fn learn(&mut self, unit: &UnitExpr) {
        if unit.dimension() == Dimension::NUMBER {
            return;
        }
        match self.seen.iter_mut().find(|(known, _)| known == unit) {
            Some((_, count)) => *count += 1,
            None => self.seen.push((unit.clone(), 1)),
        }
    }

    /// The system of units that the author mostly writes in.
    pub fn system(&self) -> UnitSystem {
        let uses = |system| -> usize {
            self.seen
                .iter()
                .filter(|(unit, _)| unit.system() == system)
                .map(|(_, count)| count)
                .sum()
        };
        if uses(UnitSystem::Imperial) > uses(UnitSystem::Metric) {
            UnitSystem::Imperial
        } else {
            UnitSystem::Metric
        }
    }

    /// This display for values that the author reads in one system of units, whatever else they write in. Volumes
    /// keep their unit, since the trade uses cc in both systems.
    pub fn within(&self, system: UnitSystem) -> Self {
        let is_of_it = |unit: &UnitExpr| [system, UnitSystem::Common].contains(&unit.system());
        let known = self.seen.iter().filter(|(unit, _)| is_of_it(unit));
        let mut within = Self {
            seen: known.cloned().collect(),
        };
        let length = usual_unit(Dimension::LENGTH, system);
        let volume = self.unit(Dimension::VOLUME);
        for unit in length.iter().chain(&volume) {
            within.learn(unit);
        }
        within
    }

    /// The unit in which this author reads values of a dimension.
    pub fn unit(&self, dimension: Dimension) -> Option<UnitExpr> {
        let mut best: Option<&(UnitExpr, usize)> = None;
        for entry in &self.seen {
            if entry.0.dimension() == dimension && best.is_none_or(|b| entry.1 > b.1) {
                best = Some(entry);
            }
        }
        best.map(|(unit, _)| unit.clone())
            .or_else(|| usual_unit(dimension, self.system()))
    }

    /// An internal value in the author's unit, to three digits even where a workshop cannot measure the last one. For
    /// values quoted from a source and for steps that differ in that digit.
    pub fn show_finely(&self, value: f64, dimension: Dimension) -> String {
        show_in(value, self.unit_for(value, dimension).as_ref())
    }

    /// The author's unit, unless it is too large or too small for this value. A line's pressure is not shown in the
    /// GPa of a bulk modulus.
    pub fn unit_for(&self, value: f64, dimension: Dimension) -> Option<UnitExpr> {
        const MOST: f64 = 1e5;
        let own = self.unit(dimension)?;
        let fits = |unit: &UnitExpr| {
            // The units of a modulus: nobody reads a line's pressure in them.
            let least = if matches!(unit.to_string().as_str(), "ksi" | "GPa") {
                1.0
            } else {
                0.01
            };
            value == 0.0 || (least..MOST).contains(&unit.outward(value).abs())
        };
        if fits(&own) {
            return Some(own);
        }
        let system = match own.system() {
            UnitSystem::Common => self.system(),
            system => system,
        };
        let larger = match system {
            UnitSystem::Imperial => "ksi",
            UnitSystem::Metric | UnitSystem::Common => "GPa",
        };
        let larger = UnitExpr::parse(larger).ok();
        let larger = larger.filter(|unit| unit.dimension() == dimension);
        let usual = usual_unit(dimension, system).filter(fits);
        usual.or(larger.filter(fits)).or(Some(own))
    }

    /// An internal value in the author's unit, no finer than a workshop can measure it: `0.09 mm`,
    /// `17 N`. Two values that must be told apart are shown by [`shift`](Self::shift).
    pub fn show(&self, value: f64, dimension: Dimension) -> String {
        measurable_in(value, self.unit_for(value, dimension).as_ref())
    }

    /// The number of an internal value without its unit: `1.68`. The unit is the one of the value `shown` beside it.
    pub fn number_beside(&self, value: f64, shown: f64, dimension: Dimension) -> String {
        measurable_number(value, self.unit_for(shown, dimension).as_ref())
    }

    /// A value as [`show`](Self::show) gives it, followed by the other system's unit: `7.52 mm (0.296 in)`. Only one
    /// of them where both systems use the same unit.
    pub fn show_both(&self, value: f64, dimension: Dimension) -> String {
        self.both(value, dimension, measurable_in)
    }

    /// A value as [`show_finely`](Self::show_finely) gives it, followed by the other system's unit.
    pub fn show_finely_both(&self, value: f64, dimension: Dimension) -> String {
        self.both(value, dimension, show_in)
    }

    fn both(
        &self,
        value: f64,
        dimension: Dimension,
        show_in: fn(f64, Option<&UnitExpr>) -> String,
    ) -> String {
        let own = self.unit_for(value, dimension);
        let other_system = match own.as_ref().map(UnitExpr::system) {
            Some(UnitSystem::Imperial) => UnitSystem::Metric,
            _ => UnitSystem::Imperial,
        };
        let other = usual_unit(dimension, other_system);
        let shown = show_in(value, own.as_ref());
        if other == own || other.is_none() {
            return shown;
        }
        format!("{shown} ({})", show_in(value, other.as_ref()))
    }
}

/// Two values of the same thing, as people tell them apart.
#[derive(Clone, PartialEq, Debug)]
pub struct Shift {
    /// The earlier value with its unit, with as many digits as tell the two apart: `2.65 mm`.
    pub before: String,
    /// The later value in the same unit, with as many digits: `2.66 mm`.
    pub after: String,
    /// The step from the earlier to the later value, with its sign and unit.
    pub by: String,
}

/// How many significant digits results are shown with.
const DIGITS: usize = 3;

impl Display {
    /// Two values in one unit, and the step from one to the other. `None` if they differ by no more than the rounding
    /// of shown results and are on the same side of zero.
    pub fn shift(&self, before: f64, after: f64, dimension: Dimension) -> Option<Shift> {
        /// Rounding errors that count as zero, in internal units.
        const NOTHING: f64 = 1e-9;
        let larger = if before.abs() > after.abs() {
            before
        } else {
            after
        };
        let unit = self.unit_for(larger, dimension);
        let outward = |value: f64| unit.as_ref().map_or(value, |unit| unit.outward(value));
        let (first, second) = (outward(before), outward(after));
        let step = second - first;
        let magnitude = first.abs().max(second.abs()).log10().floor();
        let decimals = unit.as_ref().and_then(measurable_decimals);
        let least = decimals.map_or(0.0, |decimals| 10f64.powi(-(decimals as i32)));
        let rounding = 10f64.powf(magnitude - (DIGITS as f64 - 1.0)).min(1.0);
        let rounding = rounding.max(least) / 2.0;
        let crosses_zero =
            (before > NOTHING) != (after > NOTHING) || (before < -NOTHING) != (after < -NOTHING);
        // Also false for NaN.
        let differ = (after - before).abs() > NOTHING && (step.abs() > rounding || crosses_zero);
        if !differ {
            return None;
        }
        let with_unit = |number: String| match &unit {
            None => number,
            Some(unit) => format!("{number} {unit}"),
        };
        let sign = if step > 0.0 { "+" } else { "" };
        let by = with_unit(format!(
            "{sign}{}",
            match step.abs() < least {
                true => significant(step, DIGITS),
                false => workshop_digits(step, unit.as_ref()),
            }
        ));
        let [before, after] = apart(first, second, unit.as_ref()).map(with_unit);
        Some(Shift { before, after, by })
    }

    /// Two values in one unit, with as many digits as tell them apart: `0.843`, `0.84`.
    pub fn told_apart(&self, one: f64, other: f64, dimension: Dimension) -> [String; 2] {
        let larger = if one.abs() > other.abs() { one } else { other };
        let unit = self.unit_for(larger, dimension);
        let outward = |value: f64| unit.as_ref().map_or(value, |unit| unit.outward(value));
        apart(outward(one), outward(other), unit.as_ref()).map(|number| match &unit {
            None => number,
            Some(unit) => format!("{number} {unit}"),
        })
    }
}

/// Two numbers in a unit, no finer than a workshop can measure, or with as many digits as tell them apart.
fn apart(first: f64, second: f64, unit: Option<&UnitExpr>) -> [String; 2] {
    /// Two values that differ only beyond this many digits are shown alike.
    const MOST_DIGITS: usize = 7;
    let both = |show: &dyn Fn(f64) -> String| [show(first), show(second)];
    let coarse = both(&|number| workshop_digits(number, unit));
    if coarse[0] != coarse[1] {
        return coarse;
    }
    let finer = (DIGITS..=MOST_DIGITS).map(|digits| both(&|number| significant(number, digits)));
    finer
        .into_iter()
        .find(|shown| shown[0] != shown[1])
        .unwrap_or(coarse)
}

/// To how many decimals a workshop can measure in a unit; `None` for a unit in which it does not measure.
fn measurable_decimals(unit: &UnitExpr) -> Option<usize> {
    const DECIMALS: [(&str, usize); 13] = [
        ("mm", 2),
        ("cm", 3),
        ("in", 3),
        ("N", 0),
        ("lbf", 1),
        ("MPa", 2),
        ("bar", 1),
        ("psi", 0),
        ("cc", 2),
        ("in^3", 3),
        ("deg", 1),
        ("s", 2),
        ("lbf*ft", 1),
    ];
    let name = unit.to_string();
    let known = DECIMALS.iter().find(|(known, _)| *known == name);
    known.map(|(_, decimals)| *decimals)
}

fn measurable_number(value: f64, unit: Option<&UnitExpr>) -> String {
    let number = unit.map_or(value, |unit| unit.outward(value));
    workshop_digits(number, unit)
}

/// A number in a unit, no finer than a workshop can measure.
fn workshop_digits(number: f64, unit: Option<&UnitExpr>) -> String {
    let whole = significant(number, DIGITS);
    let Some(decimals) = unit.and_then(measurable_decimals) else {
        return whole;
    };
    let written = whole.split_once('.').map_or(0, |(_, after)| after.len());
    if written <= decimals {
        return whole;
    }
    let rounded: f64 = format!("{number:.decimals$}").parse().unwrap_or(number);
    match rounded == 0.0 {
        // A value too small to measure is not shown as zero.
        true => significant(number, 1),
        false => significant(rounded, DIGITS),
    }
}

fn measurable_in(value: f64, unit: Option<&UnitExpr>) -> String {
    match unit {
        Some(unit) if unit.dimension().currency().is_none() => {
            format!("{} {unit}", measurable_number(value, Some(unit)))
        }
        _ => show_in(value, unit),
    }
}

/// A hose's swelling as its data sheet gives it in inches, per foot at 1000 psi: `0.33 cc/ft at 1000 psi`. Takes
/// internal units, of volume per length and pressure.
pub fn hose_figure(expansion: f64) -> String {
    let [per_foot, psi] = ["cc/ft", "psi"].map(|unit| UnitExpr::parse(unit).ok());
    let pressure = psi.map_or(1000.0, |psi| psi.inward(1000.0));
    format!(
        "{} at 1000 psi",
        show_in(expansion * pressure, per_foot.as_ref())
    )
}

/// A length to the nearest 1/32 inch, as a rule shows it: `5 1/32`. `None` below 1/8 in and beyond 100 m.
pub fn nearest_fraction(mm: f64) -> Option<String> {
    const PARTS: u32 = 32;
    /// The shortest length that is shown so. Below it, 1/32 inch is a large part of the length.
    const SHORTEST: f64 = 25.4 / 8.0;
    const LONGEST: f64 = 1e5;
    if !(SHORTEST..LONGEST).contains(&mm) {
        return None;
    }
    let parts = (mm / 25.4 * f64::from(PARTS)).round() as u32;
    let (whole, rest) = (parts / PARTS, parts % PARTS);
    if rest == 0 {
        return Some(whole.to_string());
    }
    let halvings = rest.trailing_zeros();
    let fraction = format!("{}/{}", rest >> halvings, PARTS >> halvings);
    Some(match whole {
        0 => fraction,
        _ => format!("{whole} {fraction}"),
    })
}

fn show_in(value: f64, unit: Option<&UnitExpr>) -> String {
    if let Some(currency) = unit.and_then(|unit| unit.dimension().currency())
        && let Some(amount) = decimal(value)
    {
        return Money { amount, currency }.to_string();
    }
    match unit {
        None => significant(value, DIGITS),
        Some(unit) => format!("{} {unit}", significant(unit.outward(value), DIGITS)),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn three_digits_and_no_more_than_needed() {
        for (value, shown) in [
            (22.225, "22.2"),
            (1234.4, "1234"),
            (0.04213, "0.0421"),
            (7.0, "7"),
            (-0.0, "0"),
            (0.0, "0"),
            (100.0, "100"),
        ] {
            assert_eq!(significant(value, 3), shown);
        }
    }

    #[test]
    fn the_authors_unit_comes_first() {
        let mut display = Display::default();
        display.learn(&UnitExpr::parse("in").unwrap());
        assert_eq!(display.show(25.4, Dimension::LENGTH), "1 in");
        assert_eq!(display.show_both(25.4, Dimension::LENGTH), "1 in (25.4 mm)");
        assert_eq!(display.show(1.0, Dimension::FORCE), "0.2 lbf");
        assert_eq!(display.show_finely(1.0, Dimension::FORCE), "0.225 lbf");
        assert_eq!(display.show(0.5, Dimension::NUMBER), "0.5");
    }

    /// The project's table of what a workshop can measure: lengths 0.01 mm or 0.001 in, forces 1 N or 0.1 lbf,
    /// pressures 0.01 MPa or 1 psi, volumes 0.01 cc or 0.001 in³, angles 0.1°.
    #[test]
    fn tables_are_no_finer_than_a_workshop_measures() {
        let metric = Display::default();
        let mut inches = Display::default();
        inches.learn(&UnitExpr::parse("in").unwrap());
        for (value, dimension, in_metric, in_inches) in [
            (0.0918, Dimension::LENGTH, "0.09 mm", "0.004 in"),
            (127.96, Dimension::LENGTH, "128 mm", "5.04 in"),
            (16.7, Dimension::FORCE, "17 N", "3.8 lbf"),
            (2.5512, Dimension::PRESSURE, "2.55 MPa", "370 psi"),
            (1234.5, Dimension::VOLUME, "1.23 cc", "0.075 in^3"),
            (0.00604, Dimension::ANGLE, "0.3 deg", "0.3 deg"),
            (0.0, Dimension::LENGTH, "0 mm", "0 in"),
            (-0.003, Dimension::LENGTH, "-0.003 mm", "-0.0001 in"),
            (14_800.0, Dimension::ENERGY, "14.8 J", "10.9 lbf*ft"),
        ] {
            assert_eq!(metric.show(value, dimension), in_metric);
            assert_eq!(inches.show(value, dimension), in_inches);
        }
        assert_eq!(inches.show(205_000.0, Dimension::PRESSURE), "29733 ksi");
    }

    #[test]
    fn fractions_are_thirty_seconds_of_an_inch() {
        for (mm, shown) in [
            (128.0, Some("5 1/32")),
            (12.0, Some("15/32")),
            (25.4, Some("1")),
            (152.4, Some("6")),
            (19.05, Some("3/4")),
            (0.5, None),
            (-20.0, None),
            (f64::NAN, None),
        ] {
            assert_eq!(nearest_fraction(mm).as_deref(), shown, "{mm}");
        }
    }

    #[test]
    fn a_unit_far_too_large_gives_way_to_the_usual_one() {
        let mut display = Display::default();
        display.learn(&UnitExpr::parse("GPa").unwrap());
        assert_eq!(display.show(1600.0, Dimension::PRESSURE), "1.6 GPa");
        assert_eq!(display.show(2.6, Dimension::PRESSURE), "2.6 MPa");
        assert_eq!(display.show(26.0, Dimension::PRESSURE), "26 MPa");
    }

    #[test]
    fn a_step_within_the_rounding_is_none() {
        let display = Display::default();
        let shift = |before, after| {
            let shift = display.shift(before, after, Dimension::LENGTH);
            shift.map(|shift| [shift.before, shift.after, shift.by].join("; "))
        };
        assert_eq!(shift(1.83, -0.4).unwrap(), "1.83 mm; -0.4 mm; -2.23 mm");
        assert_eq!(shift(126.4, 125.6).unwrap(), "126.4 mm; 125.6 mm; -0.8 mm");
        assert_eq!(shift(0.0, 1e-4).unwrap(), "0 mm; 0.0001 mm; +0.0001 mm");
        // Values that a workshop cannot tell apart are alike, except on different sides of zero.
        assert_eq!(shift(0.805, 0.806), None);
        assert_eq!(shift(0.81, 0.82).unwrap(), "0.81 mm; 0.82 mm; +0.01 mm");
        assert_eq!(
            shift(0.003, -0.003).unwrap(),
            "0.003 mm; -0.003 mm; -0.006 mm"
        );
        // On either side of a rounding, and yet the same.
        assert_eq!(shift(2.6549, 2.6551), None);
        assert_eq!(shift(12345.2, 12345.6), None);
        assert_eq!(shift(0.0, 1e-15), None);
        assert_eq!(shift(f64::NAN, 1.0), None);
    }

    #[test]
    fn metric_unless_told_otherwise() {
        let display = Display::default();
        assert_eq!(
            display.show_both(100.0, Dimension::FORCE),
            "100 N (22.5 lbf)"
        );
        assert_eq!(display.show_both(1.0, Dimension::ANGLE), "57.3 deg");
    }
}
