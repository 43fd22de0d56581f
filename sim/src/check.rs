//! What a plant must satisfy before it is stepped: every number in a range in which the model means something.
//!
//! Ranges are wide: they keep out typing errors, NaN, and what would make an equation blow up, not unusual plants. All
//! faults are found in one pass.

use crate::{
    emitter::{Emitter, Rating},
    finding::{Fault, Finding},
    plant::{Boiler, Drive, Efficiency, Mix, Plant, Trip, Zone},
};
use heatwright_core::{
    BoilerId, PumpId, SafetyId, ScheduleId, SensorId, Subject, ZoneId,
    config::{BoilerPump, PumpRole, SafetyScope},
    limits::{BOILERS, PUMPS, SAFETIES, SCHEDULES, SENSORS, ZONES},
};

struct Checker<'a> {
    plant: &'a Plant,
    found: Vec<Finding>,
}

/// Every fault of a plant to be stepped by `dt_s` seconds.
pub(crate) fn check(plant: &Plant, dt_s: f64) -> Vec<Finding> {
    let mut c = Checker { plant, found: Vec::new() };
    if !(0.1..=5.0).contains(&dt_s) || ((dt_s * 10.0).round() - dt_s * 10.0).abs() > 1e-6 {
        c.fault(Subject::Plant, Fault::Step { step_s: dt_s });
    }
    c.plant_itself();
    for (i, z) in plant.zones.iter().enumerate() {
        c.zone(Subject::Zone(ZoneId(i as u8)), z);
    }
    for (i, p) in plant.pumps.iter().enumerate() {
        let subject = Subject::Pump(PumpId(i as u8));
        c.range(subject, "power_w", p.power_w, 0.0, 1e6);
        if let PumpRole::Boiler(b) = p.role {
            c.boiler_id(subject, "role", b);
        }
    }
    for (i, b) in plant.boilers.iter().enumerate() {
        c.boiler(Subject::Boiler(BoilerId(i as u8)), b);
    }
    let own = plant.boilers.iter().filter(|b| b.pump != BoilerPump::None).count();
    if own != 0 && own != plant.boilers.len() {
        c.fault(Subject::Header, Fault::MixedBoilerPumps);
    }
    c.header_and_tank();
    c.safeties_and_sensors();
    c.found
}

