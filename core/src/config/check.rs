//! Whether a configuration makes sense: every fault of it in one run.
//!
//! The host adds the place in the plant file and the words. A tick on a configuration that was never checked does not panic
//! or hang; it may heat in ways that nobody wanted.
//!
//! What it does not judge: whether a number is wise. That is the business of the host's findings.

use crate::{
    config::{
        BoilerDrive, BoilerPump, Config, Firing, PlantEnable, PumpRole, PurgeTo, RotationPolicy, SafetyCircuit,
        SafetyKind, SafetyScope, StageBy, ZoneDrive,
    },
    guard::hot::HOT_CUTS_MAX,
    ids::{AnalogId, BoilerId, ContactId, PumpId, RelayId, SafetyId, ScheduleId, SensorId, Subject, ZoneId},
    points::{AnalogUse, ContactUse, RelayUse, SensorUse},
};

pub use super::fault::{ConfigFault, Fault};

impl Config {
    /// Reports every fault of the configuration, part by part.
    pub fn check(&self, mut report: impl FnMut(ConfigFault)) {
        let mut c = Check { config: self, report: &mut report };
        c.whole();
        c.reset();
        c.zones();
        c.pumps();
        c.boilers();
        c.safeties();
        c.rest();
        c.points();
    }

    /// True when the configuration has no fault.
    pub fn is_sound(&self) -> bool {
        let mut sound = true;
        self.check(|_| sound = false);
        sound
    }
}

struct Check<'a> {
    config: &'a Config,
    report: &'a mut dyn FnMut(ConfigFault),
}

