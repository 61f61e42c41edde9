//! Faults of the pedal, the cable or the linkage, the fork and what carries them.

use super::super::fault::{Fault, FaultId, Size};
use super::{GEARBOX, SPRING_GONE, UNDER, between, drag_beyond, weaker};
use crate::field;
use crate::mechanics::{Actuation, Chain, positive};
use crate::schema::COMMON;

pub(super) const FIREWALL_FLEX: Fault = Fault {
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
};

pub(super) const FORK_FLEX: Fault = Fault {
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
};

pub(super) const FORK_OFF_PIVOT: Fault = Fault {
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
};

pub(super) const LOST_FREE_PLAY: Fault = Fault {
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
};

pub(super) const SHORT_PEDAL: Fault = Fault {
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
};

pub(super) const STRETCHED_CABLE: Fault = Fault {
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
};

pub(super) const LOOSE_LINKAGE: Fault = Fault {
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
    confirm: "a helper presses the pedal while every pin, bushing and bracket is watched",
    cure: "fit new pins and bushings, and fasten the brackets",
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
};

pub(super) const FRICTION: Fault = Fault {
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
};

pub(super) const BINDING: Fault = Fault {
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
};

pub(super) const BOTTOMED: Fault = Fault {
    id: FaultId::Bottomed,
    name: "bottomed",
    called: "a piston or bearing at its stop",
    says: "a piston or the bearing meets its stop before full pedal: {} of travel is missing",
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
};

pub(super) const LONG_PEDAL: Fault = Fault {
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
};

pub(super) const LESS_FREE_PLAY: Fault = Fault {
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
};

pub(super) const DRY_FORK: Fault = Fault {
    id: FaultId::DryFork,
    name: "dry-fork",
    called: "a dry or seized fork pivot",
    says: "the fork drags with {} more than it should at its outer end: a dry or seized pivot or cross-shaft",
    what: "friction of the fork's pivot and guide without a load, at its outer end, beyond the spec's",
    unit: "N",
    size: drag_beyond(field!(fork.drag)),
    often: 0.3,
    source: COMMON,
    feels: &["firm", "stays_down"],
    confirm: "with the rod or the cable off, move the fork's outer end by hand: it is stiff without any load",
    cure: "clean and grease the pivot, the cross-shaft and the bearing's sleeve; fit new bushings where they are seized",
    caution: GEARBOX,
    apply: |chain, base, size, _| {
        base.forked()?;
        chain.fork.drag += size;
        Some(())
    },
};

pub(super) const BINDING_PEDAL: Fault = Fault {
    id: FaultId::BindingPedal,
    name: "binding-pedal",
    called: "a pedal pivot that binds",
    says: "the pedal's pivot drags with {} more than it should at the pad",
    what: "friction of the pedal's pivot without a load, at the pad, beyond the spec's",
    unit: "N",
    size: drag_beyond(field!(pedal.drag)),
    often: 0.3,
    source: COMMON,
    feels: &["firm", "stays_down"],
    confirm: "take the pedal's rod off and move the pedal by hand: it is stiff, or stays where it is let go",
    cure: "clean and grease the pivot, or fit new bushings; straighten a bent bracket",
    caution: UNDER,
    apply: |chain, _, size, _| {
        chain.pedal.drag += size;
        Some(())
    },
};

pub(super) const WEAK_PEDAL_SPRING: Fault = Fault {
    id: FaultId::WeakPedalSpring,
    name: "weak-pedal-spring",
    called: "a weak or missing pedal spring",
    says: "the pedal's return spring has lost {} of its force: it is off, broken or the wrong one",
    what: "share of its return spring's force that is gone",
    unit: "",
    size: SPRING_GONE,
    often: 0.3,
    source: COMMON,
    feels: &["firm", "stays_down"],
    confirm: "look at the spring and its hooks, then weigh the pedal with its rod off",
    cure: "hook the spring in again, or fit the one that the spec names",
    caution: UNDER,
    apply: |chain, _, size, _| {
        chain.pedal.return_force = weaker(chain.pedal.return_force, size)?;
        Some(())
    },
};

pub(super) const WEAK_FORK_SPRING: Fault = Fault {
    id: FaultId::WeakForkSpring,
    name: "weak-fork-spring",
    called: "a weak or missing fork spring",
    says: "the spring that pulls the fork back has lost {} of its force: it is off, broken or the wrong one",
    what: "share of its return spring's force that is gone",
    unit: "",
    size: SPRING_GONE,
    often: 0.3,
    source: COMMON,
    feels: &["firm", "stays_down"],
    confirm: "look at the spring and its hooks: without it the bearing rides on the fingers, and is heard",
    cure: "hook the spring in again, or fit the one that the spec names; listen to the bearing",
    caution: UNDER,
    apply: |chain, base, size, _| {
        base.forked()?;
        chain.fork.return_force = weaker(chain.fork.return_force, size)?;
        Some(())
    },
};

/// A stiffness, N/mm, after a compliance, mm/N, is added to it.
fn softer(stiffness: Option<f64>, by: f64) -> Option<f64> {
    Some(1.0 / (stiffness.map_or(0.0, f64::recip) + by))
}

/// Ends the pedal at a pad travel, mm.
fn end_at(chain: &mut Chain, pad_travel: f64) -> Option<()> {
    chain.pedal.stop = Some(pad_travel).filter(|at| *at > 0.0);
    chain.pedal.stop.map(|_| ())
}
