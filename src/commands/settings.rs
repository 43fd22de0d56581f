//! `settings`: what to set on each control, on one sheet to fill in.
//!
//! Of each thing that a person turns, types in or reads off: where it is, what it is called, what the plan has it at. What the plan
//! does not decide (a gas switch's pressure) says whose word counts. Our controller's own numbers come with its configuration block
//! and are listed so that they can be compared with what the board shows.

use super::{Common, Failure, PlantFile, plan};
use crate::{
    plant::{
        Loaded,
        checked::{Boiler, Drive, Safety},
        quantity::{Quantity as _, Temp, TempDelta},
    },
    show::{
        Report, Table,
        units::{In, tidy},
    },
};
use clap::Args;
use heatwright_core::{
    BoilerId, PumpId, SafetyId, Subject, ZoneId,
    config::{Reset, RotationPolicy, SafetyKind},
};
use heatwright_wiring::device::Kind;

/// Our rate drive, and what the boiler's own control must be set to for it. Other scales are from memory.
const RATE_SCALE: &str = "0 V is its smallest, 10 V its full fire; a control that takes 2-10 V, or counts less than 1 to 2 V as off, is to be set to \
    0-10 V with the demand contact as its start (from memory; see its instructions)";

/// What to set on each control.
#[derive(Debug, Args)]
pub(super) struct Settings {
    #[command(flatten)]
    file: PlantFile,
}

/// The sheet as it grows.
struct Sheet<'a> {
    l: &'a Loaded,
    u: In,
    /// Tags of safeties, pumps and starters by what they belong to.
    tags: Vec<(Subject, Kind, String)>,
    part: &'static str,
    rows: Vec<[String; 4]>,
}

impl Settings {
    pub(super) fn run(&self, common: &Common) -> Result<Report, Failure> {
        let loaded = self.file.read()?;
        let (_, wiring) = plan(&loaded)?;
        let tag = |d: &heatwright_wiring::device::Device| Some((d.subject?, d.kind, d.tag.clone()));
        let mut s = Sheet {
            l: &loaded,
            u: common.shown(),
            tags: wiring.devices.iter().filter_map(tag).collect(),
            part: "",
            rows: Vec::new(),
        };
        s.boilers();
        s.safeties();
        s.thermostats();
        s.tank();
        s.mixing();
        s.fans();
        s.overloads(&wiring);
        s.pumps();
        if loaded.controlled() {
            s.controller();
        }
        let rows = s.rows;
        let mut r = Report::of(&loaded.source, format!("Settings of {}", loaded.plant.site.name));
        r.text(
            "Set each, read it back, tick it. The equipment's instructions, the authority having jurisdiction and licensed practice govern: \
             where they ask for another value, set theirs and write it into the plant file. 'heatwright water' has fill pressure, precharge \
             and relief valves, 'heatwright curve' the supply that each zone needs.",
        );
        let mut main = Table::new(&["Control", "At", "Setting", "Value"]);
        let mut part = "";
        let mut table = Table::new(&["At", "Setting", "Value", "Set"]);
        let mut tables = Vec::new();
        for [of, at, what, value] in &rows {
            if of != part {
                if !part.is_empty() {
                    tables.push((part, std::mem::replace(&mut table, Table::new(&["At", "Setting", "Value", "Set"]))));
                }
                part = of;
            }
            table.row([at.as_str(), what, value, "[ ]"]);
            main.row([of.as_str(), at, what, value]);
        }
        tables.push((part, table));
        for (part, table) in tables {
            r.heading(part);
            r.table(table);
        }
        r.main = main;
        r.json = serde_json::json!({
            "plant": loaded.plant.site.name,
            "settings": rows.iter().map(|[of, at, what, value]| serde_json::json!({
                "control": of, "at": at, "setting": what, "value": value,
            })).collect::<Vec<_>>(),
        });
        Ok(r)
    }
}

