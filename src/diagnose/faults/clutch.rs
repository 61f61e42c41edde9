//! Faults of the cover and the disc.

use super::super::fault::{Fault, FaultId};
use super::{GEARBOX, between};
use crate::mechanics::positive;
use crate::schema::COMMON;

pub(super) const STIFF_COVER: Fault = Fault {
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
};

pub(super) const LATE_RELEASE: Fault = Fault {
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
    confirm: "with all travels right and the pedal down, the disc still drags in the wheel test of `release_point`",
    cure: "check disc, pilot bearing, splines and the cover's part number",
    caution: GEARBOX,
    apply: |chain, _, size, _| {
        chain.cover = chain.cover.freeing_later(size)?;
        Some(())
    },
};

pub(super) const LIGHT_COVER: Fault = Fault {
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
};

pub(super) const EARLY_RELEASE: Fault = Fault {
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
};
