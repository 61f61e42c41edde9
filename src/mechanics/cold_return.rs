//! How long the line holds the fluid up in the cold when the foot comes off the pedal.

use std::f64::consts::PI;

use super::domain::{finite, not_negative, positive};
use super::efficiency::Stroke;
use super::walk::{FullPedal, Walk};

/// A brake-fluid grade with a limit on how thick it may get in the cold.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Grade {
    /// DOT 3.
    Dot3,
    /// DOT 4.
    Dot4,
    /// DOT 5, silicone.
    Dot5,
    /// DOT 5.1.
    Dot51,
}

impl Grade {
    /// Highest kinematic viscosity, mm²/s, that the grade allows at −40 °C.
    ///
    /// Source: 49 CFR 571.116, S5.1.3.
    pub fn coldest_viscosity(self) -> f64 {
        match self {
            Self::Dot3 => 1500.0,
            Self::Dot4 => 1800.0,
            Self::Dot5 | Self::Dot51 => 900.0,
        }
    }

    /// Lowest boiling points, K, that the grade allows: dry, as it comes from the can, and wet, with the water that it takes
    /// up in the car.
    ///
    /// Source: 49 CFR 571.116, S5.1.1 and S5.1.2.
    pub fn boiling_points(self) -> (f64, f64) {
        let (dry, wet) = match self {
            Self::Dot3 => (205.0, 140.0),
            Self::Dot4 => (230.0, 155.0),
            Self::Dot5 | Self::Dot51 => (260.0, 180.0),
        };
        (273.15 + dry, 273.15 + wet)
    }

    /// Highest kinematic viscosity, mm²/s, at a temperature, K, of a fluid that is as thick at −40 °C as the grade
    /// allows and as thin at 100 °C as it may be: `log₁₀ log₁₀(ν + 0.7) = A − B·log₁₀ T`. `None` below −40 °C, of
    /// which the grade says nothing, and above 100 °C.
    ///
    /// Source: C. Walther's equation as in ASTM D341; 1.5 mm²/s at 100 °C: 49 CFR 571.116, S5.1.3.
    pub fn viscosity(self, temperature: f64) -> Option<f64> {
        const COLD: f64 = 273.15 - 40.0;
        const HOT: f64 = 273.15 + 100.0;
        const THINNEST: f64 = 1.5;
        // A spec in °C or °F comes out there but for rounding.
        const ROUNDING: f64 = 1e-6;
        if !(COLD - ROUNDING..=HOT + ROUNDING).contains(&temperature) {
            return None;
        }
        let twice = |viscosity: f64| (viscosity + 0.7).log10().log10();
        let (cold, hot) = (twice(self.coldest_viscosity()), twice(THINNEST));
        let share = (temperature / COLD).log10() / (HOT / COLD).log10();
        finite(10_f64.powf(10_f64.powf(cold + (hot - cold) * share)) - 0.7)
    }
}

/// Pressure, MPa, that a flow, mm³/s, of a fluid of the given dynamic viscosity, MPa·s, loses along a round
/// line: `128·η·L·Q/(π·d⁴)`; bore and length in mm. Laminar flow, see [`reynolds_number`].
///
/// Source: Hagen–Poiseuille; OpenStax College Physics 2e s 12.4.
pub fn line_pressure_drop(flow: f64, viscosity: f64, bore: f64, length: f64) -> f64 {
    128.0 * viscosity * length * flow / (PI * bore.powi(4))
}

/// Reynolds number of a flow of the given mean velocity, mm/s, and kinematic viscosity, mm²/s, in a bore, mm:
/// `v·d/ν`. Flow is laminar up to about 2000.
///
/// Source: OpenStax University Physics vol. 1 s 14.7.
pub fn reynolds_number(velocity: f64, bore: f64, kinematic_viscosity: f64) -> f64 {
    velocity * bore / kinematic_viscosity
}