impl Sheet<'_> {
    fn put(&mut self, at: &str, what: impl Into<String>, value: impl Into<String>) {
        self.rows.push([self.part.to_owned(), at.to_owned(), what.into(), value.into()]);
    }

    fn temp(&self, t: Temp) -> String {
        self.u.temp_text(t.c)
    }

    fn diff(&self, d: TempDelta) -> String {
        self.u.diff_text(d.k)
    }

    /// Tag and name of a thing, as it stands on its label.
    fn at(&self, about: Subject, kind: Kind) -> String {
        let title = self.l.names.title(about);
        let tag = self.tags.iter().find(|(s, k, _)| *s == about && *k == kind);
        tag.map_or_else(|| title.clone().into_owned(), |(_, _, tag)| format!("{tag} {title}"))
    }

    fn boilers(&mut self) {
        self.part = "Boilers, each on its own control";
        let l = self.l;
        for (i, b) in l.plant.boilers.iter().enumerate() {
            let at = self.at(Subject::Boiler(BoilerId(i as u8)), Kind::Boiler);
            self.put(&at, "operating limit", self.temp(b.limit));
            self.target(&at, b);
            if let Some(built) = l.physics.boilers.get(i) {
                let (below, above) = (built.control.on_below_k, built.control.off_above_k);
                let band = format!("{} below, {} above its target", self.u.diff_text(below), self.u.diff_text(above));
                self.put(&at, "on and off", band);
            }
            if let Some(t) = b.own_frost {
                self.put(&at, "own frost protection fires below", self.temp(t));
            }
            if let Some(t) = b.return_valve {
                self.put(&at, "return valve", self.temp(t));
            }
        }
    }

    /// What it aims at, by what tells it.
    fn target(&mut self, at: &str, b: &Boiler) {
        if !self.l.controlled() {
            for (outdoor_c, supply_c) in &self.l.curve.points {
                let supply_c = supply_c.clamp(self.l.plant.reset.supply_min.c, self.l.plant.reset.supply_max.c);
                let what = format!("its own reset, supply at {} outdoors", self.u.temp_text(*outdoor_c));
                self.put(at, what, self.u.temp_text(supply_c));
            }
            self.put(at, "off above, outdoors", self.temp(self.l.plant.reset.warm_weather_off));
            return;
        }
        match b.drive {
            Drive::Target { low, high } => {
                let scale = format!("0 V is {}, 10 V is {}", self.temp(low), self.temp(high));
                self.put(at, "0-10 V signal: target", scale);
                self.put(at, "target without a signal", self.temp(b.fixed_target));
            }
            Drive::Rate => {
                self.put(at, "0-10 V signal: firing rate", RATE_SCALE);
                self.put(at, "target without a signal", self.temp(b.fixed_target));
            }
            Drive::DemandOnly => self.put(at, "target", self.temp(b.fixed_target)),
        }
    }

    fn safeties(&mut self) {
        self.part = "Limits and safeties";
        let l = self.l;
        for (i, s) in l.plant.safeties.iter().enumerate() {
            let at = self.at(Subject::Safety(SafetyId(i as u8)), Kind::Safety);
            let own = self.opens_at(SafetyId(i as u8), s);
            let reset = if s.reset == Reset::Manual { "; hand reset" } else { "" };
            let (what, value) = match (own, s.kind) {
                (Some(t), _) => ("opens above", self.temp(t)),
                (None, SafetyKind::HighLimit | SafetyKind::HighLimitManual) => {
                    ("opens above", "by the boiler's instructions; above its operating limit".to_owned())
                }
                (None, SafetyKind::FloorLimit) => ("opens above", "by the floor's maker".to_owned()),
                (None, SafetyKind::TankLimit) => {
                    ("opens above", "by the tank's instructions; above its aquastat".to_owned())
                }
                (None, SafetyKind::LowWater) => {
                    ("level", "by its marks: above the lowest permitted water line".to_owned())
                }
                (None, SafetyKind::GasLow) => ("opens below", "by the burner's instructions".to_owned()),
                (None, SafetyKind::GasHigh) => ("opens above", "by the burner's instructions".to_owned()),
                (None, SafetyKind::PressureLow) => {
                    ("opens below", "below the cold fill: see 'heatwright water'".to_owned())
                }
                (None, SafetyKind::FlowSwitch) => {
                    ("makes at", "the boiler's least flow, by its instructions".to_owned())
                }
                (None, SafetyKind::GasDetector) => ("opens at", "by its instructions".to_owned()),
                // Nothing to set.
                (None, SafetyKind::DoorSwitch | SafetyKind::Condensate | SafetyKind::DamperSwitch) => continue,
            };
            self.put(&at, what, format!("{value}{reset}"));
        }
    }

    /// What the file says of a limit: at the safety itself, or where it is named as a zone's or the tank's.
    fn opens_at(&self, id: SafetyId, s: &Safety) -> Option<Temp> {
        let floors = self.l.plant.zones.iter().filter_map(|z| z.mixing.as_ref());
        let floor = floors.filter(|m| m.limit == Some(id)).find_map(|m| m.limit_at);
        let tank = self.l.plant.tank.as_ref().filter(|t| t.limit == Some(id)).and_then(|t| t.limit_at);
        s.opens_at.or(floor).or(tank)
    }

    fn thermostats(&mut self) {
        self.part = "Thermostats";
        let l = self.l;
        for (i, z) in l.plant.zones.iter().enumerate() {
            let at = self.at(Subject::Zone(ZoneId(i as u8)), Kind::Thermostat);
            self.put(&at, "room", self.temp(z.room));
            if z.schedule.is_some() && z.room_setback != z.room {
                self.put(&at, "room in setback", self.temp(z.room_setback));
            }
            self.put(&at, "differential", self.diff(z.thermostat_differential));
            self.put(&at, "cycle rate (or anticipation) for", format!("{} an hour", tidy(z.thermostat_cycles, 1)));
        }
    }

    fn tank(&mut self) {
        self.part = "Hot-water tank";
        let l = self.l;
        if let Some(t) = &l.plant.tank {
            let at = self.at(Subject::Tank, Kind::Aquastat);
            self.put(&at, "aquastat, opens at", self.temp(t.aquastat));
            self.put(&at, "differential", self.diff(t.differential));
            self.put(&t.name, "mixing valve at the taps", self.temp(t.tap));
        }
    }

    fn mixing(&mut self) {
        self.part = "Mixing valves";
        let l = self.l;
        for (i, z) in l.plant.zones.iter().enumerate() {
            let Some(m) = &z.mixing else { continue };
            let at = self.at(Subject::Zone(ZoneId(i as u8)), Kind::MixingValve);
            self.put(&at, "0-10 V: shut to open in", m.stroke.show(self.u.0));
            self.put(&at, "direction", "0 V shut to the header, 10 V open");
        }
    }

    fn fans(&mut self) {
        self.part = "Aquastats of fans";
        let l = self.l;
        for (i, z) in l.plant.zones.iter().enumerate() {
            let Some(f) = &z.fans else { continue };
            let name = format!(
                "{} of {}",
                if f.count == 1 { "fan" } else { "each fan" },
                l.names.title(Subject::Zone(ZoneId(i as u8)))
            );
            self.put(&name, "closes above", self.temp(f.aquastat));
        }
    }

    fn overloads(&mut self, wiring: &heatwright_wiring::plan::Plan) {
        self.part = "Overloads of motors";
        for m in &wiring.motors {
            let Some(o) = m.overload else { continue };
            let label = wiring.devices.iter().find(|d| d.tag == m.device).map_or("", |d| d.label.as_str());
            let value = format!("{:.2} A, never above {:.2} A", o.set_a, (o.max_a * 100.0 + 1e-6).floor() / 100.0);
            self.put(&format!("{} {label}", m.device), "overload", value);
        }
    }

    fn pumps(&mut self) {
        self.part = "Flow, by each pump's speed or its balancing valve";
        let l = self.l;
        for (i, p) in l.plant.pumps.iter().enumerate() {
            let at = self.at(Subject::Pump(PumpId(i as u8)), Kind::Pump);
            self.put(&at, "flow", self.u.flow_text(p.flow.l_s));
        }
    }

    fn controller(&mut self) {
        self.part = "Controller: what its configuration block holds, to compare";
        let (l, at) = (self.l, "controller");
        let r = &l.plant.reset;
        for (outdoor_c, supply_c) in &l.curve.points {
            let supply_c = supply_c.clamp(r.supply_min.c, r.supply_max.c);
            self.put(at, format!("supply at {} outdoors", self.u.temp_text(*outdoor_c)), self.u.temp_text(supply_c));
        }
        self.put(at, "no heating above, outdoors", self.temp(r.warm_weather_off));
        if r.boost.k > 0.0 {
            self.put(at, "boost after setback", format!("{} for {}", self.diff(r.boost), r.boost_for.show(self.u.0)));
        }
        let lead = match l.config.rotation.policy {
            RotationPolicy::Fixed => "never".to_owned(),
            RotationPolicy::HoursDifference(h) => format!("hours {h} h apart"),
            RotationPolicy::StartsDifference(n) => format!("starts {n} apart"),
            RotationPolicy::Calendar { every_h, .. } => format!("every {every_h} h"),
        };
        if l.plant.boilers.len() > 1 {
            self.put(at, "lead passes on", lead);
            self.put(at, "next boiler no sooner than", l.plant.staging.start_spacing.show(self.u.0));
        }
        if let Some(t) = &l.plant.tank {
            self.put(at, "target while the tank calls", self.temp(t.target));
            self.put(at, "tank goes before zones for at most", t.priority_max.show(self.u.0));
        }
        for (i, b) in l.plant.boilers.iter().enumerate() {
            let at = format!("controller, {}", l.names.title(Subject::Boiler(BoilerId(i as u8))));
            self.put(&at, "highest target, cut above it", self.temp(b.outlet_max));
            self.put(&at, "pump runs on for", b.pump_overrun.show(self.u.0));
            self.put(
                &at,
                "shortest run, shortest stop",
                format!("{}, {}", b.on_min.show(self.u.0), b.off_min.show(self.u.0)),
            );
        }
    }
}
