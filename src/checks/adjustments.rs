//! What a workshop can change to cure a finding: which field, how far, and what is usual for it.

use super::adjustment::{Adjustment, Sizes, Usual, Way, Work};
use crate::field;
use crate::schema::{Better, FieldId, HOSE, TYPICAL, Typical};

const DEGREE: f64 = std::f64::consts::PI / 180.0;
/// The usual values of a loss, where less is better, or of a stiffness, where more is.
const fn loss(field: FieldId, better: Better) -> Option<Usual> {
    usual(field, Some(better))
}

/// The usual values of a matter of design.
const fn design(field: FieldId) -> Option<Usual> {
    usual(field, None)
}

/// The usual values of a field. A field without a row in [`TYPICAL`] does not compile.
const fn usual(field: FieldId, better: Option<Better>) -> Option<Usual> {
    let row = &TYPICAL[Typical::place_of(field)];
    Some(Usual {
        low: row.low,
        high: row.high,
        better,
    })
}

/// What the rows share; each fills in the rest.
const ROW: Adjustment = Adjustment {
    field: field!(pedal.stop),
    reach: (0.0, f64::INFINITY),
    below: None,
    usual: None,
    work: Work::Replace,
    asks: "",
    asks_new: None,
    sizes: Sizes::Measured,
    way: Way::Either,
    takes_most: false,
    unless: None,
    changes_load: false,
};

