//! The indirect domestic-hot-water tank: one mixed node behind a coil.
//!
//! `C dT/dt = w e (S - T) - L (T - t_room) - d (T - t_cold)` with `e = 1 - exp(-K/w)`: a coil in water of one temperature
//! (effectiveness-NTU with one side of infinite capacity). `w` heating flow times specific heat, `K` coil, `L` loss, `d`
//! draw times specific heat, all in W/K. Hot and cold are mixed at the tap to the temperature of use, so a hotter tank is
//! drawn on less; a tank colder than that gives all it has. The aquastat closes `differential_k` below its setting.
//!
//! Source: heat balance. Not modelled: layers of hot over cold, recirculation.

use crate::{
    fluid::RUN_C,
    plant::{Drawn, Fluid, Tank},
};

/// A tank ready to step.
#[derive(Clone, Debug)]
pub struct TankModel {
    /// Heat capacity over the step, in W/K.
    capacity: f64,
    capacity_j_k: f64,
    loss_w_k: f64,
    /// Heating flow times specific heat, in W/K.
    pub(crate) flow_w_k: f64,
    effectiveness: f64,
    /// Draw of mixed water times specific heat, in W/K, by minute of the day.
    draw_w_k: Vec<f64>,
    use_c: f64,
    cold_c: f64,
    set_c: f64,
    differential_k: f64,
}

/// Where it stands.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct TankState {
    /// Water in the tank, in degrees Celsius.
    pub water_c: f64,
    /// Its aquastat calls.
    pub calls: bool,
}

/// A tank's step with its node eliminated.
#[derive(Clone, Copy, Debug)]
pub(crate) struct TankReply {
    /// Heating water that leaves the coil = `fixed_c` + `per_supply` * header supply.
    pub(crate) fixed_c: f64,
    pub(crate) per_supply: f64,
    tank_fixed_c: f64,
    tank_per_supply: f64,
    draw_w_k: f64,
    flow_w_k: f64,
}

/// What the tank did in one step.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct TankFlux {
    /// Heat through the coil into the tank, in watts.
    pub coil_w: f64,
    /// Heat drawn at the taps, in watts above cold water.
    pub draw_w: f64,
}

const MINUTE_S: f64 = 60.0;
const DAY_S: f64 = 86_400.0;

/// Litres drawn in each minute of the day.
fn litres_by_minute(times: &[Drawn]) -> Vec<f64> {
    let mut litres = vec![0.0; 1440];
    for d in times {
        let end_s = d.at_s + d.lasts_s;
        for (minute, slot) in litres.iter_mut().enumerate() {
            // What lasts past midnight goes on in the morning.
            for day_s in [0.0, DAY_S] {
                let from_s = minute as f64 * MINUTE_S + day_s;
                *slot += (end_s.min(from_s + MINUTE_S) - d.at_s.max(from_s)).max(0.0) * d.flow_l_s;
            }
        }
    }
    litres
}

/// Share of what its heating water could give that a coil does give in water of one temperature: coil and flow in W/K.
pub fn effectiveness(coil_w_k: f64, flow_w_k: f64) -> f64 {
    if flow_w_k > 0.0 { -(-coil_w_k / flow_w_k).exp_m1() } else { 0.0 }
}

/// What a tank takes on average, in watts.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Means {
    /// At its taps: what is drawn in a day, from cold water to the temperature of use.
    pub taps_w: f64,
    /// By standing at its setting, half its differential below.
    pub standing_w: f64,
}

/// What a tank takes on average that stands in `room_c` degrees Celsius, if it never runs cold.
pub fn means(t: &Tank, room_c: f64) -> Means {
    let litres: f64 = litres_by_minute(&t.draw.times).iter().sum();
    let mean_c = t.set_c - 0.5 * t.differential_k;
    Means {
        taps_w: Fluid::WATER.capacity_j_k(litres) * (t.draw.use_c - t.draw.cold_c) / DAY_S,
        standing_w: t.loss_w_k * (mean_c - room_c).max(0.0),
    }
}

impl TankModel {
    /// Prepares a tank for steps of `dt_s` seconds.
    pub fn new(t: &Tank, fluid: &Fluid, dt_s: f64) -> Self {
        let capacity_j_k = Fluid::WATER.capacity_j_k(t.volume_l);
        let flow_w_k = t.flow_kg_s * fluid.specific_heat_j_kgk(RUN_C);
        let draw_w_k =
            litres_by_minute(&t.draw.times).iter().map(|l| Fluid::WATER.capacity_j_k(*l) / MINUTE_S).collect();
        Self {
            capacity: capacity_j_k / dt_s,
            capacity_j_k,
            loss_w_k: t.loss_w_k,
            flow_w_k,
            effectiveness: effectiveness(t.coil_w_k, flow_w_k),
            draw_w_k,
            use_c: t.draw.use_c,
            cold_c: t.draw.cold_c,
            set_c: t.set_c,
            differential_k: t.differential_k,
        }
    }

    /// Heat in the tank, in joules above 0 degrees Celsius.
    pub fn stored_j(&self, s: &TankState) -> f64 {
        self.capacity_j_k * s.water_c
    }

