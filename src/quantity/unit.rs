//! Units as data, and products of them.

use super::{Currency, Dimension};
use iso_currency::IntoEnumIterator;
use std::fmt;
use std::sync::LazyLock;

/// The two systems of units, and what belongs to both.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum UnitSystem {
    /// `mm`, `N`, `bar`
    Metric,
    /// `in`, `lbf`, `psi`
    Imperial,
    /// In use with both systems (`deg`, `s`, `%`).
    Common,
}

/// One unit of the language.
#[derive(PartialEq, Debug)]
pub struct Unit {
    /// The unit's name as a spec writes it.
    pub name: &'static str,
    /// What it measures.
    pub dimension: Dimension,
    /// The factor from a value in this unit to the internal one.
    pub factor: f64,
    /// What is added after the factor; other than zero only for temperatures.
    pub offset: f64,
    /// The system that it belongs to.
    pub system: UnitSystem,
    /// The unit's full name.
    pub doc: &'static str,
}

const fn unit(
    name: &'static str,
    dimension: Dimension,
    factor: f64,
    system: UnitSystem,
    doc: &'static str,
) -> Unit {
    Unit {
        name,
        dimension,
        factor,
        offset: 0.0,
        system,
        doc,
    }
}

use Dimension as D;
use UnitSystem::{Common, Imperial, Metric};

/// Exact by definition (NIST SP 811, appendix B.8).
const INCH: f64 = 25.4;
/// Exact: 0.453 592 37 kg × 9.806 65 m/s² (NIST SP 811, appendix B.8).
const POUND_FORCE: f64 = 4.448_221_615_260_5;

/// Every unit of the language. Factors: NIST SP 811 (2008), appendix B.8.
pub const UNITS: &[Unit] = &[
    unit("mm", D::LENGTH, 1.0, Metric, "millimeter"),
    unit("cm", D::LENGTH, 10.0, Metric, "centimetre"),
    unit("m", D::LENGTH, 1000.0, Metric, "metre"),
    unit("in", D::LENGTH, INCH, Imperial, "inch"),
    unit("ft", D::LENGTH, 12.0 * INCH, Imperial, "foot"),
    unit("cc", D::VOLUME, 1e3, Metric, "cubic centimetre"),
    unit("ml", D::VOLUME, 1e3, Metric, "millilitre"),
    unit("l", D::VOLUME, 1e6, Metric, "litre"),
    unit("N", D::FORCE, 1.0, Metric, "newton"),
    unit("kN", D::FORCE, 1e3, Metric, "kilonewton"),
    unit("lbf", D::FORCE, POUND_FORCE, Imperial, "pound-force"),
    unit("kgf", D::FORCE, 9.80665, Metric, "kilogram-force"),
    unit("Pa", D::PRESSURE, 1e-6, Metric, "pascal"),
    unit("kPa", D::PRESSURE, 1e-3, Metric, "kilopascal"),
    unit("MPa", D::PRESSURE, 1.0, Metric, "megapascal"),
    unit("GPa", D::PRESSURE, 1e3, Metric, "gigapascal"),
    unit("bar", D::PRESSURE, 0.1, Metric, "bar"),
    unit(
        "psi",
        D::PRESSURE,
        POUND_FORCE / (INCH * INCH),
        Imperial,
        "pound-force per square inch",
    ),
    unit(
        "ksi",
        D::PRESSURE,
        1e3 * POUND_FORCE / (INCH * INCH),
        Imperial,
        "thousand psi",
    ),
    unit(
        "deg",
        D::ANGLE,
        std::f64::consts::PI / 180.0,
        Common,
        "degree of angle",
    ),
    unit("rad", D::ANGLE, 1.0, Common, "radian"),
    unit("s", D::TIME, 1.0, Common, "second"),
    unit("ms", D::TIME, 1e-3, Common, "millisecond"),
    unit("min", D::TIME, 60.0, Common, "minute"),
    unit("K", D::TEMPERATURE, 1.0, Metric, "kelvin"),
    Unit {
        name: "degC",
        dimension: D::TEMPERATURE,
        factor: 1.0,
        offset: 273.15,
        system: Metric,
        doc: "degree Celsius",
    },
    Unit {
        name: "degF",
        dimension: D::TEMPERATURE,
        factor: 5.0 / 9.0,
        offset: 459.67 * 5.0 / 9.0,
        system: Imperial,
        doc: "degree Fahrenheit",
    },
    unit("kg", D::MASS, 1e-3, Metric, "kilogram"),
    unit("g", D::MASS, 1e-6, Metric, "gram"),
    unit(
        "J",
        D::ENERGY,
        1e3,
        Metric,
        "joule: one newton metre turned through one radian",
    ),
    unit("%", D::NUMBER, 0.01, Common, "hundredth"),
];

