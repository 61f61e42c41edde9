//! The mechanics of clutch actuation, from the pedal's pad to the release bearing.
//!
//! Plain numbers in, plain numbers out. **Everything in this module is in mm, t, s, K and rad.** Forces are thus in
//! N, pressures in MPa, volumes in mm³, stiffnesses in N/mm, work in N·mm and densities in t/mm³. Nothing is
//! converted on the way in or out. Pressures are gauge unless a name or comment says absolute.
//!
//! The model is quasi-static: no inertia. Flow resistance enters only the time of the return. Losses are of two
//! kinds. An efficiency per stage divides the force on the press and multiplies it on the return. Travel is lost to
//! expansion, compression, trapped air and flexing.
//!
//! The pedal drives the fork by master and slave, by a cable or by a linkage ([`Actuation`]). The walk is the same
//! for all three.
//!
//! A [`Chain`] holds the inputs. [`Chain::walk`] works out the constants once. The [`Walk`] then gives the [`State`]
//! at any bearing travel without solving anything, since all quantities follow from the bearing's travel and load,
//! back towards the pedal. [`Chain::summary`] and [`Chain::curve`] are built on it. Parts beside the chain have their
//! own inputs: the diaphragm that loads it ([`Diaphragm`]), the disc that it releases ([`Disc`]), the slave's rod
//! ([`SlaveRod`]), the bell housing ([`Dial`]).
//!
//! A number without meaning (a bore of zero, a negative length, an efficiency of zero) gives `None`, never a panic
//! and never a NaN. An efficiency above one is accepted, since the upper end of a tolerance may reach it.

mod actuation;
mod alignment;
mod assist;
mod bleeding;
mod cable;
mod chain;
mod cold_return;
mod cover;
mod crank;
mod diaphragm;
mod disc;
mod domain;
mod drive;
mod efficiency;
mod effort;
mod fork;
mod fork_stack;
mod fork_stroke;
mod full_pedal;
mod hydraulics;
mod intensifier;
mod interpolation;
mod leg;
mod levers;
mod limit;
mod line;
mod linkage;
mod numeric;
mod pedal;
mod places;
mod readings;
mod relay;
mod rod;
mod shut_port;
mod summary;
mod take_up;
mod train;
mod travel;
mod walk;
mod wear;
mod work;

pub use actuation::{Actuation, Cylinders};
pub use alignment::{
    Dial, Stretch, bell_angle, bell_offset, dowel_residual, holder_sag, pilot_engagement,
    pilot_penetration,
};
pub use assist::{Assist, AssistSpring, OverCenter};
pub use bleeding::{Reading, Squeeze, TrappedAir, bubble_volume};
pub use cable::Cable;
pub use chain::{Bearing, Chain};
pub use cold_return::{ColdReturn, Grade, line_pressure_drop, orifice_flow, reynolds_number};
pub use cover::{Cover, Load};
pub use crank::slider_crank_position;
pub use diaphragm::{Cone, Diaphragm, DiaphragmSpring};
pub use disc::{Disc, torque_margin};
pub(crate) use domain::positive;
pub use drive::Lost;
pub use efficiency::Stroke;
pub use fork::{Bend, Fork};
pub use fork_stack::{ForkStack, finger_position};
pub use full_pedal::PressedOn;
pub use hydraulics::{
    Fluid, Hydraulics, Master, STANDARD_ATMOSPHERE, Slave, SlaveBore, air_compression,
    fluid_compression, piston_force, pressure, standard_atmosphere_at,
};
pub use intensifier::Intensifier;
pub use interpolation::Curve;
pub use levers::{Lever, Swing};
pub use limit::EndedBy;
pub use line::{Expansion, Flow, Line, Side, Wall, bore_area, tube_bore_displacement};
pub use linkage::Linkage;
pub(crate) use numeric::{maximum, peak, root};
pub use pedal::{Leverage, Pedal, PedalGeometry, PedalPosition};
pub use readings::Readings;
pub use relay::{Relay, RelayPosition, Relays};
pub use rod::{SlaveRod, rod_length};
pub use shut_port::ShutPort;
pub use summary::Summary;
pub use take_up::{Cushion, Plate};
pub use travel::Sample;
pub use walk::{FullPedal, State, Walk};
