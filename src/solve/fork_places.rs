//! Where the fork is at the ends of its use: at rest, on a worn disc, at full pedal.

use super::inputs::{DiscState, SideInputs};
use crate::mechanics::{ForkStack, Summary};
use crate::result;
use crate::schema::ResultId;

/// The places of the fork. Lengths in mm ahead of the gearbox's face, angles in rad from square.
struct ForkPlaces {
    tips: f64,
    angle: f64,
    /// `None` where the fork cannot reach that place.
    angle_full: Option<f64>,
    lean: Option<f64>,
    shim: f64,
    /// `None`, here and in the next two, where it is not known on which side of the pivot the outer end is.
    end: Option<f64>,
    end_full: Option<f64>,
    room_behind: Option<f64>,
}

impl ForkPlaces {
    fn new(
        stack: &ForkStack,
        side: &SideInputs,
        summary: &Summary,
        disc: DiscState,
    ) -> Option<Self> {
        let set_back = side.bearing_set_back();
        let rest = match disc {
            DiscState::New => 0.0,
            DiscState::WornOut => -set_back,
        };
        let (tips, worn) = (stack.tips_at(rest), stack.tips_at(-set_back));
        let full = stack.tips_at(rest + summary.bearing_travel);
        let angle = stack.angle(tips)?;
        let angle_full = stack.angle(full);
        let end = stack.end(angle);
        let forward = stack.is_forward_in_release();
        let room_behind = || {
            let (edge, end) = (side.window_behind?, stack.end(stack.angle(worn)?)?);
            Some(if forward? { end - edge } else { edge - end })
        };
        Some(Self {
            tips,
            angle,
            angle_full,
            lean: angle_full
                .zip(stack.angle(worn))
                .map(|(full, worn)| full.abs().max(worn.abs()).max(angle.abs())),
            shim: stack.shim(worn, full),
            end,
            end_full: end.zip(forward).map(|(end, forward)| {
                // A fork that bends under its load goes further than its tips say.
                let way = if forward { 1.0 } else { -1.0 };
                end + way * summary.fork_travel
            }),
            room_behind: room_behind(),
        })
    }
}

/// Sets the results for the places of the fork.
pub(super) fn set_fork_places(
    set: &mut impl FnMut(ResultId, Option<f64>),
    side: &SideInputs,
    summary: &Summary,
    disc: DiscState,
) {
    let places = side
        .fork_stack
        .and_then(|stack| ForkPlaces::new(&stack, side, summary, disc));
    let Some(places) = places else {
        return;
    };
    set(result!(fork_tip_position), Some(places.tips));
    set(result!(fork_angle), Some(places.angle));
    set(result!(fork_angle_full), places.angle_full);
    set(result!(fork_lean), places.lean);
    // The pivot is shimmed once, for the whole life of the disc.
    let shim = (disc == DiscState::New).then_some(places.shim);
    set(result!(pivot_shim), shim);
    set(result!(fork_end_position), places.end);
    set(result!(fork_end_position_full), places.end_full);
    set(result!(fork_back_room), places.room_behind);
}