/// Work as an author who writes in feet reads it. In a spec, `lbf*ft` is a torque.
static WORK_IN_FEET: Unit = unit(
    "lbf*ft",
    D::ENERGY,
    12.0 * INCH * POUND_FORCE,
    Imperial,
    "foot-pound of work",
);

/// A unit for every currency of ISO 4217 that is used for payment; funds, metals and test codes are left out.
/// Superseded currencies are kept, so that an old price can still be read.
pub static CURRENCIES: LazyLock<Vec<Unit>> = LazyLock::new(|| {
    Currency::iter()
        .filter(|currency| !currency.is_fund() && !currency.is_special())
        .map(|currency| {
            unit(
                currency.code(),
                D::of_currency(currency),
                1.0,
                Common,
                "currency",
            )
        })
        .collect()
});

/// What people write by habit, and the language's spelling for it.
pub const HABITS: &[(&str, &str)] = &[
    ("\"", "in"),
    ("″", "in"),
    ("”", "in"),
    ("''", "in"),
    ("inch", "in"),
    ("inches", "in"),
    ("′", "ft"),
    ("feet", "ft"),
    ("foot", "ft"),
    ("lb", "lbf"),
    ("lbs", "lbf"),
    ("pound", "lbf"),
    ("pounds", "lbf"),
    ("ft-lb", "lbf*ft"),
    ("ft-lbs", "lbf*ft"),
    ("ft-lbf", "lbf*ft"),
    ("lb-ft", "lbf*ft"),
    ("lbs-ft", "lbf*ft"),
    ("lbf-ft", "lbf*ft"),
    ("in-lb", "lbf*in"),
    ("in-lbs", "lbf*in"),
    ("in-lbf", "lbf*in"),
    ("lb-in", "lbf*in"),
    ("lbs-in", "lbf*in"),
    ("lbf-in", "lbf*in"),
    ("ftlb", "lbf*ft"),
    ("ftlbs", "lbf*ft"),
    ("Nm", "N*m"),
    ("cSt", "mm^2/s"),
    ("°", "deg"),
    ("degree", "deg"),
    ("degrees", "deg"),
    ("°C", "degC"),
    ("°F", "degF"),
    ("ccm", "cc"),
    ("mL", "ml"),
    ("L", "l"),
    ("litre", "l"),
    ("sec", "s"),
    ("percent", "%"),
];

/// Why a spelling is not a unit.
#[derive(Clone, PartialEq, Debug)]
pub enum UnitError {
    /// No unit has this name. The spelling that was probably meant is given, if there is one.
    Unknown {
        /// The name as it is written.
        name: String,
        /// The spelling that was probably meant.
        meant: Option<String>,
    },
    /// A temperature scale with an offset is multiplied or divided.
    Offset {
        /// The name of the scale.
        name: String,
    },
    /// An exponent is too large.
    TooLarge,
}

