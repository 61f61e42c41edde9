//! Master, lines, fluid and slave.

use super::domain::{compliance, finite, not_negative, positive};
use super::drive::{Drive, Lost};
use super::efficiency::{PerStroke, Stroke};
use super::intensifier::{Intensifier, Stepped};
use super::line::{Expansion, Line, Side, bore_area};

/// Standard atmosphere at sea level, absolute, MPa (101 325 Pa; ISO 2533).
pub const STANDARD_ATMOSPHERE: f64 = 0.101_325;

/// Absolute pressure of the standard atmosphere, MPa, at an altitude above sea level, mm. Use it for
/// [`Fluid::ambient`] of a car at altitude. `None` outside the lowest layer, −5 to 11 km.
///
/// Source: US Standard Atmosphere 1976, troposphere: 288.15 K at sea level, falling by 6.5 K per km of
/// geopotential altitude.
pub fn standard_atmosphere_at(altitude: f64) -> Option<f64> {
    const EARTH_RADIUS: f64 = 6_356_766e3;
    const LAPSE: f64 = 6.5e-6;
    const SEA_LEVEL: f64 = 288.15;
    // g·M/(R·lapse), in SI units.
    const EXPONENT: f64 = 9.80665 * 28.9644 / (8314.32 * 0.0065);
    let geopotential = EARTH_RADIUS * altitude / (EARTH_RADIUS + altitude);
    (-5e6..=11e6)
        .contains(&geopotential)
        .then(|| STANDARD_ATMOSPHERE * (1.0 - LAPSE * geopotential / SEA_LEVEL).powf(EXPONENT))
}

/// Master cylinder.
#[derive(Clone, Debug, PartialEq)]
pub struct Master {
    /// Bore diameter, mm.
    pub bore: f64,
    /// Piston travel from rest to bottomed, mm.
    pub stroke: f64,
    /// Piston travel until the compensating port is shut, mm.
    pub port_travel: f64,
    /// Gap between pushrod and piston at rest, mm. A free play given at the pad replaces it.
    pub rod_clearance: f64,
    /// Work on the fluid over work at the piston, on the press.
    pub efficiency: f64,
    /// Force of the piston's return spring, N.
    pub return_force: f64,
    /// Friction at the piston that is independent of the pressure, N.
    pub drag: f64,
    /// Force per deflection of the firewall or bracket along the bore, N/mm; `None` for rigid.
    pub mount_stiffness: Option<f64>,
}

/// The fluid and what is in it.
#[derive(Clone, Debug, PartialEq)]
pub struct Fluid {
    /// Bulk modulus, MPa; `None` for incompressible.
    pub bulk_modulus: Option<f64>,
    /// Volume of trapped air at ambient pressure, mm³.
    pub air: f64,
    /// Ambient pressure, absolute, MPa.
    pub ambient: f64,
}

/// Slave cylinder.
#[derive(Clone, Debug, PartialEq)]
pub struct Slave {
    /// Bore.
    pub bore: SlaveBore,
    /// Piston travel from fully home to the end of its stroke, mm.
    pub stroke: f64,
    /// How far the piston is out of fully home at rest, with a new disc, mm.
    pub rest_extension: f64,
    /// Force of the light spring that keeps the piston in contact, N. It acts with the fluid.
    pub preload: f64,
    /// Friction at the piston that is independent of the pressure, N.
    pub drag: f64,
    /// Work at the piston over work of the fluid, on the press.
    pub efficiency: f64,
    /// Force per deflection of the bracket along the rod, N/mm; `None` for rigid.
    pub mount_stiffness: Option<f64>,
}

/// Bore of a slave.
#[derive(Clone, Debug, PartialEq)]
pub enum SlaveBore {
    /// A plain cylinder, diameter in mm.
    Round(f64),
    /// A concentric slave, around the input shaft.
    Annulus {
        /// Outer diameter, mm.
        outer: f64,
        /// Inner diameter, mm.
        inner: f64,
    },
}

