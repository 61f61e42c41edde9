//! Faults of the master, the slave and the fluid between them.

use super::super::base::Moment;
use super::super::fault::{Fault, FaultId, Size};
use super::{FLUID, SPRING_GONE, between, drag_beyond, weaker};
use crate::field;
use crate::mechanics::{Chain, Flow, Line, Side, SlaveBore, Wall, bore_area, positive};
use crate::schema::COMMON;

/// The share of a minute's sinking that has happened while a tape is held to a pressed pedal.
const WHILE_READING: f64 = 0.1;

pub(super) const AIR: Fault = Fault {
    id: FaultId::Air,
    name: "air",
    called: "air",
    says: "there is {} of air in the fluid",
    what: "air in the fluid, at atmospheric pressure",
    unit: "cc",
    size: between(50.0, 6e4, 1000.0),
    often: 1.0,
    source: COMMON,
    feels: &["firm", "soft", "pumps_up"],
    confirm: "pump the pedal several times and hold it: the slave gains travel that it loses again",
    cure: "bleed it with the screw at the highest point, then measure again",
    caution: FLUID,
    apply: |chain, _, size, _| {
        chain.actuation.hydraulics_mut()?.fluid.air += size;
        Some(())
    },
};

pub(super) const HOSE_SWELL: Fault = Fault {
    id: FaultId::HoseSwell,
    name: "hose-swell",
    called: "a swelling hose",
    says: "the hose takes up {} more than it should",
    what: "fluid that the hose takes up at this car's pressure, beyond the spec's own",
    unit: "cc",
    size: between(30.0, 6000.0, 400.0),
    often: 0.3,
    source: COMMON,
    feels: &["firm", "soft"],
    confirm: "hold the hose while a helper presses the pedal: it swells in the hand",
    cure: "fit a new hose of low expansion, then bleed",
    caution: FLUID,
    apply: |chain, base, size, _| {
        let pressure = positive(base.full.line_pressure?)?;
        // One more length of hose, so short that its own volume is negligible.
        chain.actuation.hydraulics_mut()?.lines.push(Line {
            bore: 1e-3,
            length: 1.0,
            wall: Wall::Hose {
                expansion: size / pressure,
            },
            flow: Flow::Through,
            side: Side::Slave,
        });
        Some(())
    },
};

pub(super) const SMALL_MASTER: Fault = Fault {
    id: FaultId::SmallMaster,
    name: "small-master",
    called: "a smaller master",
    says: "the master's bore is {}, smaller than the spec's",
    what: "bore of the master",
    unit: "mm",
    size: Size::Bore {
        larger: false,
        most: 0.4,
        usual: 0.1,
    },
    often: 0.4,
    source: COMMON,
    feels: &["firm", "soft"],
    confirm: "read the size that is cast on the master, or measure its bore",
    cure: "fit the master that the spec names, then bleed",
    caution: FLUID,
    apply: |chain, _, size, _| {
        chain.actuation.hydraulics_mut()?.master.bore = size;
        Some(())
    },
};

pub(super) const LARGE_SLAVE: Fault = Fault {
    id: FaultId::LargeSlave,
    name: "large-slave",
    called: "a larger slave",
    says: "the slave's bore is {}, larger than the spec's",
    what: "bore of the slave",
    unit: "mm",
    size: Size::Bore {
        larger: true,
        most: 0.4,
        usual: 0.1,
    },
    often: 0.4,
    source: COMMON,
    feels: &["firm", "soft"],
    confirm: "read the size that is cast on the slave, or measure its bore",
    cure: "fit the slave that the spec names, then bleed",
    caution: FLUID,
    apply: |chain, _, size, _| set_slave_bore(chain, size),
};

pub(super) const PORT_OPEN: Fault = Fault {
    id: FaultId::PortOpen,
    name: "port-open",
    called: "a master that seals late",
    says: "the master's piston goes {} further before it seals",
    what: "piston travel until it seals, beyond the spec's",
    unit: "mm",
    size: between(0.3, 40.0, 2.0),
    often: 0.4,
    source: COMMON,
    feels: &["firm", "pumps_up"],
    confirm: "open the reservoir and press slowly: fluid wells up for longer than it should",
    cure: "fit a new master; check that its piston comes all the way back to its stop",
    caution: FLUID,
    apply: |chain, _, size, _| {
        chain.actuation.hydraulics_mut()?.master.port_travel += size;
        Some(())
    },
};

