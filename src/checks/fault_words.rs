//! A fault with its size, and the readings it predicts, in words and in the author's units.

use super::sizes::bore_named;
use crate::diagnose::{FaultId, Reading, Seen, Size, Sized, VisitReport};
use crate::quantity::{Dimension, Display, significant};

/// The display for values of a visit. Readings taken in inches are answered in inches, whatever units the spec uses.
pub(crate) fn display_for(visit: &VisitReport, of_system: &Display) -> Display {
    match visit.units {
        Some(units) if units != of_system.system() => of_system.within(units),
        _ => of_system.clone(),
    }
}

/// A fault and its size: "there is 0.83 cc of air in the fluid".
pub(crate) fn fault_in_words(display: &Display, sized: Sized) -> String {
    /// The largest leak that is given per minute, mm; a larger one, more than the rod travels in all, is given per second.
    const TOLD_PER_MINUTE: f64 = 10.0;
    let fault = sized.fault.fault();
    let Some(value) = sized.value else {
        return fault.says.to_owned();
    };
    if sized.fault == FaultId::LeakBy && value > TOLD_PER_MINUTE {
        let per_second = display.show(value / 60.0, Dimension::LENGTH);
        let says = fault.says.replace("per minute", "per second");
        return says.replace("{}", &per_second);
    }
    let size = match (fault.size, fault.unit) {
        (Size::Bore { .. }, _) => bore_named(value, display.system()),
        (Size::Factor { .. }, _) => significant(value, 3),
        (_, "") => format!("{} %", significant(100.0 * value, 2)),
        (_, "cc") => display.show(value, Dimension::VOLUME),
        (_, "N") => display.show(value, Dimension::FORCE),
        _ => display.show(value, Dimension::LENGTH),
    };
    fault.says.replace("{}", &size)
}

/// The readings that a fault predicts: "22.4 mm to 23 mm".
pub(crate) fn seen_in_words(display: &Display, reading: Reading, seen: Seen) -> String {
    let dimension = reading.dimension().unwrap_or(Dimension::NUMBER);
    match seen {
        Seen::Numbers { low, high } => {
            let (low, high) = (display.show(low, dimension), display.show(high, dimension));
            match low == high {
                true => high,
                false => format!("{low} to {high}"),
            }
        }
        Seen::Word(word) => word.to_owned(),
        Seen::Never => "it does not come free".to_owned(),
    }
}

/// Which readings to take again if nothing explains a visit, as sentences.
pub(crate) fn read_again(visit: &VisitReport) -> String {
    let named = |reading: &Reading| reading.name().replace('_', " ");
    let all = "Nothing in the table of faults explains all that was read";
    let how = "from the same rest and from a fixed point on the part's own mount";
    match visit.odd.as_slice() {
        [] => format!("{all}: read each again, {how}."),
        [only] => format!(
            "{all}, but without the {} the rest fits: read that again first, {how}.",
            named(only)
        ),
        several => {
            let names: Vec<String> = several.iter().map(named).collect();
            format!(
                "{all}. These contradict each other: {}. Read them again first, {how}.",
                names.join(", ")
            )
        }
    }
}
