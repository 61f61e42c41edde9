//! The table of results and what they mean.
//!
//! Symbols as in the mechanics: `x` travel, `F` force, `p` pressure, `A` area, `R` ratio,
//! `k` stiffness; `_m` master, `_s` slave, `_f` fork, `_b` bearing.

use super::{Better, COMMON, Need, ResultSpec, Section};
use crate::quantity::Dimension;

/// The source of a result that is a plain sum or comparison of others.
const DEFINED: &str = "by definition";
const LEVER: &str = "lever; OpenStax College Physics 2e, section 9.5";
const EULER: &str = "Euler–Eytelwein";
const CRANK: &str = "slider-crank, planar kinematics";
const CONE: &str = "Almen–László; DIN 2092 form of the constant";
const DISC: &str = "uniform wear; Scilab Textbook Companion 764, Ex. 11.1";
const TRUE: &str = "US Army TM 10-4320-307-24, p. 3-140";
const STACK: &str = "planar kinematics of a rigid lever";
const BOYLE: &str = "Boyle's law; OpenStax College Physics 2e, section 13.3";
const PASCAL: &str = "Pascal's law; OpenStax College Physics 2e, section 11.5";

/// What a result needs, as in `needs![disc.wear, cable | linkage]`. All entries are needed; of an entry with bars,
/// one alternative is enough.
macro_rules! needs {
    ($($($block:ident $(. $field:ident)?)|+),* $(,)?) => {
        &[$(&[$(needs!(@one $block $(. $field)?)),+]),*]
    };
    (@one $block:ident) => { Need::Block(crate::block!($block)) };
    (@one $block:ident . $field:ident) => { Need::Field(crate::field!($block.$field)) };
}

/// What must be given for where the fork sits.
const FORK_STACK: &[&[Need]] = needs![
    fork.slave_arm,
    fork.bearing_arm,
    fork.pivot_height,
    bearing.length,
    bellhousing.depth,
    cover.finger_height
];
/// What must be given for the fork's stack and the place of its pivot, and so for its outer end.
const FORK_STACK_AND_PIVOT: &[&[Need]] = needs![
    fork.slave_arm,
    fork.bearing_arm,
    fork.pivot_height,
    fork.pivot,
    bearing.length,
    bellhousing.depth,
    cover.finger_height
];

/// What must be given for where the clutch bites.
const BITE: &[&[Need]] = needs![
    disc.cushion,
    disc.cushion_power | disc.cushion_load,
    cover.clamp_load | diaphragm,
    cover.finger_ratio | diaphragm
];
/// What must be given for the bite and the torque that the clutch must carry there.
const TAKE_UP: &[&[Need]] = needs![
    disc.cushion,
    disc.cushion_power | disc.cushion_load,
    cover.clamp_load | diaphragm,
    cover.finger_ratio | diaphragm,
    engine
];

/// What the rows of one unit share; each row fills in the rest.
const PLAIN: ResultSpec = ResultSpec {
    name: "",
    section: Section::Travel,
    doc: "",
    formula: "",
    dimension: Dimension::NUMBER,
    unit: "",
    needs: &[],
    better: Better::Neither,
    source: DEFINED,
};
const IN_MM: ResultSpec = ResultSpec {
    dimension: Dimension::LENGTH,
    unit: "mm",
    ..PLAIN
};
const IN_NM: ResultSpec = ResultSpec {
    dimension: Dimension::TORQUE,
    unit: "N*m",
    ..PLAIN
};
const IN_DEG: ResultSpec = ResultSpec {
    dimension: Dimension::ANGLE,
    unit: "deg",
    ..PLAIN
};
const IN_CC: ResultSpec = ResultSpec {
    dimension: Dimension::VOLUME,
    unit: "cc",
    ..PLAIN
};
const IN_S: ResultSpec = ResultSpec {
    dimension: Dimension::TIME,
    unit: "s",
    ..PLAIN
};
const IN_N: ResultSpec = ResultSpec {
    dimension: Dimension::FORCE,
    unit: "N",
    ..PLAIN
};
const IN_MPA: ResultSpec = ResultSpec {
    dimension: Dimension::PRESSURE,
    unit: "MPa",
    ..PLAIN
};
const IN_J: ResultSpec = ResultSpec {
    dimension: Dimension::ENERGY,
    unit: "J",
    ..PLAIN
};

