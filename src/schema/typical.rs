//! The usual values of fields in cars that work, each with its source.

use super::{COMMON, FieldId};
use crate::field;
use crate::quantity::{Dimension, Display, hose_figure};

/// The usual values of a field.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct Typical {
    /// The field.
    pub field: FieldId,
    /// One value to start from, in internal units; `None` where no source has one.
    pub typical: Option<f64>,
    /// The least usual value, in internal units.
    pub low: f64,
    /// The greatest.
    pub high: f64,
    /// The cars or parts that it holds for, if not for all: `of concentric slaves`.
    pub of: &'static str,
    /// Where the values are from.
    pub source: &'static str,
}

const MM_PER_INCH: f64 = 25.4;
const DEGREE: f64 = std::f64::consts::PI / 180.0;
/// 1 cc per foot at 1000 psi, in mm³ per mm and MPa.
pub const HOSE: f64 = 1000.0 / (12.0 * MM_PER_INCH) / 6.894_757_293_168_361;

const FIVE_CARS: &str = "service manuals of five cars, model years 1993 to 2006";

/// What the rows share; each fills in the rest.
const ROW: Typical = Typical {
    field: field!(pedal.travel),
    typical: None,
    low: 0.0,
    high: 0.0,
    of: "",
    source: COMMON,
};

