//! The blocks and their fields.
//!
//! One row per field. Values are in internal units: mm, N, MPa, rad, s, tonne, K.
//!
//! A `usual` window is wide enough for every ordinary part. It is narrow enough to show inches written as
//! millimeters, psi as bar, or a missing factor of a thousand. A field where no such slip would show has none. All of
//! these windows are common practice, no source.

use super::fit;
use super::order::whole;
use super::{Alternatives, Block, Choice, Field, Kind, Range};
use crate::quantity::Dimension;

/// Every block of the language, in the order from the pedal to the pressure plate.
pub static BLOCKS: &[Block] = &[
    whole!(PEDAL, fit::NONE),
    whole!(fit::FIREWALL_BLOCK, fit::NONE),
    whole!(MASTER, fit::MASTER),
    whole!(LINE, fit::LINE),
    whole!(fit::FITTING_BLOCK, fit::NONE),
    whole!(INTENSIFIER, fit::LINE),
    whole!(FLUID, fit::NONE),
    whole!(SLAVE, fit::SLAVE),
    whole!(fit::BRACKET_BLOCK, fit::NONE),
    whole!(CABLE, fit::NONE),
    whole!(LINKAGE, fit::NONE),
    whole!(RELAY, fit::NONE),
    whole!(FORK, fit::FORK),
    whole!(BEARING, fit::BEARING),
    whole!(COVER, fit::NONE),
    whole!(DIAPHRAGM, fit::NONE),
    whole!(DISC, fit::DISC),
    whole!(FLYWHEEL, fit::NONE),
    whole!(ENGINE, fit::ENGINE),
    whole!(fit::ADAPTER_BLOCK, fit::NONE),
    whole!(BELLHOUSING, fit::BELLHOUSING),
    whole!(GEARBOX, fit::GEARBOX),
    whole!(MEASURED, fit::NONE),
];

const NUMBER: Kind = Kind::Quantity(Dimension::NUMBER);
const LENGTH: Kind = Kind::Quantity(Dimension::LENGTH);
const VOLUME: Kind = Kind::Quantity(Dimension::VOLUME);
const FORCE: Kind = Kind::Quantity(Dimension::FORCE);
const PRESSURE: Kind = Kind::Quantity(Dimension::PRESSURE);
const STIFFNESS: Kind = Kind::Quantity(Dimension::STIFFNESS);
const TORQUE: Kind = Kind::Quantity(Dimension::TORQUE);
const ANGLE: Kind = Kind::Quantity(Dimension::ANGLE);
const DENSITY: Kind = Kind::Quantity(Dimension::DENSITY);
const VISCOSITY: Kind = Kind::Quantity(Dimension::VISCOSITY);
const TEMPERATURE: Kind = Kind::Quantity(Dimension::TEMPERATURE);
const PER_KELVIN: Kind = Kind::Quantity(Dimension::PER_KELVIN);
const EXPANSION: Kind = Kind::Quantity(Dimension::EXPANSION);
const FORCE_OVER_TRAVEL: Kind = Kind::Curve {
    x: Dimension::LENGTH,
    y: Dimension::FORCE,
};
const FORCE_OVER_TRAVEL_OR_PEAK: Kind = Kind::CurveOrPeak {
    x: Dimension::LENGTH,
    y: Dimension::FORCE,
};
const READING_OVER_ANGLE: Kind = Kind::Curve {
    x: Dimension::ANGLE,
    y: Dimension::LENGTH,
};

const READING_OVER_ANGLE_OR_BOTTOM: Kind = Kind::CurveOrPeak {
    x: Dimension::ANGLE,
    y: Dimension::LENGTH,
};

/// Whether fluid flows through a piece of line.
const DEAD_END: Kind = Kind::Choice(&[
    Choice {
        name: "yes",
        doc: "It ends in a bleed screw: it holds fluid and swells, and nothing flows through it.",
    },
    Choice {
        name: "no",
        doc: "All that the slave takes flows through it.",
    },
]);

/// How the pedal's rod meets the master's piston.
const MASTER_ROD: Kind = Kind::Choice(&[
    Choice {
        name: "loose",
        doc: "It only pushes: with the pedal up there must be a gap between rod and piston.",
    },
    Choice {
        name: "captive",
        doc: "It is held in the piston, and pulls it back with the pedal.",
    },
]);

/// What stops the pedal when it is released.
const PEDAL_RESTS: Kind = Kind::Choice(&[
    Choice {
        name: "on_stop",
        doc: "On a stop of its own. Rod and piston must leave each other room.",
    },
    Choice {
        name: "on_master",
        doc: "On the master's piston, which is then home on its own snap ring.",
    },
]);

/// The seals' rubber. Which fluids each withstands is common practice, no source.
const SEALS: Kind = Kind::Choice(&[
    Choice {
        name: "epdm",
        doc: "Stands glycol brake fluids (DOT 3, DOT 4, DOT 5.1) and silicone brake fluid (DOT 5). \
             Mineral oil swells and ruins it.",
    },
    Choice {
        name: "sbr",
        doc: "The classic cups of brake and clutch cylinders. Stands glycol brake fluids; mineral oil ruins it.",
    },
    Choice {
        name: "natural_rubber",
        doc: "Old cups. Stands glycol brake fluids; mineral oil ruins it.",
    },
    Choice {
        name: "nbr",
        doc: "Stands mineral oil. Glycol brake fluids attack it.",
    },
    Choice {
        name: "fkm",
        doc: "Stands mineral oil, also hot. Glycol brake fluids attack it.",
    },
]);

/// Grades of brake fluid, and mineral oil.
const GRADE: Kind = Kind::Choice(&[
    Choice {
        name: "dot3",
        doc: "Glycol brake fluid, the oldest grade in use; mixes with the other glycol grades.",
    },
    Choice {
        name: "dot4",
        doc: "Glycol brake fluid of a higher boiling point; the ordinary clutch and brake fluid.",
    },
    Choice {
        name: "dot5",
        doc: "Silicone brake fluid. Takes up no water, gives more under pressure, and must not be \
             mixed with the glycol grades.",
    },
    Choice {
        name: "dot5_1",
        doc: "Glycol brake fluid that stays thin in the cold; not silicone, in spite of its \
             number.",
    },
    Choice {
        name: "mineral",
        doc: "Mineral hydraulic oil, for systems whose seals are made for it; not a brake fluid.",
    },
]);

/// Directions along the car, by its ends or by the engine.
const MOVES: Kind = Kind::Choice(&[
    Choice {
        name: "forward",
        doc: "Towards the front of the car.",
    },
    Choice {
        name: "rearward",
        doc: "Towards the rear of the car.",
    },
    Choice {
        name: "to_engine",
        doc: "Towards the engine, wherever in the car it stands.",
    },
    Choice {
        name: "from_engine",
        doc: "Away from the engine, towards the gearbox.",
    },
]);

/// On which side of the engine the gearbox is, along the car.
const SIDE: Kind = Kind::Choice(&[
    Choice {
        name: "behind",
        doc: "Behind the engine, as seen from the front of the car.",
    },
    Choice {
        name: "ahead",
        doc: "Ahead of the engine, as seen from the front of the car: nearer to it.",
    },
]);

/// How the slave's rod meets the fork.
const ROD_END: Kind = Kind::Choice(&[
    Choice {
        name: "ball",
        doc: "A ball in a cup, or a ball joint: the rod may swing to any side.",
    },
    Choice {
        name: "clevis",
        doc: "A clevis and pin: the rod swings in one plane only.",
    },
    Choice {
        name: "plain",
        doc: "A rounded end that sits loose in a dimple and falls out when nothing pushes on it.",
    },
]);

/// What takes up the wear of the disc.
const ADJUSTER: Kind = Kind::Choice(&[
    Choice {
        name: "none",
        doc: "Nothing: as if it were left out.",
    },
    Choice {
        name: "manual",
        doc: "A thread that a mechanic sets again in time, so that the free play is what it was.",
    },
    Choice {
        name: "auto",
        doc: "A ratchet or the like that takes up all slack by itself: the bearing stays at the fingers, with no free play.",
    },
]);

/// Where a relay lever is in the train.
const AT: Kind = Kind::Choice(&[
    Choice {
        name: "pedal",
        doc: "Between the pedal's rod and the master, the cable or the linkage.",
    },
    Choice {
        name: "fork",
        doc: "Between the slave, the cable or the linkage and the fork.",
    },
]);

/// The side of an intensifier that a piece of line is on.
const LINE_AT: Kind = Kind::Choice(&[
    Choice {
        name: "master",
        doc: "Between the master and the intensifier.",
    },
    Choice {
        name: "slave",
        doc: "Between the intensifier and the slave, at the slave's pressure.",
    },
]);

/// When a release bearing may turn.
const RUNS: Kind = Kind::Choice(&[
    Choice {
        name: "always",
        doc: "It may rest on the fingers and turn whenever the engine does.",
    },
    Choice {
        name: "released",
        doc: "It may turn only while the pedal is down, and must clear the fingers at rest.",
    },
]);

/// Whether a lever reverses the direction of the push.
const REVERSES: Kind = Kind::Choice(&[
    Choice {
        name: "yes",
        doc: "Its two rods move opposite ways: the arms stand on opposite sides of the shaft.",
    },
    Choice {
        name: "no",
        doc: "Its two rods move the same way: the arms stand on the same side of the shaft.",
    },
]);

/// Where the fork's pivot is, seen along the fork.
const PIVOT: Kind = Kind::Choice(&[
    Choice {
        name: "between",
        doc: "The pivot lies between the slave and the bearing: the bearing moves against the \
             slave's way.",
    },
    Choice {
        name: "outboard",
        doc: "The pivot lies at the fork's end, slave and bearing both to one side of it: the \
             bearing moves the slave's way.",
    },
]);

/// What happens to the fingers' rest position as the disc wears.
const ADJUSTS: Kind = Kind::Choice(&[
    Choice {
        name: "none",
        doc: "The fingers come back towards the gearbox as the disc wears.",
    },
    Choice {
        name: "self",
        doc: "The cover takes up the disc's wear by itself: the fingers stay where they are, and load and clamp load stay those of a new disc.",
    },
]);

/// Which way the fingers go to release.
const ACTION: Kind = Kind::Choice(&[
    Choice {
        name: "push",
        doc: "The bearing pushes the fingers towards the flywheel to release.",
    },
    Choice {
        name: "pull",
        doc: "The bearing pulls the fingers away from the flywheel to release.",
    },
]);

/// Lamé's equation for a thick tube under pressure whose ends are free.
const LAME: &str = "Lamé's thick cylinder, ends open";
/// The diaphragm calculated as a cone spring.
const CONE_SPRING: &str = "Almen–László; DIN 2092 form";

