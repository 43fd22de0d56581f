//! Why an output changed, as a technician would say it, with the plant's own names.

use crate::names::Names;
use heatwright_core::{Reason, RelayUse, Subject};

/// A reason in words.
pub fn reason(why: Reason, names: &Names) -> String {
    let title = |s: Subject| names.title(s).into_owned();
    match why {
        Reason::Unused => "unused".into(),
        Reason::NoCall => "nobody asks for it".into(),
        Reason::WarmWeather => "too warm outside for heating".into(),
        Reason::Call(z) => format!("{} calls", title(Subject::Zone(z))),
        Reason::TankCall => "the tank calls".into(),
        Reason::ConstantCirculation => "its water circulates all season".into(),
        Reason::Overrun => "runs on after its call".into(),
        Reason::HeatPurge => "carries heat out of a boiler".into(),
        Reason::BoilerOverrun(b) => format!("runs on behind {}", title(Subject::Boiler(b))),
        Reason::BoilerCall(b) => format!("{} needs flow", title(Subject::Boiler(b))),
        Reason::Exercise => "short run against seizing".into(),
        Reason::Frost => "frost protection".into(),
        Reason::MinimumOn => "its shortest run is not over".into(),
        Reason::MinimumOff => "its shortest stop is not over".into(),
        Reason::Stagger => "another start was just made".into(),
        Reason::NotItsTurn => "another boiler starts first".into(),
        Reason::Lull => "kept for the next call".into(),
        Reason::FlowMissed(b) => format!("{} proved no flow and is asked once more", title(Subject::Boiler(b))),
        Reason::FlameMissed(b) => format!("{} proved no flame and is asked once more", title(Subject::Boiler(b))),
        Reason::EndSwitch(z) => format!("waits for the valve of {}", title(Subject::Zone(z))),
        Reason::FlowProof => "waits for proof of flow".into(),
        Reason::DamperProof => "waits for proof of the damper".into(),
        Reason::FlameProof => "heat is called for; waits for proof of flame".into(),
        Reason::PostPurge => "its post-purge is not over".into(),
        Reason::Shed => "shed while the tank has priority".into(),
        Reason::Lead => "lead boiler, heat is called for".into(),
        Reason::StagedUp => "added: the others do not carry the load".into(),
        Reason::NotNeeded => "the other boilers carry the load".into(),
        Reason::Satisfied => "the supply is above its target".into(),
        Reason::LeadChange => "keeps its flame until the new lead is proved".into(),
        Reason::Retry => "waits before it is asked once more".into(),
        Reason::FlowFailed => "locked out: flow was not proved".into(),
        Reason::FlameFailed => "locked out: flame was not proved".into(),
        Reason::BoilerFault => "the boiler reports a fault".into(),
        Reason::SwitchedOff => "its service switch is off".into(),
        Reason::Safety(s) => format!("{} is open", title(Subject::Safety(s))),
        Reason::DamperFailed => "the damper was not proved open".into(),
        Reason::OutletHigh => "its water is at the upper bound".into(),
        Reason::NoZoneFlow => "no zone takes its heat".into(),
        Reason::Hand => "its switch is not at AUTO".into(),
        Reason::Law => "follows its control law".into(),
        Reason::Fallback(s) => format!("{} is in fault, a stated value stands in", title(Subject::Sensor(s))),
        Reason::Healthy => "all is well".into(),
        Reason::Alarm => "something waits to be acknowledged".into(),
        Reason::Frozen(s) => format!("{} stands still where it should move", title(Subject::Sensor(s))),
        Reason::StuckEndSwitch(z) => format!("the end switch of {} does not follow its valve", title(Subject::Zone(z))),
        Reason::StuckFlow(b) => format!("{} shows flow though no pump runs", title(Subject::Boiler(b))),
        Reason::HotCuts(b) => format!("{} was cut by its own hot water again and again", title(Subject::Boiler(b))),
        Reason::FewCalls => "too few zones call for the plant to run".into(),
        Reason::LowLoad => "low load: waits until the water has cooled further".into(),
        Reason::StuckDamper => "the damper is proved open though it is not asked to be".into(),
    }
}

/// What a relay switches, in words.
pub fn relay(what: RelayUse, names: &Names) -> String {
    match what {
        RelayUse::Spare => "spare relay".into(),
        RelayUse::Demand(b) => format!("{} demand", names.title(Subject::Boiler(b))),
        RelayUse::Pump(p) => names.title(Subject::Pump(p)).into_owned(),
        RelayUse::Valve(z) => format!("valve of {}", names.title(Subject::Zone(z))),
        RelayUse::Damper => names.title(Subject::Damper).into_owned(),
        RelayUse::Alarm => "alarm relay".into(),
        RelayUse::Health => "health relay".into(),
    }
}
