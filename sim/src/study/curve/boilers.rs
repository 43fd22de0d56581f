//! The boilers' side of a steady state: which of them run, how much each gives, how hot, and what is more than they can.
//!
//! As many run, in the order of the file, as the heat needs at 85 % efficiency, and more where those cannot give it. They fire at
//! a common rate, but none gives more than its full fire, and none more than `w (T_most - t_in)`: its water gets no hotter than
//! `T_most`, what it may be told ([`Reach`]) or its own limit. `t_in` is what comes back, or its return valve's setting where
//! that is higher; then `Q / (T - t_E)` of its flow reaches the header, the rest goes round. One that comes on below that setting
//! gives little or nothing: [`shut`].
//!
//! With `F_p` what all of them and the header exchange, `t_E` follows from the balance of the header: `t_R` where the zones draw
//! more than that, else `t_S - Q/F_p`.
//!
//! A boiler without a signal holds its own fixed target whatever the curve says; here it counts as giving what is needed, up to
//! that target.

use super::{need::flow_w_k, shut};
use crate::{
    boiler::efficiency::EfficiencyTable,
    plant::{Boiler, Plant},
};
use heatwright_core::{
    BoilerId, Config,
    config::{BoilerDrive, BoilerPump, Circulation},
    limits::BOILERS,
};

/// Efficiency at which the number of running boilers is judged.
pub(super) const EFFICIENCY_FOR_COUNT: f64 = 0.85;
/// Heat that is missing by a smaller share than this is rounding.
const SHORT_SHARE: f64 = 1e-6;
/// Halvings by which the return is found: a hundred kelvin to a millionth.
const HALVINGS: u32 = 27;

/// What the controller makes of its boilers.
#[derive(Clone, Debug, PartialEq)]
pub struct Reach {
    /// Most that it adds to the target of boilers that are told one, in kelvin.
    trim_k: f64,
    /// Hottest water that it tells or lets each be, in degrees Celsius, by `BoilerId`; past the last, no bound.
    outlet_max_c: Vec<f64>,
    /// Targets bound them: the fixed one of a boiler without a signal, and what is told to the others.
    told: bool,
    /// Every call asks every boiler: nobody stages them.
    together: bool,
    /// Zones whose water it keeps moving all season, by `ZoneId`.
    circulates: Vec<bool>,
}

impl Reach {
    /// Nothing but the boilers' own limits.
    pub const fn own() -> Self {
        Self { trim_k: f64::INFINITY, outlet_max_c: Vec::new(), told: false, together: false, circulates: Vec::new() }
    }

    /// By a controller's settings.
    pub fn of(config: &Config) -> Self {
        let c = |t: heatwright_core::Temp| f64::from(t.centi_c()) / 100.0;
        let trim_k = f64::from(config.reset.header_trim_max.centi_k()) / 100.0;
        Self::told(trim_k, config.boilers.iter().map(|b| c(b.outlet_max)).collect())
            .circulating(config.zones.iter().map(|z| z.circulation == Circulation::Constant).collect())
    }

    /// The same with the water of these zones moving all season, by `ZoneId`.
    #[must_use]
    pub fn circulating(self, circulates: Vec<bool>) -> Self {
        Self { circulates, ..self }
    }

    /// The water of this zone moves all season. Zone relays move none without a call.
    pub(super) fn circulates(&self, zone: usize) -> bool {
        !self.together && self.circulates.get(zone).copied().unwrap_or(false)
    }

    /// With this much added to targets at most, in kelvin, and each boiler, by `BoilerId`, told and let be no hotter than this, in
    /// degrees Celsius.
    pub const fn told(trim_k: f64, outlet_max_c: Vec<f64>) -> Self {
        Self { trim_k, outlet_max_c, told: true, together: false, circulates: Vec::new() }
    }

    /// The same where every call asks every boiler, as zone relays do.
    #[must_use]
    pub fn together(self, together: bool) -> Self {
        Self { together, ..self }
    }

    /// Hottest water of a boiler while the curve asks for `target_c`, both in degrees Celsius.
    fn most_c(&self, k: usize, b: &Boiler, target_c: f64) -> f64 {
        let told_c = match b.drive {
            BoilerDrive::DemandOnly if self.told => b.control.fixed_target_c,
            BoilerDrive::DemandOnly | BoilerDrive::Rate => f64::INFINITY,
            BoilerDrive::Target { low, high } => {
                let (low_c, high_c) = (f64::from(low.centi_c()) / 100.0, f64::from(high.centi_c()) / 100.0);
                if self.told { (target_c + self.trim_k).max(low_c).min(high_c) } else { f64::INFINITY }
            }
        };
        let outlet_c = self.outlet_max_c.get(k).copied().unwrap_or(f64::INFINITY);
        told_c.min(outlet_c).min(b.control.limit_c)
    }
}

