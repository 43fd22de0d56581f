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

    /// One step; gives the heat lost by the pipes in watts.
    pub(crate) fn step(&self, s: &mut HeaderState, boilers: &[BoilerReply], zones: &Secondary, room_c: f64) -> f64 {
        // Primary side as straight lines of L.
        let (mut forward, mut forward_fixed, mut forward_per) = (0.0, 0.0, 0.0);
        let (mut back, mut back_fixed, mut back_per) = (0.0, 0.0, 0.0);
        for b in boilers {
            match b.way {
                Way::Still => {}
                Way::Forward => {
                    forward += b.flow_w_k;
                    forward_fixed += b.flow_w_k * b.fixed_c;
                    forward_per += b.flow_w_k * b.per_inlet;
                }
                Way::Back => {
                    back += b.flow_w_k;
                    back_fixed += b.flow_w_k * b.fixed_c;
                    back_per += b.flow_w_k * b.per_inlet;
                }
            }
        }
        let net = forward - back;
        let per_p = 1.0 / (self.primary_supply + forward);
        let (p0, p1) = ((self.primary_supply * s.primary_supply_c + forward_fixed) * per_p, forward_per * per_p);
        let per_b = 1.0 / (self.primary_return + net + back - back_per * p1);
        let b0 = (self.primary_return * s.primary_return_c + back_fixed + back_per * p0) * per_b;
        let b1 = net * per_b;
        let (p0, p1) = (p0 + p1 * b0, p1 * b1);
        // Secondary side as straight lines of U.
        let (ws, k) = (zones.flow_w_k, self.loss_half_w_k);
        let per_s = 1.0 / (self.secondary_supply + ws + k);
        let (s0, s1) = ((self.secondary_supply * s.supply_c + k * room_c) * per_s, ws * per_s);
        let per_r = 1.0 / (self.secondary_return + ws + k);
        let r0 = (self.secondary_return * s.return_c + zones.fixed_w + zones.per_supply_w_k * s0 + k * room_c) * per_r;
        let r1 = zones.per_supply_w_k * s1 * per_r;
        // Two nodes of the header.
        let (up, down) = ((ws - net).max(0.0), (net - ws).max(0.0));
        let most = ws.max(net);
        // (half + most) U = half U0 + net (p0 + p1 L) + up L;  (half + most) L = half L0 + ws (r0 + r1 U) + down U
        let den = self.half + most;
        let (ua, ub) = ((self.half * s.upper_c + net * p0) / den, (net * p1 + up) / den);
        let (la, lb) = ((self.half * s.lower_c + ws * r0) / den, (ws * r1 + down) / den);
        s.upper_c = (ua + ub * la) / (1.0 - ub * lb);
        s.lower_c = la + lb * s.upper_c;
        s.supply_c = s0 + s1 * s.upper_c;
        s.return_c = r0 + r1 * s.upper_c;
        s.primary_return_c = b0 + b1 * s.lower_c;
        s.primary_supply_c = p0 + p1 * s.lower_c;
        k * (s.supply_c + s.return_c - 2.0 * room_c)
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
            for _ in 0..5000 {
                m.step(&mut s, &[first, second], &zones, 20.0);
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