/// A product of units, such as `lbf*ft` or `cc/ft`.
#[derive(Clone, PartialEq, Debug)]
pub struct UnitExpr {
    factors: Vec<(&'static Unit, i8)>,
    dimension: Dimension,
    factor: f64,
    offset: f64,
}

impl UnitExpr {
    /// A unit alone.
    pub fn of(unit: &'static Unit) -> Self {
        Self {
            factors: vec![(unit, 1)],
            dimension: unit.dimension,
            factor: unit.factor,
            offset: unit.offset,
        }
    }

    /// Reads a product such as `N/mm`, `cc/ft`, `lbf*ft`, `N·m`, `in^2`, `mm²`.
    ///
    /// # Errors
    /// The first name that is not a unit, or a temperature scale inside a product.
    pub fn parse(text: &str) -> Result<Self, UnitError> {
        let mut factors = Vec::new();
        let mut dimension = Dimension::NUMBER;
        let mut factor = 1.0;
        let mut offset;
        let mut sign = 1i8;
        let mut rest = text;
        loop {
            let end = rest.find(['*', '·', '/']).unwrap_or(rest.len());
            let (atom, after) = rest.split_at(end);
            let (name, exponent) = split_power(atom).ok_or(UnitError::TooLarge)?;
            let unit = find(name).ok_or_else(|| UnitError::Unknown {
                name: atom.to_owned(),
                meant: meant_by(atom),
            })?;
            let exponent = sign * exponent;
            offset = unit.offset;
            factor *= unit.factor.powi(i32::from(exponent));
            dimension = unit
                .dimension
                .power(exponent)
                .and_then(|d| dimension.times(d))
                .ok_or(UnitError::TooLarge)?;
            factors.push((unit, exponent));
            let mut chars = after.chars();
            match chars.next() {
                None => break,
                Some(c) => sign = if c == '/' { -1 } else { 1 },
            }
            rest = chars.as_str();
        }
        if let Some((scale, _)) = factors.iter().find(|(unit, _)| unit.offset != 0.0)
            && (factors.len() > 1 || factors[0].1 != 1)
        {
            return Err(UnitError::Offset {
                name: scale.name.to_owned(),
            });
        }
        if !factor.is_normal() {
            return Err(UnitError::TooLarge);
        }
        Ok(Self {
            factors,
            dimension,
            factor,
            offset,
        })
    }

    /// What it measures, as a whole.
    pub fn dimension(&self) -> Dimension {
        self.dimension
    }

    /// The internal value of a value in this unit.
    pub fn inward(&self, value: f64) -> f64 {
        value * self.factor + self.offset
    }

    /// The value in this unit of an internal value.
    pub fn outward(&self, value: f64) -> f64 {
        (value - self.offset) / self.factor
    }

    /// The factor from a difference in this unit to the internal one.
    pub fn factor(&self) -> f64 {
        self.factor
    }

    /// Whether the unit is a temperature scale whose zero is not absolute zero.
    pub fn has_offset(&self) -> bool {
        self.offset != 0.0
    }

    /// Imperial if any part of the product is; common if every part is.
    pub fn system(&self) -> UnitSystem {
        let has = |system| self.factors.iter().any(|(unit, _)| unit.system == system);
        if has(Imperial) {
            Imperial
        } else if has(Metric) {
            Metric
        } else {
            Common
        }
    }
}

impl fmt::Display for UnitExpr {
    /// Writes the canonical spelling, with `*`, `/` and `^`.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        for (i, (unit, exponent)) in self.factors.iter().enumerate() {
            // A leading negative power cannot come from parsing: the first factor has no sign.
            let shown = if i == 0 {
                *exponent
            } else {
                f.write_str(if *exponent < 0 { "/" } else { "*" })?;
                exponent.abs()
            };
            f.write_str(unit.name)?;
            if shown != 1 {
                write!(f, "^{shown}")?;
            }
        }
        Ok(())
    }
}