/// Master, lines, fluid and slave together.
#[derive(Clone, Debug, PartialEq)]
pub struct Hydraulics {
    /// Master cylinder.
    pub master: Master,
    /// Every length of line between master and slave.
    pub lines: Vec<Line>,
    /// A stepped piston between master and slave, where there is one.
    pub intensifier: Option<Intensifier>,
    /// Fluid.
    pub fluid: Fluid,
    /// Slave cylinder.
    pub slave: Slave,
}

/// Pressure, MPa, of a force, N, on an area, mm².
///
/// Source: definition of pressure; OpenStax College Physics 2e s 11.3.
pub fn pressure(force: f64, area: f64) -> f64 {
    force / area
}

/// Force, N, of a pressure, MPa, on a piston's area, mm².
///
/// Source: Pascal's law; OpenStax College Physics 2e s 11.5.
pub fn piston_force(pressure: f64, area: f64) -> f64 {
    pressure * area
}

/// Volume, mm³, by which `volume`, mm³, of a liquid of the given bulk modulus, MPa, shrinks under a
/// pressure, MPa: `V·p/K`. Valid while p is small against K.
///
/// Source: definition of the bulk modulus; OpenStax College Physics 2e s 5.3.
pub fn fluid_compression(volume: f64, bulk_modulus: f64, pressure: f64) -> f64 {
    volume * pressure / bulk_modulus
}

/// Volume, mm³, by which trapped air shrinks: `V·(1 − p₀/(p₀ + p))`. V is its volume at the absolute ambient pressure
/// p₀, MPa; p is the gauge pressure, MPa, not below zero.
///
/// Source: Boyle's law, isothermal: a clutch is held long enough for a bubble to reach the fluid's temperature.
pub fn air_compression(volume: f64, ambient: f64, pressure: f64) -> f64 {
    volume * (pressure / (ambient + pressure))
}

impl SlaveBore {
    /// Area the pressure works on, mm².
    pub fn area(&self) -> f64 {
        match *self {
            Self::Round(diameter) => bore_area(diameter),
            Self::Annulus { outer, inner } => bore_area(outer) - bore_area(inner),
        }
    }

    fn check(&self) -> Option<()> {
        match *self {
            Self::Round(diameter) => positive(diameter)?,
            Self::Annulus { outer, inner } => {
                positive(outer)?;
                not_negative(inner)?
            }
        };
        Some(())
    }
}

impl Hydraulics {
    /// Volume of fluid between the shut port and the slave's piston at rest, mm³. It is the master's swept volume
    /// past the port, the lines, and the slave's volume at its rest extension.
    pub fn volume(&self) -> f64 {
        let [to_master, to_slave] = self.volumes();
        to_slave + to_master
    }

    /// The [`Hydraulics::volume`] on each side of the intensifier, mm³: first towards the master, then towards the
    /// slave, with the fluid in the intensifier's small bore. Without an intensifier all of it is towards the slave.
    pub(super) fn volumes(&self) -> [f64; 2] {
        let master =
            bore_area(self.master.bore) * (self.master.stroke - self.master.port_travel).max(0.0);
        let slave = self.slave.bore.area() * self.slave.rest_extension;
        let lines = |side: Side| {
            let there = self.lines.iter().filter(|line| line.side == side);
            there.map(Line::volume).sum::<f64>()
        };
        match &self.intensifier {
            None => {
                let lines = self.lines.iter().map(Line::volume).sum::<f64>();
                [0.0, lines + master + slave]
            }
            Some(intensifier) => [
                lines(Side::Master) + master,
                lines(Side::Slave) + intensifier.held() + slave,
            ],
        }
    }

    /// How all lines on one side expand. Without an intensifier, all lines are on the slave's side.
    fn expansion(&self, side: Side) -> Expansion {
        let is_there = |line: &&Line| match self.intensifier {
            None => side == Side::Slave,
            Some(_) => line.side == side,
        };
        let lines = self.lines.iter().filter(is_there);
        lines
            .map(Line::expansion)
            .fold(Expansion::default(), |sum, line| Expansion {
                linear: sum.linear + line.linear,
                quadratic: sum.quadratic + line.quadratic,
            })
    }