/// Everything that a cure may change.
pub static ADJUSTMENTS: &[Adjustment] = &[
    Adjustment {
        field: field!(pedal.stop),
        reach: (30.0, 300.0),
        below: Some(field!(pedal.travel)),
        work: Work::Adjust,
        asks: "move the pedal stop to {}",
        asks_new: Some("fit a pedal stop at {}"),
        // A stop protects the cover, and is set at the end of the cover's window.
        takes_most: true,
        ..ROW
    },
    Adjustment {
        field: field!(pedal.start_switch),
        reach: (30.0, 300.0),
        work: Work::Adjust,
        asks: "set the clutch switch for the starter to {} of pedal",
        ..ROW
    },
    Adjustment {
        field: field!(pedal.cruise_switch),
        reach: (1.0, 100.0),
        work: Work::Adjust,
        asks: "set the switch for cruise control to {} of pedal",
        ..ROW
    },
    Adjustment {
        field: field!(pedal.free_play),
        reach: (5.0, 15.0),
        usual: loss(field!(pedal.free_play), Better::Less),
        work: Work::Adjust,
        asks: "set the pedal's free play to {}",
        ..ROW
    },
    Adjustment {
        field: field!(master.rod_clearance),
        reach: (0.5, 2.5),
        usual: loss(field!(master.rod_clearance), Better::Less),
        work: Work::Adjust,
        asks: "set the pushrod's clearance to {}",
        unless: Some(field!(pedal.free_play)),
        ..ROW
    },
    Adjustment {
        field: field!(bearing.free_play),
        reach: (0.5, 5.0),
        usual: loss(field!(bearing.free_play), Better::Less),
        work: Work::Adjust,
        asks: "set the bearing's gap to the fingers to {}",
        ..ROW
    },
    Adjustment {
        field: field!(slave.rest_extension),
        reach: (0.0, 60.0),
        work: Work::Adjust,
        asks: "set the slave's rod for a rest extension of {}",
        asks_new: Some("set the slave's rod for a rest extension of {}"),
        ..ROW
    },
    Adjustment {
        field: field!(cable.play),
        reach: (0.0, 3.0),
        usual: loss(field!(cable.play), Better::Less),
        work: Work::Adjust,
        asks: "take up the cable's play to {}",
        way: Way::Down,
        ..ROW
    },
    Adjustment {
        field: field!(fluid.air),
        reach: (0.0, 0.0),
        usual: loss(field!(fluid.air), Better::Less),
        work: Work::Adjust,
        asks: "bleed the air out, to {}",
        way: Way::Down,
        ..ROW
    },
    Adjustment {
        field: field!(pedal.return_force),
        reach: (0.0, 120.0),
        work: Work::Adjust,
        asks: "fit a return spring of {} at the pad in place of this one",
        asks_new: Some("fit a return spring of {} at the pad"),
        way: Way::Up,
        ..ROW
    },
    Adjustment {
        field: field!(master.return_force),
        reach: (0.0, 80.0),
        asks: "use a master whose return spring pushes with {}",
        ..ROW
    },
    Adjustment {
        field: field!(slave.preload),
        reach: (10.0, 200.0),
        asks: "use a preload spring of {} in the slave or on the fork",
        way: Way::Down,
        ..ROW
    },
    Adjustment {
        field: field!(slave.adjust_preload),
        reach: (20.0, 200.0),
        usual: loss(field!(slave.adjust_preload), Better::Less),
        asks: "use an adjuster on the slave's rod with a spring of {}",
        way: Way::Down,
        ..ROW
    },
    Adjustment {
        field: field!(cable.adjust_preload),
        reach: (20.0, 200.0),
        usual: loss(field!(cable.adjust_preload), Better::Less),
        asks: "use a cable whose adjuster has a spring of {}",
        way: Way::Down,
        ..ROW
    },
    Adjustment {
        field: field!(linkage.adjust_preload),
        reach: (20.0, 200.0),
        usual: loss(field!(linkage.adjust_preload), Better::Less),
        asks: "use an adjuster on the rod with a spring of {}",
        way: Way::Down,
        ..ROW
    },
    Adjustment {
        field: field!(pedal.assist_rate),
        reach: (2.0, 60.0),
        asks: "use an over-center spring of {}",
        ..ROW
    },
    Adjustment {
        field: field!(intensifier.stroke),
        reach: (10.0, 80.0),
        asks: "use an intensifier with {} of stroke or more",
        ..ROW
    },
    Adjustment {
        field: field!(slave.bore),
        reach: (12.0, 32.0),
        asks: "use {} slave",
        sizes: Sizes::Bores,
        ..ROW
    },
    Adjustment {
        field: field!(master.bore),
        reach: (12.0, 32.0),
        asks: "use {} master",
        sizes: Sizes::Bores,
        ..ROW
    },
    Adjustment {
        field: field!(master.stroke),
        reach: (10.0, 60.0),
        asks: "use a master with {} of stroke or more",
        way: Way::Up,
        ..ROW
    },
    Adjustment {
        field: field!(slave.stroke),
        reach: (10.0, 60.0),
        asks: "use a slave with {} of stroke or more",
        way: Way::Up,
        ..ROW
    },
    Adjustment {
        field: field!(line.expansion),
        reach: (0.05 * HOSE, 1.04 * HOSE),
        usual: loss(field!(line.expansion), Better::Less),
        asks: "use a hose of {} or less",
        sizes: Sizes::Hoses,
        way: Way::Down,
        ..ROW
    },
    Adjustment {
        field: field!(line.orifice),
        reach: (0.5, 4.0),
        asks: "use a delay valve with an orifice of {} or more",
        way: Way::Up,
        ..ROW
    },
    Adjustment {
        field: field!(line.bore),
        reach: (2.0, 8.0),
        asks: "use a line with {} of bore or more",
        way: Way::Up,
        ..ROW
    },
    Adjustment {
        field: field!(cable.bends),
        reach: (90.0 * DEGREE, 270.0 * DEGREE),
        usual: loss(field!(cable.bends), Better::Less),
        asks: "run the cable with {} of bends in all",
        way: Way::Down,
        ..ROW
    },
    Adjustment {
        field: field!(cable.friction),
        reach: (0.05, 0.2),
        usual: loss(field!(cable.friction), Better::Less),
        asks: "use a lined cable with a friction of {}",
        way: Way::Down,
        ..ROW
    },
    Adjustment {
        field: field!(cable.stiffness),
        reach: (50.0, 400.0),
        usual: loss(field!(cable.stiffness), Better::More),
        asks: "use a cable and sheath of {} or stiffer",
        way: Way::Up,
        ..ROW
    },
    Adjustment {
        field: field!(linkage.play),
        reach: (0.0, 3.0),
        usual: loss(field!(linkage.play), Better::Less),
        asks: "replace bushings and clevis pins, for a play of {} or less",
        way: Way::Down,
        ..ROW
    },
    Adjustment {
        field: field!(linkage.stiffness),
        reach: (100.0, 2000.0),
        usual: loss(field!(linkage.stiffness), Better::More),
        work: Work::Rebuild,
        asks: "brace the cross-shaft to {} or stiffer",
        way: Way::Up,
        ..ROW
    },
    Adjustment {
        field: field!(cover.clamp_load),
        reach: (1500.0, 12_000.0),
        asks: "use a cover with {} of clamp load, and enter its own release load, which makes the pedal heavier",
        way: Way::Up,
        changes_load: true,
        ..ROW
    },
    Adjustment {
        field: field!(master.mount_stiffness),
        reach: (300.0, 3000.0),
        usual: loss(field!(master.mount_stiffness), Better::More),
        work: Work::Rebuild,
        asks: "brace the firewall to {} or stiffer",
        way: Way::Up,
        ..ROW
    },
    Adjustment {
        field: field!(slave.mount_stiffness),
        reach: (300.0, 3000.0),
        usual: loss(field!(slave.mount_stiffness), Better::More),
        work: Work::Rebuild,
        asks: "brace the slave's bracket to {} or stiffer",
        way: Way::Up,
        ..ROW
    },
    Adjustment {
        field: field!(disc.cushion),
        reach: (0.3, 1.5),
        asks: "use a disc with {} of cushion",
        ..ROW
    },
    Adjustment {
        field: field!(fork.stiffness),
        reach: (500.0, 3000.0),
        usual: loss(field!(fork.stiffness), Better::More),
        asks: "use a fork of {} or stiffer",
        way: Way::Up,
        ..ROW
    },
    Adjustment {
        field: field!(pedal.travel),
        reach: (80.0, 180.0),
        usual: design(field!(pedal.travel)),
        work: Work::Rebuild,
        asks: "let the pedal travel {}",
        // A stop already makes it less.
        way: Way::Up,
        ..ROW
    },
    Adjustment {
        field: field!(pedal.ratio),
        reach: (3.5, 8.0),
        usual: design(field!(pedal.ratio)),
        work: Work::Rebuild,
        asks: "use a pedal ratio of {}",
        unless: Some(field!(pedal.rod_arm)),
        ..ROW
    },
    Adjustment {
        field: field!(pedal.rod_arm),
        reach: (25.0, 120.0),
        work: Work::Rebuild,
        asks: "move the rod's pin on the pedal to {} from the pivot",
        unless: Some(field!(pedal.ratio)),
        ..ROW
    },
    Adjustment {
        field: field!(pedal.rod_offset),
        reach: (-30.0, 30.0),
        work: Work::Rebuild,
        asks: "set the master with its bore's line {} beside the rod's pin, counted away from the pedal's pivot",
        asks_new: Some(
            "set the master with its bore's line {} beside the rod's pin, counted away from the pedal's pivot",
        ),
        ..ROW
    },
    Adjustment {
        field: field!(pedal.rod_length),
        reach: (30.0, 400.0),
        work: Work::Rebuild,
        asks: "use a pushrod of {}, with the master as much further off",
        way: Way::Up,
        ..ROW
    },
    Adjustment {
        field: field!(pedal.arm_angle),
        reach: (-60.0 * DEGREE, 60.0 * DEGREE),
        work: Work::Rebuild,
        asks: "set the pedal's rod arm {} from square at rest",
        ..ROW
    },
    Adjustment {
        field: field!(linkage.in_arm),
        reach: (25.0, 200.0),
        work: Work::Rebuild,
        asks: "use a cross-shaft with an arm of {} at the pedal's rod",
        ..ROW
    },
    Adjustment {
        field: field!(linkage.out_arm),
        reach: (25.0, 200.0),
        work: Work::Rebuild,
        asks: "use a cross-shaft with an arm of {} at the fork's rod",
        ..ROW
    },
    Adjustment {
        field: field!(cable.adjust_range),
        reach: (5.0, 60.0),
        work: Work::Replace,
        asks: "use a cable whose adjuster goes {} at the fork's end",
        way: Way::Up,
        ..ROW
    },
    Adjustment {
        field: field!(linkage.adjust_range),
        reach: (5.0, 60.0),
        work: Work::Replace,
        asks: "use a rod with {} of thread for adjusting",
        way: Way::Up,
        ..ROW
    },
    Adjustment {
        field: field!(slave.adjust_range),
        reach: (5.0, 60.0),
        work: Work::Replace,
        asks: "use a slave's rod with {} of thread for adjusting",
        way: Way::Up,
        ..ROW
    },
    Adjustment {
        field: field!(relay.in_arm),
        reach: (25.0, 200.0),
        work: Work::Rebuild,
        asks: "use a relay lever with an in arm of {}",
        ..ROW
    },
    Adjustment {
        field: field!(relay.out_arm),
        reach: (25.0, 200.0),
        work: Work::Rebuild,
        asks: "use a relay lever with an out arm of {}",
        ..ROW
    },
    Adjustment {
        field: field!(relay.in_angle),
        reach: (-45.0 * DEGREE, 45.0 * DEGREE),
        usual: design(field!(relay.in_angle)),
        work: Work::Rebuild,
        asks: "set the in arm of the relay lever {} from square at rest",
        ..ROW
    },
    Adjustment {
        field: field!(relay.out_angle),
        reach: (-45.0 * DEGREE, 45.0 * DEGREE),
        usual: design(field!(relay.out_angle)),
        work: Work::Rebuild,
        asks: "set the out arm of the relay lever {} from square at rest",
        ..ROW
    },
    Adjustment {
        field: field!(linkage.in_angle),
        reach: (-45.0 * DEGREE, 45.0 * DEGREE),
        work: Work::Rebuild,
        asks: "set the cross-shaft's arm at the pedal's rod {} from square at rest",
        ..ROW
    },
    Adjustment {
        field: field!(linkage.out_angle),
        reach: (-45.0 * DEGREE, 45.0 * DEGREE),
        work: Work::Rebuild,
        asks: "set the cross-shaft's arm at the fork's rod {} from square at rest",
        ..ROW
    },
    Adjustment {
        field: field!(fork.ratio),
        reach: (1.2, 2.8),
        work: Work::Rebuild,
        asks: "use a fork ratio of {}",
        unless: Some(field!(fork.slave_arm)),
        ..ROW
    },
    Adjustment {
        field: field!(fork.slave_arm),
        reach: (60.0, 250.0),
        work: Work::Rebuild,
        asks: "use a fork with an arm of {} at its outer end",
        unless: Some(field!(fork.ratio)),
        ..ROW
    },
    Adjustment {
        field: field!(fork.pivot_height),
        reach: (-60.0, 200.0),
        work: Work::Adjust,
        asks: "shim the fork pivot to stand {} from the gearbox's face",
        ..ROW
    },
    Adjustment {
        field: field!(fork.window),
        reach: (10.0, 60.0),
        work: Work::Rebuild,
        asks: "open the fork's window in the housing to {}",
        way: Way::Up,
        ..ROW
    },
    Adjustment {
        field: field!(bearing.max_travel),
        reach: (8.0, 40.0),
        work: Work::Rebuild,
        asks: "use a guide that lets the bearing slide {} or more",
        way: Way::Up,
        ..ROW
    },
];

#[cfg(test)]
mod tests {
    use super::ADJUSTMENTS;

    #[test]
    fn every_row_is_complete_and_unique() {
        for (i, row) in ADJUSTMENTS.iter().enumerate() {
            let path = row.field.path();
            assert!(row.asks.contains("{}"), "{path}");
            assert!(
                row.asks_new.is_none_or(|asks| asks.contains("{}")),
                "{path}"
            );
            assert!(row.reach.0 <= row.reach.1, "{path}");
            if let Some(usual) = row.usual {
                assert!(usual.low <= usual.high, "{path}");
            }
            let again = ADJUSTMENTS[..i]
                .iter()
                .any(|other| other.field == row.field);
            assert!(!again, "{path} stands twice");
        }
    }
}
