//! The hydraulic actuation of a sound system, as plain numbers.

use crate::mechanics::{
    Flow, Fluid, Hydraulics, Intensifier, Line, Master, Side, Slave, SlaveBore, Wall,
};
use crate::model::{Component, System};
use crate::{block, field};

/// Master, lines, fluid and slave of a sound system.
pub(super) fn hydraulics(system: &System) -> Option<Hydraulics> {
    let number = |id| system.number(id);
    let given = |id| system.given_number(id);
    Some(Hydraulics {
        master: Master {
            bore: number(field!(master.bore))?,
            stroke: number(field!(master.stroke))?,
            port_travel: number(field!(master.port_travel))?,
            rod_clearance: number(field!(master.rod_clearance))?,
            efficiency: number(field!(master.efficiency))?,
            return_force: number(field!(master.return_force))?,
            drag: number(field!(master.drag))?,
            mount_stiffness: given(field!(master.mount_stiffness)),
        },
        lines: system
            .lines
            .iter()
            .map(|one| line(one))
            .collect::<Option<_>>()?,
        intensifier: match system.component(block!(intensifier)) {
            None => None,
            Some(_) => Some(Intensifier {
                in_bore: number(field!(intensifier.in_bore))?,
                out_bore: number(field!(intensifier.out_bore))?,
                stroke: number(field!(intensifier.stroke))?,
                port_travel: number(field!(intensifier.port_travel))?,
                efficiency: number(field!(intensifier.efficiency))?,
            }),
        },
        fluid: Fluid {
            bulk_modulus: given(field!(fluid.bulk_modulus)),
            air: number(field!(fluid.air))?,
            ambient: number(field!(fluid.ambient))?,
        },
        slave: Slave {
            bore: match given(field!(slave.outer)) {
                Some(outer) => SlaveBore::Annulus {
                    outer,
                    inner: number(field!(slave.inner))?,
                },
                None => {
                    let bore = number(field!(slave.bore))?;
                    match given(field!(slave.pull_rod)) {
                        // The fluid is on the rod's side of the piston.
                        Some(rod) => SlaveBore::Annulus {
                            outer: bore,
                            inner: rod,
                        },
                        None => SlaveBore::Round(bore),
                    }
                }
            },
            stroke: number(field!(slave.stroke))?,
            rest_extension: number(field!(slave.rest_extension))?,
            preload: number(field!(slave.preload))?,
            drag: number(field!(slave.drag))?,
            efficiency: number(field!(slave.efficiency))?,
            mount_stiffness: given(field!(slave.mount_stiffness)),
        },
    })
}

/// The side of an intensifier that a piece of line is on.
pub(crate) fn side_of(line: &Component) -> Side {
    match line.given(field!(line.at)).and_then(|given| given.word()) {
        Some("master") => Side::Master,
        _ => Side::Slave,
    }
}

fn line(line: &Component) -> Option<Line> {
    let wall = if let Some(expansion) = line.number(field!(line.expansion)) {
        Wall::Hose { expansion }
    } else if let Some(thickness) = line.number(field!(line.wall)) {
        Wall::Tube {
            thickness,
            modulus: line.number(field!(line.modulus))?,
            poisson: line.number(field!(line.poisson))?,
        }
    } else {
        Wall::Rigid
    };
    let is_dead_end = line
        .given(field!(line.dead_end))
        .and_then(|given| given.word())
        == Some("yes");
    let flow = match line.number(field!(line.orifice)) {
        _ if is_dead_end => Flow::DeadEnd,
        Some(bore) => Flow::Orifice(bore),
        None => Flow::Through,
    };
    Some(Line {
        bore: line.number(field!(line.bore))?,
        length: line.number(field!(line.length))?,
        wall,
        flow,
        side: side_of(line),
    })
}