pub(super) const LEAK_BY: Fault = Fault {
    id: FaultId::LeakBy,
    name: "leak-by",
    called: "a leaking seal",
    says: "fluid leaks past a seal: the slave sinks {} per minute",
    what: "slave travel lost in a minute's hold",
    unit: "mm",
    size: between(0.5, 60.0, 4.0),
    often: 0.5,
    source: COMMON,
    feels: &["firm", "soft", "sinks", "pumps_up"],
    confirm: "hold the pedal down for a minute: the slave creeps back; look for fluid at both boots",
    cure: "fit new seals or a new cylinder, the master first where nothing is wet outside",
    caution: FLUID,
    apply: |chain, _, size, moment| {
        let hydraulics = chain.actuation.hydraulics_mut()?;
        let part = match moment {
            Moment::Read => WHILE_READING,
            // The minute's hold begins where it was read.
            Moment::AfterAMinute => WHILE_READING + 1.0,
        };
        // Leaked fluid is travel of the master that moved no fluid to the slave.
        let volume = hydraulics.slave.bore.area() * size * part;
        hydraulics.master.port_travel += volume / bore_area(hydraulics.master.bore);
        Some(())
    },
};

pub(super) const LARGE_MASTER: Fault = Fault {
    id: FaultId::LargeMaster,
    name: "large-master",
    called: "a larger master",
    says: "the master's bore is {}, larger than the spec's",
    what: "bore of the master",
    unit: "mm",
    size: Size::Bore {
        larger: true,
        most: 0.4,
        usual: 0.1,
    },
    often: 0.3,
    source: COMMON,
    feels: &["firm"],
    confirm: "read the size that is cast on the master, or measure its bore",
    cure: "fit the master that the spec names, then bleed: a larger one can overstroke slave and cover",
    caution: FLUID,
    apply: |chain, _, size, _| {
        chain.actuation.hydraulics_mut()?.master.bore = size;
        Some(())
    },
};

pub(super) const SMALL_SLAVE: Fault = Fault {
    id: FaultId::SmallSlave,
    name: "small-slave",
    called: "a smaller slave",
    says: "the slave's bore is {}, smaller than the spec's",
    what: "bore of the slave",
    unit: "mm",
    size: Size::Bore {
        larger: false,
        most: 0.4,
        usual: 0.1,
    },
    often: 0.3,
    source: COMMON,
    feels: &["firm"],
    confirm: "read the size that is cast on the slave, or measure its bore",
    cure: "fit the slave that the spec names, then bleed: a smaller one can overstroke itself and the cover",
    caution: FLUID,
    apply: |chain, _, size, _| set_slave_bore(chain, size),
};

pub(super) const STICKING_SLAVE: Fault = Fault {
    id: FaultId::StickingSlave,
    name: "sticking-slave",
    called: "a sticking slave",
    says: "the slave's piston drags with {} more than it should: swollen cups, rust or a pitted bore",
    what: "friction of the slave's piston without pressure, beyond the spec's",
    unit: "N",
    size: drag_beyond(field!(slave.drag)),
    often: 0.3,
    source: COMMON,
    feels: &["firm", "stays_down"],
    confirm: "with the bleed screw open and the rod off, push the piston in by hand: it sticks, or moves in steps",
    cure: "fit a new slave or new seals, flush the old fluid out, then bleed: cups swell in the wrong fluid",
    caution: FLUID,
    apply: |chain, _, size, _| {
        chain.actuation.hydraulics_mut()?.slave.drag += size;
        Some(())
    },
};

pub(super) const STICKING_MASTER: Fault = Fault {
    id: FaultId::StickingMaster,
    name: "sticking-master",
    called: "a sticking master",
    says: "the master's piston drags with {} more than it should: swollen cups, rust or a pitted bore",
    what: "friction of the master's piston without pressure, beyond the spec's",
    unit: "N",
    size: drag_beyond(field!(master.drag)),
    often: 0.3,
    source: COMMON,
    feels: &["firm", "stays_down"],
    confirm: "with the bleed screw open and the pedal's rod off, push the piston in: it hangs, or comes home late",
    cure: "fit a new master or new seals, flush the old fluid out, then bleed: cups swell in the wrong fluid",
    caution: FLUID,
    apply: |chain, _, size, _| {
        chain.actuation.hydraulics_mut()?.master.drag += size;
        Some(())
    },
};

pub(super) const WEAK_MASTER_SPRING: Fault = Fault {
    id: FaultId::WeakMasterSpring,
    name: "weak-master-spring",
    called: "a weak or broken spring in the master",
    says: "the spring inside the master has lost {} of its force: it is broken, or the wrong one",
    what: "share of its return spring's force that is gone",
    unit: "",
    size: SPRING_GONE,
    often: 0.2,
    source: COMMON,
    feels: &["firm", "stays_down"],
    confirm: "with the bleed screw open and the pedal's rod off, push the piston in: it comes home late or not at all",
    cure: "fit a new master or its repair kit with the spring, then bleed",
    caution: FLUID,
    apply: |chain, _, size, _| {
        let master = &mut chain.actuation.hydraulics_mut()?.master;
        master.return_force = weaker(master.return_force, size)?;
        Some(())
    },
};

/// Gives the slave another bore, mm; `None` for a ring, which has no common sizes.
fn set_slave_bore(chain: &mut Chain, size: f64) -> Option<()> {
    match &mut chain.actuation.hydraulics_mut()?.slave.bore {
        SlaveBore::Round(bore) => *bore = size,
        SlaveBore::Annulus { .. } => return None,
    }
    Some(())
}