/// Every result of the mechanics, in the order in which they are shown.
pub static RESULTS: &[ResultSpec] = &[
    ResultSpec {
        name: "pedal_ratio",
        section: Section::Travel,
        doc: "Pad travel over rod travel. A pedal given by its arms changes its ratio a \
             little along the stroke; this is the ratio of the arms.",
        formula: "pedal.ratio, or pad_arm / rod_arm",
        source: LEVER,
        ..PLAIN
    },
    ResultSpec {
        name: "hydraulic_ratio",
        section: Section::Travel,
        doc: "Slave area over master area: how many times the slave pushes harder, and \
             moves less, than the master. An intensifier between multiplies it by the ratio of its areas.",
        formula: "A_s / A_m, times (intensifier.in_bore / intensifier.out_bore)²",
        source: PASCAL,
        needs: needs![master],
        ..PLAIN
    },
    ResultSpec {
        name: "linkage_ratio",
        section: Section::Travel,
        doc: "Travel at the pedal's rod over travel at the fork's outer end, across the cross-shaft.",
        formula: "linkage.in_arm / linkage.out_arm",
        needs: needs![linkage],
        source: LEVER,
        ..PLAIN
    },
    ResultSpec {
        name: "relay_ratio",
        section: Section::Travel,
        doc: "Travel into all relay levers, and into a cross-shaft whose angles are given, over travel out of them, at full \
             pedal. It changes along the stroke as the arms swing; below that of the arms, the pedal is heavier than \
             they say.",
        formula: "the product of r_i·cos(θ − in_angle) / (r_o·cos(θ − out_angle)), with r = arm / cos(angle) and θ what the \
                  lever has turned",
        needs: needs![relay.in_arm | linkage.in_angle | linkage.out_angle],
        source: "planar kinematics of a lever",
        ..PLAIN
    },
    ResultSpec {
        name: "fork_ratio",
        section: Section::Travel,
        doc: "Travel of the fork's outer end over bearing travel; 1 for a concentric \
             slave, which has no fork.",
        formula: "fork.ratio, or slave_arm / bearing_arm",
        source: LEVER,
        ..PLAIN
    },
    ResultSpec {
        name: "overall_ratio",
        section: Section::Travel,
        doc: "Pad travel over bearing travel with no losses at all, and so how light the \
             pedal is for a given cover.",
        formula: "pedal_ratio · hydraulic_ratio or linkage_ratio · fork_ratio · in_arm / out_arm of every relay",
        ..PLAIN
    },
    ResultSpec {
        name: "pedal_travel_used",
        section: Section::Travel,
        doc: "Pad travel at full pedal: where the pedal, its stop, the master's stroke, the slave's \
             stroke, the fork's window or the bearing's guide ends it, whichever comes first.",
        formula: "the least of pedal.travel, pedal.stop and the pad travels at which the master's piston \
             has moved master.stroke, the slave's slave.stroke − slave.rest_extension, the fork's end \
             fork.window, the bearing bearing.max_travel",
        ..IN_MM
    },
    ResultSpec {
        name: "free_travel",
        section: Section::Travel,
        doc: "Pad travel until the bearing touches the fingers: what manuals call the pedal's free travel or free play, and what a \
             hand feels before the clutch pushes back. It holds `pedal.free_play`, all play and give behind it, the travel to \
             the master's port and the bearing's gap.",
        formula: "the pad travel at which the bearing has moved bearing.free_play, with no load on it",
        ..IN_MM
    },
    ResultSpec {
        name: "start_switch_lead",
        section: Section::Travel,
        doc: "How much further down than the point of release the pedal is when the starter may run. Below zero the engine \
             cranks with the clutch still engaged.",
        formula: "pedal.start_switch − release_point",
        needs: needs![pedal.start_switch],
        better: Better::More,
        ..IN_MM
    },
    ResultSpec {
        name: "start_switch_room",
        section: Section::Travel,
        doc: "Pad travel left at full pedal once the starter may run. With too little of it, the engine does not start when \
             the pedal stops a little early.",
        formula: "pedal_travel_used − pedal.start_switch",
        needs: needs![pedal.start_switch],
        better: Better::More,
        ..IN_MM
    },
    ResultSpec {
        name: "cruise_switch_lag",
        section: Section::Travel,
        doc: "How far past the free travel the pedal is when cruise control turns off.",
        formula: "pedal.cruise_switch − free_travel",
        needs: needs![pedal.cruise_switch],
        better: Better::Less,
        ..IN_MM
    },
    ResultSpec {
        name: "master_travel",
        section: Section::Travel,
        doc: "How far the master's piston moves at full pedal.",
        formula: "port_travel + (A_s·slave_travel + volume lost to lines, fluid and air) / A_m",
        source: PASCAL,
        needs: needs![master],
        ..IN_MM
    },
    ResultSpec {
        name: "master_reserve",
        section: Section::Travel,
        doc: "Master stroke left at full pedal. At zero the piston bottoms before or just \
             as the pedal ends.",
        formula: "master.stroke − master_travel",
        needs: needs![master],
        better: Better::More,
        ..IN_MM
    },
    ResultSpec {
        name: "intensifier_travel",
        section: Section::Travel,
        doc: "How far the intensifier's piston moves at full pedal.",
        formula: "intensifier.port_travel + (A_s·slave_travel + what lines, fluid and air take towards the slave) / A_out",
        source: PASCAL,
        needs: needs![intensifier],
        ..IN_MM
    },
    ResultSpec {
        name: "intensifier_reserve",
        section: Section::Travel,
        doc: "Stroke that the intensifier has left where pedal and master would bring its piston. Below zero it bottoms before \
              they end, and the slave goes no further.",
        formula: "intensifier.stroke − the intensifier_travel that pedal and master ask for",
        needs: needs![intensifier],
        better: Better::More,
        ..IN_MM
    },
    ResultSpec {
        name: "slave_travel_ideal",
        section: Section::Travel,
        doc: "What a tape measure should show at the slave with no losses at all. A real \
             system comes out below it; far below, look for air.",
        formula: "(x_m − master.port_travel)·A_m / A_s, with x_m the master's travel on a mount that does not \
             give, no more than master.stroke",
        source: PASCAL,
        needs: needs![master],
        ..IN_MM
    },
    ResultSpec {
        name: "slave_travel",
        section: Section::Travel,
        doc: "How far the slave's rod moves at full pedal, after what lines, fluid and air \
             take.",
        formula: "slave_travel_ideal − lost_hose − lost_fluid − lost_air − (F_m / k_mount)·A_m / A_s; \
             without a relay lever at the fork equally R_f·bearing_travel + F_rod / k_fork",
        source: PASCAL,
        needs: needs![master],
        ..IN_MM
    },
    ResultSpec {
        name: "slave_reserve",
        section: Section::Travel,
        doc: "Slave stroke left at the end of the pedal's or the master's travel. Below zero the piston reaches its \
             stop, or leaves its bore, before that.",
        formula: "slave.stroke − slave.rest_extension − the slave_travel that pedal and master ask for",
        needs: needs![master],
        better: Better::More,
        ..IN_MM
    },
    ResultSpec {
        name: "fork_travel",
        section: Section::Travel,
        doc: "How far the fork's outer end moves at full pedal, whatever drives it. It is what the window in the housing must leave free.",
        formula: "x_b·R_f + F / fork.stiffness",
        ..IN_MM
    },
    ResultSpec {
        name: "fork_reserve",
        section: Section::Travel,
        doc: "Room left in the fork's window at the end of the pedal's or the master's travel. Below zero the fork's \
             outer end strikes the housing before that.",
        formula: "fork.window − the fork_travel that pedal and master ask for; with window_rear or window_front \
             in its place, the room between the end at rest and that edge",
        needs: needs![fork.window | fork.window_rear | fork.window_front],
        better: Better::More,
        ..IN_MM
    },
    ResultSpec {
        name: "lost_hose",
        section: Section::Travel,
        doc: "Slave travel lost at full pedal because hoses and tubes swell. A line that \
             says neither expansion nor wall counts as rigid.",
        formula: "hose: Σ expansion·length·p / A_s; tube: π·((a + u)² − a²)·length / A_s with \
             u = p·a/E·((b² + a²)/(b² − a²) + ν), a and b the inner and outer radius",
        source: "hose: by definition of its expansion; tube: Lamé's thick cylinder, ends open",
        needs: needs![master],
        better: Better::Less,
        ..IN_MM
    },
    ResultSpec {
        name: "lost_fluid",
        section: Section::Travel,
        doc: "Slave travel lost at full pedal because the fluid itself gives.",
        formula: "V·p / K / A_s, with V = A_m·(stroke − port_travel) + Σ line volume + \
             A_s·rest_extension",
        needs: needs![fluid.bulk_modulus],
        source: "OpenStax College Physics 2e, section 5.3",
        better: Better::Less,
        ..IN_MM
    },
    ResultSpec {
        name: "lost_air",
        section: Section::Travel,
        doc: "Slave travel lost at full pedal because trapped air is squeezed. Zero where \
             `fluid.air` is zero.",
        formula: "fluid.air·(1 − p₀ / (p₀ + p)) / A_s, with p₀ = 101 325 Pa, isothermal",
        source: "Boyle's law; OpenStax College Physics 2e, section 13.3; p₀: ISO 2533 (101 \
             325 Pa), from memory",
        needs: needs![master],
        better: Better::Less,
        ..IN_MM
    },
    ResultSpec {
        name: "lost_flex",
        section: Section::Travel,
        doc: "Travel at the fork's outer end lost at full pedal because the fork, the slave's bracket, relay levers and the \
             master's mount give way. What the spec gives no stiffness for counts as rigid.",
        formula: "F_rod / k_fork + F_rod / k_bracket + F_in / k_relay over the relay's ratio + (F_m / k_mount)·A_m / A_s",
        source: COMMON,
        better: Better::Less,
        ..IN_MM
    },
    ResultSpec {
        name: "lost_port",
        section: Section::Travel,
        doc: "Slave travel lost until the master's compensating port is shut.",
        formula: "master.port_travel·A_m / A_s",
        source: PASCAL,
        needs: needs![master],
        better: Better::Less,
        ..IN_MM
    },
    ResultSpec {
        name: "lost_play",
        section: Section::Travel,
        doc: "Travel of the fork's outer end lost to the play of cable, linkage and relay levers.",
        formula: "play / R, at the fork's outer end",
        needs: needs![cable | linkage | relay],
        better: Better::Less,
        ..IN_MM
    },
    ResultSpec {
        name: "bearing_travel",
        section: Section::Travel,
        doc: "How far the release bearing moves at full pedal, from rest.",
        formula: "(slave_travel − F_rod / k_fork) / R_f",
        source: LEVER,
        ..IN_MM
    },
    ResultSpec {
        name: "bearing_reserve",
        section: Section::Travel,
        doc: "Room left on the bearing's guide at the end of the pedal's or the master's travel. Below zero the bearing \
             runs off or strikes something before that.",
        formula: "bearing.max_travel − the bearing_travel that pedal and master ask for",
        needs: needs![bearing.max_travel],
        better: Better::More,
        ..IN_MM
    },
    ResultSpec {
        name: "finger_travel",
        section: Section::Release,
        doc: "How far the bearing moves the fingers at full pedal: its travel less the gap \
             to them.",
        formula: "the greater of 0 and bearing_travel − bearing.free_play",
        ..IN_MM
    },
    ResultSpec {
        name: "release_margin",
        section: Section::Release,
        doc: "How much further the fingers travel than the cover needs to free the disc. \
             Below zero the clutch drags.",
        formula: "finger_travel − the near end of cover.release_travel",
        better: Better::More,
        ..IN_MM
    },
    ResultSpec {
        name: "overtravel_margin",
        section: Section::Release,
        doc: "How much further the fingers could travel before the cover takes harm. Below \
             zero the pedal needs a stop.",
        formula: "the far end of cover.release_travel − finger_travel",
        better: Better::More,
        ..IN_MM
    },
    ResultSpec {
        name: "release_point",
        section: Section::Release,
        doc: "Pad travel at which the disc comes free. Absent when full pedal does not get \
             there.",
        formula: "pad travel where finger_travel is the near end of cover.release_travel",
        ..IN_MM
    },
    ResultSpec {
        name: "bite_point",
        section: Section::Release,
        doc: "Pad travel on the way up at which the clutch begins to pull: where it carries 7.4 lbf·ft (10 N·m).",
        formula: "pad travel of the return where disc.friction·F·(r_outer + r_inner)/2·disc.faces = 7.4 lbf·ft (10 N·m), F = \
             cover.clamp_load·(q / disc.cushion)^disc.cushion_power or disc.cushion_load at q, q = disc.cushion − lift, lift = \
             (finger_travel − release load / cover.finger_stiffness) / cover.finger_ratio",
        needs: BITE,
        source: DISC,
        ..IN_MM
    },
    ResultSpec {
        name: "take_up_end",
        section: Section::Release,
        doc: "Pad travel on the way up at which the clutch carries the engine's torque and no longer slips.",
        formula: "as bite_point, with engine.torque",
        needs: TAKE_UP,
        source: DISC,
        ..IN_MM
    },
    ResultSpec {
        name: "take_up",
        section: Section::Release,
        doc: "Pad travel over which the clutch takes up: what the foot has to pull away with.",
        formula: "bite_point − take_up_end",
        needs: TAKE_UP,
        better: Better::More,
        ..IN_MM
    },
    ResultSpec {
        name: "release_margin_hot",
        section: Section::Release,
        doc: "Release margin with the hoses as soft as the heat makes them.",
        formula: "release_margin with line.expansion·(1 + line.heat·(fluid.hottest − 23 °C))",
        needs: needs![line.heat, fluid.hottest],
        source: COMMON,
        better: Better::More,
        ..IN_MM
    },
    ResultSpec {
        name: "stop_travel",
        section: Section::Travel,
        doc: "Pad travel at which the fingers reach the most that the cover may take: a \
             pedal stop belongs before it. Absent when full pedal does not get there, and \
             no stop is needed.",
        formula: "pad travel where finger_travel is the far end of cover.release_travel",
        ..IN_MM
    },
    ResultSpec {
        name: "line_pressure",
        section: Section::Fluid,
        doc: "The highest pressure in the line on the way down, gauge; behind an intensifier, on the slave's side of it.",
        formula: "the peak of p = ((F_rod + slave.drag) / η_s − slave.preload) / A_s, never below 0",
        source: PASCAL,
        needs: needs![master],
        better: Better::Less,
        ..IN_MPA
    },
    ResultSpec {
        name: "master_pressure",
        section: Section::Fluid,
        doc: "The highest pressure on the master's side of the intensifier on the way down, gauge.",
        formula: "line_pressure · A_out / A_in / intensifier.efficiency",
        source: PASCAL,
        needs: needs![intensifier],
        better: Better::Less,
        ..IN_MPA
    },
    ResultSpec {
        name: "cable_efficiency",
        section: Section::Effort,
        doc: "What the bends leave of the pull that the pedal puts in.",
        formula: "exp(−cable.friction · cable.bends)",
        needs: needs![cable],
        source: EULER,
        better: Better::More,
        ..PLAIN
    },
    ResultSpec {
        name: "cable_tension",
        section: Section::Effort,
        doc: "Highest tension at the pedal's end of the cable.",
        formula: "F at the fork · exp(cable.friction · cable.bends), the greatest of the press",
        needs: needs![cable],
        source: EULER,
        better: Better::Less,
        ..IN_N
    },
    ResultSpec {
        name: "pedal_effort",
        section: Section::Effort,
        doc: "The highest force at the pad on the way down. A cover's load often peaks \
             before full pedal, and the effort with it.",
        formula: "the peak of F_m / (R·η_p) + pedal.return_force − assist, with F_m = p·A_m / \
             η_m + master.return_force and R the pedal's ratio at that travel",
        source: "levers and Pascal's law; OpenStax College Physics 2e, sections 9.5 and 11.5",
        better: Better::Less,
        ..IN_N
    },
    ResultSpec {
        name: "pedal_effort_worn_liner",
        section: Section::Effort,
        doc: "The highest force at the pad on the way down once the cable's liner is worn.",
        formula: "pedal_effort with cable.friction_worn",
        needs: needs![cable.friction_worn],
        source: EULER,
        better: Better::Less,
        ..IN_N
    },
    ResultSpec {
        name: "pedal_effort_full",
        section: Section::Effort,
        doc: "Force at the pad to hold the pedal down at full pedal, as reached by \
             pressing.",
        formula: "pedal_effort's sum at pedal_travel_used",
        source: "levers and Pascal's law; OpenStax College Physics 2e, sections 9.5 and 11.5",
        better: Better::Less,
        ..IN_N
    },
    ResultSpec {
        name: "pedal_effort_return",
        section: Section::Effort,
        doc: "The least force with which the pedal pushes the foot back on its way up. At \
             or below zero the pedal stays down.",
        formula: "the least of pedal_effort's sum with every efficiency multiplying instead of \
             dividing",
        source: COMMON,
        better: Better::More,
        ..IN_N
    },
    ResultSpec {
        name: "pedal_effort_slack",
        section: Section::Effort,
        doc: "Least force with which the pedal comes back the last bit, once the bearing has left the fingers: the springs alone. At or below zero it hangs down.",
        formula: "the return springs of pedal, master and fork, by the levers, less drag and assist",
        source: COMMON,
        better: Better::More,
        ..IN_N
    },
    ResultSpec {
        name: "pedal_work",
        section: Section::Effort,
        doc: "What the leg puts in for one full press. Two pedals of the same peak effort \
             can differ much in it.",
        formula: "effort summed over pad travel, from rest to pedal_travel_used",
        source: DEFINED,
        better: Better::Less,
        ..IN_J
    },
    ResultSpec {
        name: "adjust_needed",
        section: Section::Wear,
        doc: "Travel that an adjuster at the fork's end needs to take up all the wear of the disc.",
        formula: "disc.wear·discs·cover.finger_ratio·R_f, discs = disc.faces / 2",
        needs: needs![
            disc.wear,
            cover.finger_ratio | diaphragm,
            cable | linkage | slave.adjuster
        ],
        source: LEVER,
        better: Better::Less,
        ..IN_MM
    },
    ResultSpec {
        name: "wear_reserve",
        section: Section::Wear,
        doc: "Room left for the bearing to come back once the disc is worn out. Below zero \
             the piston, the free play or the adjuster runs out and the clutch slips.",
        formula: "bearing.free_play + slave.rest_extension / R_f, or with an adjuster adjust_range / R_f, − \
             disc.wear·discs·cover.finger_ratio; discs = disc.faces / 2, slave.rest_extension as it comes through the relay \
             levers",
        needs: needs![disc.wear, cover.finger_ratio | diaphragm],
        source: COMMON,
        better: Better::More,
        ..IN_MM
    },
    ResultSpec {
        name: "fork_tip_position",
        section: Section::Alignment,
        doc: "Where the fork's tips stand at rest, forward of the gearbox's face.",
        formula: "x_t = bellhousing.depth + bellhousing.adapter − cover.finger_height − bearing.free_play − \
             bearing.length; with a pull cover + bearing.free_play; worn: back by what the fingers push it",
        needs: FORK_STACK,
        source: STACK,
        ..IN_MM
    },
    ResultSpec {
        name: "fork_angle",
        section: Section::Alignment,
        doc: "How far the fork stands off square to the shaft at rest, above zero where its tips lie forward.",
        formula: "ψ = asin((x_t − fork.pivot_height) / √(b² + o_t²)) − atan(o_t / b), b fork.bearing_arm, o_t \
             fork.tip_offset",
        needs: FORK_STACK,
        source: STACK,
        ..IN_DEG
    },
    ResultSpec {
        name: "fork_angle_full",
        section: Section::Alignment,
        doc: "How far the fork stands off square to the shaft at full pedal, above zero where its tips lie forward.",
        formula: "ψ with the tips at x_t + bearing_travel; with a pull cover −",
        needs: FORK_STACK,
        source: STACK,
        ..IN_DEG
    },
    ResultSpec {
        name: "fork_lean",
        section: Section::Alignment,
        doc: "The most that the fork stands off square, either way, from rest on a worn disc to full pedal. The \
             further, the more its tips slide on the bearing and the rod leans.",
        formula: "the greater of |ψ| at rest on a worn disc and |ψ| at full pedal",
        needs: FORK_STACK,
        source: STACK,
        better: Better::Less,
        ..IN_DEG
    },
    ResultSpec {
        name: "pivot_shim",
        section: Section::Alignment,
        doc: "How much further forward the fork's pivot would have to stand for the fork to come square at the middle \
             of its use; below zero rearward. Shims under the pivot bring it forward.",
        formula: "(x_t on a worn disc + x_t at full pedal) / 2 − fork.tip_offset − fork.pivot_height",
        needs: FORK_STACK,
        source: STACK,
        ..IN_MM
    },
    ResultSpec {
        name: "fork_end_position",
        section: Section::Alignment,
        doc: "Where the seat at the fork's outer end stands at rest, forward of the gearbox's face.",
        formula: "x_o = fork.pivot_height ∓ fork.slave_arm·sin ψ + fork.end_offset·cos ψ, − with the pivot between, + \
             outboard",
        needs: FORK_STACK_AND_PIVOT,
        source: STACK,
        ..IN_MM
    },
    ResultSpec {
        name: "fork_end_position_full",
        section: Section::Alignment,
        doc: "Where the seat at the fork's outer end stands at full pedal, forward of the gearbox's face; what the fork \
             bends under the load included.",
        formula: "fork_end_position ± fork_travel",
        needs: FORK_STACK_AND_PIVOT,
        source: STACK,
        ..IN_MM
    },
    ResultSpec {
        name: "fork_back_room",
        section: Section::Alignment,
        doc: "Room left between the fork's outer end and the edge of its opening that it comes back to as the disc \
             wears, with the disc worn out. Below zero the housing holds the fork, and the clutch slips.",
        formula: "between the edge of fork.window_front or fork.window_rear behind the end's travel and x_o on a worn disc",
        needs: needs![
            fork.slave_arm,
            fork.bearing_arm,
            fork.pivot_height,
            fork.pivot,
            bearing.length,
            bellhousing.depth,
            cover.finger_height,
            fork.window_rear | fork.window_front
        ],
        source: STACK,
        better: Better::More,
        ..IN_MM
    },
    ResultSpec {
        name: "rod_cut_length",
        section: Section::Alignment,
        doc: "Length to cut the slave's rod to, from seat to seat, so that the piston \
             rests at `slave.rest_extension` with a new disc. A rod whose offset is not given \
             counts as in line with the bore.",
        formula: "√((slave.mount_to_fork + slave.face_to_seat − slave.rest_extension)² + \
             slave.rod_offset²)",
        source: "Pythagoras",
        needs: needs![slave.mount_to_fork, slave.face_to_seat],
        ..IN_MM
    },
    ResultSpec {
        name: "plate_lift",
        section: Section::Release,
        doc: "How far the pressure plate comes off the disc at full pedal, shared between \
             both faces and the disc's cushion.",
        formula: "finger_travel / cover.finger_ratio",
        needs: needs![cover.finger_ratio | diaphragm],
        source: LEVER,
        ..IN_MM
    },
    ResultSpec {
        name: "lift_margin",
        section: Section::Release,
        doc: "How much further the plate lifts than the disc's cushion and the gaps at its faces want. Below zero the disc drags although the fingers travel as the cover asks.",
        formula: "plate_lift − (disc.cushion + disc.faces·disc.clearance)",
        needs: needs![cover.finger_ratio | diaphragm, disc.clearance],
        source: COMMON,
        better: Better::More,
        ..IN_MM
    },
    ResultSpec {
        name: "clamp_load",
        section: Section::Clutch,
        doc: "Force with which the cover clamps the disc, less what a bearing that rides on the fingers takes off.",
        formula: "as given, or of the diaphragm by Almen–László at its set deflection less the wear; − \
             cover.finger_ratio·riding_load",
        needs: needs![cover.clamp_load | diaphragm],
        source: CONE,
        ..IN_N
    },
    ResultSpec {
        name: "riding_load",
        section: Section::Clutch,
        doc: "Load with which a preload holds the bearing on the fingers at rest. It takes its part of the clamp load.",
        formula: "(slave.preload, by the relay levers, or adjust_preload − fork.return_force)·R_f, never below 0; of a bearing without free play",
        needs: needs![
            slave.preload | slave.adjust_preload | cable.adjust_preload | linkage.adjust_preload
        ],
        source: COMMON,
        better: Better::Less,
        ..IN_N
    },
    ResultSpec {
        name: "torque_capacity",
        section: Section::Clutch,
        doc: "Torque at which the clutch slips, with the facings run in.",
        formula: "disc.friction · clamp_load · (r_outer + r_inner)/2 · disc.faces, uniform wear",
        needs: needs![cover.clamp_load | diaphragm, disc],
        source: DISC,
        better: Better::More,
        ..IN_NM
    },
    ResultSpec {
        name: "torque_margin",
        section: Section::Clutch,
        doc: "Torque to spare over what the engine asks for with its service factor. Below zero the clutch slips where it should hold.",
        formula: "torque_capacity − engine.torque·engine.service_factor",
        needs: needs![cover.clamp_load | diaphragm, disc, engine],
        better: Better::More,
        ..IN_NM
    },
    ResultSpec {
        name: "torque_capacity_hot",
        section: Section::Clutch,
        doc: "Torque at which the clutch slips once its facings are hot.",
        formula: "torque_capacity·disc.friction_hot / disc.friction",
        needs: needs![cover.clamp_load | diaphragm, disc.friction_hot],
        source: DISC,
        better: Better::More,
        ..IN_NM
    },
    ResultSpec {
        name: "port_clearance",
        section: Section::Fluid,
        doc: "Gap at the master's pushrod with the pedal up. It lets the piston go home, so that the compensating port \
             opens.",
        formula: "pedal.free_play at the rod, or master.rod_clearance",
        needs: needs![
            master.rod | pedal.rests,
            pedal.free_play | master.rod_clearance
        ],
        better: Better::More,
        ..IN_MM
    },
    ResultSpec {
        name: "shut_port_volume",
        section: Section::Fluid,
        doc: "By how much the fluid grows as it warms. Through an open port it goes back to the reservoir; behind a port \
             that stays shut it drives the slave out.",
        formula: "ΔV = V·fluid.growth·(fluid.hottest − fluid.filled_at), V = A_m·(stroke − port_travel) + Σ line volume \
             + A_s·rest_extension",
        needs: needs![fluid.hottest],
        source: COMMON,
        better: Better::Less,
        ..IN_CC
    },
    ResultSpec {
        name: "shut_port_travel",
        section: Section::Fluid,
        doc: "How far the bearing would then move with the pedal up, behind a port that stays shut.",
        formula: "b with A_s·(R_f·b + F / k_fork) + volume lost to lines, fluid and air = ΔV; F = load(b − gap) / R_f, p = \
             (F − slave.preload) / A_s, without friction",
        needs: needs![fluid.hottest],
        source: PASCAL,
        better: Better::Less,
        ..IN_MM
    },
    ResultSpec {
        name: "shut_port_load",
        section: Section::Fluid,
        doc: "The load on the bearing with the pedal up, from the fluid that has grown.",
        formula: "load at shut_port_travel",
        needs: needs![fluid.hottest],
        source: PASCAL,
        better: Better::Less,
        ..IN_N
    },
    ResultSpec {
        name: "shut_port_clamp_lost",
        section: Section::Clutch,
        doc: "What it takes off the clamp load.",
        formula: "cover.finger_ratio · shut_port_load",
        needs: needs![fluid.hottest, cover.finger_ratio | diaphragm],
        source: LEVER,
        better: Better::Less,
        ..IN_N
    },
    ResultSpec {
        name: "shut_port_capacity",
        section: Section::Clutch,
        doc: "Torque at which the clutch then slips.",
        formula: "torque_capacity of cover.clamp_load − shut_port_clamp_lost, not below zero",
        needs: needs![
            fluid.hottest,
            cover.finger_ratio | diaphragm,
            cover.clamp_load | diaphragm,
            disc
        ],
        source: DISC,
        better: Better::More,
        ..IN_NM
    },
    ResultSpec {
        name: "rod_angle",
        section: Section::Alignment,
        doc: "Worst angle of the slave's rod to its bore over the stroke, with the disc new and worn. A rod that leans wears the bore and jumps out.",
        formula: "slider-crank of fork.slave_arm, slave.rod_length and slave.rod_offset; the greater of both ends and of where the arm is square",
        needs: needs![fork.slave_arm, slave.rod_length, slave.rod_offset],
        source: CRANK,
        better: Better::Less,
        ..IN_DEG
    },
    ResultSpec {
        name: "rod_offset_best",
        section: Section::Alignment,
        doc: "The rod offset that makes rod_angle least. Move the bracket by the difference to the present one.",
        formula: "half of what the fork's end swings sideways, over new and worn",
        needs: needs![fork.slave_arm, slave.rod_length, slave.rod_offset],
        source: CRANK,
        ..IN_MM
    },
    ResultSpec {
        name: "pedal_rod_angle",
        section: Section::Alignment,
        doc: "Worst angle of the pedal's rod to the master's bore over the travel; it lies along the bore at rest.",
        formula: "slider-crank of pedal.rod_arm and pedal.rod_length",
        needs: needs![pedal.rod_arm, pedal.rod_length],
        source: CRANK,
        better: Better::Less,
        ..IN_DEG
    },
    ResultSpec {
        name: "bell_offset",
        section: Section::Alignment,
        doc: "How far the housing's bore is off the crankshaft's axis. Offset dowels of this much bring it true.",
        formula: "half the total indicator reading, or the first harmonic of the dial by least squares",
        needs: needs![bellhousing.runout | bellhousing.dial],
        source: TRUE,
        better: Better::Less,
        ..IN_MM
    },
    ResultSpec {
        name: "bell_angle",
        section: Section::Alignment,
        doc: "Which way the offset dowels bring the housing, by bell_offset: the angle from the top, clockwise as seen from the gearbox.",
        formula: "direction of the first harmonic of the dial, towards the high readings",
        needs: needs![bellhousing.dial],
        source: TRUE,
        ..IN_DEG
    },
    ResultSpec {
        name: "bell_tilt",
        section: Section::Alignment,
        doc: "How far the gearbox's face is from square to the crankshaft.",
        formula: "atan(bellhousing.face_runout / bellhousing.face_circle)",
        needs: needs![bellhousing.face_runout, bellhousing.face_circle],
        better: Better::Less,
        ..IN_DEG
    },
    ResultSpec {
        name: "dowel_residual",
        section: Section::Alignment,
        doc: "What a gauge on the housing's bore still reads with the offset dowels fitted, turned towards the high reading.",
        formula: "2·|bell_offset − bellhousing.dowel_offset|",
        needs: needs![
            bellhousing.runout | bellhousing.dial,
            bellhousing.dowel_offset
        ],
        source: TRUE,
        better: Better::Less,
        ..IN_MM
    },
    ResultSpec {
        name: "shaft_tip_offset",
        section: Section::Alignment,
        doc: "How far the input shaft's tip is off the crankshaft's axis at the pilot, for the tilt of the gearbox's face.",
        formula: "bellhousing.face_runout / bellhousing.face_circle · (bellhousing.depth + bellhousing.adapter + \
             gearbox.pilot_reach)",
        needs: needs![
            bellhousing.face_runout,
            bellhousing.face_circle,
            bellhousing.depth,
            gearbox.pilot_reach
        ],
        better: Better::Less,
        ..IN_MM
    },
    ResultSpec {
        name: "pilot_engagement",
        section: Section::Alignment,
        doc: "How much of the input shaft's tip stands in the pilot bearing. Below zero it does not reach it.",
        formula: "gearbox.input_length − bellhousing.depth − bellhousing.adapter − gearbox.pilot_reach, no more than gearbox.pilot_depth",
        needs: needs![bellhousing.depth, gearbox.input_length, gearbox.pilot_reach],
        better: Better::More,
        ..IN_MM
    },
    ResultSpec {
        name: "pilot_room",
        section: Section::Alignment,
        doc: "Room ahead of the input shaft's tip, up to the bottom of the pilot's hole, with the gearbox home. Below zero the shaft bears on the crankshaft before the faces meet.",
        formula: "gearbox.pilot_depth − (gearbox.input_length − bellhousing.depth − bellhousing.adapter − gearbox.pilot_reach)",
        needs: needs![
            bellhousing.depth,
            gearbox.input_length,
            gearbox.pilot_reach,
            gearbox.pilot_depth
        ],
        ..IN_MM
    },
    ResultSpec {
        name: "spline_engagement",
        section: Section::Alignment,
        doc: "How much of the hub's length stands on the input shaft's splines, with the disc new and clamped. Below zero the hub does not reach them.",
        formula: "overlap of the splines, from gearbox.spline_start behind the shaft's tip for gearbox.spline_length, and the hub, disc.hub_length around flywheel.face + disc.thickness / 2 + disc.hub_offset; the tip is at bellhousing.depth + bellhousing.adapter − gearbox.input_length, all behind the engine's face",
        needs: needs![
            bellhousing.depth,
            gearbox.input_length,
            gearbox.spline_start,
            gearbox.spline_length,
            flywheel.face,
            disc.thickness,
            disc.hub_length,
            disc.hub_offset
        ],
        better: Better::More,
        ..IN_MM
    },
    ResultSpec {
        name: "setup_gap",
        section: Section::Alignment,
        doc: "Room between the fingers and a concentric slave's bearing with its piston fully home: what the stack of housing, adapter, cover and slave leaves. At rest it is taken up by rest extension and free play.",
        formula: "bellhousing.depth + bellhousing.adapter − cover.finger_height − slave.height",
        needs: needs![bellhousing.depth, cover.finger_height, slave.height],
        ..IN_MM
    },
    ResultSpec {
        name: "bubble_volume",
        section: Section::Bleeding,
        doc: "Air that bleeding cannot get out of a slave whose far end lies higher than its bleed screw.",
        formula: "the bore above a level plane through its top at the screw, over slave.chamber at slave.slope",
        needs: needs![slave.slope, slave.chamber],
        source: "volume of a cylinder's hoof",
        better: Better::Less,
        ..IN_CC
    },
    ResultSpec {
        name: "master_bubble_volume",
        section: Section::Bleeding,
        doc: "Air that bleeding cannot get out of a master whose front end lies higher than its outlet.",
        formula: "the bore above a level plane through its top at the outlet, over master.chamber at master.slope",
        needs: needs![master.slope, master.chamber],
        source: "volume of a cylinder's hoof",
        better: Better::Less,
        ..IN_CC
    },
    ResultSpec {
        name: "air_volume",
        section: Section::Bleeding,
        doc: "Air in the fluid that explains what was measured, at atmospheric pressure, after lines, fluid and flex have taken their share.",
        formula: "what left the master and did not arrive, over 1 − p₀/(p₀ + p)",
        needs: needs![master, measured],
        source: BOYLE,
        better: Better::Less,
        ..IN_CC
    },
    ResultSpec {
        name: "slave_travel_missing",
        section: Section::Bleeding,
        doc: "Slave travel at the measured pedal travel without any air, less the measured one.",
        formula: "slave_travel without air at measured.pedal_travel − measured",
        needs: needs![master, measured],
        better: Better::Less,
        ..IN_MM
    },
    ResultSpec {
        name: "return_time",
        section: Section::Fluid,
        doc: "Time for the line to let the slave's fluid back in the cold, until the fingers have come back by nine tenths.",
        formula: "Σ 128·η·L/(π·d⁴) · ∫ dV/p along the return stroke; with an orifice ∫ dV/Q, where both together take p",
        needs: needs![fluid.viscosity | fluid.coldest],
        source: "Hagen–Poiseuille; OpenStax College Physics 2e, section 12.4; viscosity limits: 49 CFR 571.116, S5.1.3; between them by temperature: ASTM D341",
        better: Better::Less,
        ..IN_S
    },
    ResultSpec {
        name: "orifice_time",
        section: Section::Fluid,
        doc: "Time for orifices in the line to let the slave's fluid back, warm or cold, until the fingers have come back by \
             nine tenths.",
        formula: "∫ dV/Q along the return stroke, Q = 0.65·π/4·d²·√(2p/ρ)",
        needs: needs![line.orifice],
        source: "flow through an orifice; its coefficient of 0.65: common practice, no source",
        better: Better::Less,
        ..IN_S
    },
];