const PEDAL: Block = Block {
    name: "pedal",
    doc: "The clutch pedal: a lever from the driver's foot to the rod that it pushes.",
    repeated: false,
    labelled: false,
    takes_parts: true,
    needs: &[],
    alternatives: &[
        Alternatives {
            ways: &[&["ratio"], &["pad_arm", "rod_arm"]],
            required: true,
        },
        Alternatives {
            ways: &[
                &["assist"],
                &[
                    "assist_rate",
                    "assist_free_length",
                    "assist_anchor",
                    "assist_hook",
                    "assist_angle",
                ],
            ],
            required: false,
        },
    ],
    fields: &[
        Field::new(
            "travel",
            LENGTH,
            "How far the pad can be pressed, along its arc, from rest to where the pedal or the \
             carpet ends it.",
        )
        .required()
        .range(Range::POSITIVE)
        .usual(60.0, 300.0),
        Field::new(
            "ratio",
            NUMBER,
            "Pad travel over rod travel, taken as the same all along the stroke. Use it where \
             only the ratio is known; `pad_arm` and `rod_arm` say more.",
        )
        .alternative()
        .range(Range::POSITIVE)
        .source("lever; OpenStax College Physics 2e, section 9.5"),
        Field::new(
            "pad_arm",
            LENGTH,
            "From the pedal's pivot to the middle of the pad, straight across.",
        )
        .needs(&[&["pedal.rod_arm"]])
        .alternative()
        .range(Range::POSITIVE)
        .usual(100.0, 600.0),
        Field::new(
            "rod_arm",
            LENGTH,
            "From the pedal's pivot to the pin of the rod, straight across. With `pad_arm` it \
             makes the ratio: a pin moved towards the pivot gives a lighter and longer pedal.",
        )
        .needs(&[&["pedal.pad_arm"]])
        .alternative()
        .range(Range::POSITIVE)
        .usual(20.0, 200.0),
        Field::new(
            "free_play",
            LENGTH,
            "How far the pad moves before the rod touches the master's piston, measured at the \
             pad. With a cable or a cross-shaft: the play in the pedal's own pivot and pin alone; slack behind it goes \
             in `cable.play` or `linkage.play`. `master.rod_clearance` is the same gap, measured at the rod: give one of them. Both \
             are an error where they disagree.",
        )
        .default(0.0, "0 mm"),
        Field::new(
            "arm_angle",
            ANGLE,
            "How far the rod arm stands from square to the rod with the pedal at rest; above zero \
             while it has yet to come square as the pedal goes down, below zero when it is \
             already past. Left out, the arm is taken to come square at mid travel.",
        )
        .needs(&[&["pedal.rod_arm"]])
        .range(Range::ACUTE)
        .source("slider-crank; the assumption is common practice, no source"),
        Field::new(
            "rod_length",
            LENGTH,
            "Length of the pedal's rod between its pin and its seat in the piston. With it the \
             rod's swing is worked out; left out, the rod is taken to stay in line.",
        )
        .needs(&[&["pedal.rod_arm"]])
        .range(Range::POSITIVE)
        .usual(30.0, 600.0)
        .source("slider-crank"),
        Field::new(
            "rod_offset",
            LENGTH,
            "How far the line of the master's bore lies beside the rod's pin on the pedal at rest, square to that line; \
             above zero away from the pedal's pivot. Sight along the bore with the rod off, or measure both from the \
             firewall's floor. Left out, the rod lies in line at rest.",
        )
        .needs(&[&["pedal.rod_arm", "pedal.rod_length"]])
        .range(Range::ANY)
        .usual(-30.0, 30.0)
        .source("slider-crank; the usual offset is common practice, no source"),
        Field::new(
            "efficiency",
            NUMBER,
            "What the pivot's friction leaves of the force that the foot puts in.",
        )
        .default(0.95, "0.95")
        .range(Range::EFFICIENCY),
        Field::new(
            "return_force",
            FORCE,
            "What the pedal's own return spring pushes back with, measured at the pad with the \
             rod off. Taken as the same all along the travel.",
        )
        .default(0.0, "0 N"),
        Field::new(
            "drag",
            FORCE,
            "Friction in the pedal's pivot that is there without a load, at the pad. Take the rod off and pull the pad \
             both ways with a spring scale: half of the difference.",
        )
        .default(0.0, "0 N"),
        Field::new(
            "assist",
            FORCE_OVER_TRAVEL,
            "What an over-center or helper spring takes off the foot, as force at the pad over \
             pad travel; below zero where it still pushes the pedal up. Weigh the pedal with and \
             without the spring to get it.",
        )
        .alternative()
        .range(Range::ANY),
        Field::new(
            "assist_rate",
            STIFFNESS,
            "How hard the over-center spring is to stretch, in place of `assist`: hang a known weight on it and \
             measure how much longer it gets.",
        )
        .needs(&[&["pedal.pad_arm", "pedal.assist_free_length", "pedal.assist_anchor", "pedal.assist_hook", "pedal.assist_angle"]])
        .alternative()
        .range(Range::POSITIVE)
        .usual(0.5, 200.0)
        .source("law of the spring and of the lever; the usual rate is common practice, no source"),
        Field::new(
            "assist_free_length",
            LENGTH,
            "Length of the over-center spring between its hooks where it just begins to pull. Measure it off the car.",
        )
        .needs(&[&["pedal.pad_arm", "pedal.assist_rate", "pedal.assist_anchor", "pedal.assist_hook", "pedal.assist_angle"]])
        .alternative()
        .range(Range::POSITIVE)
        .usual(15.0, 400.0),
        Field::new(
            "assist_anchor",
            LENGTH,
            "From the pedal's pivot to the over-center spring's anchor on the bracket, straight across.",
        )
        .needs(&[&["pedal.pad_arm", "pedal.assist_rate", "pedal.assist_free_length", "pedal.assist_hook", "pedal.assist_angle"]])
        .alternative()
        .range(Range::POSITIVE)
        .usual(10.0, 400.0),
        Field::new(
            "assist_hook",
            LENGTH,
            "From the pedal's pivot to the over-center spring's hook on the pedal, straight across.",
        )
        .needs(&[&["pedal.pad_arm", "pedal.assist_rate", "pedal.assist_free_length", "pedal.assist_anchor", "pedal.assist_angle"]])
        .alternative()
        .range(Range::POSITIVE)
        .usual(5.0, 200.0),
        Field::new(
            "assist_angle",
            ANGLE,
            "How far the hook has yet to turn at rest until anchor, pivot and hook are in line, the pivot between them: \
             there the spring turns over from holding the pedal up to helping it down. Below zero where it is past that \
             already. Usually 3 to 15 deg.",
        )
        .needs(&[&["pedal.pad_arm", "pedal.assist_rate", "pedal.assist_free_length", "pedal.assist_anchor", "pedal.assist_hook"]])
        .alternative()
        .range(Range::ACUTE)
        .source("planar kinematics; the usual angle is common practice, no source"),
        Field::new(
            "stop",
            LENGTH,
            "Pad travel at which a pedal stop that is already fitted ends it, measured from rest \
             along the pad's arc.",
        )
        .range(Range::POSITIVE)
        .usual(30.0, 300.0),
        Field::new(
            "start_switch",
            LENGTH,
            "Pad travel at which the clutch switch lets the starter run. Hold the key at start with the gearbox in \
             neutral and press the pedal slowly until the engine cranks. Usually 0.4 to 0.8 in (10 to 20 mm) before the pedal's end.",
        )
        .range(Range::POSITIVE)
        .usual(20.0, 300.0),
        Field::new(
            "cruise_switch",
            LENGTH,
            "Pad travel at which the clutch switch turns cruise control off. A test lamp or a scan tool shows it. \
             Usually within the pedal's free travel.",
        )
        .range(Range::POSITIVE)
        .usual(0.5, 100.0),
        Field::new(
            "rests",
            PEDAL_RESTS,
            "What the pedal rests on when the foot is off it. Push the pad up by hand: where it \
             moves no further and a stop is touched, it rests on that.",
        )
        .needs(&[
            &["master", "pedal.free_play"],
            &["master", "master.rod_clearance"],
        ]),
    ],
};

/// The field for the seals of every component that has a piston with cups.
const CUPS: Field = Field::new(
    "seals",
    SEALS,
    "What the cups are made of, which decides which fluids they stand.",
)
.needs(&[&["fluid.grade"]]);

const MASTER: Block = Block {
    name: "master",
    doc: "The master cylinder, whose piston the pedal's rod pushes and which sends fluid to the \
         slave.",
    repeated: false,
    labelled: false,
    takes_parts: true,
    needs: &[],
    alternatives: &[],
    fields: &[
        Field::new(
            "bore",
            LENGTH,
            "Diameter of the cylinder's bore. A larger one moves the slave further and makes the \
             pedal heavier, both with the square of the bore.",
        )
        .required()
        .range(Range::POSITIVE)
        .usual(8.0, 60.0),
        Field::new(
            "stroke",
            LENGTH,
            "How far the piston can move from rest to the bottom of its bore.",
        )
        .required()
        .range(Range::POSITIVE)
        .usual(5.0, 80.0),
        Field::new(
            "port_travel",
            LENGTH,
            "Piston travel from rest until the compensating port, or the center valve, is shut. \
             Until then fluid goes back to the reservoir and the slave stands still.",
        )
        .default(0.0, "0 mm"),
        Field::new(
            "rod_clearance",
            LENGTH,
            "Gap between the rod's end and the piston's seat with the pedal at rest. It is the \
             pedal's free play seen from the rod; `pedal.free_play` is the same, measured at the \
             pad. Give one of them. Both are an error where they disagree.",
        )
        .default(0.0, "0 mm"),
        Field::new(
            "efficiency",
            NUMBER,
            "What the seals' friction leaves of the rod's force as pressure on the fluid.",
        )
        .default(0.95, "0.95")
        .range(Range::EFFICIENCY),
        Field::new(
            "return_force",
            FORCE,
            "What the spring inside the cylinder pushes the piston back with, at the rod. Taken \
             as the same all along the stroke.",
        )
        .default(0.0, "0 N"),
        Field::new(
            "drag",
            FORCE,
            "Friction of the piston's seals that is there without pressure, at the rod. On the bench, with both ports \
             open, push the piston in and let it back against a spring scale: half of the difference.",
        )
        .default(0.0, "0 N"),
        Field::new(
            "mount_stiffness",
            STIFFNESS,
            "How hard the firewall or bracket that carries the master is to bend: force along the \
             rod over how far the cylinder's body moves away under it. A dial gauge on the body \
             while someone presses the pedal shows it.",
        )
        .range(Range::POSITIVE)
        .usual(20.0, 100_000.0),
        Field::new(
            "reservoir",
            VOLUME,
            "Fluid that the reservoir holds between its full and its lowest safe mark. It must \
             cover what the slave takes in as things move and wear.",
        )
        .range(Range::POSITIVE)
        .usual(5e3, 2e6),
        Field::new(
            "max_pressure",
            PRESSURE,
            "The highest working pressure that the master's maker allows, gauge.",
        )
        .range(Range::POSITIVE)
        .usual(1.5, 40.0),
        CUPS,
        Field::new(
            "rod",
            MASTER_ROD,
            "How the pedal's rod meets the piston. Unhook it at the pedal and pull: one that comes \
             out by itself is loose.",
        )
        .needs(&[&["pedal.free_play"], &["master.rod_clearance"]]),
        Field::new(
            "slope",
            ANGLE,
            "How much higher the front end of the bore, away from the pedal, lies than its outlet, as the master sits in \
             the car. Above zero, a bubble stays in that end. Lay a level along the bore; firewalls usually lean by 0 to \
             20 deg.",
        )
        .needs(&[&["master.chamber"]])
        .range(Range::ACUTE),
        Field::new(
            "chamber",
            LENGTH,
            "Length of the fluid space along the bore, from the outlet to the front end, in which a bubble can sit.",
        )
        .needs(&[&["master.slope"]])
        .range(Range::POSITIVE)
        .usual(1.0, 150.0),
    ],
};