/// Splits `mm^2`, `mm²` or `s^-1` into its name and power; `None` if the power is too large.
fn split_power(atom: &str) -> Option<(&str, i8)> {
    if let Some(name) = atom.strip_suffix('²') {
        return Some((name, 2));
    }
    if let Some(name) = atom.strip_suffix('³') {
        return Some((name, 3));
    }
    match atom.split_once('^') {
        None => Some((atom, 1)),
        Some((name, power)) => {
            let power: i8 = power.parse().ok()?;
            (power != 0 && power.abs() <= 9).then_some((name, power))
        }
    }
}

fn find(name: &str) -> Option<&'static Unit> {
    let known = UNITS.iter().find(|unit| unit.name == name);
    known.or_else(|| currency(name))
}

/// The currency with a code; `None` for a name that does not look like one.
fn currency(code: &str) -> Option<&'static Unit> {
    let looks_like_one = code.len() == 3 && code.bytes().all(|byte| byte.is_ascii_uppercase());
    let mut known = CURRENCIES.iter();
    known.find(|unit| looks_like_one && unit.name == code)
}

/// The spelling that was probably meant by a name that is no unit.
fn meant_by(atom: &str) -> Option<String> {
    if let Some((_, to)) = HABITS.iter().find(|(from, _)| *from == atom) {
        return Some((*to).to_owned());
    }
    // mm2, in3
    if let Some(stem) = atom.strip_suffix(['2', '3'])
        && find(stem).is_some()
    {
        return Some(format!("{stem}^{}", &atom[stem.len()..]));
    }
    if let Some(unit) = UNITS.iter().find(|u| u.name.eq_ignore_ascii_case(atom)) {
        return Some(unit.name.to_owned());
    }
    if let Some(unit) = currency(&atom.to_ascii_uppercase()) {
        return Some(unit.name.to_owned());
    }
    nearest(atom, UNITS.iter().map(|unit| unit.name)).map(str::to_owned)
}

/// The candidate closest to a misspelled name, if one is close enough to have been meant.
pub fn nearest<'a>(name: &str, candidates: impl IntoIterator<Item = &'a str>) -> Option<&'a str> {
    // A long word may hold more slips than a short one before it is another word.
    let most = match name.chars().count() {
        0..=2 => 1,
        3..=7 => 2,
        _ => 3,
    };
    // Distances cost time quadratic in the word; nothing that long is a slip of the pen.
    if name.len() > 64 {
        return None;
    }
    // Capitals are no slips: DOT4 is dot4.
    let lower = name.to_lowercase();
    candidates
        .into_iter()
        .map(|candidate| {
            let distance = strsim::damerau_levenshtein(&lower, &candidate.to_lowercase());
            (distance, candidate)
        })
        .filter(|(distance, candidate)| {
            *distance <= most && *distance < candidate.chars().count().max(2)
        })
        .min_by_key(|(distance, _)| *distance)
        .map(|(_, candidate)| candidate)
}