    /// The constants of the circuit; `None` if a number has no meaning.
    pub(super) fn circuit(&self) -> Option<Circuit> {
        let (master, fluid, slave) = (&self.master, &self.fluid, &self.slave);
        positive(master.bore)?;
        slave.bore.check()?;
        self.lines.iter().try_for_each(Line::check)?;
        not_negative(slave.stroke)?;
        not_negative(slave.rest_extension)?;
        let stepped = match &self.intensifier {
            Some(intensifier) => intensifier.constants()?,
            None => Stepped::NONE,
        };
        let [of_master, of_slave] = [Side::Master, Side::Slave].map(|side| self.expansion(side));
        finite(of_master.linear + of_slave.linear)?;
        finite(of_master.quadratic + of_slave.quadratic)?;
        let compliances = match fluid.bulk_modulus {
            Some(bulk_modulus) => {
                let modulus = positive(bulk_modulus)?;
                self.volumes()
                    .map(|volume| fluid_compression(volume, modulus, 1.0))
            }
            None => [0.0; 2],
        };
        let master_area = positive(bore_area(master.bore))?;
        let slave_area = positive(slave.bore.area())?;
        positive(master.efficiency)?;
        positive(slave.efficiency)?;
        not_negative(master.return_force)?;
        not_negative(master.drag)?;
        not_negative(slave.drag)?;
        // Piston friction adds to what the seals' efficiency divides, and takes off what it has left.
        let slave_drag = |stroke: Stroke| match stroke {
            Stroke::Press => stroke.input_force(slave.drag, slave.efficiency),
            Stroke::Return => -slave.drag,
        };
        Some(Circuit {
            slave_area,
            master_area,
            ratio: positive(slave_area / master_area * stepped.boost)?,
            travel_per_volume: finite(1.0 / master_area)?,
            pressure_per_force: PerStroke::new(|stroke| {
                pressure(stroke.input_force(1.0, slave.efficiency), slave_area)
            })?,
            drag_pressure: PerStroke::new(|stroke| pressure(slave_drag(stroke), slave_area))?,
            preload_pressure: finite(pressure(not_negative(slave.preload)?, slave_area))?,
            carried_force: PerStroke::new(|stroke| match stroke {
                Stroke::Press => stroke.output_force(slave.preload, slave.efficiency) - slave.drag,
                // The master's piston stays back until the fluid overcomes what its own spring does not.
                Stroke::Return => {
                    let hangs = (master.drag - master.return_force).max(0.0);
                    let fluid = hangs
                        / master.efficiency
                        / master_area
                        / stepped.master_pressure.on(stroke)
                        * slave_area;
                    stroke.output_force(slave.preload + slave.drag + fluid, slave.efficiency)
                }
            })?,
            drag_at_output: PerStroke::new(|stroke| match stroke {
                Stroke::Press => slave.drag,
                Stroke::Return => -stroke.output_force(slave.drag, slave.efficiency),
            })?,
            force_per_pressure: PerStroke::new(|stroke| {
                let at_master = stepped.master_pressure.on(stroke);
                stroke.input_force(piston_force(at_master, master_area), master.efficiency)
            })?,
            master_efficiency: master.efficiency,
            own_force: PerStroke::new(|stroke| master.return_force + stroke.against(master.drag))?,
            port_travel: not_negative(
                not_negative(master.port_travel)? + stepped.port_volume / master_area,
            )?,
            rod_clearance: not_negative(master.rod_clearance)?,
            stroke: not_negative(master.stroke)?,
            mount_compliance: compliance(master.mount_stiffness)?,
            slave_stroke_left: slave.stroke - slave.rest_extension,
            lines: stepped.lines(&of_master, &of_slave)?,
            fluid_compliance: PerStroke::new(|stroke| stepped.seen(compliances, stroke))?,
            to_slave: (of_slave, compliances[1]),
            stepped,
            air: not_negative(fluid.air)?,
            ambient: positive(fluid.ambient)?,
        })
    }
}