const LINE: Block = Block {
    name: "line",
    doc: "One length of tube or hose between master and slave; give one block for each, with a \
         label of your own.",
    repeated: true,
    labelled: false,
    takes_parts: false,
    needs: &[&["master"]],
    alternatives: &[Alternatives {
        ways: &[&["expansion"], &["wall"]],
        required: false,
    }],
    fields: &[
        Field::new(
            "bore",
            LENGTH,
            "Inside diameter, not the outside diameter by which tube is sold. Fluid volume, \
             swelling and flow in the cold hang on it.",
        )
        .needs(&[
            &["line.wall"],
            &["fluid.bulk_modulus"],
            &["fluid.viscosity"],
            &["fluid.coldest", "fluid.grade"],
        ])
        .required()
        .range(Range::POSITIVE)
        .usual(1.5, 12.0),
        Field::new("length", LENGTH, "Length of this piece along its run.")
            .needs(&[
                &["line.expansion"],
                &["line.wall"],
                &["fluid.bulk_modulus"],
                &["fluid.viscosity"],
                &["fluid.coldest", "fluid.grade"],
            ])
            .required()
            .range(Range::POSITIVE)
            .usual(20.0, 20_000.0),
        Field::new(
            "expansion",
            EXPANSION,
            "Volume that the piece gains per length and per pressure, from its data sheet, such \
             as 0.33 cc/ft / 1000 psi. For hoses; for tube give `wall`. With neither, the line \
             counts as rigid.",
        )
        .alternative()
        .usual(0.0, 1.5)
        .source("meaning as in 49 CFR 571.106, from memory"),
        Field::new(
            "wall",
            LENGTH,
            "Wall thickness of a tube, from which its swelling is worked out with `modulus` and \
             `poisson`. For hoses give `expansion`; with neither, the line counts as rigid.",
        )
        .alternative()
        .range(Range::POSITIVE)
        .usual(0.25, 5.0)
        .source(LAME),
        Field::new(
            "heat",
            PER_KELVIN,
            "How much more the hose swells for each kelvin above the 23 degC at which its \
             `expansion` was tested, as a share of it: for rubber usually about 0.005 K^-1.",
        )
        .needs(&[&["line.expansion", "fluid.hottest"]])
        .usual(1e-4, 0.03),
        Field::new(
            "at",
            LINE_AT,
            "On which side of the intensifier the piece lies: follow it by hand. Towards the slave the pressure is higher, \
             and what swells there costs more pedal.",
        )
        .needs(&[&["intensifier"]])
        .default_word("slave"),
        Field::new(
            "dead_end",
            DEAD_END,
            "Whether nothing flows through the piece, as through the line to a remote bleed screw. Follow it by hand: a \
             dead end stops at a bleed screw, not at a cylinder. Usually no.",
        )
        .needs(&[
            &["fluid.viscosity"],
            &["fluid.coldest", "fluid.grade"],
            &["line.orifice"],
        ]),
        Field::new(
            "orifice",
            LENGTH,
            "Bore of an orifice or a delay valve in the piece, through which the fluid must come back. The largest drill \
             whose shank passes shows it.",
        )
        .range(Range::POSITIVE)
        .usual(0.2, 4.0)
        .source("flow through an orifice; its coefficient of 0.65 is common practice, no source"),
        Field::new(
            "modulus",
            PRESSURE,
            "Young's modulus of the tube's material, used with `wall`. The default is that of \
             steel; copper alloys and above all plastics give more.",
        )
        .needs(&[&["line.wall"]])
        .default(205e3, "205 GPa")
        .range(Range::POSITIVE)
        .usual(250.0, 250e3),
        Field::new(
            "poisson",
            NUMBER,
            "Poisson's ratio of the tube's material, used with `wall`. The default suits steel \
             and most metals.",
        )
        .needs(&[&["line.wall"]])
        .default(0.3, "0.3")
        .range(Range::POISSON),
        Field::new(
            "max_pressure",
            PRESSURE,
            "The highest working pressure that the line's maker allows, gauge; not the pressure \
             at which it bursts.",
        )
        .range(Range::POSITIVE)
        .usual(1.5, 100.0),
    ],
};

const INTENSIFIER: Block = Block {
    name: "intensifier",
    doc: "A hydraulic intensifier in the line: a stepped piston whose large bore the master works and whose small bore works \
          the slave. The pressure goes up by the ratio of the areas, and the volume down by it.",
    repeated: false,
    labelled: false,
    takes_parts: true,
    needs: &[&["master"]],
    alternatives: &[],
    fields: &[
        Field::new(
            "in_bore",
            LENGTH,
            "Diameter of the bore that the master works. Read it off the casting, or measure the bore or its cup with a \
             caliper. A larger one makes the pedal lighter and loses travel.",
        )
        .required()
        .range(Range::POSITIVE)
        .usual(8.0, 80.0),
        Field::new(
            "out_bore",
            LENGTH,
            "Diameter of the bore that works the slave, measured as `in_bore`. A smaller one raises the pressure and loses \
             travel.",
        )
        .required()
        .range(Range::POSITIVE)
        .usual(8.0, 60.0),
        Field::new(
            "stroke",
            LENGTH,
            "How far the stepped piston can move from rest to the bottom of its bore: push it in with a rod, with the \
             lines off. At its end the slave goes no further, however hard the foot presses.",
        )
        .required()
        .range(Range::POSITIVE)
        .usual(5.0, 120.0),
        Field::new(
            "port_travel",
            LENGTH,
            "Piston travel from rest until the port that fills the small bore is shut. Until then the slave stands still. \
             With the line to the slave off, push the piston until fluid stops coming out of the port.",
        )
        .default(0.0, "0 mm"),
        Field::new(
            "efficiency",
            NUMBER,
            "What the friction of both seals leaves of the push from one bore to the other.",
        )
        .default(0.95, "0.95")
        .range(Range::EFFICIENCY),
        Field::new(
            "max_pressure",
            PRESSURE,
            "The highest working pressure at its outlet that the maker allows, gauge.",
        )
        .range(Range::POSITIVE)
        .usual(1.5, 100.0),
        CUPS,
    ],
};

const FLUID: Block = Block {
    name: "fluid",
    doc: "What fills the system, and the air that bleeding has left in it.",
    repeated: false,
    labelled: false,
    takes_parts: true,
    needs: &[&["master"]],
    alternatives: &[],
    fields: &[
        Field::new(
            "grade",
            GRADE,
            "The kind of fluid. It must suit the seals of both cylinders, and its grade limits \
             how thick it gets in the cold.",
        )
        .needs(&[
            &["master.seals"],
            &["slave.seals"],
            &["fluid.coldest", "line"],
            &["fluid.hottest"],
        ])
        .source(
            "49 CFR 571.116 (DOT 3, DOT 4, DOT 5, DOT 5.1); mineral oil is common \
                     practice, no source",
        ),
        Field::new(
            "bulk_modulus",
            PRESSURE,
            "How hard the fluid is to compress: pressure over the share of its volume that is \
             lost. For fluid free of air; put air into `air`.",
        )
        .range(Range::POSITIVE)
        .usual(300.0, 6000.0)
        .source("OpenStax College Physics 2e, section 5.3"),
        Field::new(
            "density",
            DENSITY,
            "Mass per volume. The default suits glycol brake fluids; silicone fluid and mineral \
             oil are lighter.",
        )
        .needs(&[
            &["fluid.viscosity", "line"],
            &["fluid.coldest", "fluid.grade", "line"],
            &["line.orifice"],
        ])
        .default(1.05e-9, "1050 kg/m^3")
        .range(Range::POSITIVE)
        .usual(6e-10, 1.5e-9),
        Field::new(
            "viscosity",
            VISCOSITY,
            "Kinematic viscosity at `coldest`, from the fluid's data sheet; 1 mm^2/s is 1 cSt. \
             Left out, the limit of the `grade` stands in for it.",
        )
        .needs(&[&["line"]])
        .range(Range::POSITIVE)
        .usual(0.5, 5000.0)
        .source("limits of the grades: 49 CFR 571.116 (DOT 3, DOT 4, DOT 5, DOT 5.1)"),
        Field::new(
            "coldest",
            TEMPERATURE,
            "The coldest that the fluid will be when the clutch must still come back in good \
             time.",
        )
        .needs(&[&["fluid.grade", "line"], &["fluid.viscosity", "line"]])
        .range(Range::ABSOLUTE)
        .usual(233.15, 320.0),
        Field::new(
            "air",
            VOLUME,
            "Air left in the system after bleeding, as the volume that it takes at atmospheric \
             pressure. It shrinks as the pedal goes down, and the slave is short by what it \
             loses.",
        )
        .default(0.0, "0 cc")
        .source("Boyle's law; OpenStax College Physics 2e, section 13.3"),
        Field::new(
            "ambient",
            PRESSURE,
            "Absolute pressure of the air outside. It is lower at altitude, where trapped air \
             takes more room.",
        )
        .needs(&[
            &["fluid.air"],
            &["slave.slope", "slave.chamber"],
            &["measured.slave_travel"],
            &["measured.bearing_travel"],
            &["measured.release_point"],
        ])
        .default(0.101_325, "101325 Pa")
        .range(Range::POSITIVE)
        .usual(0.04, 0.12)
        .source("ISO 2533, from memory; US Standard Atmosphere 1976"),
        Field::new(
            "hottest",
            TEMPERATURE,
            "The hottest that the fluid gets, at the slave or where the line passes the exhaust. A \
             thermometer strip on the slave after a long climb in traffic shows it; usually 70 to \
             120 degC.",
        )
        .range(Range::ABSOLUTE)
        .usual(290.0, 480.0),
        Field::new(
            "filled_at",
            TEMPERATURE,
            "The fluid's temperature when the port was last open, from which it grows as it warms.",
        )
        .needs(&[&["fluid.hottest"]])
        .default(293.15, "20 degC")
        .range(Range::ABSOLUTE)
        .usual(240.0, 340.0),
        Field::new(
            "growth",
            PER_KELVIN,
            "By which share of its volume the fluid grows for each kelvin; its data sheet may give \
             it. The default suits glycol brake fluids; silicone grows by a quarter more.",
        )
        .needs(&[&["fluid.hottest"]])
        .default(0.001, "0.001 K^-1")
        .usual(2e-4, 3e-3),
    ],
};