/// What the line does to the return.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct ColdReturn {
    /// Time for the line to let the fluid back, s.
    pub time: f64,
    /// Reynolds number in the narrowest line at the fastest flow. Where it is past 2000 the flow is
    /// turbulent and the time too short; a return that fast troubles no driver.
    pub reynolds: f64,
}

impl Walk<'_> {
    /// How long the fluid takes, with the foot off the pedal, to come back through the lines until the fingers
    /// have come back by `share` (0 to 1) of their travel at full pedal. Kinematic viscosity in mm²/s, density
    /// in t/mm³.
    ///
    /// The whole return-stroke pressure at the slave is taken to drive the flow, none being left at the
    /// master, whose pedal runs ahead. The slave's swept volume flows through every line, and their
    /// resistances add. With the pressure p linear between the corners of the load, `∫ dV/Q(p)` is exact: each
    /// piece of travel over the logarithmic mean of the pressures at its ends. What lines and fluid give back
    /// is left out: it is small against the slave's volume. Where a relay lever stands between, the pressure is taken as
    /// linear over a sixteenth of such a piece.
    ///
    /// As the load dies away, so does the flow: a load that falls to nothing takes forever for the last bit,
    /// which is why the share is asked for. `None` where the pressure dies away before that, where the fingers
    /// do not move at all, without cylinders, and for numbers without meaning.
    ///
    /// Source: Hagen–Poiseuille, lines in series.
    pub fn cold_return(
        &self,
        full: &FullPedal,
        kinematic_viscosity: f64,
        density: f64,
        share: f64,
    ) -> Option<ColdReturn> {
        /// Into how many pieces a leg is cut on a bent fork: the time is then good to about 1e-7 of itself.
        const BENT: u32 = 16;
        let circuit = self.mechanism.circuit()?;
        positive(kinematic_viscosity)?;
        positive(density)?;
        (0.0..=1.0).contains(&share).then_some(())?;
        let lines = &self.chain.actuation.hydraulics()?.lines;
        let dynamic = kinematic_viscosity * density;
        let resistance: f64 = lines
            .iter()
            .map(|line| line_pressure_drop(1.0, dynamic, line.bore, line.length))
            .sum();
        let back_to =
            self.chain.bearing.free_play + (1.0 - share) * positive(full.state.finger_travel)?;

        let mut travel_per_pressure = 0.0;
        let mut highest: f64 = 0.0;
        // Of a bent fork or a relay lever the force is not quite linear in its travel.
        let pieces = if self.fork.is_straight() && !self.is_bent {
            1
        } else {
            BENT
        };
        let legs = self.legs_on_fingers(full);
        for leg in legs.flat_map(|leg| leg.pieces(pieces)) {
            let (near, far) = (leg.from.bearing, leg.to.bearing);
            if far <= back_to {
                continue;
            }
            let cut = ((back_to - near) / (far - near)).max(0.0);
            let near = self.driven(&leg.at(cut), Stroke::Return);
            let far = self.driven(&leg.to, Stroke::Return);
            let (low, high) = (near.drive.pressure, far.drive.pressure);
            positive(low.min(high))?;
            travel_per_pressure +=
                (far.output_travel - near.output_travel) / logarithmic_mean(low, high);
            highest = highest.max(low).max(high);
        }
        let time = resistance * circuit.slave_area * not_negative(travel_per_pressure)?;
        let narrowest = lines.iter().map(|line| line.bore).reduce(f64::min);
        let reynolds = match narrowest {
            Some(bore) if resistance > 0.0 => {
                let velocity = highest / resistance / (0.25 * PI * bore * bore);
                reynolds_number(velocity, bore, kinematic_viscosity)
            }
            _ => 0.0,
        };
        Some(ColdReturn {
            time: finite(time)?,
            reynolds: finite(reynolds)?,
        })
    }
}

/// `(b − a)/ln(b/a)`: what 1 over a linear change from a to b comes to is 1 over this.
fn logarithmic_mean(a: f64, b: f64) -> f64 {
    let apart = (b - a) / a;
    if apart.abs() < 1e-7 {
        0.5 * (a + b)
    } else {
        (b - a) / apart.ln_1p()
    }
}
