//! Header and pipes: six mixed nodes that join boilers and zones, solved together in one step.
//!
//! ```text
//!            P primary supply          U upper half            S secondary supply
//!  boilers ==================> [ header or tees ] ==================> zones, tank
//!          <==================                    <==================
//!            B primary return          L lower half            R secondary return
//! ```
//!
//! With capacity rates `w_p` of the boilers and `w_s` of the zones (flow times specific heat, W/K), the header mixes both
//! ways. Where the zones take more than the boilers give, the rest comes up from the return and dilutes the supply:
//!
//! ```text
//! C_U dU/dt = w_p (P - U) + max(w_s - w_p, 0) (L - U)
//! C_L dL/dt = w_s (R - L) + max(w_p - w_s, 0) (U - L)
//! C_S dS/dt = w_s (U - S) - k (S - t_room)        C_R dR/dt = sum w_i (r_i - R) - k (R - t_room)
//! C_B dB/dt = w_p (L - B) + sum_back w_j (T_j - B)
//! C_P dP/dt = sum w_j (T_j - P)                   C_j dT_j/dt = w_j (in - T_j) + fire - jacket
//! ```
//!
//! In the steady state this is the mass and heat balance of closely spaced tees. Without check valves the running boilers
//! drive a tenth of its flow backwards through each idle one, from P to B (a tenth is our choice; at most half of
//! what runs goes back).
//!
//! A step is implicit: boilers and zones come in as straight lines, two unknowns (U, L) are left. It conserves
//! energy to rounding and is stable whatever the volumes.

use crate::plant::{Fluid, Header};
use heatwright_core::limits::BOILERS;

/// Share of an idle boiler's flow that runs backwards without a check valve.
pub const BACKFLOW_SHARE: f64 = 0.1;

/// Header and pipes ready to step: heat capacities over the step, in W/K.
#[derive(Clone, Debug)]
pub struct HeaderModel {
    half: f64,
    secondary_supply: f64,
    secondary_return: f64,
    primary_supply: f64,
    primary_return: f64,
    loss_half_w_k: f64,
    dt_s: f64,
    pub(crate) check_valves: bool,
}

/// Node temperatures, in degrees Celsius.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct HeaderState {
    /// Upper half of the header.
    pub upper_c: f64,
    /// Lower half of the header.
    pub lower_c: f64,
    /// Supply to the zones.
    pub supply_c: f64,
    /// Return from the zones.
    pub return_c: f64,
    /// Supply from the boilers.
    pub primary_supply_c: f64,
    /// Return to the boilers.
    pub primary_return_c: f64,
}

impl HeaderState {
    /// All water at one temperature, in degrees Celsius.
    pub const fn at(c: f64) -> Self {
        Self { upper_c: c, lower_c: c, supply_c: c, return_c: c, primary_supply_c: c, primary_return_c: c }
    }
}

/// Which way water goes through a boiler.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub(crate) enum Way {
    #[default]
    Still,
    Forward,
    Back,
}

/// A boiler's step with its node eliminated: outlet = `fixed_c + per_inlet * inlet`.
#[derive(Clone, Copy, Debug, Default)]
pub(crate) struct BoilerReply {
    pub(crate) way: Way,
    pub(crate) flow_w_k: f64,
    pub(crate) fixed_c: f64,
    pub(crate) per_inlet: f64,
}

/// What follows from ways and flows until they change; `x_of_y` is the slope of one node's straight line of another.
#[derive(Clone, Copy, Debug, Default)]
pub(crate) struct HeaderHeld {
    forward_w_k: [f64; BOILERS],
    back_w_k: [f64; BOILERS],
    backwards: bool,
    back_per: f64,
    net: f64,
    per_p: f64,
    p_of_b: f64,
    per_b: f64,
    b_of_l: f64,
    p_of_l: f64,
    pub(crate) ws: f64,
    per_s: f64,
    s_of_u: f64,
    per_r: f64,
    r_of_u: f64,
    upper_of_l: f64,
    down: f64,
    den: f64,
    /// What follows from what the zones give back per kelvin of supply too, and for which of that.
    given_w_k: f64,
    r_of_upper: f64,
    l_of_upper: f64,
    both: f64,
}

/// What the zones and the tank together take and give back.
#[derive(Clone, Copy, Debug, Default)]
pub(crate) struct Secondary {
    /// Their flow from the header, in W/K.
    pub(crate) flow_w_k: f64,
    /// `sum w_i fixed_i`, in watts.
    pub(crate) fixed_w: f64,
    /// `sum w_i per_supply_i`, in W/K.
    pub(crate) per_supply_w_k: f64,
}