const SLAVE: Block = Block {
    name: "slave",
    doc: "The slave cylinder that moves the fork, or the concentric one around the input shaft \
         that moves the bearing itself.",
    repeated: false,
    labelled: false,
    takes_parts: true,
    needs: &[],
    alternatives: &[Alternatives {
        ways: &[&["bore"], &["outer", "inner"]],
        required: true,
    }],
    fields: &[
        Field::new(
            "bore",
            LENGTH,
            "Diameter of the bore of an ordinary slave. A smaller one moves further for the same \
             fluid and makes the pedal heavier.",
        )
        .alternative()
        .range(Range::POSITIVE)
        .usual(8.0, 60.0),
        Field::new(
            "pull_rod",
            LENGTH,
            "Of a slave that pulls, as one that pulls a cable: diameter of the rod that comes out through the fluid, whose \
             area pulls nothing. Measure it with a caliper. Left out, the slave pushes.",
        )
        .needs(&[&["slave.bore"]])
        .range(Range::POSITIVE)
        .usual(4.0, 25.0),
        Field::new(
            "outer",
            LENGTH,
            "Outer diameter of the ring-shaped piston of a concentric slave. It has no fork: the \
             bearing moves with the piston.",
        )
        .alternative()
        .range(Range::POSITIVE)
        .usual(20.0, 150.0),
        Field::new(
            "inner",
            LENGTH,
            "Inner diameter of the ring-shaped piston of a concentric slave, where it runs on its \
             guide.",
        )
        .needs(&[&["slave.outer"]])
        .alternative()
        .range(Range::POSITIVE)
        .usual(12.0, 120.0),
        Field::new(
            "stroke",
            LENGTH,
            "How far the piston can move from fully home to its stop or the edge of its bore.",
        )
        .required()
        .range(Range::POSITIVE)
        .usual(5.0, 80.0),
        Field::new(
            "rest_extension",
            LENGTH,
            "How far the piston stands out of its fully home position at rest, with a new disc. \
             It is the room to come back as the disc wears, and stroke that is not there for \
             release.",
        )
        .default(0.0, "0 mm"),
        Field::new(
            "preload",
            FORCE,
            "What a light spring, inside the slave or on the fork, pushes the piston out with to \
             keep bearing and fingers in touch.",
        )
        .default(0.0, "0 N"),
        Field::new(
            "drag",
            FORCE,
            "Friction of the piston's seals that is there without pressure. With the bleed screw open and the rod off, \
             push the piston in with a spring scale and let it come back: half of the difference, or the whole push \
             where no spring brings it back.",
        )
        .default(0.0, "0 N"),
        Field::new(
            "efficiency",
            NUMBER,
            "What the seals' friction leaves of the fluid's push as force on the rod.",
        )
        .default(0.95, "0.95")
        .range(Range::EFFICIENCY),
        Field::new(
            "adjuster",
            ADJUSTER,
            "How the slave's rod is adjusted as the disc wears. Left out, nothing takes the wear up but the free play and the slave's rest extension.",
        )
        .needs(&[
            &["slave.adjust_range", "disc.wear", "cover.finger_ratio"],
            &["slave.adjust_range", "disc.wear", "diaphragm"],
        ]),
        Field::new(
            "adjust_range",
            LENGTH,
            "How far the adjuster can let the fork's end come back, from where it stands with a new disc: count the thread left on the rod, measured \
             at the fork's end.",
        )
        .needs(&[
            &["slave.adjuster", "disc.wear", "cover.finger_ratio"],
            &["slave.adjuster", "disc.wear", "diaphragm"],
        ])
        .range(Range::POSITIVE)
        .usual(2.0, 100.0),
        Field::new(
            "adjust_preload",
            FORCE,
            "What the adjuster's own spring pulls the fork's end with at rest, which holds the bearing on the fingers. \
             Hook a spring scale to the fork's end and pull back until the bearing leaves them.",
        )
        .needs(&[
            &["slave.adjuster", "slave.adjust_range", "disc.wear", "cover.finger_ratio"],
            &["slave.adjuster", "slave.adjust_range", "disc.wear", "diaphragm"],
        ]),
        Field::new(
            "mount_stiffness",
            STIFFNESS,
            "How hard the bracket that carries the slave is to bend: force along the rod over how far \
             the cylinder's body moves away under it. A dial gauge on the body while someone presses \
             the pedal shows it.",
        )
        .needs(&[&["fork"]])
        .range(Range::POSITIVE)
        .usual(20.0, 100_000.0),
        Field::new(
            "moves",
            MOVES,
            "Which way in the car the rod drives the fork's end, or the relay lever behind it, when the pedal goes \
             down.",
        )
        .needs(&[&["fork.pivot"]]),
        Field::new(
            "rod_length",
            LENGTH,
            "Length of the slave's rod between its seat in the piston and its seat in the fork. A \
             short rod leans more as the fork swings.",
        )
        .needs(&[
            &["fork.slave_arm", "slave.rod_offset"],
            &["slave.mount_to_fork", "slave.face_to_seat"],
        ])
        .range(Range::POSITIVE)
        .usual(10.0, 600.0),
        Field::new(
            "rod_offset",
            LENGTH,
            "How far the fork's seat lies beside the bore's line at rest, measured square to that \
             line; above zero away from the fork's pivot, below zero towards it.",
        )
        .needs(&[
            &["fork.slave_arm", "slave.rod_length"],
            &["slave.mount_to_fork", "slave.face_to_seat"],
        ])
        .range(Range::ANY),
        Field::new(
            "rod_end",
            ROD_END,
            "What the rod's end at the fork is, which decides how far it may lean.",
        )
        .needs(&[&["fork.slave_arm", "slave.rod_length", "slave.rod_offset"]]),
        Field::new(
            "height",
            LENGTH,
            "Of a concentric slave: from the gearbox's face to the bearing's face with the piston \
             fully home, shims included.",
        )
        .needs(&[&["bellhousing.depth", "cover.finger_height"]])
        .range(Range::POSITIVE)
        .usual(10.0, 300.0),
        Field::new(
            "mount_to_fork",
            LENGTH,
            "From the slave's mounting face to the rod's seat in the fork, along the bore, with \
             the bearing where it rests on a new disc.",
        )
        .needs(&[&["slave.face_to_seat"]])
        .range(Range::POSITIVE)
        .usual(10.0, 600.0),
        Field::new(
            "face_to_seat",
            LENGTH,
            "From the slave's mounting face back to the rod's seat in the piston, with the piston \
             fully home; below zero where the seat stands out past the face on the fork's side.",
        )
        .needs(&[&["slave.mount_to_fork"]])
        .range(Range::ANY),
        Field::new(
            "slope",
            ANGLE,
            "How much higher the end of the bore away from the bleed screw lies, as the slave \
             sits in the car. Above zero, a bubble stays in that end.",
        )
        .needs(&[&["slave.chamber"]])
        .range(Range::ACUTE),
        Field::new(
            "chamber",
            LENGTH,
            "Length of the fluid space along the bore, from the bleed screw to the far end, in \
             which a bubble can sit.",
        )
        .needs(&[&["slave.slope"]])
        .range(Range::POSITIVE)
        .usual(2.0, 150.0),
        Field::new(
            "seals",
            SEALS,
            "What the seals are made of, which decides which fluids they stand.",
        )
        .needs(&[&["fluid.grade"]]),
        Field::new(
            "max_pressure",
            PRESSURE,
            "The highest working pressure that the slave's maker allows, gauge.",
        )
        .range(Range::POSITIVE)
        .usual(1.5, 40.0),
    ],
};

const CABLE: Block = Block {
    name: "cable",
    doc: "A cable in a sheath that drives the fork in place of master and slave.",
    repeated: false,
    labelled: false,
    takes_parts: true,
    needs: &[],
    alternatives: &[],
    fields: &[
        Field::new(
            "bends",
            ANGLE,
            "All the bends of the sheath added up, whichever way they go, from the pedal to the \
             fork.",
        )
        .required()
        .usual(0.0, 20.0)
        .source("Euler–Eytelwein"),
        Field::new(
            "friction",
            NUMBER,
            "Coefficient of friction between the cable and its liner.",
        )
        .required()
        .range(Range::POSITIVE)
        .source("Euler–Eytelwein"),
        Field::new(
            "friction_worn",
            NUMBER,
            "The same once the liner is worn, dry or softened by the heat of an exhaust; usually two to \
             three times as much.",
        )
        .range(Range::POSITIVE)
        .source("Euler–Eytelwein"),
        Field::new(
            "stiffness",
            STIFFNESS,
            "How hard cable and sheath together are to stretch: tension at the pedal's end over \
             how far that end gives, with the fork's end held.",
        )
        .range(Range::POSITIVE)
        .usual(5.0, 20_000.0),
        Field::new(
            "play",
            LENGTH,
            "Slack at the pedal's end of the cable before it pulls.",
        )
        .default(0.0, "0 mm"),
        Field::new(
            "tightest_bend",
            LENGTH,
            "Radius of the tightest bend in the run as it lies in the car, to the middle of the \
             sheath.",
        )
        .needs(&[&["cable.min_bend"]])
        .range(Range::POSITIVE)
        .usual(15.0, 2000.0),
        Field::new(
            "min_bend",
            LENGTH,
            "The least bend radius that the cable's maker allows, to the middle of the sheath.",
        )
        .needs(&[&["cable.tightest_bend"]])
        .range(Range::POSITIVE)
        .usual(10.0, 1000.0),
        Field::new(
            "adjuster",
            ADJUSTER,
            "How the cable is adjusted as the disc wears. Left out, nothing takes the wear up but the free play.",
        )
        .needs(&[
            &["cable.adjust_range", "disc.wear", "cover.finger_ratio"],
            &["cable.adjust_range", "disc.wear", "diaphragm"],
        ]),
        Field::new(
            "adjust_range",
            LENGTH,
            "How far the adjuster can let the fork's end come back, from where it stands with a new disc: count the thread left, or the teeth of a ratchet, measured \
             at the fork's end.",
        )
        .needs(&[
            &["cable.adjuster", "disc.wear", "cover.finger_ratio"],
            &["cable.adjuster", "disc.wear", "diaphragm"],
        ])
        .range(Range::POSITIVE)
        .usual(2.0, 100.0),
        Field::new(
            "adjust_preload",
            FORCE,
            "What the adjuster's own spring pulls the fork's end with at rest, which holds the bearing on the fingers. \
             Hook a spring scale to the fork's end and pull back until the bearing leaves them.",
        )
        .needs(&[
            &["cable.adjuster", "cable.adjust_range", "disc.wear", "cover.finger_ratio"],
            &["cable.adjuster", "cable.adjust_range", "disc.wear", "diaphragm"],
        ]),
        Field::new(
            "moves",
            MOVES,
            "Which way in the car the cable drives the fork's end, or the relay lever behind it, when the pedal goes \
             down.",
        )
        .needs(&[&["fork.pivot"]]),
    ],
};

