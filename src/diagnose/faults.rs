//! The table of faults: what each changes in the chain, how large it usually is, how to confirm and to cure it.

use super::base::Moment;
use super::fault::{Fault, FaultId, Size};
use crate::mechanics::{Actuation, Chain, Flow, Line, Side, SlaveBore, Wall, bore_area, positive};
use crate::schema::COMMON;

/// The share of a minute's sinking that has happened while a tape is held to a pressed pedal.
const WHILE_READING: f64 = 0.1;

const FLUID: &str = "Support the vehicle. Keep brake fluid off eyes, skin and paint, and use only the grade that \
                     the vehicle's maker names.";
const UNDER: &str = "Support the vehicle on stands, engine off and battery disconnected, before reaching into the \
                     linkage. Follow the vehicle maker's data.";
const GEARBOX: &str = "The gearbox must come out: support engine and gearbox, follow the vehicle maker's data, and \
                       leave it to a qualified mechanic.";

const fn between(low: f64, high: f64, usual: f64) -> Size {
    Size::Between { low, high, usual }
}

/// Every fault, in the order of [`FaultId`]. Ranges and usual sizes are common practice, no source, unless a row says
/// otherwise.
pub static FAULTS: [Fault; 25] = [
    Fault {
        id: FaultId::NothingWrong,
        name: "nothing-wrong",
        called: "nothing wrong",
        says: "nothing is wrong with what was read",
        what: "",
        unit: "",
        size: Size::None,
        often: 1.0,
        source: COMMON,
        feels: &["firm"],
        confirm: "read what has not been read yet",
        cure: "nothing to cure on what was read",
        caution: "",
        apply: |_, _, _, _| Some(()),
    },
    Fault {
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
    },
    Fault {
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
    },
    Fault {
        id: FaultId::FirewallFlex,
        name: "firewall-flex",
        called: "a firewall that gives",
        says: "the firewall gives {} more than it should",
        what: "how far the master's body moves away at full load, beyond the spec's own",
        unit: "mm",
        size: between(0.2, 10.0, 1.5),
        often: 0.4,
        source: COMMON,
        feels: &["firm", "soft"],
        confirm: "a dial gauge on the master's body while a helper presses the pedal",
        cure: "stiffen the firewall or the master's bracket",
        caution: UNDER,
        apply: |chain, base, size, _| {
            let force = positive(base.full.rod_force)?;
            let master = &mut chain.actuation.hydraulics_mut()?.master;
            master.mount_stiffness = softer(master.mount_stiffness, size / force);
            Some(())
        },
    },
    Fault {
        id: FaultId::ForkFlex,
        name: "fork-flex",
        called: "a fork that bends",
        says: "the fork bends {} more than it should",
        what: "how far the fork's outer end gives at full load, beyond the spec's own",
        unit: "mm",
        size: between(0.2, 10.0, 1.5),
        often: 0.3,
        source: COMMON,
        feels: &["firm", "soft"],
        confirm: "compare the travel of the fork's outer end with the bearing's: look for cracks at the pivot",
        cure: "fit a new or stiffer fork",
        caution: GEARBOX,
        apply: |chain, base, size, _| {
            base.forked()?;
            let force = positive(base.full.fork_force)?;
            chain.fork.stiffness = softer(chain.fork.stiffness, size / force);
            Some(())
        },
    },
    Fault {
        id: FaultId::ForkOffPivot,
        name: "fork-off-pivot",
        called: "a fork off its pivot",
        says: "the fork's ratio is {}, not the spec's: it is off its pivot, or another fork",
        what: "fork ratio",
        unit: "",
        size: Size::Factor {
            most: 0.5,
            usual: 0.2,
        },
        often: 0.4,
        source: COMMON,
        feels: &["firm"],
        confirm: "measure the fork's two arms from its pivot, and look whether it sits on the ball",
        cure: "seat the fork on its pivot, or fit the one that the spec names",
        caution: GEARBOX,
        apply: |chain, base, size, _| {
            base.forked()?;
            chain.fork.ratio = size;
            Some(())
        },
    },
    Fault {
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
    },
    Fault {
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
    },
    Fault {
        id: FaultId::LostFreePlay,
        name: "lost-free-play",
        called: "more free play",
        says: "there is {} more free play at the pad before the master's piston moves",
        what: "free play at the pad beyond the spec's",
        unit: "mm",
        size: between(2.0, 200.0, 12.0),
        often: 0.5,
        source: COMMON,
        feels: &["firm"],
        confirm: "press the pad with a finger: the play ends where the pushrod meets the piston",
        cure: "set the pushrod to the free play of the spec, and never to less",
        caution: UNDER,
        apply: |chain, base, size, _| {
            chain.actuation.hydraulics()?;
            chain.pedal.free_play = Some(base.clearance + size);
            Some(())
        },
    },
    Fault {
        id: FaultId::ShortPedal,
        name: "short-pedal",
        called: "a pedal that stops short",
        says: "the pad stops {} short: carpet, a stop or a bent pedal",
        what: "pad travel that is missing at full pedal",
        unit: "mm",
        size: between(3.0, 90.0, 15.0),
        often: 0.5,
        source: COMMON,
        feels: &["firm"],
        confirm: "measure the pad's travel along its arc, from rest until it is down, with the mat out",
        cure: "take out what ends the travel, or straighten the pedal",
        caution: UNDER,
        apply: |chain, base, size, _| end_at(chain, base.full.pad_travel - size),
    },
    Fault {
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
    },
    Fault {
        id: FaultId::LeakBy,
        name: "leak-by",
        called: "a leaking seal",
        says: "fluid leaks past a seal: the slave's rod sinks {} per minute",
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
                Moment::AfterAMinute => 1.0,
            };
            // Leaked fluid is travel of the master that moved no fluid to the slave.
            let volume = hydraulics.slave.bore.area() * size * part;
            hydraulics.master.port_travel += volume / bore_area(hydraulics.master.bore);
            Some(())
        },
    },
    Fault {
        id: FaultId::StretchedCable,
        name: "stretched-cable",
        called: "a stretched cable",
        says: "the cable is stretched: {} is lost at the pedal's end",
        what: "travel at the pedal's end that is lost at full load, half as play and half as stretch",
        unit: "mm",
        size: between(0.3, 15.0, 3.0),
        often: 0.8,
        source: COMMON,
        feels: &["firm", "soft"],
        confirm: "look at both ends for broken strands, and at the sheath's seats for parts that give",
        cure: "set the play; where it comes back, fit a new cable",
        caution: UNDER,
        apply: |chain, base, size, _| {
            let force = positive(base.full.rod_force)?;
            let Actuation::Cable(cable) = &mut chain.actuation else {
                return None;
            };
            cable.play += 0.5 * size;
            cable.stiffness = softer(cable.stiffness, 0.5 * size / force);
            Some(())
        },
    },
    Fault {
        id: FaultId::LooseLinkage,
        name: "loose-linkage",
        called: "a loose linkage",
        says: "the linkage is loose: {} is lost at the pedal's rod",
        what: "travel at the pedal's rod that is lost at full load, half as play and half as give",
        unit: "mm",
        size: between(0.3, 15.0, 3.0),
        often: 0.8,
        source: COMMON,
        feels: &["firm", "soft"],
        confirm: "a helper presses the pedal while every pin, bush and bracket is watched",
        cure: "fit new pins and bushes, and fasten the brackets",
        caution: UNDER,
        apply: |chain, base, size, _| {
            let force = positive(base.full.rod_force)?;
            let Actuation::Linkage(linkage) = &mut chain.actuation else {
                return None;
            };
            linkage.play += 0.5 * size;
            linkage.stiffness = softer(linkage.stiffness, 0.5 * size / force);
            Some(())
        },
    },
    Fault {
        id: FaultId::Friction,
        name: "friction",
        called: "friction at the pedal",
        says: "something rubs between the pad and the master, cable or linkage: {} of the force is lost",
        what: "share of the foot's force that is lost beyond the spec's",
        unit: "",
        size: between(0.03, 0.6, 0.2),
        often: 0.5,
        source: COMMON,
        feels: &["firm", "stays_down"],
        confirm: "take the pedal's rod off and move the pedal by hand",
        cure: "grease the pivot, free the rod or the cable, or fit a new one",
        caution: UNDER,
        apply: |chain, _, size, _| {
            chain.pedal.efficiency *= 1.0 - size;
            Some(())
        },
    },
    Fault {
        id: FaultId::Binding,
        name: "binding",
        called: "a binding fork or slave",
        says: "the fork, the bearing's sleeve or the slave binds: {} of the force is lost",
        what: "share of the force at the fork that is lost beyond the spec's",
        unit: "",
        size: between(0.03, 0.6, 0.2),
        often: 0.3,
        source: COMMON,
        feels: &["firm", "stays_down"],
        confirm: "watch the fork come back when the pedal is let up: it sticks, or comes in steps",
        cure: "clean and grease sleeve and pivot, or fit new parts",
        caution: GEARBOX,
        apply: |chain, _, size, _| {
            chain.fork.efficiency *= 1.0 - size;
            Some(())
        },
    },
    Fault {
        id: FaultId::StiffCover,
        name: "stiff-cover",
        called: "a stiffer cover",
        says: "the cover takes {} more load to release than the spec says",
        what: "share by which its release load is higher",
        unit: "",
        size: between(0.04, 1.2, 0.25),
        often: 0.5,
        source: COMMON,
        feels: &["firm"],
        confirm: "read the part's number, or try the cover in a press",
        cure: "fit the cover that the spec names, or enter the load of this one",
        caution: GEARBOX,
        apply: |chain, _, size, _| {
            chain.cover = chain.cover.with_load(1.0 + size)?;
            Some(())
        },
    },
    Fault {
        id: FaultId::LateRelease,
        name: "late-release",
        called: "a disc that frees late",
        says: "the disc needs {} more finger travel to come free: warped or swollen disc, pilot drag, or another cover",
        what: "finger travel that it needs beyond the spec's",
        unit: "mm",
        size: between(0.1, 6.0, 1.0),
        often: 0.6,
        source: COMMON,
        feels: &["firm"],
        confirm: "with all travels right and the pedal down, turn the input shaft by hand: the disc still drags",
        cure: "check disc, pilot bearing, splines and the cover's part number",
        caution: GEARBOX,
        apply: |chain, _, size, _| {
            chain.cover = chain.cover.freeing_later(size)?;
            Some(())
        },
    },
    Fault {
        id: FaultId::Bottomed,
        name: "bottomed",
        called: "a piston or bearing at its stop",
        says: "a piston or the bearing meets its stop before full pedal: {} of fork travel is missing",
        what: "travel of the fork's outer end that is missing at full pedal",
        unit: "mm",
        size: between(0.3, 12.0, 3.0),
        often: 0.3,
        source: COMMON,
        feels: &["firm"],
        confirm: "the pad stops hard before the floor, and nothing between pad and fork moves any further",
        cure: "find the stop: piston at its end, bearing at the end of its sleeve, fork at its window",
        caution: UNDER,
        apply: |chain, base, size, _| {
            let end = positive(base.full.fork_travel - size)?;
            let pad_travel = base.chain.walk()?.pad_travel_at_fork(end)?;
            end_at(chain, pad_travel)
        },
    },
    Fault {
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
    },
    Fault {
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
    },
    Fault {
        id: FaultId::LongPedal,
        name: "long-pedal",
        called: "a pedal that goes further",
        says: "the pad moves {} further than it should: no stop, another pedal, or a floor that is further away",
        what: "pad travel at full pedal beyond the spec's",
        unit: "mm",
        size: between(3.0, 90.0, 15.0),
        often: 0.4,
        source: COMMON,
        feels: &["firm"],
        confirm: "measure the pad's travel along its arc, from rest until it is down, with the mat out",
        cure: "set a pedal stop to the travel of the spec: past it, slave and cover can be overstroked",
        caution: UNDER,
        apply: |chain, base, size, _| {
            let end = base.full.pad_travel + size;
            chain.pedal.set_travel(end);
            chain.pedal.stop = None;
            Some(())
        },
    },
    Fault {
        id: FaultId::LessFreePlay,
        name: "less-free-play",
        called: "less free play",
        says: "{} of the spec's free play is gone",
        what: "share of the spec's free play that is gone",
        unit: "",
        size: between(0.05, 1.0, 0.5),
        often: 0.4,
        source: COMMON,
        feels: &["firm"],
        confirm: "press the pad with a finger: the play ends where the pushrod meets the piston",
        cure: "set the pushrod to the free play of the spec: without any, the master cannot open to its reservoir",
        caution: UNDER,
        apply: |chain, base, size, _| {
            chain.actuation.hydraulics()?;
            chain.pedal.free_play = Some(positive(base.clearance)? * (1.0 - size));
            Some(())
        },
    },
    Fault {
        id: FaultId::LightCover,
        name: "light-cover",
        called: "a lighter cover",
        says: "the cover takes {} less load to release than the spec says",
        what: "share by which its release load is lower",
        unit: "",
        size: between(0.04, 0.6, 0.2),
        often: 0.3,
        source: COMMON,
        feels: &["firm"],
        confirm: "read the part's number, or try the cover in a press",
        cure: "fit the cover that the spec names, or enter the load of this one: check that it still holds the torque",
        caution: GEARBOX,
        apply: |chain, _, size, _| {
            chain.cover = chain.cover.with_load(1.0 - size)?;
            Some(())
        },
    },
    Fault {
        id: FaultId::EarlyRelease,
        name: "early-release",
        called: "a disc that frees early",
        says: "the disc comes free with {} less finger travel than the spec says: another cover, or a worn disc",
        what: "finger travel that it needs less than the spec's",
        unit: "mm",
        size: between(0.1, 4.0, 0.7),
        often: 0.3,
        source: COMMON,
        feels: &["firm"],
        confirm: "read the part numbers of cover and disc",
        cure: "fit the cover and disc that the spec names, or enter the release travel of these",
        caution: GEARBOX,
        apply: |chain, base, size, _| {
            positive(base.chain.cover.needed - size)?;
            chain.cover = chain.cover.freeing_later(-size)?;
            Some(())
        },
    },
];

