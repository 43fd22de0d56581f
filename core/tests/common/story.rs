//! A scenario told as a table: when, what happened, what each relay did, and why.

use super::*;
use std::fmt::Write as _;

/// A bench whose changes are written down.
pub struct Story {
    pub b: Bench,
    /// Wall-clock time of second zero, in minutes; `None` leaves the clock unset.
    pub civil_at_zero: Option<u32>,
    /// What falsifies the plant's answers, every second before the tick.
    pub wrench: fn(&mut Bench),
    before: Outputs,
    text: String,
}

fn clock(s: u32) -> String {
    format!("{:>3}:{:02}:{:02}", s / 3600, s / 60 % 60, s % 60)
}

fn say(why: Reason, config: &Config) -> String {
    let safety = |s: SafetyId| match config.safeties[s.index()].kind {
        SafetyKind::DoorSwitch => "door switch".to_owned(),
        SafetyKind::GasLow => "low gas pressure".to_owned(),
        SafetyKind::HighLimitManual => format!("high limit of boiler {}", (s.0 - 2) / 2 + 1),
        SafetyKind::LowWater => format!("low water of boiler {}", (s.0 - 2) / 2 + 1),
        SafetyKind::FloorLimit => "floor limit".to_owned(),
        other => format!("{other:?}"),
    };
    match why {
        Reason::Call(z) => format!("zone {} calls", z.0 + 1),
        Reason::TankCall => "the tank calls".into(),
        Reason::NoCall => "nobody asks for it".into(),
        Reason::WarmWeather => "too warm outside for heating".into(),
        Reason::ConstantCirculation => "circulates all season".into(),
        Reason::Overrun => "runs on after its call".into(),
        Reason::HeatPurge => "carries heat out of the boilers".into(),
        Reason::BoilerOverrun(b) => format!("runs on behind boiler {}", b.0 + 1),
        Reason::BoilerCall(b) => format!("boiler {} needs flow", b.0 + 1),
        Reason::EndSwitch(z) => format!("waits for the valve of zone {}", z.0 + 1),
        Reason::Safety(s) => format!("{} is open", safety(s)),
        Reason::Fallback(s) => format!("sensor {} in fault", s.0 + 1),
        Reason::StuckEndSwitch(z) => format!("end switch of zone {} is stuck", z.0 + 1),
        Reason::StuckFlow(b) => format!("flow switch of boiler {} is stuck", b.0 + 1),
        Reason::StuckDamper => "the damper's proof is stuck".into(),
        Reason::FlameProof => "on, waits for its flame".into(),
        Reason::FlowProof => "waits for flow".into(),
        Reason::DamperProof => "waits for the damper".into(),
        Reason::Lead => "lead, heat is called for".into(),
        Reason::StagedUp => "added, the others fall short".into(),
        Reason::NotNeeded => "not needed".into(),
        Reason::Satisfied => "water is warm enough".into(),
        Reason::LeadChange => "keeps its flame for the new lead".into(),
        Reason::Retry => "rests before one more try".into(),
        Reason::FlowFailed => "locked out: no flow".into(),
        Reason::FlameFailed => "locked out: no flame".into(),
        Reason::BoilerFault => "it reports a fault".into(),
        Reason::SwitchedOff => "its service switch is off".into(),
        Reason::DamperFailed => "the damper failed to open".into(),
        Reason::OutletHigh => "its water is at the upper bound".into(),
        Reason::NoZoneFlow => "no flow to carry its heat away".into(),
        Reason::Hand => "its switch is not at AUTO".into(),
        Reason::MinimumOn => "shortest run not over".into(),
        Reason::MinimumOff => "shortest stop not over".into(),
        Reason::Stagger => "another start was just made".into(),
        Reason::NotItsTurn => "another starts first".into(),
        Reason::Lull => "kept for the next call".into(),
        Reason::FlowMissed(b) => format!("boiler {} had no flow, one more try", b.0 + 1),
        Reason::FlameMissed(b) => format!("boiler {} had no flame, one more try", b.0 + 1),
        Reason::PostPurge => "post-purge not over".into(),
        Reason::Exercise => "short run against seizing".into(),
        Reason::Frost => "frost protection".into(),
        Reason::Shed => "shed for the tank".into(),
        Reason::HotCuts(b) => format!("boiler {} was cut hot again and again", b.0 + 1),
        Reason::FewCalls => "too few calls for the plant".into(),
        Reason::LowLoad => "low load: waits for cooler water".into(),
        Reason::Law => "follows its law".into(),
        Reason::Healthy => "all is well".into(),
        Reason::Alarm => "something is wrong".into(),
        Reason::Frozen(s) => format!("sensor {} stands still", s.0 + 1),
        Reason::Unused => "unused".into(),
    }
}