const LINKAGE: Block = Block {
    name: "linkage",
    doc: "Rods and a cross-shaft that drive the fork in place of master and slave.",
    repeated: false,
    labelled: false,
    takes_parts: true,
    needs: &[],
    alternatives: &[],
    fields: &[
        Field::new(
            "in_arm",
            LENGTH,
            "Arm of the cross-shaft that the pedal's rod works on, from the shaft's axis to the \
             pin.",
        )
        .required()
        .range(Range::POSITIVE)
        .usual(15.0, 400.0),
        Field::new(
            "out_arm",
            LENGTH,
            "Arm of the cross-shaft that works the fork's rod, from the shaft's axis to the pin. \
             A longer one moves the fork further and makes the pedal heavier.",
        )
        .required()
        .range(Range::POSITIVE)
        .usual(15.0, 400.0),
        Field::new(
            "play",
            LENGTH,
            "Slack of all pins and bushings together, measured at the pedal's rod with the fork \
             held.",
        )
        .default(0.0, "0 mm"),
        Field::new(
            "stiffness",
            STIFFNESS,
            "How hard the linkage is to wind up and bend: force at the pedal's rod over how far \
             it gives there, with the fork's end held.",
        )
        .range(Range::POSITIVE)
        .usual(5.0, 100_000.0),
        Field::new(
            "efficiency",
            NUMBER,
            "What the friction of pins and bushings leaves of the force put in.",
        )
        .default(0.9, "0.90")
        .range(Range::EFFICIENCY),
        Field::new(
            "in_angle",
            ANGLE,
            "How far the arm at the pedal's rod stands from square to that rod with the pedal at rest; above zero while it \
             has yet to come square as the pedal goes down, below zero when it is already past. Hold a square against \
             rod and arm and read the rest with a protractor. Usually within 20 deg either way. With neither angle \
             given, both arms are taken to stay square.",
        )
        .range(Range::ACUTE)
        .source("planar kinematics of a lever; the usual angle is common practice, no source"),
        Field::new(
            "out_angle",
            ANGLE,
            "How far the arm at the fork's rod stands from square to that rod with the pedal at rest, measured and \
             counted as `in_angle`.",
        )
        .range(Range::ACUTE)
        .source("planar kinematics of a lever"),
        Field::new(
            "adjuster",
            ADJUSTER,
            "How the linkage is adjusted as the disc wears. Left out, nothing takes the wear up but the free play.",
        )
        .needs(&[
            &["linkage.adjust_range", "disc.wear", "cover.finger_ratio"],
            &["linkage.adjust_range", "disc.wear", "diaphragm"],
        ]),
        Field::new(
            "adjust_range",
            LENGTH,
            "How far the adjuster can let the fork's end come back, from where it stands with a new disc: count the thread left on its rod, measured \
             at the fork's end.",
        )
        .needs(&[
            &["linkage.adjuster", "disc.wear", "cover.finger_ratio"],
            &["linkage.adjuster", "disc.wear", "diaphragm"],
        ])
        .range(Range::POSITIVE)
        .usual(2.0, 100.0),
        Field::new(
            "adjust_preload",
            FORCE,
            "What the adjuster's own spring pulls the fork's end with at rest, which holds the bearing on the fingers. \
             Hook a spring scale to the fork's end and pull back until the bearing leaves them.",
        )
        .needs(&[
            &["linkage.adjuster", "linkage.adjust_range", "disc.wear", "cover.finger_ratio"],
            &["linkage.adjuster", "linkage.adjust_range", "disc.wear", "diaphragm"],
        ]),
        Field::new(
            "moves",
            MOVES,
            "Which way in the car the linkage drives the fork's end, or the relay lever behind it, when the pedal \
             goes down.",
        )
        .needs(&[&["fork.pivot"]]),
    ],
};

const RELAY: Block = Block {
    name: "relay",
    doc: "A lever with two arms on one shaft in the train from pedal to fork: a bell crank, an idler, an old cross-shaft that a \
          slave works; or a cable there, as behind a slave that pulls one. Give one block for each, with a label of your own, in the \
          order from the pedal to the fork.",
    repeated: true,
    labelled: false,
    takes_parts: false,
    needs: &[],
    alternatives: &[Alternatives {
        ways: &[&["in_arm", "out_arm"], &["bends", "friction"]],
        required: true,
    }],
    fields: &[
        Field::new(
            "at",
            AT,
            "Where it stands: ahead of the master, the cable or the linkage, or behind the slave, the cable or the \
             linkage.",
        )
        .required(),
        Field::new(
            "in_arm",
            LENGTH,
            "Arm that is worked, from the shaft's axis to the pin, measured square to the rod that works it, at rest. \
             A longer one makes the pedal lighter and loses travel.",
        )
        .alternative()
        .range(Range::POSITIVE)
        .usual(10.0, 400.0)
        .source("lever; OpenStax College Physics 2e, section 9.5; the usual length is common practice, no source"),
        Field::new(
            "out_arm",
            LENGTH,
            "Arm that works what follows, from the shaft's axis to the pin, measured square to the rod that it works, at \
             rest. A longer one moves what follows further and makes the pedal heavier.",
        )
        .alternative()
        .range(Range::POSITIVE)
        .usual(10.0, 400.0)
        .source("lever; OpenStax College Physics 2e, section 9.5; the usual length is common practice, no source"),
        Field::new(
            "in_angle",
            ANGLE,
            "How far the in arm stands from square to its rod at rest; above zero while it has yet to come square as the \
             pedal goes down, below zero when it is already past. Hold a square against rod and arm and read the rest \
             with a protractor. Best is half of what the lever turns, usually 10 to 15 deg.",
        )
        .needs(&[&["relay.in_arm"]])
        .default(0.0, "0 deg")
        .range(Range::ACUTE)
        .source("planar kinematics of a lever; the usual angle is common practice, no source"),
        Field::new(
            "out_angle",
            ANGLE,
            "How far the out arm stands from square to its rod at rest, measured and counted as `in_angle`.",
        )
        .needs(&[&["relay.in_arm"]])
        .default(0.0, "0 deg")
        .range(Range::ACUTE)
        .source("planar kinematics of a lever"),
        Field::new(
            "bends",
            ANGLE,
            "Of a cable in place of a lever: all the bends of its sheath added up, whichever way they go. Usually 60 to \
             270 deg.",
        )
        .alternative()
        .usual(0.0, 20.0)
        .source("Euler–Eytelwein; the usual bends are common practice, no source"),
        Field::new(
            "friction",
            NUMBER,
            "Of a cable in place of a lever: coefficient of friction between the cable and its liner, usually 0.05 to \
             0.15. The pull goes down by exp(−friction·bends).",
        )
        .alternative()
        .range(Range::POSITIVE)
        .source("Euler–Eytelwein"),
        Field::new(
            "play",
            LENGTH,
            "Slack of its pins and its shaft together, measured at the in arm's pin with the out arm held. Worn \
             bushings have several times the slack of sound ones. With a cable, its slack. It adds to `pedal.free_play`.",
        )
        .default(0.0, "0 mm"),
        Field::new(
            "stiffness",
            STIFFNESS,
            "How hard lever, shaft and bracket are to wind up: force at the in arm's pin over how far it gives there, with \
             the out arm held. A spring scale and a dial gauge show it; a long thin shaft is below the usual. Left out, it counts as rigid.",
        )
        .range(Range::POSITIVE)
        .usual(5.0, 100_000.0),
        Field::new(
            "efficiency",
            NUMBER,
            "What the friction of its pins and its shaft leaves of the force put in: 0.95 with greased bushings, 0.85 and less \
             with dry ones.",
        )
        .needs(&[&["relay.in_arm"]])
        .default(0.95, "0.95")
        .range(Range::EFFICIENCY),
        Field::new(
            "reverses",
            REVERSES,
            "Whether its two rods move opposite ways. Look at both pins while someone presses the pedal.",
        )
        .needs(&[&["fork.pivot"]]),
    ],
};

/// The fields that give where the fork sits on its pivot.
const FORK_STACK: &[&str] = &[
    "fork.slave_arm",
    "fork.bearing_arm",
    "fork.pivot_height",
    "bearing.length",
    "bellhousing.depth",
    "cover.finger_height",
];
/// The fields that give the fork's stack and where its pivot is, and so the place of its outer end.
const FORK_STACK_AND_PIVOT: &[&str] = &[
    "fork.slave_arm",
    "fork.bearing_arm",
    "fork.pivot_height",
    "fork.pivot",
    "bearing.length",
    "bellhousing.depth",
    "cover.finger_height",
];

