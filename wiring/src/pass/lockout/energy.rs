//! Energy that no switch takes away: the valves to close and lock, what must be relieved behind them, how it is seen to be gone, and
//! what is done before it comes back.
//!
//! A valve that shuts gas or water off is an energy-isolating device like a switch (29 CFR 1910.147(b), checked): it is closed
//! in (d)(3) and locked in (d)(4), not in (d)(5), which only relieves what is left behind closed valves. Order for a water side: cool with flow, close
//! the valves, relieve to zero on the gauge with the vent left open, only then drain (common practice, no source; water above
//! 212 °F at pressure flashes where it is let out). Flue gas of other burners that comes back through an opened vent: common practice, no
//! source. 110 °F before opening: our choice, the usual limit of hot tap water.
//!
//! The plan knows no valve by its tag: the sheet leaves room to write it in. What it deliberately does not do: line breaking,
//! confined spaces, chemicals of glycol, purging of gas lines (NFPA 54 and the instructions of the burner govern).

use super::{Item, Stored, Valve};
use crate::{
    device::Kind,
    job::{Job, PumpMotor},
};
use heatwright_core::{
    SafetyId, Subject,
    config::{BoilerPump, SafetyKind},
};

/// Valves to close and lock, in this order.
pub(super) fn valves(item: Item) -> Vec<Valve> {
    let of = |what, gone| Valve { what, lock: "cover or chain with its own padlock, valve closed", gone };
    let dry = "its pressure gauge reads zero and nothing runs from the open vent";
    match item {
        Item::Boiler => vec![
            of("manual gas valve at the boiler", "there is no pressure at the test port downstream of it"),
            of("make-up water: fill valve and its bypass, where they join between the boiler's valves", dry),
            of("supply valve of the boiler", dry),
            of("return valve of the boiler", dry),
        ],
        Item::Valve => vec![
            of("valve ahead of it, hot side", dry),
            of("valve behind it, zone side; of a mixing valve the one in its return or bypass too", dry),
        ],
        Item::Pump => vec![of("valve on the suction side", dry), of("valve on the discharge side", dry)],
        Item::Tank => vec![
            of("cold-water inlet of the tank: its pressure comes from here", "an opened tap of the tank runs dry"),
            of("hot-water outlet of the tank", "an opened tap of the tank runs dry"),
            of("recirculation return, where there is one", "an opened tap of the tank runs dry"),
            of("supply valve of the coil", "its vent, left open, runs dry"),
            of("return valve of the coil", "its vent, left open, runs dry"),
        ],
        Item::Fan
        | Item::Damper
        | Item::CondensatePump
        | Item::Other
        | Item::Panelboard
        | Item::RelayPanel
        | Item::StarterPanel => Vec::new(),
    }
}

/// What is left behind open switches and closed valves.
pub(super) fn stored(job: &Job, item: Item, subject: Subject, kind: Kind) -> Vec<Stored> {
    let of = |what, relieve: &str| Stored { what, relieve: relieve.to_owned() };
    let thermosiphon = of(
        "thermosiphon",
        "Hot water rises through a stopped circuit. A closed valve on both sides stops it, a check valve alone does not.",
    );
    match item {
        Item::Boiler => vec![
            of("gas between the valves", "Vent the burner train as its instructions say."),
            of("heat in the exchanger", "Wait until a thermometer on its shell reads below 110 °F."),
            of(
                "water under pressure",
                "Open the drain a little, through a hose, until the gauge reads zero; open a vent and leave it open; only then \
                 drain. Never close or plug the relief valve.",
            ),
            thermosiphon,
            of("fan running down", "Wait until the combustion fan stands still."),
            of(
                "hot flue, and carbon monoxide from it",
                "Let vent and flue outlet cool before they are touched. Other burners on a common vent push their gas out where it is \
                 opened: keep those off, or cap the opening, and have a carbon monoxide alarm in the room.",
            ),
        ],
        Item::Pump => {
            let mut list = Vec::new();
            let motor = match subject {
                Subject::Pump(p) => job.pumps.get(p.index()).map(|p| p.motor),
                _ => None,
            };
            if matches!(motor, Some(PumpMotor::ElectronicallyCommutated { .. })) {
                list.push(of(
                    "capacitors of the drive",
                    "Wait the time on its plate, 5 minutes where it names none, then measure at the terminals again.",
                ));
            }
            list.extend([
                of(
                    "hot water under pressure",
                    "Let the casing cool below 110 °F, then relieve it to zero at a drain or gauge cock and leave that open; only \
                     then loosen a flange.",
                ),
                of(
                    "rotor driven by other pumps, thermosiphon",
                    "Flow from elsewhere turns it and brings heat: both valves, not one and a check valve.",
                ),
            ]);
            list
        }
        Item::Fan => vec![
            of("rotor running down", "Wait until the blades stand still; a draft can turn them."),
            of(
                "hot coil",
                "Let it cool. Before its water side is opened, close and lock its supply and return valves.",
            ),
        ],
        Item::Valve => {
            let mut list = Vec::new();
            if kind == Kind::ZoneValve {
                list.push(of(
                    "return spring",
                    "It closes the valve when its power goes: wait until it stands, and keep fingers out of the linkage. A lever that holds it \
                     open by hand is set back.",
                ));
            }
            list.push(of(
                "hot water under pressure",
                "The motor comes off without draining where it has a coupling of its own. Before the body is opened let it cool below 110 °F, relieve the \
                 pipe between the closed valves to zero and leave the drain open.",
            ));
            list.push(thermosiphon);
            list
        }
        Item::Damper => vec![of(
            "return spring",
            "See that the block still holds the linkage, and keep fingers out of the blades all the same.",
        )],
        Item::Tank => vec![
            of(
                "scalding water under pressure",
                "Let it cool, or run hot water off until it is below 110 °F. Relieve tank and coil each to zero, leave a vent open, \
                 only then drain. Never close or plug the relief valve.",
            ),
            thermosiphon,
        ],
        Item::CondensatePump => vec![of("acid condensate in the sump", "Empty it with gloves and eye protection.")],
        Item::Other if in_a_line(job, subject, kind) => vec![of(
            "what it is mounted in",
            "A switch in a water or gas line: take its cover off, not the device. To take it out, first shut, relieve and drain \
             the line by the sheet of its machine.",
        )],
        Item::Other | Item::Panelboard | Item::StarterPanel => Vec::new(),
        Item::RelayPanel => vec![of(
            "capacitors in power supplies and drives",
            "Wait the time on their plates, 5 minutes where they name none, then measure again.",
        )],
    }
}