fn device(u: RelayUse, config: &Config) -> String {
    match u {
        RelayUse::Demand(b) => format!("boiler {}", b.0 + 1),
        RelayUse::Pump(p) => match config.pumps[p.index()].role {
            PumpRole::Zone => format!("pump zone {}", p.0 + 1),
            PumpRole::Boiler(b) => format!("pump boiler {}", b.0 + 1),
            PumpRole::Tank => "pump tank".into(),
        },
        RelayUse::Valve(z) => format!("valve zone {}", z.0 + 1),
        RelayUse::Damper => "damper".into(),
        RelayUse::Alarm => "alarm relay".into(),
        RelayUse::Health => "health relay".into(),
        RelayUse::Spare => "spare".into(),
    }
}

impl Story {
    pub fn new(title: &str, config: Config) -> Self {
        let b = Bench::with(config);
        let mut s = Self { before: b.outputs, b, civil_at_zero: None, wrench: |_| {}, text: String::new() };
        let _ = writeln!(s.text, "{title}\n");
        let _ = writeln!(s.text, "     time  supply  what happens, and what each relay does            why");
        s
    }

    fn supply(&self) -> String {
        match self.b.inputs.reading(self.b.config.supply_sensor().unwrap()) {
            Reading::At(t) => format!("{:.0} °C", f64::from(t.centi_c()) / 100.0),
            Reading::Open => "open".into(),
            Reading::Short => "short".into(),
            Reading::NeverRead => "none".into(),
        }
    }

    fn row(&mut self, what: &str) {
        let _ = writeln!(self.text, "{}  {:>6}  {what}", clock(self.b.now_s), self.supply());
    }

    /// Something happens, now.
    pub fn does(&mut self, what: &str, happen: impl FnOnce(&mut Bench)) {
        self.row(&format!("> {what}"));
        happen(&mut self.b);
    }

    /// Runs on and writes down what changes.
    pub fn run(&mut self, seconds: u32) {
        for _ in 0..seconds {
            self.b.now_s += 1;
            self.b.inputs.civil = self.civil_at_zero.map(|m| CivilMinute::new(m + self.b.now_s / 60));
            self.b.plant();
            (self.wrench)(&mut self.b);
            self.b.tick();
            self.look();
        }
    }

    /// Runs for so many minutes.
    pub fn minutes(&mut self, minutes: u32) {
        self.run(minutes * 60);
    }

    fn look(&mut self) {
        let (before, after) = (self.before, self.b.outputs);
        self.before = after;
        for e in diff(&before, &after) {
            match e {
                Event::Relay { relay, before, after } => {
                    let u = self.b.config.points.relays[relay.index()];
                    let told = before.on != after.on || matches!(u, RelayUse::Demand(_) | RelayUse::Alarm);
                    // At power-up everything gets its first reason.
                    if !told || before.why == Reason::Unused && !after.on && u != RelayUse::Alarm {
                        continue;
                    }
                    let on = if after.on { "ON" } else { "off" };
                    let why = say(after.why, &self.b.config);
                    self.row(&format!("    {:<14} {on:<3}  {why}", device(u, &self.b.config)));
                }
                Event::Lead { after: Some(b), .. } => self.row(&format!("    boiler {} leads", b.0 + 1)),
                Event::FirstOut { after: Some(s), .. } => {
                    let why = say(Reason::Safety(s), &self.b.config);
                    self.row(&format!("    first out: {why}"));
                }
                Event::FirstOut { after: None, .. } => self.row("    first out: cleared"),
                Event::Target { before: None, after: Some(t) } => {
                    self.row(&format!("    heat wanted at {:.1} °C", f64::from(t.centi_c()) / 100.0));
                }
                Event::Target { before: Some(_), after: None } => self.row("    no heat wanted"),
                Event::Lead { .. } | Event::Target { .. } | Event::Analog { .. } => {}
            }
        }
    }

    /// The power goes and comes back after so many seconds; what the board remembers survives.
    pub fn power_cut(&mut self, seconds: u32) {
        self.row("> the power goes: every relay drops");
        let memory = self.b.state.memory();
        let config = &self.b.config;
        self.b.state = State::new(config, Some(&memory));
        self.b.outputs = Outputs::default();
        self.before = Outputs::default();
        self.b.lit_for = [0; 4];
        let _ = writeln!(self.text, "           power is back after {} min; the clock below starts anew", seconds / 60);
        self.b.now_s = 0;
    }

    /// A remark at the end, a reading or a count.
    pub fn remark(&mut self, text: &str) {
        let _ = writeln!(self.text, "\n{text}");
    }

    pub fn table(&self) -> String {
        for line in self.text.lines() {
            assert!(line.chars().count() <= 80, "{line}");
        }
        self.text.clone()
    }
}