/// The constants of a hydraulic circuit, worked out once.
#[derive(Clone, Copy, Debug)]
pub(super) struct Circuit {
    pub(super) slave_area: f64,
    pub(super) master_area: f64,
    pub(super) rod_clearance: f64,
    /// Master piston travel from rest to bottomed, mm.
    pub(super) stroke: f64,
    /// Slave piston travel from rest to the end of its stroke, mm.
    pub(super) slave_stroke_left: f64,
    /// Slave area over master area, times the intensifier's ratio: force out over force in, and travel in over travel
    /// out, without losses.
    pub(super) ratio: f64,
    /// Slave rod's force, N, up to which the preload spring carries all of it. Beyond it the pressure rises.
    pub(super) carried_force: PerStroke,
    /// What the slave's drag takes off the carried force, N; below zero if it adds to it.
    pub(super) drag_at_output: PerStroke,
    /// Master travel per displaced volume, 1/mm².
    travel_per_volume: f64,
    /// Pressure per force at the slave's rod, 1/mm².
    pressure_per_force: PerStroke,
    /// Pressure that friction independent of the pressure adds, MPa; below zero on the return.
    drag_pressure: PerStroke,
    /// Pressure that the preload saves, MPa.
    preload_pressure: f64,
    /// Force at the master's piston per pressure, mm².
    force_per_pressure: PerStroke,
    master_efficiency: f64,
    /// Force at the master's piston without pressure, N: its spring, plus its drag on the press, less its drag on the
    /// return. On the return it may be below zero.
    own_force: PerStroke,
    pub(super) port_travel: f64,
    mount_compliance: f64,
    /// How the lines expand with the slave's pressure, on each stroke, as the master sees it.
    lines: [Expansion; 2],
    /// Volume that the fluid loses per pressure of the slave, mm³/MPa, as the master sees it.
    fluid_compliance: PerStroke,
    /// How lines on the slave's side of the intensifier expand, and the volume that the fluid there loses per
    /// pressure, mm³/MPa.
    to_slave: (Expansion, f64),
    /// The intensifier.
    pub(super) stepped: Stepped,
    pub(super) air: f64,
    pub(super) ambient: f64,
}

impl Circuit {
    /// The master's state when the slave has moved by `travel`, mm, against `force`, N. `taken_up`, 0 to 1, is the
    /// share of the slave's drag that is overcome. Neither piston can be pulled.
    pub(super) fn drive(&self, travel: f64, force: f64, taken_up: f64, stroke: Stroke) -> Drive {
        let pressure = (force * self.pressure_per_force.on(stroke)
            + taken_up * self.drag_pressure.on(stroke)
            - self.preload_pressure)
            .max(0.0);
        let lost = Lost {
            lines: self.lines_on(stroke).volume(pressure),
            fluid: self.fluid_compliance.on(stroke) * pressure,
            air: air_compression(self.air, self.ambient, pressure) * self.stepped.boost,
        };
        let active_travel = self.ratio * travel + lost.total() * self.travel_per_volume;
        let input_force =
            (pressure * self.force_per_pressure.on(stroke) + self.own_force.on(stroke)).max(0.0);
        Drive {
            pressure,
            lost,
            active_travel,
            input_travel: self.port_travel + active_travel,
            input_force,
            give: input_force * self.mount_compliance,
            stepped_travel: self.stepped_travel(travel, pressure),
        }
    }

    /// Travel of the intensifier's piston, mm; zero without one.
    fn stepped_travel(&self, travel: f64, pressure: f64) -> f64 {
        let Some(stepped) = &self.stepped.piston else {
            return 0.0;
        };
        let (lines, fluid) = &self.to_slave;
        let lost = lines.volume(pressure)
            + fluid * pressure
            + air_compression(self.air, self.ambient, pressure);
        stepped.port_travel + (self.slave_area * travel + lost) / stepped.out_area
    }

    fn lines_on(&self, stroke: Stroke) -> &Expansion {
        let [press, back] = &self.lines;
        match stroke {
            Stroke::Press => press,
            Stroke::Return => back,
        }
    }

    /// The master's state at a pressure, MPa, while the slave's piston is kept from moving.
    pub(super) fn blocked(&self, pressure: f64) -> Drive {
        let per_force = self.pressure_per_force.on(Stroke::Press);
        let force = (pressure + self.preload_pressure) / per_force;
        self.drive(0.0, force, 0.0, Stroke::Press)
    }

