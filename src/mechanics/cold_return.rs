//! The time that the fluid needs to flow back when the foot leaves the pedal. A narrow bore slows cold fluid; an
//! orifice slows it at any temperature.

use std::f64::consts::PI;

use super::domain::{finite, not_negative, positive};
use super::efficiency::Stroke;
use super::intensifier::Stepped;
use super::line::{Flow, Line, Side, bore_area};
use super::walk::{FullPedal, Walk};

/// A brake-fluid grade that limits the viscosity in the cold.
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

    /// Lowest boiling points, K, that the grade allows: dry, as the fluid comes from the can, and wet, with water
    /// taken up in the car.
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

    /// Kinematic viscosity, mm²/s, at a temperature, K, of a fluid at the grade's limits: the highest allowed at −40
    /// °C and the lowest at 100 °C. `log₁₀ log₁₀(ν + 0.7) = A − B·log₁₀ T`. A fluid that is thicker at 100 °C is also
    /// thicker in between. `None` above 100 °C, and below −40 °C, where the grade has no limit.
    ///
    /// Source: C. Walther's equation as in ASTM D341; 1.5 mm²/s at 100 °C: 49 CFR 571.116, S5.1.3.
    pub fn viscosity(self, temperature: f64) -> Option<f64> {
        const COLD: f64 = 273.15 - 40.0;
        const HOT: f64 = 273.15 + 100.0;
        const THINNEST: f64 = 1.5;
        // A temperature in °C or °F converts to this up to rounding.
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

/// Pressure, MPa, that is lost along a round line: `128·η·L·Q/(π·d⁴)`. Flow in mm³/s, dynamic viscosity in MPa·s,
/// bore and length in mm. The flow must be laminar, see [`reynolds_number`].
///
/// Source: Hagen–Poiseuille; OpenStax College Physics 2e s 12.4.
pub fn line_pressure_drop(flow: f64, viscosity: f64, bore: f64, length: f64) -> f64 {
    128.0 * viscosity * length * flow / (PI * bore.powi(4))
}

/// The share of the ideal flow that an orifice passes. Common practice, no source.
const DISCHARGE: f64 = 0.65;

/// Flow, mm³/s, through an orifice of the given bore, mm, under a pressure, MPa: `0.65·π/4·d²·√(2p/ρ)`. The density ρ
/// is in t/mm³. Viscosity has no influence.
///
/// Source: Bernoulli with a coefficient of discharge; the coefficient is common practice, no source.
pub fn orifice_flow(pressure: f64, bore: f64, density: f64) -> f64 {
    DISCHARGE * bore_area(bore) * (2.0 * pressure / density).sqrt()
}

/// The resistance of lines and orifices in series: a flow Q needs the pressure `resistance·Q + loss·Q²`, MPa.
#[derive(Clone, Copy)]
struct Restriction {
    /// MPa·s/mm³.
    resistance: f64,
    /// MPa·s²/mm⁶.
    loss: f64,
}

impl Restriction {
    /// The resistance of the lines through which fluid flows, as the slave sees it. Dynamic viscosity in MPa·s,
    /// density in t/mm³. On the master's side of an intensifier more fluid flows, under less pressure.
    fn new(lines: &[Line], stepped: &Stepped, dynamic: f64, density: f64) -> Self {
        let flowing = lines.iter().filter(|line| line.flow != Flow::DeadEnd);
        let (mut resistance, mut loss) = (0.0, 0.0);
        for line in flowing {
            let (flow, pressure) = match line.side {
                Side::Master => (
                    stepped.boost,
                    1.0 / stepped.master_pressure.on(Stroke::Return),
                ),
                Side::Slave => (1.0, 1.0),
            };
            let drop = line_pressure_drop(1.0, dynamic, line.bore, line.length);
            resistance += drop * flow * pressure;
            if let Flow::Orifice(bore) = line.flow {
                let drop = orifice_flow(1.0, bore, density).powi(-2);
                loss += drop * flow * flow * pressure;
            }
        }
        Self { resistance, loss }
    }

    /// Flow, mm³/s, at a pressure, MPa.
    fn flow(&self, pressure: f64) -> f64 {
        let root = (self.resistance.powi(2) + 4.0 * self.loss * pressure).sqrt();
        2.0 * pressure / (self.resistance + root)
    }

    /// Mean of `1/Q`, s/mm³, with an orifice, while the pressure changes evenly with the volume from `a` to `b`, MPa.
    fn time_per_volume(&self, a: f64, b: f64) -> f64 {
        let (resistance, loss) = (self.resistance, self.loss);
        let laminar = resistance / logarithmic_mean(a, b);
        let root = |pressure: f64| (resistance * resistance + 4.0 * loss * pressure).sqrt();
        let (from, to) = (root(a), root(b));
        let slope = 4.0 * loss / (from + to);
        let rise = slope * (b - a) / (from + resistance);
        let share = if rise == 0.0 {
            1.0
        } else {
            rise.ln_1p() / rise
        };
        laminar + slope - resistance * slope * share / (from + resistance)
    }
}

/// Reynolds number of a flow: `v·d/ν`, with mean velocity, mm/s, bore, mm, and kinematic viscosity, mm²/s. Flow is
/// laminar up to about 2000.
///
/// Source: OpenStax University Physics vol. 1 s 14.7.
pub fn reynolds_number(velocity: f64, bore: f64, kinematic_viscosity: f64) -> f64 {
    velocity * bore / kinematic_viscosity
}

/// How the line slows the return.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct ColdReturn {
    /// Time that the fluid needs to flow back, s.
    pub time: f64,
    /// Reynolds number in the narrowest line at the fastest flow. Above 2000 the flow is turbulent and the time is
    /// too short. A return that fast troubles no driver.
    pub reynolds: f64,
}