impl Secondary {
    /// Adds one branch.
    #[inline]
    pub(crate) fn add(&mut self, flow_w_k: f64, fixed_c: f64, per_supply: f64) {
        self.flow_w_k += flow_w_k;
        self.fixed_w += flow_w_k * fixed_c;
        self.per_supply_w_k += flow_w_k * per_supply;
    }
}

impl HeaderModel {
    /// Prepares header and pipes for steps of `dt_s` seconds.
    pub fn new(h: &Header, fluid: &Fluid, dt_s: f64) -> Self {
        // A node needs some water to have a temperature at all: a tenth of a litre, our choice.
        let over = |litres: f64| fluid.capacity_j_k(litres.max(0.1)) / dt_s;
        Self {
            half: over(0.5 * h.water_l),
            secondary_supply: over(h.secondary_supply_l),
            secondary_return: over(h.secondary_return_l),
            primary_supply: over(h.primary_supply_l),
            primary_return: over(h.primary_return_l),
            loss_half_w_k: 0.5 * h.loss_w_k,
            dt_s,
            check_valves: h.check_valves,
        }
    }

    /// Heat in header and pipes, in joules above 0 degrees Celsius.
    pub fn stored_j(&self, s: &HeaderState) -> f64 {
        self.dt_s
            * (self.half * (s.upper_c + s.lower_c)
                + self.secondary_supply * s.supply_c
                + self.secondary_return * s.return_c
                + self.primary_supply * s.primary_supply_c
                + self.primary_return * s.primary_return_c)
    }

    /// What follows from the ways and flows of the boilers and from the zones' flow, until one of them changes.
    pub(crate) fn hold(&self, boilers: &[BoilerReply], zones_w_k: f64) -> HeaderHeld {
        let mut h = HeaderHeld::default();
        let (mut forward_per, mut back) = (0.0, 0.0);
        let mut forward = 0.0;
        for (b, (forth, backwards)) in boilers.iter().zip(h.forward_w_k.iter_mut().zip(&mut h.back_w_k)) {
            match b.way {
                Way::Still => {}
                Way::Forward => {
                    *forth = b.flow_w_k;
                    forward += b.flow_w_k;
                    forward_per += b.flow_w_k * b.per_inlet;
                }
                Way::Back => {
                    *backwards = b.flow_w_k;
                    back += b.flow_w_k;
                    h.back_per += b.flow_w_k * b.per_inlet;
                }
            }
        }
        // Primary side as straight lines of L.
        h.net = forward - back;
        h.per_p = 1.0 / (self.primary_supply + forward);
        h.p_of_b = forward_per * h.per_p;
        h.per_b = 1.0 / (self.primary_return + h.net + back - h.back_per * h.p_of_b);
        h.b_of_l = h.net * h.per_b;
        h.p_of_l = h.p_of_b * h.b_of_l;
        h.backwards = back > 0.0;
        self.hold_zones(&mut h, zones_w_k);
        h
    }

    /// The same where only the zones' flow changes.
    pub(crate) fn hold_zones(&self, h: &mut HeaderHeld, zones_w_k: f64) {
        let (ws, k) = (zones_w_k, self.loss_half_w_k);
        h.ws = ws;
        // Secondary side as straight lines of U.
        h.per_s = 1.0 / (self.secondary_supply + ws + k);
        h.s_of_u = ws * h.per_s;
        h.per_r = 1.0 / (self.secondary_return + ws + k);
        h.r_of_u = h.s_of_u * h.per_r;
        let (up, down) = ((ws - h.net).max(0.0), (h.net - ws).max(0.0));
        h.den = 1.0 / (self.half + ws.max(h.net));
        h.upper_of_l = (h.net * h.p_of_l + up) * h.den;
        h.down = down;
        // None is that: it is taken in the next step.
        h.given_w_k = f64::NAN;
    }

    /// The same where what the zones give back per kelvin of supply changes.
    #[inline(never)]
    fn hold_given(h: &mut HeaderHeld, given_w_k: f64) {
        h.given_w_k = given_w_k;
        h.r_of_upper = given_w_k * h.r_of_u;
        h.l_of_upper = (h.ws * h.r_of_upper + h.down) * h.den;
        h.both = 1.0 / (1.0 - h.upper_of_l * h.l_of_upper);
    }