/// What the zones want of the boilers.
#[derive(Clone, Copy, Debug)]
pub(super) struct Want {
    /// Heat, in watts.
    pub(super) heat_w: f64,
    /// What they draw from the header, in W/K.
    pub(super) flow_w_k: f64,
    /// What they send back and what they are to get, in degrees Celsius.
    pub(super) return_c: f64,
    pub(super) supply_c: f64,
}

/// A boiler whose return valve leaves too little of its heat to the header.
#[derive(Clone, Copy, Debug, PartialEq, serde::Serialize)]
pub struct HeldBack {
    /// Which boiler.
    pub boiler: BoilerId,
    /// Setting of its valve, and the hottest that its water may be, in degrees Celsius.
    pub setting_c: f64,
    /// Hottest that its water may be, in degrees Celsius.
    pub most_c: f64,
    /// Most heat that it can give through the valve, and at full fire without it, in watts.
    pub most_w: f64,
    /// Heat at full fire, in watts.
    pub full_w: f64,
    /// Where its own control comes on, and the target that it takes to come on above the setting, in degrees Celsius, where that is what
    /// keeps the heat back; `None`: what the valve lets through is too little.
    pub starts_c: Option<(f64, f64)>,
}

/// What the running boilers do.
#[derive(Clone, Copy, Debug)]
pub(super) struct Given {
    pub(super) running: usize,
    /// What comes back from the header and what is sent there, in degrees Celsius.
    pub(super) return_c: f64,
    pub(super) outlet_c: f64,
    pub(super) heat_w: f64,
    pub(super) fuel_w: f64,
    /// Fuel over the full input of those that run.
    pub(super) rate: f64,
    pub(super) condensate_kg_s: f64,
    /// The coldest water that enters one of them, in degrees Celsius.
    pub(super) entering_c: f64,
    /// The coldest that enters one which must not have it, and the highest such limit, in degrees Celsius.
    pub(super) cold_c: Option<(f64, f64)>,
    /// They cannot give what is wanted, and who is held back by its return valve.
    pub(super) short: bool,
    pub(super) held_back: Option<HeldBack>,
}

/// One boiler.
#[derive(Clone, Copy, Debug, Default)]
struct Share {
    heat_w: f64,
    fuel_w: f64,
    condensate_kg_s: f64,
    entering_c: f64,
    /// What it can give, and what of it its fire can, in watts.
    most_w: f64,
    full_w: f64,
    most_c: f64,
    bound: bool,
    /// Where it comes on, if that is below its return valve's setting.
    start_c: Option<f64>,
    /// What it and the header exchange, in W/K.
    exchange_w_k: f64,
}

/// Boilers with their efficiency tabulated.
pub(super) struct Boilers<'a> {
    plant: &'a Plant,
    tables: Vec<EfficiencyTable>,
    reach: Reach,
}

impl<'a> Boilers<'a> {
    pub(super) fn new(plant: &'a Plant, reach: Reach) -> Self {
        let altitude_m = plant.site.altitude_m;
        let table = |b: &Boiler| EfficiencyTable::new(&b.efficiency, b.minimum_share, altitude_m);
        Self { plant, tables: plant.boilers.iter().map(table).collect(), reach }
    }

    fn each(&self) -> impl Iterator<Item = (&Boiler, &EfficiencyTable)> {
        self.plant.boilers.iter().zip(&self.tables).take(BOILERS)
    }

    /// Heat at full fire of each boiler, with this return in degrees Celsius, in watts.
    pub(super) fn outputs_w(&self, return_c: f64) -> Vec<f64> {
        self.each().map(|(b, t)| b.input_w * t.at(entering_c(b, return_c), 1.0).0).collect()
    }

    /// Outlet that they would have to give with every kelvin and none led round, in degrees Celsius.
    pub(super) fn asked_outlet_c(&self, want: &Want) -> f64 {
        let moved: f64 = self.moved_w_k(self.count(want.heat_w), want).iter().sum();
        want.supply_c.max(want.return_c + want.heat_w / moved)
    }