/// The known usual values of fields. The sources were read for the project. None is a standard, so a value outside
/// the range is unusual but not wrong.
pub const TYPICAL: &[Typical] = &[
    Typical {
        field: field!(pedal.travel),
        typical: Some(133.0),
        low: 118.0,
        high: 158.0,
        source: "service manuals of nine cars, 118 to 158 mm",
        ..ROW
    },
    Typical {
        field: field!(pedal.ratio),
        low: 4.0,
        high: 7.0,
        ..ROW
    },
    Typical {
        field: field!(pedal.free_play),
        typical: Some(9.0),
        low: 5.0,
        high: 15.0,
        source: "service manuals of six cars, 5 to 15 mm",
        ..ROW
    },
    Typical {
        field: field!(master.bore),
        typical: Some(5.0 / 8.0 * MM_PER_INCH),
        low: 5.0 / 8.0 * MM_PER_INCH,
        high: 5.0 / 8.0 * MM_PER_INCH,
        of: "of cars with an outside slave",
        source: FIVE_CARS,
    },
    Typical {
        field: field!(slave.bore),
        typical: Some(13.0 / 16.0 * MM_PER_INCH),
        low: 3.0 / 4.0 * MM_PER_INCH,
        high: 13.0 / 16.0 * MM_PER_INCH,
        of: "of cars with an outside slave",
        source: FIVE_CARS,
    },
    Typical {
        field: field!(master.rod_clearance),
        low: 0.5,
        high: 2.5,
        ..ROW
    },
    Typical {
        field: field!(pedal.drag),
        low: 1.0,
        high: 5.0,
        ..ROW
    },
    Typical {
        field: field!(master.drag),
        low: 5.0,
        high: 25.0,
        ..ROW
    },
    Typical {
        field: field!(slave.drag),
        low: 10.0,
        high: 40.0,
        ..ROW
    },
    Typical {
        field: field!(fork.drag),
        low: 5.0,
        high: 20.0,
        ..ROW
    },
    Typical {
        field: field!(fork.return_force),
        low: 20.0,
        high: 80.0,
        of: "of forks with a return spring",
        ..ROW
    },
    Typical {
        field: field!(slave.adjust_preload),
        low: 20.0,
        high: 60.0,
        ..ROW
    },
    Typical {
        field: field!(cable.adjust_preload),
        low: 20.0,
        high: 60.0,
        ..ROW
    },
    Typical {
        field: field!(linkage.adjust_preload),
        low: 20.0,
        high: 60.0,
        ..ROW
    },
    Typical {
        field: field!(master.mount_stiffness),
        low: 400.0,
        high: 1500.0,
        ..ROW
    },
    Typical {
        field: field!(slave.mount_stiffness),
        low: 300.0,
        high: 2000.0,
        ..ROW
    },
    Typical {
        field: field!(line.bore),
        typical: Some((3.0 / 16.0 - 2.0 * 0.028) * MM_PER_INCH),
        low: (3.0 / 16.0 - 2.0 * 0.033) * MM_PER_INCH,
        high: (3.0 / 16.0 - 2.0 * 0.023) * MM_PER_INCH,
        of: "of 3/16 in tube",
        source: "a tube maker's table of SAE J526, 3/16 in less two walls of 0.028 ± 0.005 in",
    },
    Typical {
        field: field!(line.wall),
        typical: Some(0.028 * MM_PER_INCH),
        low: 0.023 * MM_PER_INCH,
        high: 0.033 * MM_PER_INCH,
        of: "of 3/16 in tube",
        source: "a tube maker's table of SAE J526, 0.028 ± 0.005 in",
    },
    Typical {
        field: field!(line.expansion),
        low: 0.13 * HOSE,
        high: 0.33 * HOSE,
        source: "a maker's test of hoses to 49 CFR 571.106, 0.13 to 0.33 cc/ft at 1000 psi",
        ..ROW
    },
    Typical {
        field: field!(fluid.air),
        ..ROW
    },
    Typical {
        field: field!(fluid.bulk_modulus),
        typical: Some(1400.0),
        low: 1000.0,
        high: 1400.0,
        of: "of hydraulic oil",
        source: "MIL-PRF-5606 type fluid, 1.0 GPa, and a modelling library's general hydraulic oil, 1.4 GPa",
    },
    Typical {
        field: field!(slave.stroke),
        typical: Some(20.3),
        low: 20.3,
        high: 20.3,
        of: "of concentric slaves",
        source: "a clutch component maker's guide to hydraulic release bearings",
    },
    Typical {
        field: field!(slave.rest_extension),
        typical: Some(9.0),
        low: 7.6,
        high: 10.2,
        of: "of concentric slaves, which leave that much for the disc to wear",
        source: "a clutch component maker's article on measuring hydraulic bearings",
    },
    Typical {
        field: field!(cable.play),
        low: 0.0,
        high: 3.0,
        ..ROW
    },
    Typical {
        field: field!(cable.bends),
        low: 90.0 * DEGREE,
        high: 180.0 * DEGREE,
        ..ROW
    },
    Typical {
        field: field!(cable.friction),
        low: 0.05,
        high: 0.15,
        of: "of lined cables",
        ..ROW
    },
    Typical {
        field: field!(cable.stiffness),
        low: 100.0,
        high: 400.0,
        ..ROW
    },
    Typical {
        field: field!(linkage.play),
        low: 0.0,
        high: 3.0,
        ..ROW
    },
    Typical {
        field: field!(linkage.stiffness),
        low: 300.0,
        high: 2000.0,
        ..ROW
    },
    Typical {
        field: field!(fork.stiffness),
        low: 600.0,
        high: 1500.0,
        ..ROW
    },
    Typical {
        field: field!(bearing.free_play),
        low: 0.0,
        high: 5.0,
        source: "guides of makers of release bearings, 3 to 5 mm",
        ..ROW
    },
    Typical {
        field: field!(cover.finger_ratio),
        typical: Some(3.5),
        low: 2.3,
        high: 4.5,
        of: "of diaphragm covers that are pushed",
        source: "two courses in clutch design",
    },
    Typical {
        field: field!(cover.clamp_load),
        low: 3350.0,
        high: 9200.0,
        of: "of cars, more with a larger disc",
        source: "service manuals of cars",
        ..ROW
    },
    Typical {
        field: field!(cover.finger_height),
        typical: Some(44.0),
        low: 43.0,
        high: 45.0,
        of: "of a small pick-up",
        source: "a pick-up's service manual of about 1970, p. CL-3",
    },
    Typical {
        field: field!(diaphragm.thickness),
        low: 2.0,
        high: 4.0,
        source: "a course in the design of clutches for commercial vehicles",
        ..ROW
    },
    Typical {
        field: field!(disc.wear),
        typical: Some(1.7),
        low: 1.0,
        high: 2.0,
        of: "of both faces together",
        source: "a clutch design guide, 1.7 mm, and a design course, 0.5 to 1 mm a face",
    },
    Typical {
        field: field!(disc.cushion),
        typical: Some(0.9),
        low: 0.5,
        high: 1.1,
        source: "workshop manuals of sports cars, free thickness less clamped",
        ..ROW
    },
    Typical {
        field: field!(relay.in_angle),
        low: 0.0,
        high: 15.0 * DEGREE,
        ..ROW
    },
    Typical {
        field: field!(relay.out_angle),
        low: 0.0,
        high: 15.0 * DEGREE,
        ..ROW
    },
    Typical {
        field: field!(intensifier.in_bore),
        low: 3.0 / 4.0 * MM_PER_INCH,
        high: 1.5 * MM_PER_INCH,
        ..ROW
    },
    Typical {
        field: field!(intensifier.out_bore),
        low: 5.0 / 8.0 * MM_PER_INCH,
        high: MM_PER_INCH,
        ..ROW
    },
    Typical {
        field: field!(intensifier.stroke),
        low: 20.0,
        high: 50.0,
        ..ROW
    },
    Typical {
        field: field!(intensifier.port_travel),
        low: 0.5,
        high: 2.0,
        ..ROW
    },
    Typical {
        field: field!(intensifier.efficiency),
        low: 0.9,
        high: 0.97,
        ..ROW
    },
    Typical {
        field: field!(pedal.assist_rate),
        low: 8.0,
        high: 40.0,
        ..ROW
    },
    Typical {
        field: field!(pedal.assist_free_length),
        low: 60.0,
        high: 120.0,
        ..ROW
    },
    Typical {
        field: field!(pedal.assist_anchor),
        low: 50.0,
        high: 120.0,
        ..ROW
    },
    Typical {
        field: field!(pedal.assist_hook),
        low: 20.0,
        high: 60.0,
        ..ROW
    },
    Typical {
        field: field!(pedal.rod_offset),
        low: 0.0,
        high: 6.0,
        ..ROW
    },
    Typical {
        field: field!(master.chamber),
        low: 2.0,
        high: 15.0,
        ..ROW
    },
    Typical {
        field: field!(slave.pull_rod),
        low: 8.0,
        high: 12.0,
        ..ROW
    },
    Typical {
        field: field!(line.orifice),
        low: 0.8,
        high: 2.0,
        ..ROW
    },
    Typical {
        field: field!(disc.friction),
        typical: Some(0.38),
        low: 0.25,
        high: 0.45,
        of: "of dry organic facings",
        source: "The Tribology Handbook, B7.8, 0.35 to 0.40; a machine-design textbook's table, 0.25 to 0.45",
    },
    Typical {
        field: field!(engine.service_factor),
        typical: Some(1.5),
        low: 1.25,
        high: 1.5,
        source: "a bank of engineering questions on clutch design",
        ..ROW
    },
    Typical {
        field: field!(bellhousing.runout_limit),
        low: 0.20,
        high: 0.30,
        of: "of SAE housings 00 to 3",
        source: "a diesel engine maker's manual of specifications, p. 0-69",
        ..ROW
    },
    Typical {
        field: field!(bellhousing.face_limit),
        low: 0.006 * MM_PER_INCH,
        high: 0.012 * MM_PER_INCH,
        of: "of housing bores to 31 in, the least up to 14 1/4 in",
        source: "US Army TM 55-1930-209-14&P-9-4, p. P.3",
        ..ROW
    },
    Typical {
        field: field!(slave.adjust_range),
        low: 10.0,
        high: 30.0,
        ..ROW
    },
    Typical {
        field: field!(cable.adjust_range),
        low: 10.0,
        high: 30.0,
        ..ROW
    },
    Typical {
        field: field!(linkage.adjust_range),
        low: 10.0,
        high: 30.0,
        ..ROW
    },
    Typical {
        field: field!(relay.in_arm),
        low: 40.0,
        high: 120.0,
        ..ROW
    },
    Typical {
        field: field!(relay.out_arm),
        low: 40.0,
        high: 120.0,
        ..ROW
    },
    Typical {
        field: field!(relay.play),
        low: 0.2,
        high: 0.5,
        of: "with sound bushings",
        ..ROW
    },
    Typical {
        field: field!(relay.stiffness),
        low: 500.0,
        high: 3000.0,
        ..ROW
    },
    Typical {
        field: field!(fork.pivot_height),
        low: 20.0,
        high: 70.0,
        ..ROW
    },
    Typical {
        field: field!(fork.tip_offset),
        low: 5.0,
        high: 25.0,
        of: "of a bent fork",
        ..ROW
    },
    Typical {
        field: field!(fork.end_offset),
        low: 5.0,
        high: 40.0,
        of: "of a bent fork",
        ..ROW
    },
    Typical {
        field: field!(bearing.length),
        low: 20.0,
        high: 60.0,
        ..ROW
    },
];