const FORK: Block = Block {
    name: "fork",
    doc: "The release fork, a lever from the slave, cable or linkage to the release bearing. A \
         concentric slave has none.",
    repeated: false,
    labelled: false,
    takes_parts: true,
    needs: &[],
    alternatives: &[Alternatives {
        ways: &[&["ratio"], &["slave_arm", "bearing_arm"]],
        required: true,
    }],
    fields: &[
        Field::new(
            "ratio",
            NUMBER,
            "Travel of the fork's outer end over bearing travel. Use it where only the ratio is \
             known; otherwise give the two arms.",
        )
        .alternative()
        .range(Range::POSITIVE)
        .source("lever; OpenStax College Physics 2e, section 9.5"),
        Field::new(
            "slave_arm",
            LENGTH,
            "From the fork's pivot to the seat of the slave's rod, or of the cable or linkage, \
             square to the line of the push.",
        )
        .needs(&[
            &["fork.bearing_arm"],
            &["slave.rod_length", "slave.rod_offset"],
        ])
        .alternative()
        .range(Range::POSITIVE)
        .usual(30.0, 500.0),
        Field::new(
            "bearing_arm",
            LENGTH,
            "From the fork's pivot to where the fork's tips press on the bearing, square to the \
             bearing's line. With `slave_arm` it makes the ratio.",
        )
        .needs(&[&["fork.slave_arm"]])
        .alternative()
        .range(Range::POSITIVE)
        .usual(15.0, 250.0),
        Field::new(
            "pivot",
            PIVOT,
            "Where the pivot lies, which decides whether the bearing moves with the slave or \
             against it.",
        )
        .needs(&[
            &["slave.moves"],
            &["cable.moves"],
            &["linkage.moves"],
            FORK_STACK,
        ]),
        Field::new(
            "rest_angle",
            ANGLE,
            "How far the fork stands from square to the slave's bore at rest; above zero while it \
             has yet to come square as the slave moves out, below zero when it is already past.",
        )
        .needs(&[
            &["fork.slave_arm", "slave.rod_length", "slave.rod_offset"],
            FORK_STACK_AND_PIVOT,
        ])
        .range(Range::ACUTE),
        Field::new(
            "efficiency",
            NUMBER,
            "What the friction of the pivot, the tips and the bearing's guide leaves of the force \
             put in.",
        )
        .default(0.95, "0.95")
        .range(Range::EFFICIENCY),
        Field::new(
            "drag",
            FORCE,
            "Friction of pivot and guide that is there without a load, at the outer end. With the slave's rod or the \
             cable off, pull that end with a spring scale until the fork moves; less what a return spring asks for.",
        )
        .default(0.0, "0 N"),
        Field::new(
            "return_force",
            FORCE,
            "What a spring pulls the fork's outer end back with, so that the bearing leaves the fingers. Hook a spring \
             scale to that end and pull until the spring gives. Taken as the same all along the travel.",
        )
        .default(0.0, "0 N"),
        Field::new(
            "stiffness",
            STIFFNESS,
            "How hard the fork and its pivot are to bend: force at the outer end over how far \
             that end gives, with the bearing held.",
        )
        .range(Range::POSITIVE)
        .usual(5.0, 100_000.0),
        Field::new(
            "window",
            LENGTH,
            "How far the outer end can travel from rest before the fork fouls its opening in the \
             housing. Left out, `window_rear` or `window_front` says it, where the fork's stack is \
             given.",
        )
        .range(Range::POSITIVE)
        .usual(5.0, 200.0),
        Field::new(
            "pivot_height",
            LENGTH,
            "From the gearbox's face of the bell housing forward to the center of the fork pivot's \
             ball, shims included. With the gearbox out, lay a straight edge across that face and \
             measure down to the ball, then add half of the ball's diameter. Shims or another \
             pivot stud change it.",
        )
        .needs(&[FORK_STACK])
        .range(Range::ANY)
        .usual(-60.0, 200.0),
        Field::new(
            "tip_offset",
            LENGTH,
            "How far the fork's tips lie forward of the line through the ball, square to the shaft, \
             with the fork held square; below zero where they lie rearward. Lay the fork on a flat \
             bench to measure it. Left out, the fork is taken as straight.",
        )
        .needs(&[FORK_STACK])
        .range(Range::ANY)
        .usual(-60.0, 60.0),
        Field::new(
            "end_offset",
            LENGTH,
            "How far the seat at the fork's outer end lies forward of the line through the ball, \
             square to the shaft, with the fork held square; below zero where it lies rearward. \
             Left out, the fork is taken as straight.",
        )
        .needs(&[FORK_STACK_AND_PIVOT])
        .range(Range::ANY)
        .usual(-120.0, 120.0),
        Field::new(
            "window_rear",
            LENGTH,
            "From the gearbox's face of the bell housing forward to the rear edge of the fork's \
             opening, where the fork's outer end would strike. Measure along the shaft, less half \
             of the fork's thickness there.",
        )
        .needs(&[FORK_STACK_AND_PIVOT])
        .range(Range::ANY)
        .usual(-60.0, 250.0),
        Field::new(
            "window_front",
            LENGTH,
            "From the gearbox's face of the bell housing forward to the front edge of the fork's \
             opening, where the fork's outer end would strike. Measure along the shaft, less half \
             of the fork's thickness there.",
        )
        .needs(&[FORK_STACK_AND_PIVOT])
        .range(Range::ANY)
        .usual(-60.0, 300.0),
        Field::new(
            "max_angle",
            ANGLE,
            "The most that the fork may stand off square on its pivot, either way, by its maker. \
             Left out, the limit of `fork-angle` holds.",
        )
        .needs(&[FORK_STACK])
        .range(Range::POSITIVE)
        .usual(0.05, 0.6),
    ],
};

const BEARING: Block = Block {
    name: "bearing",
    doc: "The release bearing, which presses on the cover's fingers or pulls at them.",
    repeated: false,
    labelled: false,
    takes_parts: true,
    needs: &[],
    alternatives: &[],
    fields: &[
        Field::new(
            "free_play",
            LENGTH,
            "Gap from the bearing to the fingers at rest, with a new disc; zero where the bearing \
             always touches them.",
        )
        .default(0.0, "0 mm"),
        Field::new(
            "runs",
            RUNS,
            "Whether the bearing may turn with the fingers all the time. Its maker says so; a bearing with loose \
             balls or of carbon is made to run only while the clutch is released.",
        ),
        Field::new(
            "max_travel",
            LENGTH,
            "How far the bearing can slide along its guide from rest before it runs off or hits \
             something.",
        )
        .range(Range::POSITIVE)
        .usual(3.0, 100.0),
        Field::new(
            "length",
            LENGTH,
            "From where the fork's tips press on the bearing, or on its carrier, to the face that \
             meets the fingers, along the shaft. Measure it with a caliper on the bench.",
        )
        .needs(&[FORK_STACK])
        .range(Range::POSITIVE)
        .usual(5.0, 150.0),
    ],
};

const COVER: Block = Block {
    name: "cover",
    doc: "The clutch cover with its pressure plate and fingers.",
    repeated: false,
    labelled: false,
    takes_parts: true,
    needs: &[],
    alternatives: &[],
    fields: &[
        Field::new(
            "release_travel",
            Kind::Window(Dimension::LENGTH),
            "Finger travel at the bearing's contact: from what frees the disc to the most that \
             the cover may take. Both ends come from the cover's data \
             sheet, or from trying it in a press.",
        )
        .required()
        .range(Range::POSITIVE)
        .usual(1.5, 40.0),
        Field::new(
            "release_load",
            FORCE_OVER_TRAVEL_OR_PEAK,
            "Force at the fingers over finger travel, as a curve, or its peak alone. A peak \
             counts as a straight line from zero up to it at the near end of `release_travel`, \
             flat from there. A `diaphragm` block may stand in for it.",
        )
        .usual(300.0, 20_000.0),
        Field::new(
            "action",
            ACTION,
            "Whether the bearing pushes or pulls the fingers to release.",
        )
        .needs(&[
            &["slave.outer"],
            &["fork.pivot", "slave.moves"],
            &["fork.pivot", "cable.moves"],
            &["fork.pivot", "linkage.moves"],
            FORK_STACK,
        ])
        .default_word("push"),
        Field::new(
            "finger_ratio",
            NUMBER,
            "Finger travel over the lift of the pressure plate: the lever of the fingers.",
        )
        .range(Range::POSITIVE)
        .usual(1.5, 8.0),
        Field::new(
            "finger_stiffness",
            STIFFNESS,
            "How hard the fingers are to bend: force of the bearing over how far the fingers go before \
             the plate follows. Measure it in a press, with the plate blocked; rigid when left out.",
        )
        .needs(&[
            &["disc.cushion", "disc.cushion_power", "cover.clamp_load", "cover.finger_ratio"],
            &["disc.cushion", "disc.cushion_load", "cover.clamp_load", "cover.finger_ratio"],
            &["disc.cushion", "disc.cushion_power", "diaphragm"],
            &["disc.cushion", "disc.cushion_load", "diaphragm"],
        ])
        .range(Range::POSITIVE)
        .usual(200.0, 50_000.0),
        Field::new(
            "finger_height",
            LENGTH,
            "From the engine's rear face to the tips of the fingers, with the cover bolted down on \
             a new disc.",
        )
        .needs(&[&["bellhousing.depth", "slave.height"], FORK_STACK])
        .range(Range::POSITIVE)
        .usual(10.0, 300.0),
        Field::new(
            "clamp_load",
            FORCE,
            "Force with which the pressure plate clamps a new disc.",
        )
        .range(Range::POSITIVE)
        .usual(500.0, 60_000.0),
        Field::new(
            "clamp_load_worn",
            FORCE,
            "Force with which the pressure plate clamps a disc that is worn out, by the cover's data \
             sheet.",
        )
        .needs(&[&["disc.wear", "cover.finger_ratio", "cover.clamp_load"]])
        .range(Range::POSITIVE)
        .usual(500.0, 60_000.0),
        Field::new(
            "release_load_worn",
            FORCE_OVER_TRAVEL,
            "Force at the fingers over finger travel from their worn rest, with the disc worn out: a \
             curve, by the cover's data sheet. A worn disc lets the diaphragm stand steeper, and most \
             covers are heavier then.",
        )
        .needs(&[&["disc.wear", "cover.finger_ratio", "cover.release_load"]])
        .usual(300.0, 20_000.0),
        Field::new(
            "adjusts",
            ADJUSTS,
            "Whether the cover takes up the disc's wear by itself.",
        )
        .needs(&[
            &["disc.wear", "cover.finger_ratio"],
            &["disc.wear", "diaphragm"],
        ])
        .default_word("none"),
    ],
};

const DIAPHRAGM: Block = Block {
    name: "diaphragm",
    doc: "The diaphragm spring by its measures, in place of `cover.release_load` and \
         `cover.clamp_load` where no curve is known.",
    repeated: false,
    labelled: false,
    takes_parts: true,
    needs: &[],
    alternatives: &[],
    fields: &[
        Field::new(
            "outer",
            LENGTH,
            "Outer diameter of the cone, without the fingers' share of the spring.",
        )
        .required()
        .range(Range::POSITIVE)
        .usual(80.0, 600.0)
        .source(CONE_SPRING),
        Field::new(
            "inner",
            LENGTH,
            "Inner diameter of the closed cone, where the slots between the fingers end.",
        )
        .required()
        .range(Range::POSITIVE)
        .usual(50.0, 500.0)
        .source(CONE_SPRING),
        Field::new(
            "thickness",
            LENGTH,
            "Thickness of the spring's sheet. The load rises with up to its third power, so \
             measure it well.",
        )
        .required()
        .range(Range::POSITIVE)
        .usual(0.8, 10.0)
        .source(CONE_SPRING),
        Field::new(
            "height",
            LENGTH,
            "Height of the free cone from its inner to its outer edge, without the thickness and \
             out of the cover.",
        )
        .required()
        .range(Range::POSITIVE)
        .usual(0.5, 25.0)
        .source(CONE_SPRING),
        Field::new(
            "plate_circle",
            LENGTH,
            "Diameter of the circle on which the spring presses on the pressure plate.",
        )
        .required()
        .range(Range::POSITIVE)
        .usual(80.0, 600.0),
        Field::new(
            "fulcrum_circle",
            LENGTH,
            "Diameter of the circle of the rings or edges on which the spring tips in the cover.",
        )
        .required()
        .range(Range::POSITIVE)
        .usual(60.0, 600.0),
        Field::new(
            "finger_circle",
            LENGTH,
            "Diameter of the circle on which the bearing touches the fingers.",
        )
        .required()
        .range(Range::POSITIVE)
        .usual(15.0, 200.0),
        Field::new(
            "modulus",
            PRESSURE,
            "Young's modulus of the spring's steel.",
        )
        .default(206e3, "206 GPa")
        .range(Range::POSITIVE)
        .usual(100e3, 250e3)
        .source("common practice, no source; DIN 2092 uses it too, from memory"),
        Field::new("poisson", NUMBER, "Poisson's ratio of the spring's steel.")
            .default(0.3, "0.3")
            .range(Range::POISSON)
            .source("common practice, no source; DIN 2092 uses it too, from memory"),
        Field::new(
            "set_deflection",
            LENGTH,
            "How far the cone is pressed flat from its free height, with the cover bolted down on \
             a new disc.",
        )
        .required()
        .range(Range::POSITIVE)
        .usual(0.3, 25.0),
    ],
};