/// A stiffness, N/mm, after a compliance, mm/N, is added to it.
fn softer(stiffness: Option<f64>, by: f64) -> Option<f64> {
    Some(1.0 / (stiffness.map_or(0.0, f64::recip) + by))
}

/// Gives the slave another bore, mm; `None` for a ring, which has no common sizes.
fn set_slave_bore(chain: &mut Chain, size: f64) -> Option<()> {
    match &mut chain.actuation.hydraulics_mut()?.slave.bore {
        SlaveBore::Round(bore) => *bore = size,
        SlaveBore::Annulus { .. } => return None,
    }
    Some(())
}

/// Ends the pedal at a pad travel, mm.
fn end_at(chain: &mut Chain, pad_travel: f64) -> Option<()> {
    chain.pedal.stop = Some(pad_travel).filter(|at| *at > 0.0);
    chain.pedal.stop.map(|_| ())
}

impl FaultId {
    /// The fault's row.
    pub fn fault(self) -> &'static Fault {
        &FAULTS[self as usize]
    }

    /// The fault's name in machine output.
    pub fn name(self) -> &'static str {
        self.fault().name
    }

    /// The fault with a name.
    pub fn named(name: &str) -> Option<Self> {
        Some(FAULTS.iter().find(|fault| fault.name == name)?.id)
    }
}

#[cfg(test)]
mod tests {
    use super::{FAULTS, Size};

    #[test]
    fn every_fault_is_in_order_and_has_every_text() {
        for (place, fault) in FAULTS.iter().enumerate() {
            assert_eq!(fault.id as usize, place, "{}", fault.name);
            assert!(!fault.feels.is_empty() && !fault.confirm.is_empty() && !fault.cure.is_empty());
            assert!(!fault.source.is_empty() && !fault.called.is_empty());
            if let Size::Between { low, high, usual } = fault.size {
                assert!(0.0 < low && low < usual && usual < high, "{}", fault.name);
            }
        }
    }
}