impl Check<'_> {
    #[inline(never)]
    fn say(&mut self, about: Subject, fault: Fault) {
        (self.report)(ConfigFault { fault, about });
    }

    #[inline(never)]
    fn say_if(&mut self, wrong: bool, about: Subject, fault: Fault) {
        if wrong {
            self.say(about, fault);
        }
    }

    fn zone(&self, z: ZoneId) -> bool {
        z.index() < self.config.zones.len()
    }

    fn boiler(&self, b: BoilerId) -> bool {
        b.index() < self.config.boilers.len()
    }

    fn pump(&mut self, about: Subject, p: PumpId, role: PumpRole) {
        match self.config.pumps.get(p.index()) {
            None => self.say(about, Fault::NoSuchPump),
            Some(c) => self.say_if(c.role != role, about, Fault::PumpRole),
        }
    }

    fn whole(&mut self) {
        let c = self.config;
        self.say_if(c.zones.is_empty() && c.tank.is_none(), Subject::Plant, Fault::NothingToHeat);
        self.say_if(c.boilers.is_empty(), Subject::Plant, Fault::NoBoiler);
        self.say_if(c.supply_sensor().is_none(), Subject::Header, Fault::NoSupplySensor);
        let outdoor = c.points.sensor(SensorUse::Outdoor);
        self.say_if(outdoor.is_none() && !c.zones.is_empty(), Subject::Plant, Fault::NoOutdoorSensor);
    }

    fn reset(&mut self) {
        let r = &self.config.reset;
        self.say_if(r.points.len() < 2 && !self.config.zones.is_empty(), Subject::Plant, Fault::CurveTooShort);
        let pairs = || r.points.iter().zip(r.points.iter().skip(1));
        self.say_if(pairs().any(|(a, b)| b.outdoor <= a.outdoor), Subject::Plant, Fault::CurveNotRising);
        self.say_if(pairs().any(|(a, b)| b.supply > a.supply), Subject::Plant, Fault::CurveSupplyRises);
        self.say_if(r.supply_min > r.supply_max, Subject::Plant, Fault::BoundsCrossed);
        for d in [r.warm_weather_differential, r.setback, r.boost, r.header_trim_max, r.demand_trim_max] {
            self.say_if(d.centi_k() < 0, Subject::Plant, Fault::Negative);
        }
        if let Some(s) = r.schedule {
            self.say_if(s.index() >= self.config.schedules.len(), Subject::Schedule(s), Fault::NoSuchSchedule);
        }
    }

    fn zones(&mut self) {
        let c = self.config;
        for (i, z) in (0u8..).zip(&c.zones) {
            let about = Subject::Zone(ZoneId(i));
            match z.drive {
                ZoneDrive::Pump(p) => self.pump(about, p, PumpRole::Zone),
                ZoneDrive::Valve { pump } => {
                    if let Some(p) = pump {
                        self.pump(about, p, PumpRole::Zone);
                    }
                    let relay = c.points.relay(RelayUse::Valve(ZoneId(i)));
                    self.say_if(relay.is_none(), about, Fault::NoValveRelay);
                }
            }
            self.say_if(c.points.contact(ContactUse::Call(ZoneId(i))).is_none(), about, Fault::NoCall);
            if let Some(m) = &z.mix {
                let signal = c.points.analog(AnalogUse::Mixing(ZoneId(i)));
                self.say_if(signal.is_none(), about, Fault::NoMixingSignal);
                let sensor = c.points.sensor(SensorUse::Mixed(ZoneId(i)));
                self.say_if(sensor.is_none(), about, Fault::NoMixedSensor);
                self.say_if(m.mixed_design > m.mixed_max, about, Fault::BoundsCrossed);
                self.say_if(m.band.centi_k() <= 0, about, Fault::NotPositive);
                self.say_if(m.integral.is_zero() || m.stroke.is_zero(), about, Fault::NotPositive);
            }
        }
        if let Some(t) = &c.tank {
            self.pump(Subject::Tank, t.pump, PumpRole::Tank);
            self.say_if(c.points.contact(ContactUse::TankCall).is_none(), Subject::Tank, Fault::NoCall);
            let highest = c.boilers.iter().map(|b| b.outlet_max).max();
            self.say_if(highest.is_some_and(|h| t.target > h), Subject::Tank, Fault::TargetAboveOutlet);
        }
    }

    fn pumps(&mut self) {
        let c = self.config;
        for (i, p) in (0u8..).zip(&c.pumps) {
            let about = Subject::Pump(PumpId(i));
            if let PumpRole::Boiler(b) = p.role {
                self.say_if(!self.boiler(b), about, Fault::NoSuchBoiler);
            }
            let by_boiler = c.boilers.iter().any(|b| b.pump == BoilerPump::Boiler(PumpId(i)));
            let relay = c.points.relay(RelayUse::Pump(PumpId(i)));
            self.say_if(relay.is_none() && !by_boiler, about, Fault::NoPumpRelay);
        }
    }

    fn boilers(&mut self) {
        let c = self.config;
        for (i, b) in (0u8..).zip(&c.boilers) {
            let id = BoilerId(i);
            let about = Subject::Boiler(id);
            if let BoilerPump::Controller(p) | BoilerPump::Boiler(p) | BoilerPump::Either(p) = b.pump {
                self.pump(about, p, PumpRole::Boiler(id));
            }
            self.say_if(c.points.relay(RelayUse::Demand(id)).is_none(), about, Fault::NoDemandRelay);
            let target = c.points.analog(AnalogUse::Target(id)).is_some();
            let rate = c.points.analog(AnalogUse::Rate(id)).is_some();
            let (wants_target, wants_rate) = match b.drive {
                BoilerDrive::DemandOnly => (false, false),
                BoilerDrive::Target { low, high } => {
                    self.say_if(low >= high, about, Fault::RangeEmpty);
                    (true, false)
                }
                BoilerDrive::Rate => {
                    self.say_if(b.firing == Firing::OnOff, about, Fault::RateOfOnOff);
                    (false, true)
                }
            };
            self.say_if((wants_target && !target) || (wants_rate && !rate), about, Fault::NoSignal);
            self.say_if((!wants_target && target) || (!wants_rate && rate), about, Fault::WrongSignal);
            self.say_if(b.input_w == 0, about, Fault::NotPositive);
            self.say_if(b.flow_proof_max.is_zero() || b.flame_proof_max.is_zero(), about, Fault::NotPositive);
            self.say_if(b.fixed_target > b.outlet_max, about, Fault::TargetAboveOutlet);
            if let Firing::Modulating { minimum } = b.firing {
                self.say_if(minimum.get() == 0, about, Fault::NotPositive);
            }
        }
    }

    fn safeties(&mut self) {
        let c = self.config;
        for (i, s) in (0u8..).zip(&c.safeties) {
            let about = Subject::Safety(SafetyId(i));
            match s.scope {
                SafetyScope::Boiler(b) => self.say_if(!self.boiler(b), about, Fault::NoSuchBoiler),
                SafetyScope::Zone(z) => self.say_if(!self.zone(z), about, Fault::NoSuchZone),
                SafetyScope::Tank => self.say_if(c.tank.is_none(), about, Fault::NoTank),
                SafetyScope::Plant => {}
            }
            let fits = match s.circuit {
                SafetyCircuit::Limit | SafetyCircuit::Proving => {
                    matches!(s.scope, SafetyScope::Plant | SafetyScope::Boiler(_))
                }
                SafetyCircuit::ZoneLimit => matches!(s.scope, SafetyScope::Zone(_)),
                SafetyCircuit::TankLimit => s.scope == SafetyScope::Tank,
                SafetyCircuit::Alarm => true,
            };
            self.say_if(!fits, about, Fault::SafetyCircuit);
        }
    }

    fn rest(&mut self) {
        let c = self.config;
        let s = &c.staging;
        self.say_if(s.band.centi_k() <= 0, Subject::Plant, Fault::NotPositive);
        self.say_if(s.up_error_k_s == 0 || s.down_error_k_s == 0, Subject::Plant, Fault::NotPositive);
        self.say_if(s.down_rate >= s.up_rate, Subject::Plant, Fault::BoundsCrossed);
        let low = &s.low_load;
        self.say_if(!low.run_min.is_zero() && low.band < s.band, Subject::Plant, Fault::BoundsCrossed);
        if let StageBy::Load(r) = &s.stage_by {
            self.say_if(r.up_percent == 0 || r.down_design_percent == 0, Subject::Plant, Fault::NotPositive);
            self.say_if(r.failsafe_below.centi_k() < 0, Subject::Plant, Fault::Negative);
            for (i, z) in (0u8..).zip(&c.zones) {
                self.say_if(z.flow_w_per_k == 0, Subject::Zone(ZoneId(i)), Fault::NoFlowKnown);
            }
            let unknown = c.tank.as_ref().is_some_and(|t| t.flow_w_per_k == 0);
            self.say_if(unknown, Subject::Tank, Fault::NoFlowKnown);
            let no_return = c.points.sensor(SensorUse::Return).is_none();
            self.say_if(no_return, Subject::Header, Fault::NoReturnSensor);
        }
        if c.boilers.iter().any(|b| b.drive == BoilerDrive::Rate) {
            self.say_if(s.band_pi.centi_k() <= 0 || s.integral.is_zero(), Subject::Plant, Fault::NotPositive);
        }
        match c.rotation.policy {
            RotationPolicy::Fixed => {}
            RotationPolicy::HoursDifference(n) | RotationPolicy::StartsDifference(n) => {
                self.say_if(n == 0, Subject::Plant, Fault::NotPositive);
            }
            RotationPolicy::Calendar { every_h, minute_of_day } => {
                self.say_if(every_h == 0 || every_h % 24 != 0, Subject::Plant, Fault::CalendarPeriod);
                self.say_if(minute_of_day >= 1440, Subject::Plant, Fault::MinuteOfDay);
            }
        }
        self.say_if(c.purge.to == PurgeTo::Tank && c.tank.is_none(), Subject::Plant, Fault::NoTank);
        let named = match c.purge.to {
            PurgeTo::Zone(z) => Some(z),
            PurgeTo::None | PurgeTo::Tank => None,
        };
        for z in [named, c.purge.otherwise].into_iter().flatten() {
            match c.zones.get(z.index()) {
                None => self.say(Subject::Plant, Fault::NoSuchZone),
                Some(zone) => self.say_if(zone.mix.is_some(), Subject::Zone(z), Fault::PurgeIntoMixed),
            }
        }
        let g = &c.guard;
        // Any contact that looks at the damper is waited for.
        let proved = c.points.contact(ContactUse::DamperOpen).is_some()
            || c.safeties.iter().any(|s| s.kind == SafetyKind::DamperSwitch);
        self.say_if(proved && g.damper_proof_max.is_zero(), Subject::Damper, Fault::NotPositive);
        self.say_if(usize::from(g.hot_cuts) > HOT_CUTS_MAX, Subject::Plant, Fault::TooMany);
        self.say_if(g.hot_cuts > 0 && g.hot_cuts_within.is_zero(), Subject::Plant, Fault::NotPositive);
        if let PlantEnable::Requests(r) = &c.enable {
            // Only the zones' calls can be ignored; a plant that ignores them all never heats a room.
            let all = usize::from(r.ignored) >= c.zones.len() && !c.zones.is_empty();
            self.say_if(all, Subject::Plant, Fault::TooMany);
        }
        for (i, s) in (0u8..).zip(&c.schedules) {
            let rises =
                s.steps.iter().zip(s.steps.iter().skip(1)).all(|(a, b)| a.minute_of_week() < b.minute_of_week());
            let inside = s.steps.iter().all(|s| s.minute_of_week() < 10_080);
            self.say_if(!rises || !inside, Subject::Schedule(ScheduleId(i)), Fault::ScheduleOrder);
        }
    }

    fn points(&mut self) {
        let c = self.config;
        for (i, u) in c.points.relays.iter().enumerate() {
            let about = Subject::Relay(RelayId(i as u8));
            match *u {
                RelayUse::Demand(b) => self.say_if(!self.boiler(b), about, Fault::NoSuchBoiler),
                RelayUse::Pump(p) => self.say_if(p.index() >= c.pumps.len(), about, Fault::NoSuchPump),
                RelayUse::Valve(z) => self.say_if(!self.zone(z), about, Fault::NoSuchZone),
                RelayUse::Spare | RelayUse::Damper | RelayUse::Alarm | RelayUse::Health => {}
            }
            let twice = *u != RelayUse::Spare && c.points.relays.iter().take(i).any(|v| v == u);
            self.say_if(twice, about, Fault::SameUse);
        }
        for (i, u) in c.points.contacts.iter().enumerate() {
            let about = Subject::Contact(ContactId(i as u8));
            match *u {
                ContactUse::Call(z) | ContactUse::EndSwitch(z) => self.say_if(!self.zone(z), about, Fault::NoSuchZone),
                ContactUse::TankCall => self.say_if(c.tank.is_none(), about, Fault::NoTank),
                ContactUse::Flow(b)
                | ContactUse::Flame(b)
                | ContactUse::BoilerFault(b)
                | ContactUse::BoilerSwitch(b) => self.say_if(!self.boiler(b), about, Fault::NoSuchBoiler),
                ContactUse::Safety(s, _) => {
                    self.say_if(s.index() >= c.safeties.len(), about, Fault::NoSuchSafety);
                }
                ContactUse::Hand(p) | ContactUse::Auto(p) => {
                    self.say_if(p.index() >= c.pumps.len(), about, Fault::NoSuchPump);
                    let hand = c.points.contact(ContactUse::Hand(p));
                    self.say_if(hand.is_none(), about, Fault::NoHand);
                }
                ContactUse::Spare | ContactUse::DamperOpen | ContactUse::Acknowledge => {}
            }
            let twice = *u != ContactUse::Spare && c.points.contacts.iter().take(i).any(|v| v == u);
            self.say_if(twice, about, Fault::SameUse);
        }
        for (i, u) in c.points.sensors.iter().enumerate() {
            let about = Subject::Sensor(SensorId(i as u8));
            match *u {
                SensorUse::BoilerOutlet(b) => self.say_if(!self.boiler(b), about, Fault::NoSuchBoiler),
                SensorUse::Mixed(z) => self.say_if(!self.zone(z), about, Fault::NoSuchZone),
                SensorUse::Spare | SensorUse::Outdoor | SensorUse::Supply | SensorUse::Return | SensorUse::Tank => {}
            }
            let twice = *u != SensorUse::Spare && c.points.sensors.iter().take(i).any(|v| v == u);
            self.say_if(twice, about, Fault::SameUse);
        }
        for (i, u) in c.points.analogs.iter().enumerate() {
            let about = Subject::Analog(AnalogId(i as u8));
            match *u {
                AnalogUse::Target(b) | AnalogUse::Rate(b) => self.say_if(!self.boiler(b), about, Fault::NoSuchBoiler),
                AnalogUse::Mixing(z) => self.say_if(!self.zone(z), about, Fault::NoSuchZone),
                AnalogUse::Spare => {}
            }
            let twice = *u != AnalogUse::Spare && c.points.analogs.iter().take(i).any(|v| v == u);
            self.say_if(twice, about, Fault::SameUse);
        }
    }
}
