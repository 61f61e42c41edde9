//! The results and what they mean.
//!
//! Symbols as in the mechanics: `x` travel, `F` force, `p` pressure, `A` area, `R` ratio,
//! `k` stiffness; `_m` master, `_s` slave, `_f` fork, `_b` bearing.

use super::{COMMON, ResultSpec};
use crate::quantity::Dimension;

/// A result that is a plain sum or comparison of others.
const DEFINED: &str = "by definition";
const LEVER: &str = "lever; OpenStax College Physics 2e, section 9.5";
const PASCAL: &str = "Pascal's law; OpenStax College Physics 2e, section 11.5";

/// What the rows of one unit share; each row fills in the rest.
const PLAIN: ResultSpec = ResultSpec {
    name: "",
    doc: "",
    formula: "",
    dimension: Dimension::NUMBER,
    unit: "",
    needs: &[],
    source: DEFINED,
};
const IN_MM: ResultSpec = ResultSpec {
    dimension: Dimension::LENGTH,
    unit: "mm",
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
        doc: "Pad travel over rod travel. A pedal given by its arms changes its ratio a \
             little along the stroke; this is the ratio of the arms.",
        formula: "pedal.ratio, or pad_arm / rod_arm",
        source: LEVER,
        ..PLAIN
    },
    ResultSpec {
        name: "hydraulic_ratio",
        doc: "Slave area over master area: how many times the slave pushes harder, and \
             moves less, than the master.",
        formula: "A_s / A_m",
        source: PASCAL,
        ..PLAIN
    },
    ResultSpec {
        name: "fork_ratio",
        doc: "Travel of the fork's outer end over bearing travel; 1 for a concentric \
             slave, which has no fork.",
        formula: "fork.ratio, or slave_arm / bearing_arm",
        source: LEVER,
        ..PLAIN
    },
    ResultSpec {
        name: "overall_ratio",
        doc: "Pad travel over bearing travel with no losses at all, and so how light the \
             pedal is for a given cover.",
        formula: "pedal_ratio · hydraulic_ratio · fork_ratio",
        ..PLAIN
    },
    ResultSpec {
        name: "pedal_travel_used",
        doc: "Pad travel at full pedal: where the pedal, its stop or the master's stroke \
             ends it, whichever comes first.",
        formula: "the least of pedal.travel, pedal.stop and the pad travel at which the \
             master's piston has moved master.stroke",
        ..IN_MM
    },
    ResultSpec {
        name: "master_travel",
        doc: "How far the master's piston moves at full pedal.",
        formula: "port_travel + (A_s·slave_travel + volume lost to lines, fluid and air) / A_m",
        source: PASCAL,
        ..IN_MM
    },
    ResultSpec {
        name: "master_reserve",
        doc: "Master stroke left at full pedal. At zero the piston bottoms before or just \
             as the pedal ends.",
        formula: "master.stroke − master_travel",
        ..IN_MM
    },
    ResultSpec {
        name: "slave_travel_ideal",
        doc: "What a tape measure should show at the slave with no losses at all. A real \
             system comes out below it; far below, look for air.",
        formula: "(master_travel − master.port_travel)·A_m / A_s",
        source: PASCAL,
        ..IN_MM
    },
    ResultSpec {
        name: "slave_travel",
        doc: "How far the slave's rod moves at full pedal, after what lines, fluid and air \
             take.",
        formula: "slave_travel_ideal − lost_hose − lost_fluid − lost_air; equally \
             R_f·bearing_travel + F_rod / k_fork",
        source: PASCAL,
        ..IN_MM
    },
    ResultSpec {
        name: "slave_reserve",
        doc: "Slave stroke left at full pedal. Below zero the piston reaches its stop or \
             leaves its bore.",
        formula: "slave.stroke − slave.rest_extension − slave_travel",
        ..IN_MM
    },
    ResultSpec {
        name: "lost_hose",
        doc: "Slave travel lost at full pedal because hoses and tubes swell. A line that \
             says neither expansion nor wall counts as rigid.",
        formula: "hose: Σ expansion·length·p / A_s; tube: π·((a + u)² − a²)·length / A_s with \
             u = p·a/E·((b² + a²)/(b² − a²) + ν), a and b the inner and outer radius",
        source: "hose: by definition of its expansion; tube: Lamé's thick cylinder, ends open",
        ..IN_MM
    },
    ResultSpec {
        name: "lost_fluid",
        doc: "Slave travel lost at full pedal because the fluid itself gives.",
        formula: "V·p / K / A_s, with V = A_m·(stroke − port_travel) + Σ line volume + \
             A_s·rest_extension",
        needs: &["fluid.bulk_modulus"],
        source: "OpenStax College Physics 2e, section 5.3",
        ..IN_MM
    },
    ResultSpec {
        name: "lost_air",
        doc: "Slave travel lost at full pedal because trapped air is squeezed. Zero while \
             `fluid.air` is.",
        formula: "fluid.air·(1 − p₀ / (p₀ + p)) / A_s, with p₀ = 101 325 Pa, isothermal",
        source: "Boyle's law; OpenStax College Physics 2e, section 13.3; p₀: ISO 2533 (101 \
             325 Pa), from memory",
        ..IN_MM
    },
    ResultSpec {
        name: "lost_flex",
        doc: "Travel lost at full pedal because the fork and the master's mount give way, \
             as slave travel. What the spec gives no stiffness for counts as rigid.",
        formula: "F_rod / k_fork + (F_m / k_mount)·A_m / A_s",
        source: COMMON,
        ..IN_MM
    },
    ResultSpec {
        name: "lost_port",
        doc: "Slave travel lost until the master's compensating port is shut.",
        formula: "master.port_travel·A_m / A_s",
        source: PASCAL,
        ..IN_MM
    },
    ResultSpec {
        name: "bearing_travel",
        doc: "How far the release bearing moves at full pedal, from rest.",
        formula: "(slave_travel − F_rod / k_fork) / R_f",
        source: LEVER,
        ..IN_MM
    },
    ResultSpec {
        name: "finger_travel",
        doc: "How far the bearing moves the fingers at full pedal: its travel less the gap \
             to them.",
        formula: "the greater of 0 and bearing_travel − bearing.free_play",
        ..IN_MM
    },
    ResultSpec {
        name: "release_margin",
        doc: "How much further the fingers travel than the cover needs to free the disc. \
             Below zero the clutch drags.",
        formula: "finger_travel − the near end of cover.release_travel",
        ..IN_MM
    },
    ResultSpec {
        name: "overtravel_margin",
        doc: "How much further the fingers could travel before the cover takes harm. Below \
             zero the pedal needs a stop.",
        formula: "the far end of cover.release_travel − finger_travel",
        ..IN_MM
    },
    ResultSpec {
        name: "release_point",
        doc: "Pad travel at which the disc comes free. Absent when full pedal does not get \
             there.",
        formula: "pad travel where finger_travel is the near end of cover.release_travel",
        ..IN_MM
    },
    ResultSpec {
        name: "stop_travel",
        doc: "Pad travel at which the fingers reach the most that the cover may take: a \
             pedal stop belongs before it. Absent when full pedal does not get there, and \
             no stop is needed.",
        formula: "pad travel where finger_travel is the far end of cover.release_travel",
        ..IN_MM
    },
    ResultSpec {
        name: "line_pressure",
        doc: "The highest pressure in the line on the way down, gauge.",
        formula: "the peak of p = (F_rod / η_s − slave.preload) / A_s, never below 0",
        source: PASCAL,
        ..IN_MPA
    },
    ResultSpec {
        name: "pedal_effort",
        doc: "The highest force at the pad on the way down. A cover's load often peaks \
             before full pedal, and the effort with it.",
        formula: "the peak of F_m / (R·η_p) + pedal.return_force − assist, with F_m = p·A_m / \
             η_m + master.return_force and R the pedal's ratio at that travel",
        source: "levers and Pascal's law; OpenStax College Physics 2e, sections 9.5 and 11.5",
        ..IN_N
    },
    ResultSpec {
        name: "pedal_effort_full",
        doc: "Force at the pad to hold the pedal down at full pedal, as reached by \
             pressing.",
        formula: "pedal_effort's sum at pedal_travel_used",
        source: "levers and Pascal's law; OpenStax College Physics 2e, sections 9.5 and 11.5",
        ..IN_N
    },
    ResultSpec {
        name: "pedal_effort_return",
        doc: "The least force with which the pedal pushes the foot back on its way up. At \
             or below zero the pedal stays down.",
        formula: "the least of pedal_effort's sum with every efficiency multiplying instead of \
             dividing",
        source: COMMON,
        ..IN_N
    },
    ResultSpec {
        name: "pedal_work",
        doc: "What the leg puts in for one full press. Two pedals of the same peak effort \
             can differ much in it.",
        formula: "effort summed over pad travel, from rest to pedal_travel_used",
        source: DEFINED,
        ..IN_J
    },
    ResultSpec {
        name: "wear_reserve",
        doc: "Room left for the bearing to come back once the disc is worn out. Below zero \
             the piston or the free play runs out and the clutch slips.",
        formula: "bearing.free_play + slave.rest_extension / R_f − \
             disc.wear·cover.finger_ratio",
        needs: &["disc.wear", "cover.finger_ratio"],
        source: COMMON,
        ..IN_MM
    },
    ResultSpec {
        name: "rod_cut_length",
        doc: "Length to cut the slave's rod to, from seat to seat, so that the piston \
             rests at `slave.rest_extension` with a new disc.",
        formula: "slave.mount_to_fork + slave.face_to_seat − slave.rest_extension",
        needs: &["slave.mount_to_fork", "slave.face_to_seat"],
        ..IN_MM
    },
    ResultSpec {
        name: "plate_lift",
        doc: "How far the pressure plate comes off the disc at full pedal, shared between \
             both faces and the disc's cushion.",
        formula: "finger_travel / cover.finger_ratio",
        needs: &["cover.finger_ratio"],
        source: LEVER,
        ..IN_MM
    },
];