/// The usual unit for a dimension in one system; `None` if there is none.
pub fn usual_unit(dimension: Dimension, system: UnitSystem) -> Option<UnitExpr> {
    let imperial = system == Imperial;
    let text = match dimension {
        D::LENGTH if imperial => "in",
        D::LENGTH => "mm",
        D::AREA if imperial => "in^2",
        D::AREA => "mm^2",
        D::VOLUME if imperial => "in^3",
        D::VOLUME => "cc",
        D::FORCE if imperial => "lbf",
        D::FORCE => "N",
        D::PRESSURE if imperial => "psi",
        D::PRESSURE => "MPa",
        D::STIFFNESS if imperial => "lbf/in",
        D::STIFFNESS => "N/mm",
        D::TORQUE if imperial => "lbf*ft",
        D::TORQUE => "N*m",
        D::EXPANSION if imperial => "in^3/ft/psi",
        D::EXPANSION => "cc/m/MPa",
        D::DENSITY => "kg/m^3",
        D::VISCOSITY => "mm^2/s",
        D::TEMPERATURE if imperial => "degF",
        D::TEMPERATURE => "degC",
        D::ANGLE => "deg",
        D::PER_KELVIN => "K^-1",
        D::TIME => "s",
        D::MASS => "kg",
        D::ENERGY if imperial => return Some(UnitExpr::of(&WORK_IN_FEET)),
        D::ENERGY => "J",
        _ => return None,
    };
    UnitExpr::parse(text).ok()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn internal(value: f64, unit: &str) -> f64 {
        UnitExpr::parse(unit).unwrap().inward(value)
    }

    /// NIST SP 811 (2008), appendix B.8, to the digits printed there.
    #[test]
    fn factors_match_nist_sp_811() {
        let rows = [
            (1.0, "in", 0.0254e3, 1e-12),
            (1.0, "ft", 0.3048e3, 1e-12),
            (1.0, "lbf", 4.448222, 1e-7),
            (1.0, "psi", 6894.757e-6, 1e-7),
            (1.0, "bar", 0.1, 1e-12),
            (1.0, "lbf*in", 0.1129848e3, 1e-6),
            (1.0, "lbf*ft", 1.355818e3, 1e-6),
            (1.0, "in^3", 1.638706e4, 1e-6),
            (1.0, "kgf", 9.80665, 1e-12),
            (1.0, "kgf/cm^2", 98066.5e-6, 1e-12),
            (1.0, "lbf/in", 175.1268e-3, 1e-6),
            (1.0, "mm^2/s", 1.0, 1e-12),
        ];
        for (value, unit, expected, relative) in rows {
            let got = internal(value, unit);
            assert!(
                (got - expected).abs() <= relative * expected,
                "{value} {unit}: {got} is not {expected}"
            );
        }
    }

    /// 1 cm³/ft is 3.280 839 895 013 123 cm³/m (pint 0.25.3 and GNU units 2.22).
    #[test]
    fn volume_per_length_matches_pint() {
        let per_foot = internal(1.0, "cc/ft");
        let per_metre = internal(3.280_839_895_013_123, "cc/m");
        assert!((per_foot - per_metre).abs() < 1e-12 * per_foot);
    }

    #[test]
    fn temperatures_have_an_offset() {
        assert!((internal(-40.0, "degC") - internal(-40.0, "degF")).abs() < 1e-9);
        assert_eq!(
            UnitExpr::parse("degC/s"),
            Err(UnitError::Offset {
                name: "degC".to_owned()
            })
        );
    }

    #[test]
    fn habits_name_what_was_meant() {
        for (habit, meant) in [
            ("lbs", "lbf"),
            ("mm2", "mm^2"),
            ("Mpa", "MPa"),
            ("Nm", "N*m"),
        ] {
            let Err(UnitError::Unknown { meant: got, .. }) = UnitExpr::parse(habit) else {
                panic!("{habit} was taken for a unit");
            };
            assert_eq!(got.as_deref(), Some(meant), "{habit}");
        }
    }

    #[test]
    fn every_habit_leads_to_a_unit() {
        for (habit, meant) in HABITS {
            assert!(UnitExpr::parse(meant).is_ok(), "{habit} -> {meant}");
            assert!(
                UnitExpr::parse(habit).is_err(),
                "{habit} is a unit already, not a habit"
            );
        }
    }

    #[test]
    fn spelling_is_canonical() {
        for (written, canonical) in [("N·m", "N*m"), ("mm²", "mm^2"), ("cc/ft", "cc/ft")] {
            assert_eq!(UnitExpr::parse(written).unwrap().to_string(), canonical);
        }
    }

    #[test]
    fn usual_units_have_their_dimension() {
        for system in [Metric, Imperial] {
            for unit in UNITS {
                if let Some(usual) = usual_unit(unit.dimension, system) {
                    assert_eq!(usual.dimension(), unit.dimension, "{}", unit.name);
                }
            }
        }
    }
}