/// True for a safety or aquastat that is screwed into a water or gas line; a door switch, a damper's switch or a detector is not.
fn in_a_line(job: &Job, subject: Subject, kind: Kind) -> bool {
    let of = |s: SafetyId| job.safeties.get(s.index()).map(|s| s.config.kind);
    match subject {
        Subject::Safety(s) => matches!(
            of(s),
            Some(
                SafetyKind::LowWater
                    | SafetyKind::HighLimit
                    | SafetyKind::HighLimitManual
                    | SafetyKind::FloorLimit
                    | SafetyKind::TankLimit
                    | SafetyKind::GasLow
                    | SafetyKind::GasHigh
                    | SafetyKind::FlowSwitch
                    | SafetyKind::PressureLow
            )
        ),
        _ => matches!(kind, Kind::Aquastat | Kind::Safety | Kind::ZoneValve | Kind::MixingValve),
    }
}

/// What is done to the water and gas side before the switches are closed again.
pub(super) fn refill(item: Item) -> Vec<String> {
    let tasks: &[&str] = match item {
        Item::Boiler => &[
            "Close drain and vent, open the make-up water, then return and supply valve; fill, bleed until no air comes, and read the \
             cold pressure on the gauge before anything fires. Look for water leaks.",
            "Open the manual gas valve slowly; try every joint that was opened with leak fluid; purge as the burner's instructions say.",
            "See that vent, air intake and condensate trap are joined, tight and filled before it fires; watch for carbon monoxide in the \
             room at the first start.",
        ],
        Item::Valve => &["Where the body was open: close the drain, open both valves, bleed, look for leaks."],
        Item::Pump => &["Close drain and vent, open both valves, bleed the casing, look for leaks: no pump runs dry."],
        Item::Tank => &[
            "Close drain and vents, open the cold-water inlet with a hot tap open until water comes without air, then outlet and \
             recirculation; open, fill and bleed the coil. Look for leaks.",
        ],
        Item::Fan
        | Item::Damper
        | Item::CondensatePump
        | Item::Other
        | Item::Panelboard
        | Item::RelayPanel
        | Item::StarterPanel => &[],
    };
    tasks.iter().map(|t| (*t).to_owned()).collect()
}

/// Pumps that must not start while the item is worked on: they would run against its closed valves or into what is open.
pub(super) fn pumps_to_hold(job: &Job, item: Item, subject: Subject) -> Vec<Subject> {
    let pump = match (item, subject) {
        (Item::Boiler, Subject::Boiler(b)) => job.boilers.get(b.index()).and_then(|b| match b.pump {
            BoilerPump::Controller(p) | BoilerPump::Boiler(p) | BoilerPump::Either(p) => Some(p),
            BoilerPump::None => None,
        }),
        (Item::Tank, _) => job.tank.as_ref().map(|t| t.pump),
        _ => None,
    };
    pump.map(Subject::Pump).into_iter().collect()
}