    /// One step. The zones' flow is that of `h`.
    #[inline(always)]
    pub(crate) fn step(
        &self,
        s: &mut HeaderState,
        h: &mut HeaderHeld,
        boilers: &[BoilerReply; BOILERS],
        zones: &Secondary,
        room_c: f64,
    ) {
        if h.given_w_k != zones.per_supply_w_k {
            Self::hold_given(h, zones.per_supply_w_k);
        }
        let sum = |w: &[f64; BOILERS]| -> f64 {
            (w[0] * boilers[0].fixed_c + w[1] * boilers[1].fixed_c)
                + (w[2] * boilers[2].fixed_c + w[3] * boilers[3].fixed_c)
        };
        let back_w = if h.backwards { sum(&h.back_w_k) } else { 0.0 };
        let p0 = (self.primary_supply * s.primary_supply_c + sum(&h.forward_w_k)) * h.per_p;
        let b0 = (self.primary_return * s.primary_return_c + back_w + h.back_per * p0) * h.per_b;
        let p0 = p0 + h.p_of_b * b0;
        let lost_w = self.loss_half_w_k * room_c;
        let s0 = (self.secondary_supply * s.supply_c + lost_w) * h.per_s;
        let r0 = (self.secondary_return * s.return_c + zones.fixed_w + zones.per_supply_w_k * s0 + lost_w) * h.per_r;
        // Two nodes of the header.
        // (half + most) U = half U0 + net (p0 + p1 L) + up L;  (half + most) L = half L0 + ws (r0 + r1 U) + down U
        let ua = (self.half * s.upper_c + h.net * p0) * h.den;
        let la = (self.half * s.lower_c + h.ws * r0) * h.den;
        s.upper_c = (ua + h.upper_of_l * la) * h.both;
        s.lower_c = la + h.l_of_upper * s.upper_c;
        s.supply_c = s0 + h.s_of_u * s.upper_c;
        s.return_c = r0 + h.r_of_upper * s.upper_c;
        s.primary_return_c = b0 + h.b_of_l * s.lower_c;
        s.primary_supply_c = p0 + h.p_of_l * s.lower_c;
    }

    /// Heat lost by the pipes in watts at a sum of supply and return, as excesses over their room.
    pub(crate) fn loss_w(&self, excess_k: f64) -> f64 {
        self.loss_half_w_k * excess_k
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const TEES: Header = Header {
        water_l: 4.0,
        secondary_supply_l: 30.0,
        secondary_return_l: 30.0,
        primary_supply_l: 10.0,
        primary_return_l: 10.0,
        loss_w_k: 0.0,
        check_valves: true,
    };

    #[test]
    fn backflow_warms_the_return_to_the_boilers() {
        let m = HeaderModel::new(&TEES, &Fluid::WATER, 1.0);
        let run = |second: BoilerReply| {
            let mut s = HeaderState::at(60.0);
            let first = BoilerReply { way: Way::Forward, flow_w_k: 4000.0, fixed_c: 80.0, per_inlet: 0.0 };
            let mut zones = Secondary::default();
            zones.add(4500.0, 50.0, 0.0);
            let boilers = [first, second, BoilerReply::default(), BoilerReply::default()];
            let mut held = m.hold(&boilers, zones.flow_w_k);
            for _ in 0..5000 {
                m.step(&mut s, &mut held, &boilers, &zones, 20.0);
            }
            s
        };
        let still = run(BoilerReply { way: Way::Still, flow_w_k: 0.0, fixed_c: 20.0, per_inlet: 0.0 });
        let back = run(BoilerReply { way: Way::Back, flow_w_k: 400.0, fixed_c: 0.0, per_inlet: 1.0 });
        // The zones take more than the boilers give: all of the return is zone water, and the supply is diluted.
        assert!((still.primary_return_c - 50.0).abs() < 1e-6, "{still:?}");
        assert!((still.supply_c - (4000.0 * 80.0 + 500.0 * 50.0) / 4500.0).abs() < 1e-6, "{still:?}");
        // Going backwards, 400 of the 4000 never reach the header.
        assert!((back.primary_return_c - (3600.0 * 50.0 + 400.0 * 80.0) / 4000.0).abs() < 1e-6, "{back:?}");
        assert!((back.supply_c - (3600.0 * 80.0 + 900.0 * 50.0) / 4500.0).abs() < 1e-6, "{back:?}");
    }
}
