//! Why an output is as it is.
//!
//! A reason is a fact, not a countdown: the time that is left is asked of the state. It names what it is about by id, so
//! that the host can put the plant's own names into the sentence.

use crate::ids::{BoilerId, SafetyId, SensorId, ZoneId};

/// Why a relay or a signal stands where it stands.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize), serde(rename_all = "kebab-case"))]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum Reason {
    /// The point has no use.
    #[default]
    Unused,
    /// Nobody asks for it.
    NoCall,
    /// It is too warm outside for heating.
    WarmWeather,
    /// A zone calls.
    Call(ZoneId),
    /// The tank calls.
    TankCall,
    /// The zone's water circulates all season.
    ConstantCirculation,
    /// It runs on after its call.
    Overrun,
    /// It carries heat away that is left in a boiler.
    HeatPurge,
    /// It runs on behind this boiler's burner.
    BoilerOverrun(BoilerId),
    /// This boiler asks for its pump.
    BoilerCall(BoilerId),
    /// A short run against seizing.
    Exercise,
    /// Frost protection.
    Frost,
    /// Its shortest run is not over.
    MinimumOn,
    /// Its shortest stop is not over.
    MinimumOff,
    /// Another start has just been made.
    Stagger,
    /// Another boiler is on its way to its flame: one starts at a time.
    NotItsTurn,
    /// It waits for the end switch of this zone's valve.
    EndSwitch(ZoneId),
    /// It waits for its flow to be proved.
    FlowProof,
    /// It waits for the damper to be proved open.
    DamperProof,
    /// It is on and its flame is not proved yet.
    FlameProof,
    /// Its burner's post-purge is not over.
    PostPurge,
    /// Its zone is shed while the tank has priority.
    Shed,
    /// It is the lead boiler and heat is called for.
    Lead,
    /// It was added because the boilers before it do not carry the load.
    StagedUp,
    /// It is kept for the next call: no zone has wanted heat for a moment.
    Lull,
    /// The other boilers carry the load.
    NotNeeded,
    /// The supply is above its target.
    Satisfied,
    /// It keeps its flame until the new lead is proved.
    LeadChange,
    /// It waits before it asks the boiler once more.
    Retry,
    /// This boiler failed to prove flow, and is asked once more.
    FlowMissed(BoilerId),
    /// This boiler failed to light, and is asked once more.
    FlameMissed(BoilerId),
    /// It failed to prove flow and is locked out until acknowledged.
    FlowFailed,
    /// It failed to light and is locked out until acknowledged.
    FlameFailed,
    /// The boiler itself reports a fault.
    BoilerFault,
    /// Its service switch is off.
    SwitchedOff,
    /// This safety is open.
    Safety(SafetyId),
    /// The damper failed to prove open.
    DamperFailed,
    /// Its water is at its upper bound.
    OutletHigh,
    /// There is no flow to carry its heat away.
    NoZoneFlow,
    /// Its hand switch is not in AUTO.
    Hand,
    /// It follows its control law.
    Law,
    /// This sensor is in fault and a stated value stands in for it.
    Fallback(SensorId),
    /// All is well.
    Healthy,
    /// Something waits to be acknowledged.
    Alarm,
    /// The end switch of this zone's valve does not follow its relay.
    StuckEndSwitch(ZoneId),
    /// This boiler's flow switch is made though no pump runs.
    StuckFlow(BoilerId),
    /// This boiler was cut again and again because its own water was too hot.
    HotCuts(BoilerId),
    /// Too few zones call for the plant to run.
    FewCalls,
    /// The damper's proof is made though it is not asked to be open.
    StuckDamper,
    /// The load is low: it waits until the water has cooled further.
    LowLoad,
    /// This sensor's reading stands still although what moves it acts.
    Frozen(SensorId),
}