    #[inline(always)]
    pub(crate) fn reply(&self, s: &TankState, running: bool, minute: usize, room_c: f64) -> TankReply {
        let flow_w_k = if running { self.flow_w_k } else { 0.0 };
        let mixed_w_k = self.draw_w_k.get(minute).copied().unwrap_or(0.0);
        let over_k = s.water_c - self.cold_c;
        let hot_share = if over_k > self.use_c - self.cold_c { (self.use_c - self.cold_c) / over_k } else { 1.0 };
        let draw_w_k = mixed_w_k * hot_share;
        let coil_w_k = flow_w_k * self.effectiveness;
        let den = 1.0 / (self.capacity + coil_w_k + self.loss_w_k + draw_w_k);
        let tank_fixed_c = (self.capacity * s.water_c + self.loss_w_k * room_c + draw_w_k * self.cold_c) * den;
        let tank_per_supply = coil_w_k * den;
        TankReply {
            fixed_c: self.effectiveness * tank_fixed_c,
            per_supply: 1.0 - self.effectiveness + self.effectiveness * tank_per_supply,
            tank_fixed_c,
            tank_per_supply,
            draw_w_k,
            flow_w_k,
        }
    }

    #[inline(always)]
    pub(crate) fn finish(&self, s: &mut TankState, r: &TankReply, supply_c: f64) -> TankFlux {
        s.water_c = r.tank_fixed_c + r.tank_per_supply * supply_c;
        if s.water_c < self.set_c - self.differential_k {
            s.calls = true;
        } else if s.water_c >= self.set_c {
            s.calls = false;
        }
        TankFlux {
            coil_w: r.flow_w_k * self.effectiveness * (supply_c - s.water_c),
            draw_w: r.draw_w_k * (s.water_c - self.cold_c),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::plant::{Draw, Drawn};
    use heatwright_core::PumpId;

    fn drawn(litres_an_hour: f64) -> Tank {
        Tank {
            volume_l: 300.0,
            loss_w_k: 2.0,
            coil_w_k: 1500.0,
            flow_kg_s: 0.5,
            pump: PumpId(0),
            set_c: 60.0,
            differential_k: 5.0,
            draw: Draw {
                times: vec![Drawn { at_s: 0.0, lasts_s: DAY_S, flow_l_s: litres_an_hour / 3600.0 }],
                use_c: 45.0,
                cold_c: 10.0,
            },
        }
    }

    fn tank(litres_an_hour: f64) -> TankModel {
        TankModel::new(&drawn(litres_an_hour), &Fluid::WATER, 1.0)
    }

    fn after(m: &TankModel, mut s: TankState, running: bool, supply_c: f64, seconds: u32) -> (TankState, f64) {
        let mut drawn_j = 0.0;
        for _ in 0..seconds {
            let r = m.reply(&s, running, 7, 20.0);
            drawn_j += m.finish(&mut s, &r, supply_c).draw_w;
        }
        (s, drawn_j)
    }

    #[test]
    fn it_warms_through_its_coil_and_its_aquastat_lets_go() {
        let m = tank(0.0);
        let cold = TankState { water_c: 50.0, calls: false };
        let (called, _) = after(&m, cold, false, 0.0, 1);
        assert!(called.calls);
        let (hot, _) = after(&m, called, true, 80.0, 3600);
        assert!(!hot.calls && hot.water_c > 60.0, "{hot:?}");
        // First-order rise: effectiveness 1 - exp(-1500/w), time constant C/(w e).
        let w = 0.5 * 4184.5;
        let tau_s = m.capacity_j_k / (w * (1.0 - (-1500.0_f64 / w).exp()) + 2.0);
        let want_c = 80.0 - 30.0 * (-3600.0 / tau_s).exp();
        assert!((hot.water_c - want_c).abs() < 0.2, "{} against {want_c}", hot.water_c);
    }

    /// 2400 L a day from 10 to 45 degrees: 2400 x 4.18 kJ x 35 / 86,400 s = 4.06 kW; the litre of 4.18 kJ/K is a handbook's. A run
    /// takes all water as light as that of 60 degrees, 1.5 % less.
    #[test]
    fn what_it_takes_on_average_is_what_is_drawn() {
        let t = drawn(100.0);
        let m = means(&t, 20.0);
        assert!((m.taps_w / (2400.0 * 4180.0 * 35.0 / 86_400.0) - 0.985).abs() < 0.002, "{m:?}");
        assert!((m.standing_w - 75.0).abs() < 1e-9, "{m:?}");
    }

    #[test]
    fn a_draw_begins_and_ends_when_it_is_written() {
        let by = |at_s, lasts_s| litres_by_minute(&[Drawn { at_s, lasts_s, flow_l_s: 0.1 }]);
        let morning = by(6.75 * 3600.0, 90.0);
        let drawn: Vec<_> = (0..1440).filter(|m| morning[*m] > 0.0).map(|m| (m, morning[m])).collect();
        assert_eq!(drawn, [(405, 6.0), (406, 3.0)]);
        let night = by(DAY_S - 60.0, 120.0);
        assert_eq!((night[1439], night[0], night.iter().sum::<f64>()), (6.0, 6.0, 12.0));
    }

    #[test]
    fn the_tap_gets_the_same_heat_from_a_hot_tank_and_a_hotter_one() {
        let m = tank(60.0);
        let from = |c: f64| after(&m, TankState { water_c: c, calls: false }, false, 0.0, 600).1;
        // Ten litres from 10 to 45 degrees Celsius.
        let want_j = Fluid::WATER.capacity_j_k(10.0) * 35.0;
        assert!((from(60.0) / want_j - 1.0).abs() < 1e-3 && (from(80.0) / want_j - 1.0).abs() < 1e-3);
        assert!(from(30.0) < 0.6 * want_j, "a tank colder than the tap gives all it has and no more");
    }
}