const DISC: Block = Block {
    name: "disc",
    doc: "The clutch disc that the cover clamps against the flywheel.",
    repeated: false,
    labelled: false,
    takes_parts: true,
    needs: &[],
    alternatives: &[Alternatives {
        ways: &[&["cushion_power"], &["cushion_load"]],
        required: false,
    }],
    fields: &[
        Field::new("outer", LENGTH, "Outer diameter of the facings.")
            .needs(&[&["cover.clamp_load"], &["diaphragm"]])
            .required()
            .range(Range::POSITIVE)
            .usual(80.0, 600.0),
        Field::new("inner", LENGTH, "Inner diameter of the facings.")
            .needs(&[&["cover.clamp_load"], &["diaphragm"]])
            .required()
            .range(Range::POSITIVE)
            .usual(40.0, 450.0),
        Field::new(
            "faces",
            NUMBER,
            "How many faces rub: two for one disc, four for two.",
        )
        .needs(&[
            &["cover.clamp_load"],
            &["diaphragm"],
            &["disc.clearance", "cover.finger_ratio"],
            &["disc.wear", "cover.finger_ratio"],
        ])
        .default(2.0, "2")
        .range(Range::POSITIVE),
        Field::new(
            "friction",
            NUMBER,
            "Coefficient of friction between facing and iron, warm and run in.",
        )
        .needs(&[&["cover.clamp_load"], &["diaphragm"]])
        .required()
        .range(Range::POSITIVE)
        .usual(0.15, 0.7),
        Field::new(
            "wear",
            LENGTH,
            "How much thinner one disc may get from new to worn out, both faces together. The \
             fingers come back by this times `cover.finger_ratio`, for each disc, and the bearing \
             needs that room.",
        )
        .needs(&[&["cover.finger_ratio"], &["diaphragm"]])
        .usual(0.2, 12.0),
        Field::new(
            "cushion",
            LENGTH,
            "How much the springs between the facings give from free to clamped, of all discs \
             together. The plate must lift this much more to free the disc.",
        )
        .needs(&[
            &["diaphragm"],
            &["disc.clearance", "cover.finger_ratio"],
            &["disc.cushion_power", "cover.clamp_load", "cover.finger_ratio"],
            &["disc.cushion_load", "cover.clamp_load", "cover.finger_ratio"],
        ]),
        Field::new(
            "cushion_power",
            NUMBER,
            "How the force of those springs grows with how far they are pressed: 1 evenly, 2 with the \
             square, which is nearer to facings on waved segments. It says where the clutch bites.",
        )
        .needs(&[
            &["disc.cushion", "cover.clamp_load", "cover.finger_ratio"],
            &["disc.cushion", "diaphragm"],
        ])
        .alternative()
        .range(Range::POSITIVE)
        .usual(0.5, 5.0),
        Field::new(
            "cushion_load",
            FORCE_OVER_TRAVEL,
            "Force of those springs over how far they are pressed, from a press or the disc's data \
             sheet. It says where the clutch bites.",
        )
        .needs(&[
            &["disc.cushion", "cover.clamp_load", "cover.finger_ratio"],
            &["disc.cushion", "diaphragm"],
        ])
        .alternative(),
        Field::new(
            "friction_hot",
            NUMBER,
            "Coefficient of friction of the facings after they were slipped hot, by their data sheet; \
             organic ones usually lose a quarter to a third of it.",
        )
        .needs(&[&["cover.clamp_load"], &["diaphragm"]])
        .range(Range::POSITIVE)
        .usual(0.05, 0.7),
        Field::new(
            "clearance",
            LENGTH,
            "Gap wanted on each face with the pedal down, so that nothing drags.",
        )
        .needs(&[&["cover.finger_ratio"], &["diaphragm"]]),
        Field::new(
            "thickness",
            LENGTH,
            "How thick the new disc is between flywheel and pressure plate, clamped: over both \
             facings.",
        )
        .needs(&[SPLINE_STACK])
        .range(Range::POSITIVE)
        .usual(4.0, 20.0),
        Field::new(
            "hub_length",
            LENGTH,
            "Length of the hub's splines, along the shaft.",
        )
        .needs(&[SPLINE_STACK])
        .range(Range::POSITIVE)
        .usual(10.0, 80.0),
        Field::new(
            "hub_offset",
            LENGTH,
            "How far the middle of the hub lies from the middle of the facings towards the gearbox; \
             below zero towards the engine.",
        )
        .needs(&[SPLINE_STACK])
        .range(Range::ANY)
        .usual(-40.0, 40.0),
    ],
};

/// The fields that give where the hub sits on the splines.
const SPLINE_STACK: &[&str] = &[
    "bellhousing.depth",
    "gearbox.input_length",
    "gearbox.spline_start",
    "gearbox.spline_length",
    "flywheel.face",
    "disc.thickness",
    "disc.hub_length",
    "disc.hub_offset",
];

const FLYWHEEL: Block = Block {
    name: "flywheel",
    doc: "The flywheel: where its friction face stands.",
    repeated: false,
    labelled: false,
    takes_parts: true,
    needs: &[],
    alternatives: &[],
    fields: &[Field::new(
        "face",
        LENGTH,
        "From the engine block's rear face back to the flywheel's friction face. Measure with a \
         straight edge across the face; below zero where it lies inside the block.",
    )
    .needs(&[SPLINE_STACK])
    .range(Range::ANY)
    .usual(-20.0, 120.0)],
};

const ENGINE: Block = Block {
    name: "engine",
    doc: "What the clutch must carry.",
    repeated: false,
    labelled: false,
    takes_parts: true,
    needs: &[],
    alternatives: &[],
    fields: &[
        Field::new(
            "torque",
            TORQUE,
            "The engine's highest torque at the flywheel.",
        )
        .needs(&[&["disc", "cover.clamp_load"], &["disc", "diaphragm"]])
        .required()
        .range(Range::POSITIVE)
        .usual(10e3, 10e6),
        Field::new(
            "service_factor",
            NUMBER,
            "How many times that torque the clutch should hold, for shocks, heat and wear.",
        )
        .needs(&[&["disc", "cover.clamp_load"], &["disc", "diaphragm"]])
        .default(1.5, "1.5")
        .range(Range::POSITIVE),
    ],
};

const BELLHOUSING: Block = Block {
    name: "bellhousing",
    doc: "The bell housing, with any adapter plate, and how true it sits to the crankshaft.",
    repeated: false,
    labelled: false,
    takes_parts: true,
    needs: &[],
    alternatives: &[Alternatives {
        ways: &[&["runout"], &["dial"]],
        required: false,
    }],
    fields: &[
        Field::new(
            "depth",
            LENGTH,
            "From the engine's face of the housing to the gearbox's face, along the shaft.",
        )
        .needs(&[
            &["gearbox.input_length", "gearbox.pilot_reach"],
            &["cover.finger_height", "slave.height"],
            SPLINE_STACK,
            FORK_STACK,
        ])
        .range(Range::POSITIVE)
        .usual(30.0, 600.0),
        Field::new(
            "adapter",
            LENGTH,
            "Thickness of the adapter plates between engine and gearbox, all together.",
        )
        .needs(&[
            &[
                "bellhousing.depth",
                "gearbox.input_length",
                "gearbox.pilot_reach",
            ],
            &["bellhousing.depth", "cover.finger_height", "slave.height"],
            SPLINE_STACK,
            FORK_STACK,
        ])
        .default(0.0, "0 mm"),
        Field::new(
            "runout",
            LENGTH,
            "Total indicator reading of the gearbox's locating bore, with the gauge turning on \
             the crankshaft: the highest reading less the lowest. The bore is off by half of it.",
        )
        .alternative()
        .usual(0.0, 5.0)
        .source("half the reading: US Army TM 10-4320-307-24, p. 3-140"),
        Field::new(
            "dial",
            READING_OVER_ANGLE,
            "The single readings of that gauge over the angle round the bore, from 0 deg at the \
             top and clockwise as seen from the gearbox; above zero where the gauge's tip is \
             pushed in. They also say which way to move the housing.",
        )
        .alternative()
        .range(Range::ANY)
        .source(
            "first harmonic, least squares; the reading as in US Army TM 10-4320-307-24, \
                     p. 3-140",
        ),
        Field::new(
            "runout_limit",
            LENGTH,
            "The most total indicator reading to accept.",
        )
        .needs(&[&["bellhousing.runout"], &["bellhousing.dial"]])
        .default(0.2, "0.20 mm")
        .range(Range::POSITIVE)
        .usual(0.01, 3.0)
        .source("US Army TM 5-3895-369-14, p. 5-157 (0.20 mm, 0.008 in)"),
        Field::new(
            "face_runout",
            LENGTH,
            "Total indicator reading of the gearbox's face, with the gauge turning on the \
             crankshaft: how far the face is from square to it.",
        )
        .usual(0.0, 5.0),
        Field::new(
            "face_circle",
            LENGTH,
            "Diameter of the circle that the gauge sweeps on that face.",
        )
        .needs(&[&["bellhousing.face_runout"]])
        .range(Range::POSITIVE)
        .usual(50.0, 600.0),
        Field::new(
            "face_limit",
            LENGTH,
            "The most total indicator reading of the gearbox's face to accept, by the vehicle maker. \
             Left out, the limit of `misaligned-bell` holds.",
        )
        .needs(&[&["bellhousing.face_runout"]])
        .range(Range::POSITIVE)
        .usual(0.01, 3.0),
        Field::new(
            "sag",
            READING_OVER_ANGLE_OR_BOTTOM,
            "What the gauge's holder alone makes the `dial` read as it bends under its own weight, over \
             the angle; or a single value for the bottom, with the gauge zeroed at the top. Clamp the \
             holder to a stiff bar and turn it over: usually 0 to -0.008 in \
             (-0.2 mm). It is taken off the readings.",
        )
        .needs(&[&["bellhousing.dial"]])
        .range(Range::ANY),
        Field::new(
            "dowel_offset",
            LENGTH,
            "By how much the offset dowels that will be fitted move the housing, towards the high \
             reading; they are sold as 0.007, 0.014 and 0.021 in (0.178, 0.356 and 0.533 mm).",
        )
        .needs(&[&["bellhousing.runout"], &["bellhousing.dial"]])
        .usual(0.0, 2.0),
    ],
};