impl Walk<'_> {
    /// How long the fluid needs, with the foot off the pedal, to flow back through the lines. The end is where the
    /// fingers have come back by `share`, 0 to 1, of their travel at full pedal. Kinematic viscosity in mm²/s,
    /// density in t/mm³.
    ///
    /// All of the pressure at the slave on the return is taken to drive the flow. None is left at the master, whose
    /// pedal runs ahead. The slave's swept volume flows through every line, and the lines' resistances add up. With
    /// the pressure p linear between the corners of the load, `∫ dV/Q(p)` is exact. Each piece of travel is divided
    /// by the logarithmic mean of the pressures at its ends, or with an orifice multiplied by the mean of `1/Q`,
    /// where `p = R·Q + k·Q²`. The volume that lines and fluid give back is left out, as it is small against the
    /// slave's. With a relay lever behind the slave, each piece is cut into sixteen, and the pressure is taken as
    /// linear over each of them.
    ///
    /// The flow falls with the load. If the load falls to zero, the last bit takes forever; that is why a share is
    /// asked for. `None` where the pressure dies away before that, where the fingers do not move, without cylinders,
    /// and for numbers without meaning.
    ///
    /// Source: Hagen–Poiseuille, lines in series.
    pub fn cold_return(
        &self,
        full: &FullPedal,
        kinematic_viscosity: f64,
        density: f64,
        share: f64,
    ) -> Option<ColdReturn> {
        positive(kinematic_viscosity)?;
        positive(density)?;
        let lines = &self.chain.actuation.hydraulics()?.lines;
        let stepped = &self.mechanism.circuit()?.stepped;
        let dynamic = kinematic_viscosity * density;
        let restriction = Restriction::new(lines, stepped, dynamic, density);
        let (time, highest) = self.time_back(full, &restriction, share)?;
        let flowing = lines.iter().filter(|line| line.flow != Flow::DeadEnd);
        let narrowest = flowing.min_by(|a, b| a.bore.total_cmp(&b.bore));
        let reynolds = match narrowest {
            Some(line) if restriction.resistance > 0.0 => {
                let flow = match line.side {
                    Side::Master => stepped.boost * restriction.flow(highest),
                    Side::Slave => restriction.flow(highest),
                };
                let velocity = flow / (0.25 * PI * line.bore * line.bore);
                reynolds_number(velocity, line.bore, kinematic_viscosity)
            }
            _ => 0.0,
        };
        Some(ColdReturn {
            time,
            reynolds: finite(reynolds)?,
        })
    }

    /// How long the fluid needs, s, to flow back through the orifices alone: [`Walk::cold_return`] without viscosity
    /// and lines. Density in t/mm³. `None` where there are no orifices.
    pub fn orifice_return(&self, full: &FullPedal, density: f64, share: f64) -> Option<f64> {
        positive(density)?;
        let lines = &self.chain.actuation.hydraulics()?.lines;
        let stepped = &self.mechanism.circuit()?.stepped;
        let restriction = Restriction::new(lines, stepped, 0.0, density);
        positive(restriction.loss)?;
        Some(self.time_back(full, &restriction, share)?.0)
    }

    /// Time, s, until the fingers have come back by `share`, and the highest pressure in that time, MPa.
    fn time_back(
        &self,
        full: &FullPedal,
        restriction: &Restriction,
        share: f64,
    ) -> Option<(f64, f64)> {
        /// Pieces per leg with a bent fork or a relay lever that is not square. The relative error of the time is
        /// then 1e-5 with a bent fork, and 4e-5 with a lever 30 degrees off square.
        const BENT: u32 = 16;
        let circuit = self.mechanism.circuit()?;
        (0.0..=1.0).contains(&share).then_some(())?;
        let back_to =
            self.chain.bearing.free_play + (1.0 - share) * positive(full.state.finger_travel)?;

        // Without an orifice the resistance stands before the sum.
        let is_laminar = restriction.loss == 0.0;
        let resistance = if is_laminar {
            restriction.resistance
        } else {
            1.0
        };
        let mut travel_per_flow = 0.0;
        let mut highest: f64 = 0.0;
        // On a bent fork or a relay lever the force is not quite linear in its travel.
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
            let travel = far.output_travel - near.output_travel;
            travel_per_flow += match is_laminar {
                true => travel / logarithmic_mean(low, high),
                false => travel * restriction.time_per_volume(low, high),
            };
            highest = highest.max(low).max(high);
        }
        let time = resistance * circuit.slave_area * not_negative(travel_per_flow)?;
        Some((finite(time)?, highest))
    }
}

/// Logarithmic mean `(b − a)/ln(b/a)`: its inverse is the mean of 1/x while x changes linearly from a to b.
fn logarithmic_mean(a: f64, b: f64) -> f64 {
    let apart = (b - a) / a;
    if apart.abs() < 1e-7 {
        0.5 * (a + b)
    } else {
        (b - a) / apart.ln_1p()
    }
}
