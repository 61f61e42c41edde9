//! The table of faults: what each changes in the chain, how large it usually is, how to confirm and to cure it.

mod clutch;
mod hydraulic;
mod mechanical;

use super::fault::{Fault, FaultId, Size};
use crate::mechanics::positive;
use crate::schema::{COMMON, FieldId, TYPICAL, Typical};

const FLUID: &str = "Support the vehicle. Keep brake fluid off eyes, skin and paint, and use only the grade that \
                     the vehicle's maker names.";
const UNDER: &str = "Support the vehicle on stands, engine off and battery disconnected, before reaching into the \
                     linkage. Follow the vehicle maker's data.";
const GEARBOX: &str = "The gearbox must come out: support engine and gearbox, follow the vehicle maker's data, and \
                       leave it to a qualified mechanic.";

const fn between(low: f64, high: f64, usual: f64) -> Size {
    Size::Between { low, high, usual }
}

/// Drag beyond the spec's, N, of a part whose drag is the given field: from half of the most that a sound one has, and
/// commonly four times as much as that most. Common practice, no source.
const fn drag_beyond(field: FieldId) -> Size {
    let sound = TYPICAL[Typical::place_of(field)].high;
    between(0.5 * sound, 20.0 * sound, 4.0 * sound)
}

/// What is gone of a spring's force, as a share: from what a spring scale shows to all of it.
const SPRING_GONE: Size = between(0.15, 1.0, 0.7);

/// A spring's force, N, with a share of it gone; `None` where there is no spring.
fn weaker(force: f64, gone: f64) -> Option<f64> {
    Some(positive(force)? * (1.0 - gone)).filter(|left| *left >= 0.0)
}

/// Every fault, in the order of [`FaultId`]. Ranges and usual sizes are common practice, no source, unless a row says
/// otherwise.
pub static FAULTS: [Fault; 32] = [
    NOTHING_WRONG,
    hydraulic::AIR,
    hydraulic::HOSE_SWELL,
    mechanical::FIREWALL_FLEX,
    mechanical::FORK_FLEX,
    mechanical::FORK_OFF_PIVOT,
    hydraulic::SMALL_MASTER,
    hydraulic::LARGE_SLAVE,
    mechanical::LOST_FREE_PLAY,
    mechanical::SHORT_PEDAL,
    hydraulic::PORT_OPEN,
    hydraulic::LEAK_BY,
    mechanical::STRETCHED_CABLE,
    mechanical::LOOSE_LINKAGE,
    mechanical::FRICTION,
    mechanical::BINDING,
    clutch::STIFF_COVER,
    clutch::LATE_RELEASE,
    mechanical::BOTTOMED,
    hydraulic::LARGE_MASTER,
    hydraulic::SMALL_SLAVE,
    mechanical::LONG_PEDAL,
    mechanical::LESS_FREE_PLAY,
    clutch::LIGHT_COVER,
    clutch::EARLY_RELEASE,
    hydraulic::STICKING_SLAVE,
    hydraulic::STICKING_MASTER,
    mechanical::DRY_FORK,
    mechanical::BINDING_PEDAL,
    mechanical::WEAK_PEDAL_SPRING,
    hydraulic::WEAK_MASTER_SPRING,
    mechanical::WEAK_FORK_SPRING,
];

const NOTHING_WRONG: Fault = Fault {
    id: FaultId::NothingWrong,
    name: "nothing-wrong",
    called: "nothing wrong",
    says: "the readings fit a healthy car",
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
};

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