    /// What they do for what is wanted, while the curve asks for `target_c`, in degrees Celsius.
    pub(super) fn give(&self, want: &Want, target_c: f64) -> Given {
        let (first, all) = (self.count(want.heat_w), self.each().count());
        let mut given = self.with(first, want, target_c);
        for running in first + 1..=all {
            if !given.short {
                break;
            }
            given = self.with(running, want, target_c);
        }
        given
    }

    /// As many as the heat needs, one at least.
    fn count(&self, heat_w: f64) -> usize {
        if self.reach.together {
            return self.each().count();
        }
        let (mut running, mut input_w) = (0, 0.0);
        for (b, _) in self.each() {
            if running > 0 && input_w * EFFICIENCY_FOR_COUNT >= heat_w {
                break;
            }
            input_w += b.input_w;
            running += 1;
        }
        running
    }

    /// What each of the first `running` moves, in W/K: one without a pump its part of what the zones draw.
    fn moved_w_k(&self, running: usize, want: &Want) -> [f64; BOILERS] {
        let input_w: f64 = self.each().take(running).map(|(b, _)| b.input_w).sum();
        let mut moved = [0.0; BOILERS];
        for (slot, (b, _)) in moved.iter_mut().zip(self.each()).take(running) {
            *slot = match b.pump {
                BoilerPump::None => want.flow_w_k * b.input_w / input_w,
                BoilerPump::Controller(_) | BoilerPump::Boiler(_) | BoilerPump::Either(_) => {
                    flow_w_k(self.plant, b.flow_kg_s)
                }
            };
        }
        moved
    }

    fn with(&self, running: usize, want: &Want, target_c: f64) -> Given {
        let moved = self.moved_w_k(running, want);
        let all: f64 = moved.iter().sum();
        let open_c = want.supply_c.max(want.return_c + want.heat_w / all) - want.heat_w / all;
        let led_round = self.each().take(running).any(|(b, _)| entering_c(b, open_c) > open_c);
        let mut return_c = open_c;
        if led_round {
            // Where less goes through the header, less of the supply comes back: the return lies between the zones' own and that
            // without valves.
            let (mut low_c, mut high_c) = (want.return_c, open_c);
            for _ in 0..HALVINGS {
                let middle_c = 0.5 * (low_c + high_c);
                let shares = self.shares(running, want, target_c, middle_c, &moved);
                let exchange: f64 = shares.iter().map(|s| s.exchange_w_k).sum();
                let follows_c = (want.supply_c - want.heat_w / exchange).max(want.return_c);
                if follows_c > middle_c {
                    low_c = middle_c;
                } else {
                    high_c = middle_c;
                }
            }
            return_c = high_c;
        }
        let shares = self.shares(running, want, target_c, return_c, &moved);
        self.sum(running, want, return_c, &shares)
    }

    fn sum(&self, running: usize, want: &Want, return_c: f64, shares: &[Share; BOILERS]) -> Given {
        let shares = &shares[..running];
        let of = |f: fn(&Share) -> f64| shares.iter().map(f).sum::<f64>();
        let (heat_w, fuel_w, exchange) = (of(|s| s.heat_w), of(|s| s.fuel_w), of(|s| s.exchange_w_k));
        let short = heat_w < want.heat_w * (1.0 - SHORT_SHARE);
        let input_w: f64 = self.each().take(running).map(|(b, _)| b.input_w).sum();
        let limits = self.each().zip(shares).filter_map(|((b, _), s)| Some((s.entering_c, b.return_min_c?)));
        let cold = limits.filter(|(entering_c, least_c)| entering_c < least_c);
        let held = self.each().zip(shares).enumerate().filter_map(|(k, ((b, _), s))| {
            let setting_c = b.return_valve_c.filter(|v| *v > return_c || s.start_c.is_some())?;
            (short && s.bound && s.most_w < s.full_w).then_some(HeldBack {
                boiler: BoilerId(k as u8),
                setting_c,
                most_c: s.most_c,
                most_w: s.most_w,
                full_w: s.full_w,
                starts_c: s.start_c.map(|start_c| (start_c, setting_c + b.control.on_below_k)),
            })
        });
        Given {
            running,
            return_c,
            outlet_c: if exchange > 0.0 { return_c + heat_w / exchange } else { return_c },
            heat_w,
            fuel_w,
            rate: fuel_w / input_w,
            condensate_kg_s: of(|s| s.condensate_kg_s),
            entering_c: shares.iter().map(|s| s.entering_c).fold(f64::INFINITY, f64::min),
            cold_c: cold.fold(None, |sum: Option<(f64, f64)>, (e, l)| {
                Some(sum.map_or((e, l), |(coldest, highest)| (coldest.min(e), highest.max(l))))
            }),
            short,
            held_back: held.max_by(|a, b| (a.full_w - a.most_w).total_cmp(&(b.full_w - b.most_w))),
        }
    }