impl Checker<'_> {
    fn fault(&mut self, subject: Subject, fault: Fault) {
        self.found.push(Finding::error(subject, fault));
    }

    fn range(&mut self, subject: Subject, field: &'static str, value: f64, low: f64, high: f64) {
        // A NaN is in no range.
        if !(low..=high).contains(&value) {
            self.fault(subject, Fault::OutOfRange { field, value, low, high });
        }
    }

    fn above(&mut self, subject: Subject, field: &'static str, value: f64, other: &'static str, limit: f64) {
        if value.is_nan() || value <= limit {
            self.fault(subject, Fault::NotAbove { field, value, other, limit });
        }
    }

    fn id(&mut self, subject: Subject, field: &'static str, index: usize, count: usize) {
        if index >= count {
            self.fault(subject, Fault::Missing { field, index, count });
        }
    }

    fn boiler_id(&mut self, subject: Subject, field: &'static str, b: BoilerId) {
        self.id(subject, field, b.index(), self.plant.boilers.len());
    }

    fn pump_id(&mut self, subject: Subject, field: &'static str, p: PumpId) {
        self.id(subject, field, p.index(), self.plant.pumps.len());
    }

    fn schedule_id(&mut self, subject: Subject, field: &'static str, s: Option<ScheduleId>) {
        if let Some(s) = s {
            self.id(subject, field, s.index(), self.plant.schedules.len());
        }
    }

    fn plant_itself(&mut self) {
        let p = self.plant;
        let subject = Subject::Plant;
        self.range(subject, "altitude_m", p.site.altitude_m, -500.0, 6000.0);
        self.range(subject, "design_outdoor_c", p.site.design_outdoor_c, -70.0, 30.0);
        self.range(subject, "boiler_room_c", p.site.boiler_room_c, -20.0, 60.0);
        self.range(subject, "glycol_percent", p.fluid.glycol_percent, 0.0, 60.0);
        for (what, count, most) in [
            ("zones", p.zones.len(), ZONES),
            ("pumps", p.pumps.len(), PUMPS),
            ("boilers", p.boilers.len(), BOILERS),
            ("safeties", p.safeties.len(), SAFETIES),
            ("sensors", p.sensors.len(), SENSORS),
            ("schedules", p.schedules.len(), SCHEDULES),
        ] {
            if count > most {
                self.fault(subject, Fault::TooMany { what, count, most });
            }
        }
        if p.zones.is_empty() {
            self.fault(subject, Fault::None { what: "zones" });
        }
        if p.boilers.is_empty() {
            self.fault(subject, Fault::None { what: "boilers" });
        }
        if let Some(d) = p.damper {
            self.range(Subject::Damper, "stroke_s", d.stroke_s, 0.0, 600.0);
        }
    }

    fn zone(&mut self, subject: Subject, z: &Zone) {
        self.range(subject, "loss_w", z.loss_w, 1.0, 1e8);
        self.range(subject, "loss_indoor_c", z.loss_indoor_c, -10.0, 40.0);
        self.above(subject, "loss_indoor_c", z.loss_indoor_c, "loss_outdoor_c", z.loss_outdoor_c);
        self.range(subject, "loss_outdoor_c", z.loss_outdoor_c, -70.0, 40.0);
        self.range(subject, "air_j_k", z.air_j_k, 1e3, 1e12);
        self.range(subject, "mass_j_k", z.mass_j_k, 0.0, 1e13);
        self.range(subject, "air_mass_w_k", z.air_mass_w_k, 0.0, 1e8);
        self.range(subject, "radiant_share", z.radiant_share, 0.0, 1.0);
        self.range(subject, "water_l", z.water_l, 0.01, 1e6);
        self.range(subject, "metal_j_k", z.metal_j_k, 0.0, 1e10);
        self.range(subject, "flow_kg_s", z.flow_kg_s, 1e-4, 1e3);
        self.range(subject, "set_c", z.thermostat.set_c, -10.0, 40.0);
        self.range(subject, "setback_c", z.thermostat.setback_c, -10.0, 40.0);
        self.range(subject, "differential_k", z.thermostat.differential_k, 0.0, 10.0);
        self.range(subject, "cycles_per_h", z.thermostat.cycles_per_h, 0.0, 60.0);
        self.range(subject, "lag_s", z.thermostat.lag_s, 0.0, 7200.0);
        self.schedule_id(subject, "thermostat.schedule", z.thermostat.schedule);
        self.schedule_id(subject, "gains.schedule", z.gains.schedule);
        self.range(subject, "occupied_w", z.gains.occupied_w, -1e7, 1e7);
        self.range(subject, "setback_w", z.gains.setback_w, -1e7, 1e7);
        match z.drive {
            Drive::Pump(p) => self.pump_id(subject, "pump", p),
            Drive::Valve { pump, stroke_s, .. } => {
                self.range(subject, "stroke_s", stroke_s, 0.0, 3600.0);
                if let Some(p) = pump {
                    self.pump_id(subject, "pump", p);
                }
            }
        }
        match z.mix {
            None => {}
            Some(Mix::SelfActing { set_c, band_k, lag_s }) => {
                self.range(subject, "mix.set_c", set_c, 0.0, 120.0);
                self.range(subject, "mix.band_k", band_k, 0.1, 60.0);
                self.range(subject, "mix.lag_s", lag_s, 0.0, 3600.0);
            }
            Some(Mix::Modulated { stroke_s, max_c }) => {
                self.range(subject, "mix.stroke_s", stroke_s, 0.0, 3600.0);
                self.range(subject, "mix.max_c", max_c, 0.0, 120.0);
            }
        }
        if let Some(f) = z.fan {
            self.range(subject, "fan.aquastat_c", f.aquastat_c.unwrap_or(30.0), 0.0, 120.0);
            self.range(subject, "fan.differential_k", f.differential_k, 0.0, 40.0);
            self.range(subject, "fan.still_share", f.still_share, 0.0, 1.0);
            self.range(subject, "fan.power_w", f.power_w, 0.0, 1e6);
        }
        self.emitter(subject, &z.emitter);
    }

    fn emitter(&mut self, subject: Subject, e: &Emitter) {
        match e {
            Emitter::Power { rating, exponent, heating_effect, .. } => {
                let Rating { heat_w, supply_c, return_c, room_c } = *rating;
                self.range(subject, "rating.heat_w", heat_w, 1.0, 1e8);
                self.range(subject, "rating.supply_c", supply_c, 0.0, 200.0);
                self.range(subject, "rating.return_c", return_c, 0.0, supply_c.max(0.0));
                self.range(subject, "rating.room_c", room_c, -30.0, 60.0);
                self.above(subject, "rating.return_c", return_c, "rating.room_c", room_c);
                self.range(subject, "exponent", *exponent, 0.8, 2.0);
                self.range(subject, "heating_effect", *heating_effect, 1.0, 1.5);
            }
            Emitter::Floor { area_m2, water_to_slab_m2k_w, slab_to_surface_m2k_w, slab_j_k } => {
                self.range(subject, "area_m2", *area_m2, 0.1, 1e6);
                self.range(subject, "water_to_slab_m2k_w", *water_to_slab_m2k_w, 1e-4, 10.0);
                self.range(subject, "slab_to_surface_m2k_w", *slab_to_surface_m2k_w, 0.0, 10.0);
                self.range(subject, "slab_j_k", *slab_j_k, 1e3, 1e12);
            }
            Emitter::Points { points, .. } => {
                let positive = points.iter().all(|p| p.0 > 0.0 && p.1 > 0.0 && p.0 < 1e4 && p.1 < 1e9);
                let rising = points.windows(2).all(|w| w[0].0 < w[1].0 && w[0].1 < w[1].1);
                if points.len() < 2 || !positive || !rising {
                    self.fault(subject, Fault::NotRising { field: "points" });
                }
            }
        }
    }

    fn boiler(&mut self, subject: Subject, b: &Boiler) {
        self.range(subject, "input_w", b.input_w, 100.0, 1e8);
        self.range(subject, "minimum_share", b.minimum_share, 0.01, 1.0);
        self.range(subject, "flow_kg_s", b.flow_kg_s, 1e-3, 1e4);
        self.range(subject, "flow_min_kg_s", b.flow_min_kg_s, 0.0, 1e4);
        self.range(subject, "return_min_c", b.return_min_c.unwrap_or(50.0), 0.0, 100.0);
        if let Some(valve_c) = b.return_valve_c {
            self.range(subject, "return_valve_c", valve_c, 0.0, 100.0);
            self.above(subject, "limit_c", b.control.limit_c, "return_valve_c", valve_c);
            if b.pump == BoilerPump::None {
                self.fault(
                    subject,
                    Fault::None { what: "pump of its own, and its return valve mixes what that moves" },
                );
            }
        }
        self.range(subject, "water_l", b.water_l, 0.1, 1e5);
        self.range(subject, "metal_j_k", b.metal_j_k, 0.0, 1e9);
        self.range(subject, "jacket_w_k", b.jacket_w_k, 0.0, 1e5);
        let t = b.burner;
        for (field, value) in [
            ("pre_purge_s", t.pre_purge_s),
            ("ignition_s", t.ignition_s),
            ("flame_proof_s", t.flame_proof_s),
            ("post_purge_s", t.post_purge_s),
            ("modulation_lag_s", t.modulation_lag_s),
        ] {
            self.range(subject, field, value, 0.0, 3600.0);
        }
        self.range(subject, "trials", f64::from(t.trials), 1.0, 10.0);
        let c = b.control;
        self.range(subject, "fixed_target_c", c.fixed_target_c, 10.0, 150.0);
        self.range(subject, "on_below_k", c.on_below_k, 0.0, 60.0);
        self.range(subject, "off_above_k", c.off_above_k, 0.0, 60.0);
        if b.minimum_share < 1.0 {
            self.range(subject, "band_k", c.band_k, 0.1, 100.0);
            self.range(subject, "integral_s", c.integral_s, 1.0, 36_000.0);
        }
        self.range(subject, "limit_c", c.limit_c, 20.0, 160.0);
        self.range(subject, "limit_reset_k", c.limit_reset_k, 0.0, 60.0);
        self.range(subject, "frost_c", c.frost_c.unwrap_or(5.0), -30.0, 40.0);
        match &b.efficiency {
            Efficiency::Combustion { excess_air, approach_low_k, approach_full_k } => {
                self.range(subject, "excess_air", *excess_air, 0.0, 3.0);
                self.range(subject, "approach_low_k", *approach_low_k, 0.0, 250.0);
                self.range(subject, "approach_full_k", *approach_full_k, 0.0, 250.0);
            }
            Efficiency::Points(points) => {
                if points.is_empty() {
                    self.fault(subject, Fault::None { what: "points of efficiency" });
                }
                for p in points {
                    self.range(subject, "efficiency.return_c", p.return_c, 0.0, 120.0);
                    self.range(subject, "efficiency.rate", p.rate, 0.0, 1.0);
                    self.range(subject, "efficiency.efficiency", p.efficiency, 0.1, 1.0);
                }
            }
        }
        match b.pump {
            BoilerPump::None => {}
            BoilerPump::Controller(p) | BoilerPump::Boiler(p) | BoilerPump::Either(p) => {
                self.pump_id(subject, "pump", p);
            }
        }
    }

    fn header_and_tank(&mut self) {
        let h = self.plant.header;
        for (field, value) in [
            ("water_l", h.water_l),
            ("secondary_supply_l", h.secondary_supply_l),
            ("secondary_return_l", h.secondary_return_l),
            ("primary_supply_l", h.primary_supply_l),
            ("primary_return_l", h.primary_return_l),
        ] {
            self.range(Subject::Header, field, value, 0.0, 1e6);
        }
        self.range(Subject::Header, "loss_w_k", h.loss_w_k, 0.0, 1e5);
        let Some(t) = &self.plant.tank else { return };
        let subject = Subject::Tank;
        self.range(subject, "volume_l", t.volume_l, 1.0, 1e6);
        self.range(subject, "loss_w_k", t.loss_w_k, 0.0, 1e4);
        self.range(subject, "coil_w_k", t.coil_w_k, 0.0, 1e6);
        self.range(subject, "flow_kg_s", t.flow_kg_s, 1e-3, 1e3);
        self.range(subject, "set_c", t.set_c, 10.0, 95.0);
        self.range(subject, "differential_k", t.differential_k, 0.0, 40.0);
        self.range(subject, "draw.use_c", t.draw.use_c, 10.0, 90.0);
        self.range(subject, "draw.cold_c", t.draw.cold_c, 0.0, 40.0);
        self.above(subject, "draw.use_c", t.draw.use_c, "draw.cold_c", t.draw.cold_c);
        for d in &t.draw.times {
            self.range(subject, "draw.at_s", d.at_s, 0.0, 86_400.0);
            self.range(subject, "draw.lasts_s", d.lasts_s, 0.0, 86_400.0);
            self.range(subject, "draw.flow_l_s", d.flow_l_s, 0.0, 1e3);
        }
        self.pump_id(subject, "pump", t.pump);
    }

    fn safeties_and_sensors(&mut self) {
        let p = self.plant;
        for (i, s) in p.safeties.iter().enumerate() {
            let subject = Subject::Safety(SafetyId(i as u8));
            match s.scope {
                SafetyScope::Boiler(b) => self.boiler_id(subject, "scope", b),
                SafetyScope::Zone(z) => self.id(subject, "scope", z.index(), p.zones.len()),
                SafetyScope::Plant | SafetyScope::Tank => {}
            }
            match s.trip {
                Trip::Event | Trip::DamperClosed => {}
                Trip::BoilerFlow(b) => self.boiler_id(subject, "trip", b),
                Trip::BoilerAbove { open_c, close_c, .. }
                | Trip::ZoneSupplyAbove { open_c, close_c, .. }
                | Trip::TankAbove { open_c, close_c } => {
                    self.range(subject, "open_c", open_c, 0.0, 160.0);
                    self.range(subject, "close_c", close_c, -20.0, 160.0);
                    self.above(subject, "open_c", open_c, "close_c", close_c);
                }
            }
            match s.trip {
                Trip::BoilerAbove { boiler, .. } => self.boiler_id(subject, "trip", boiler),
                Trip::ZoneSupplyAbove { zone, .. } => self.id(subject, "trip", zone.index(), p.zones.len()),
                Trip::TankAbove { .. } if p.tank.is_none() => self.fault(subject, Fault::None { what: "tank" }),
                Trip::DamperClosed if p.damper.is_none() => self.fault(subject, Fault::None { what: "damper" }),
                _ => {}
            }
        }
        if p.sensors.len() != p.points.sensors.len() {
            let (given, points) = (p.sensors.len(), p.points.sensors.len());
            self.fault(Subject::Plant, Fault::SensorCount { given, points });
        }
        for (i, (s, what)) in p.sensors.iter().zip(&p.points.sensors).enumerate() {
            let subject = Subject::Sensor(SensorId(i as u8));
            self.range(subject, "lag_s", s.lag_s, 0.0, 3600.0);
            self.range(subject, "noise_k", s.noise_k, 0.0, 20.0);
            self.range(subject, "offset_k", s.offset_k, -50.0, 50.0);
            self.range(subject, "quantum_k", s.quantum_k, 0.0, 10.0);
            if !p.has_sensor_place(*what) {
                self.fault(subject, Fault::None { what: "place for this sensor" });
            }
        }
    }
}