impl Typical {
    /// The row of a field, if there is one.
    pub fn of(field: FieldId) -> Option<&'static Self> {
        TYPICAL.get(Self::place_of(field))
    }

    /// The place of a field's row in [`TYPICAL`]; its length where there is none.
    pub const fn place_of(field: FieldId) -> usize {
        let mut place = 0;
        while place < TYPICAL.len() {
            let known = TYPICAL[place].field;
            if known.block == field.block && known.field == field.field {
                break;
            }
            place += 1;
        }
        place
    }

    /// All known values of the row, as the end of a sentence: `118 mm to 158 mm, typically 133 mm`.
    pub fn words(&self, display: &Display) -> String {
        self.words_with(|value, dimension| display.show_finely(value, dimension))
    }

    /// What [`words`](Self::words) gives, in both systems of units, metric first.
    pub fn words_in_both(&self) -> String {
        self.words_with(|value, dimension| Display::default().show_finely_both(value, dimension))
    }

    fn words_with(&self, show: impl Fn(f64, Dimension) -> String) -> String {
        let dimension = self.field.field().dimension().unwrap_or_default();
        let show = |value, dimension| match dimension {
            Dimension::EXPANSION => hose_figure(value),
            _ => show(value, dimension),
        };
        let mut words = match self.low == self.high {
            true => show(self.low, dimension),
            false => format!(
                "{} to {}",
                show(self.low, dimension),
                show(self.high, dimension)
            ),
        };
        if let Some(typical) = self.typical.filter(|_| self.low != self.high) {
            words += &format!(", typically {}", show(typical, dimension));
        }
        if !self.of.is_empty() {
            words += &format!(", {}", self.of);
        }
        words
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_row_is_possible_and_unique() {
        for (i, row) in TYPICAL.iter().enumerate() {
            let path = row.field.path();
            assert!(
                !TYPICAL[..i].iter().any(|other| other.field == row.field),
                "{path}"
            );
            assert!(row.low <= row.high && !row.source.is_empty(), "{path}");
            let range = row.field.field().range;
            for value in [Some(row.low), row.typical, Some(row.high)]
                .into_iter()
                .flatten()
            {
                assert!(range.contains(value), "{path}: {value}");
                // What is usual in cars is never taken for a slip of the unit.
                if let Some((least, most)) = row.field.field().usual {
                    assert!(
                        (least..=most).contains(&value) || value == 0.0,
                        "{path}: {value}"
                    );
                }
            }
            let typical = row.typical.unwrap_or(row.low);
            assert!((row.low..=row.high).contains(&typical), "{path}");
        }
    }

    #[test]
    fn a_row_reads_in_its_authors_units() {
        let travel = Typical::of(field!(pedal.travel)).expect("a row");
        let mut inches = Display::default();
        inches.learn(&crate::quantity::UnitExpr::parse("in").unwrap());
        assert_eq!(
            travel.words(&Display::default()),
            "118 mm to 158 mm, typically 133 mm"
        );
        assert_eq!(
            travel.words(&inches),
            "4.65 in to 6.22 in, typically 5.24 in"
        );
    }
}
