//! A boiler whose own control comes on below the setting of its return valve: off and hot, it stands with the valve shut.
//!
//! With `T` its water, `w` its pump's flow, `t_v` the valve's setting, `J` its jacket: the control fires below `T_on` and stops above
//! `T_off`. While it burns with `Q`, and after, the header takes `w (T - t_v)` of water above the setting and nothing of water below it.
//! Where `T_on < t_v`, what lies between the two leaves by the jacket alone, and for so long nothing burns. One round:
//!
//! ```text
//! T_on to t_v      (t_v - T_on) C / Q
//! t_v to T_off     C / (w + J) ln((T_f - t_v) / (T_f - T_off))     T_f = (Q + w t_v + J t_room) / (w + J)
//! T_off to t_v     C / (w + J) ln((T_off - T_s) / (t_v - T_s))     T_s = (w t_v + J t_room) / (w + J)
//! t_v to T_on      C / J ln((t_v - t_room) / (T_on - t_room))
//! ```
//!
//! The header gets what the fire gave in the second, less the jacket in the second and third. The return is below the setting throughout:
//! water no hotter than that comes back colder. One that cannot get as hot as `T_off` with its smallest fire burns on, and is not held so
//! while the call lasts; that its next start has to wait is left out.

use crate::plant::{Boiler, Plant};
use heatwright_core::config::BoilerDrive;

/// What such a boiler gives over a round.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Shut {
    /// Where it comes on, in degrees Celsius.
    pub(super) start_c: f64,
    /// Its mean heat to the header, in watts.
    pub(super) heat_w: f64,
}

/// Where a boiler that holds `target_c` is held so; its smallest fire gives `fire_w` and its pump moves `flow_w_k`.
pub(super) fn shut(plant: &Plant, b: &Boiler, target_c: f64, fire_w: f64, flow_w_k: f64) -> Option<Shut> {
    let valve_c = b.return_valve_c?;
    let start_c = target_c - b.control.on_below_k;
    if matches!(b.drive, BoilerDrive::Rate) || !start_c.is_finite() || start_c >= valve_c {
        return None;
    }
    let off_c = (target_c + b.control.off_above_k).min(b.control.limit_c);
    let (room_c, jacket_w_k) = (plant.site.boiler_room_c, b.jacket_w_k);
    let none = Some(Shut { start_c, heat_w: 0.0 });
    if off_c <= valve_c || jacket_w_k <= 0.0 || start_c <= room_c {
        return none;
    }
    let leaves_w_k = flow_w_k + jacket_w_k;
    let kept_w = flow_w_k * valve_c + jacket_w_k * room_c;
    let (fires_c, stands_c) = ((fire_w + kept_w) / leaves_w_k, kept_w / leaves_w_k);
    if fires_c <= off_c {
        return None;
    }
    let capacity_j_k = plant.fluid.capacity_j_k(b.water_l) + b.metal_j_k;
    let (through_s, beside_s) = (capacity_j_k / leaves_w_k, capacity_j_k / jacket_w_k);
    let warms_s = (valve_c - start_c) * capacity_j_k / fire_w;
    let burns_s = through_s * ((fires_c - valve_c) / (fires_c - off_c)).ln();
    let empties_s = through_s * ((off_c - stands_c) / (valve_c - stands_c)).ln();
    let waits_s = beside_s * ((valve_c - room_c) / (start_c - room_c)).ln();
    let lost_j = jacket_w_k * (0.5 * (off_c + valve_c) - room_c) * (burns_s + empties_s);
    let heat_w = (fire_w * burns_s - lost_j).max(0.0) / (warms_s + burns_s + empties_s + waits_s);
    Some(Shut { start_c, heat_w })
}