    /// Who gives how much with this return from the header: a common rate, and none more than it can.
    fn shares(
        &self,
        running: usize,
        want: &Want,
        target_c: f64,
        return_c: f64,
        moved: &[f64; BOILERS],
    ) -> [Share; BOILERS] {
        let mut shares = [Share::default(); BOILERS];
        for (k, (b, t)) in self.each().enumerate().take(running) {
            let s = &mut shares[k];
            s.entering_c = entering_c(b, return_c);
            s.most_c = self.reach.most_c(k, b, target_c);
            s.full_w = b.input_w * t.at(s.entering_c, 1.0).0;
            // A millionth more than that is rounding of what asks for it.
            let carried_w = moved[k] * (s.most_c - s.entering_c).max(0.0) * (1.0 + 0.1 * SHORT_SHARE);
            s.most_w = s.full_w.min(carried_w);
            let fire_w = b.input_w * b.minimum_share * t.at(s.entering_c, b.minimum_share).0;
            if let Some(shut) = shut::shut(self.plant, b, s.most_c, fire_w, moved[k]) {
                s.start_c = Some(shut.start_c);
                s.most_w = s.most_w.min(shut.heat_w);
            }
        }
        // Each round binds one at least, or is the last.
        for _ in 0..=running {
            let free = || self.each().zip(&shares).take(running).filter(|(_, s)| !s.bound);
            let input_w: f64 = free().map(|((b, _), _)| b.input_w).sum();
            let bound_w: f64 = shares.iter().filter(|s| s.bound).map(|s| s.most_w).sum();
            let heat_w = (want.heat_w - bound_w).max(0.0);
            if input_w <= 0.0 {
                break;
            }
            // The rate follows from the fuel, the fuel from the efficiency, the efficiency from the rate: a few rounds settle it.
            let mut rate = heat_w / (input_w * EFFICIENCY_FOR_COUNT);
            for _ in 0..8 {
                let efficiency: f64 = free()
                    .map(|((b, t), s)| b.input_w / input_w * t.at(s.entering_c, rate.max(b.minimum_share)).0)
                    .sum();
                rate = (heat_w / (input_w * efficiency)).min(1.0);
            }
            // With these efficiencies, just the heat: what the rounds left over is no shortage.
            let sum_w: f64 =
                free().map(|((b, t), s)| b.input_w * t.at(s.entering_c, rate.max(b.minimum_share)).0).sum();
            let part = (heat_w / sum_w).min(1.0);
            let mut again = false;
            for (s, (b, t)) in shares.iter_mut().zip(self.each()).take(running).filter(|(s, _)| !s.bound) {
                let (efficiency, condensate_kg_j) = t.at(s.entering_c, rate.max(b.minimum_share));
                s.fuel_w = part * b.input_w;
                s.heat_w = s.fuel_w * efficiency;
                s.condensate_kg_s = s.fuel_w * condensate_kg_j;
                if s.heat_w > s.most_w && s.most_w < s.full_w {
                    s.bind(b, t);
                    again = true;
                }
            }
            if !again {
                break;
            }
        }
        for ((s, (b, _)), moved) in shares.iter_mut().zip(self.each()).zip(moved).take(running) {
            s.exchange_w_k = match b.return_valve_c {
                Some(setting_c) if setting_c > return_c => s.heat_w / (setting_c + s.heat_w / moved - return_c),
                _ => *moved,
            };
        }
        shares
    }
}

impl Share {
    /// Holds it at the most that it can give.
    fn bind(&mut self, b: &Boiler, t: &EfficiencyTable) {
        self.bound = true;
        self.heat_w = self.most_w;
        let mut rate = self.most_w / (b.input_w * EFFICIENCY_FOR_COUNT);
        let mut at = (EFFICIENCY_FOR_COUNT, 0.0);
        for _ in 0..8 {
            at = t.at(self.entering_c, rate.max(b.minimum_share));
            rate = (self.most_w / (b.input_w * at.0)).min(1.0);
        }
        self.fuel_w = rate * b.input_w;
        self.condensate_kg_s = self.fuel_w * at.1;
    }
}

/// What enters a boiler of what comes from the header, both in degrees Celsius.
fn entering_c(b: &Boiler, return_c: f64) -> f64 {
    b.return_valve_c.map_or(return_c, |setting_c| setting_c.max(return_c))
}