    /// Pressure, MPa, from a force in the rod on the press, N; zero until the force overcomes the return spring and
    /// the drag.
    pub(super) fn pressure_of_rod(&self, rod_force: f64) -> f64 {
        (rod_force - self.own_force.on(Stroke::Press)).max(0.0)
            / self.force_per_pressure.on(Stroke::Press)
    }

    /// The master's state with the rod `past` its clearance, mm, while the port is still open. The mount takes up the
    /// return spring's force, then the piston moves up to the port.
    ///
    /// On the return the piston is where it was on the press. The mount has come back by the deflection that the drag
    /// no longer causes.
    pub(super) fn idle(&self, past: f64, stroke: Stroke) -> Drive {
        let take_up = self.take_up();
        let own_force = self.own_force.on(stroke).max(0.0);
        let share = if past < 0.0 {
            0.0
        } else if past < take_up {
            past / take_up
        } else {
            1.0
        };
        let give = match stroke {
            Stroke::Press => past.clamp(0.0, take_up),
            Stroke::Return => past.clamp(0.0, take_up) - self.drag_give() * share,
        };
        Drive {
            input_travel: (past - take_up).max(0.0),
            input_force: own_force * share,
            give,
            ..Drive::default()
        }
    }

    /// How much more the mount deflects on the press than on the return while there is no pressure, mm.
    fn drag_give(&self) -> f64 {
        let back = self.own_force.on(Stroke::Return).max(0.0);
        (self.own_force.on(Stroke::Press) - back) * self.mount_compliance
    }

    /// An upper bound, mm, on the input travel given back while the slave's force falls, N. It takes the fastest
    /// rate: tubes at the highest pressure, air at the lowest.
    pub(super) fn most_given_back(&self, from: f64, to: f64) -> f64 {
        let pressure = |force: f64| {
            force * self.pressure_per_force.on(Stroke::Press) + self.drag_pressure.on(Stroke::Press)
                - self.preload_pressure
        };
        let (high, low) = (pressure(from), pressure(to));
        let absolute = self.ambient + low.max(0.0);
        let lines = self.lines_on(Stroke::Press);
        let volume_per_pressure = lines.linear
            + 2.0 * lines.quadratic * high.max(0.0)
            + self.fluid_compliance.on(Stroke::Press)
            + self.air * self.stepped.boost * self.ambient / (absolute * absolute);
        let per_pressure = volume_per_pressure * self.travel_per_volume
            + self.force_per_pressure.on(Stroke::Press) * self.mount_compliance;
        (high - low) * per_pressure
    }

    /// Rod travel by which the mount deflects on the press under the return spring's force and the drag, mm.
    pub(super) fn take_up(&self) -> f64 {
        self.own_force.on(Stroke::Press) * self.mount_compliance
    }

    /// Whether the slave has drag that must be overcome before it moves.
    pub(super) fn drags(&self) -> bool {
        self.drag_pressure.on(Stroke::Press) > 0.0
    }

    /// Rod travel beyond its clearance at which the port shuts, mm.
    pub(super) fn idle_travel(&self) -> f64 {
        self.take_up() + self.port_travel
    }

    /// Work at the rod on the press, N·mm, up to this drive, that was not used to move the slave. It went into lines,
    /// fluid, air and mount with their friction, and against the return spring and the master's drag.
    ///
    /// It depends on the pressure alone and not on the way there, so that no integration is needed.
    pub(super) fn absorbed_work(&self, drive: &Drive) -> f64 {
        let p = drive.pressure;
        let q = p / self.ambient;
        // ∫ p dV of isothermal air, V·p₀·(ln(1 + q) − q/(1 + q)).
        let air = self.air * self.stepped.boost * self.ambient * (q.ln_1p() - q / (1.0 + q));
        let fluid = 0.5 * self.fluid_compliance.on(Stroke::Press) * p * p;
        let of_slave = self.lines_on(Stroke::Press).work(p) + fluid + air;
        let into_volume =
            of_slave * self.stepped.master_pressure.on(Stroke::Press) / self.master_efficiency;
        let lost_travel =
            drive.input_travel - drive.active_travel + drive.lost.total() * self.travel_per_volume;
        into_volume
            + self.own_force.on(Stroke::Press) * lost_travel
            + 0.5 * drive.input_force * drive.give
    }
}