const GEARBOX: Block = Block {
    name: "gearbox",
    doc: "The gearbox: where it stands, and how its input shaft reaches the pilot bearing.",
    repeated: false,
    labelled: false,
    takes_parts: true,
    needs: &[],
    alternatives: &[],
    fields: &[
        Field::new(
            "side",
            SIDE,
            "On which side of the engine the gearbox stands, along the car: it turns forward and \
             rearward round for release.",
        )
        .needs(&[
            &["fork.pivot", "cover.action", "slave.moves"],
            &["fork.pivot", "cover.action", "cable.moves"],
            &["fork.pivot", "cover.action", "linkage.moves"],
        ])
        .default_word("behind"),
        Field::new(
            "input_length",
            LENGTH,
            "From the gearbox's face that bolts to the bell housing to the tip of the input \
             shaft.",
        )
        .needs(&[&["bellhousing.depth", "gearbox.pilot_reach"], SPLINE_STACK])
        .range(Range::POSITIVE)
        .usual(50.0, 600.0),
        Field::new(
            "pilot_reach",
            LENGTH,
            "From the engine block's rear face forward to the mouth of the pilot bearing; below \
             zero where the mouth stands out behind the face.",
        )
        .needs(&[
            &["bellhousing.depth", "gearbox.input_length"],
            &[
                "bellhousing.depth",
                "bellhousing.face_runout",
                "bellhousing.face_circle",
            ],
        ])
        .range(Range::ANY),
        Field::new(
            "pilot_depth",
            LENGTH,
            "How deep the pilot bearing and the hole behind it are from the mouth: where the \
             shaft's tip would touch bottom.",
        )
        .needs(&[&[
            "bellhousing.depth",
            "gearbox.input_length",
            "gearbox.pilot_reach",
        ]])
        .range(Range::POSITIVE)
        .usual(3.0, 200.0),
        Field::new(
            "pilot_engagement",
            LENGTH,
            "The least length of the shaft's tip that should sit in the pilot bearing.",
        )
        .needs(&[&[
            "bellhousing.depth",
            "gearbox.input_length",
            "gearbox.pilot_reach",
        ]])
        .range(Range::POSITIVE)
        .usual(1.0, 60.0),
        Field::new(
            "spline_start",
            LENGTH,
            "From the tip of the input shaft back to where its splines begin, at full height.",
        )
        .needs(&[SPLINE_STACK])
        .usual(5.0, 200.0),
        Field::new(
            "spline_length",
            LENGTH,
            "Length of the splines on the input shaft over which the hub can slide.",
        )
        .needs(&[SPLINE_STACK])
        .range(Range::POSITIVE)
        .usual(15.0, 200.0),
    ],
};

const YES_NO: Kind = Kind::Choice(&[
    Choice {
        name: "yes",
        doc: "It does.",
    },
    Choice {
        name: "no",
        doc: "It does not.",
    },
]);

/// What the driver's foot feels at the pedal.
const FEEL: Kind = Kind::Choice(&[
    Choice {
        name: "firm",
        doc: "Hard from the first push. It proves nothing: a clutch's line sees little pressure \
             against a brake's, and air in it is soon squeezed.",
    },
    Choice {
        name: "soft",
        doc: "Springy, with no clear point where the load comes on.",
    },
    Choice {
        name: "pumps_up",
        doc: "The second and third push are firmer, or release higher, than the first.",
    },
    Choice {
        name: "sinks",
        doc: "It goes on down while the foot holds it with the same force.",
    },
    Choice {
        name: "stays_down",
        doc: "It does not come all the way back by itself.",
    },
]);

const MEASURED: Block = Block {
    name: "measured",
    doc: "What was measured on the finished car, to set against what is worked out. With a label \
         of your own, as `measured first_call`, it may stand once for each visit. A reading may \
         carry a tolerance, as 0.45 in ± 1/32 in; without one it counts as good as its tool: a \
         travel to 0.02 in (0.5 mm), the pad's travel to 1/8 in (3 mm), free play to 0.08 in (2 mm), a force to \
         5 %, a pressure to 2 %, the friction of the pedal or the fork to the most that a sound one has. Chock the wheels, leave the box in neutral and the engine off, and keep clear of the linkage while \
         a helper presses the pedal; a car that is raised stands on stands.",
    repeated: false,
    labelled: true,
    takes_parts: true,
    needs: &[],
    alternatives: &[],
    fields: &[
        Field::new(
            "pedal_travel",
            LENGTH,
            "Pad travel at which the other values were taken, from rest along the pad's arc. Left \
             out, they were taken at full pedal.",
        )
        .needs(&[
            &["measured.slave_travel"],
            &["measured.master_travel"],
            &["measured.fork_travel"],
            &["measured.bearing_travel"],
            &["measured.pedal_effort"],
            &["measured.held_effort"],
            &["measured.let_up_effort"],
            &["measured.line_pressure"],
            &["measured.release_point"],
            &["measured.half_travel"],
            &["measured.sink"],
        ])
        .range(Range::POSITIVE)
        .usual(10.0, 300.0),
        Field::new(
            "slave_travel",
            LENGTH,
            "How far the slave's rod moved from rest. Measure from the rod's end to a fixed point \
             on the slave's own mount, once at rest and once with the pedal held.",
        )
        .needs(&[&["master"]])
        .usual(0.0, 80.0),
        Field::new(
            "master_travel",
            LENGTH,
            "How far the master's piston moved from rest. Measure from the pushrod to the \
             cylinder's own body, and not to the firewall, which may give.",
        )
        .needs(&[&["master"]])
        .usual(0.0, 80.0),
        Field::new(
            "fork_travel",
            LENGTH,
            "How far the fork's outer end moved from rest, where the slave, cable or linkage works \
             it. Measure to a fixed point on the bell housing, along the line of the push.",
        )
        .needs(&[&["fork"]])
        .usual(0.0, 80.0),
        Field::new(
            "bearing_travel",
            LENGTH,
            "How far the release bearing moved from rest, its free play to the fingers included. \
             Measure through the fork's window or the inspection hole, along the input shaft.",
        )
        .usual(0.0, 80.0),
        Field::new(
            "pedal_effort",
            FORCE,
            "The highest force at the pad on the way down to there, square to its arm: a scale \
             at the pad, read while pressing slowly and not while letting up.",
        )
        .usual(0.0, 1500.0),
        Field::new(
            "held_effort",
            FORCE,
            "Force that holds the pad there, square to its arm. Press down to it and hold. Do not \
             read while the pedal comes up.",
        )
        .usual(0.0, 1500.0),
        Field::new(
            "let_up_effort",
            FORCE,
            "Force at the pad on the way back from there, square to its arm: let the pad up slowly on a scale, and read \
             it as the slave's rod or the fork starts back. Zero where nothing pushes the pad. What it lies below \
             `held_effort` is friction.",
        )
        .usual(0.0, 1500.0),
        Field::new(
            "line_pressure",
            PRESSURE,
            "The highest pressure on the way down to there, gauge: a gauge at the slave's bleed \
             screw, bled like the rest. Keep eyes and skin away from a line under pressure.",
        )
        .needs(&[&["master"]])
        .usual(0.0, 40.0),
        Field::new(
            "release_point",
            LENGTH,
            "Pad travel from rest at which the disc came free, whatever `pedal_travel` says. Wheel \
             test: drive wheels off the ground on stands, the others chocked, engine off, a gear \
             in. One helper holds one drive wheel still, another tries to turn the other, a third \
             presses the pedal slowly until it turns.",
        )
        .range(Range::POSITIVE)
        .usual(5.0, 300.0),
        Field::new(
            "half_travel",
            LENGTH,
            "How far the slave's rod had moved with the pad at half of `pedal_travel`; on a cable \
             or a linkage the fork's outer end. Air is squeezed early and a hose swells with the \
             pressure, so this tells them apart.",
        )
        .range(Range::NOT_NEGATIVE)
        .usual(0.0, 80.0),
        Field::new(
            "blocked_travel",
            LENGTH,
            "Pad travel from rest with the slave's rod blocked. Block the rod with solid metal \
             bolted to the slave's mount. Keep hands and face clear. Press the pad with the \
             clutch's highest effort on a scale, never more. Read how far the pad moved. Free play, \
             air, a hose and a firewall that gives still move the pad; fork, bearing and cover \
             cannot.",
        )
        .needs(&[&["master", "fork"]])
        .range(Range::NOT_NEGATIVE)
        .usual(0.0, 300.0),
        Field::new(
            "free_play",
            LENGTH,
            "Pad travel that a finger feels before anything pushes back, engine off: until the \
             pushrod meets the master's piston, or until a cable or a linkage has brought the \
             release bearing to the fingers. Press lightly; the pedal's own return spring does not \
             count.",
        )
        .range(Range::NOT_NEGATIVE)
        .usual(0.0, 60.0),
        Field::new(
            "pedal_drag",
            FORCE,
            "Friction of the pedal alone, at the pad. Take its rod off and push the pad both ways with a spring scale: \
             half of the difference. The return spring does not count.",
        )
        .usual(0.0, 500.0),
        Field::new(
            "fork_drag",
            FORCE,
            "Friction of the fork alone, at its outer end. Take the slave's rod or the cable off, pull that end with a \
             spring scale and let it back: half of the difference, or the whole pull where no spring brings it back.",
        )
        .needs(&[&["fork"]])
        .usual(0.0, 2000.0),
        Field::new(
            "sink",
            LENGTH,
            "Travel that the slave's rod lost while the pedal was held there for a minute; zero \
             where it stood still.",
        )
        .needs(&[&["master"]])
        .usual(0.0, 40.0),
        Field::new(
            "frees",
            YES_NO,
            "Whether the disc comes free at full pedal: in the wheel test of `release_point` the \
             wheel turns.",
        ),
        Field::new(
            "comes_up",
            YES_NO,
            "Whether the pad comes all the way up by itself, engine off, when it is let go slowly from full pedal.",
        ),
        Field::new(
            "feel",
            FEEL,
            "What the foot says of the pedal, pressed slowly several times.",
        ),
    ],
};
