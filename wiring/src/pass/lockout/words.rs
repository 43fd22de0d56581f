//! The words of a lockout sheet: stored energy, restart, steps, cautions.
//!
//! Sources: 29 CFR 1910.147(d)(1)-(6), (c)(9), (e), checked; NFPA 70E 120.5 for the test at each point of work (meter proved on a known source
//! before and after), checked. Waiting time for capacitors where the plate names none: 5 minutes, our choice. Kinds of
//! stored energy: common practice.

use super::{Item, Point, Source, Step, Stops, Stored, Test};
use crate::job::{Job, PumpMotor, Selector};
use heatwright_core::{RelayUse, Subject, config::BoilerPump};

/// What holds for every sheet.
pub(super) const CAUTIONS: [&str; 6] = [
    "This is a planning aid. The local code, the authority having jurisdiction, the instructions of the equipment and licensed \
     practice govern.",
    "Lock out and test before touch. A sheet made from a plan is only as good as the plan: look for what was added since.",
    "Door switches, selectors, thermostats, aquastats and the controller are not lockout points.",
    "One lock and one tag a person; nobody removes another's.",
    "A limit or safety is never bridged for testing. Count jumpers in and out.",
    "Energized work, boundaries and protective clothing are outside this sheet.",
];

/// Everything the steps speak of.
pub(super) struct Told<'a> {
    pub(super) job: &'a Job,
    pub(super) item: Item,
    pub(super) subject: Subject,
    pub(super) name: &'a str,
    pub(super) sources: &'a [Source],
    pub(super) points: &'a [Point],
    pub(super) stored: &'a [Stored],
    pub(super) starts: &'a [String],
    pub(super) tests: &'a [Test],
    pub(super) stops: &'a Stops,
}

fn pump(job: &Job, subject: Subject) -> Option<&crate::job::Pump> {
    match subject {
        Subject::Pump(p) => job.pumps.get(p.index()),
        _ => None,
    }
}

/// Energy that is not electric, or stays after the switches are open.
pub(super) fn stored(job: &Job, item: Item, subject: Subject) -> Vec<Stored> {
    let of = |what, relieve: &str| Stored { what, relieve: relieve.to_owned() };
    let hot_water = of(
        "hot water under pressure",
        "Close and lock the supply and return valves (tag: ________), drain slowly, open a vent; let it cool below 110 °F before \
         opening.",
    );
    let thermosiphon = of(
        "thermosiphon",
        "Hot water rises through a stopped circuit; a closed valve on both sides stops it, a check valve alone does not.",
    );
    match item {
        Item::Boiler => vec![
            of(
                "fuel gas",
                "Close and lock the manual valve at the boiler (tag: ________); vent the burner train as its instructions say.",
            ),
            of("heat in the exchanger", "Let post-purge and pump overrun finish, then wait for the metal to cool."),
            hot_water,
            thermosiphon,
            of("fan running down", "Wait until the combustion fan stands still."),
        ],
        Item::Pump => {
            let mut list = Vec::new();
            if matches!(pump(job, subject).map(|p| p.motor), Some(PumpMotor::ElectronicallyCommutated { .. })) {
                list.push(of(
                    "capacitors of the drive",
                    "Wait the time on its plate, 5 minutes where it names none, then measure at the terminals again.",
                ));
            }
            list.extend([
                hot_water,
                thermosiphon,
                of(
                    "rotor driven by other pumps",
                    "Flow from other pumps can turn it: close a valve on both sides before opening it.",
                ),
            ]);
            list
        }
        Item::Fan => vec![
            of("rotor running down", "Wait until the blades stand still; draught can turn them."),
            of("hot coil", "Let it cool, or close its valves."),
        ],
        Item::Damper => vec![of(
            "return spring",
            "The blades move when power goes. Keep fingers out; block the linkage before the point is opened, in the preparation.",
        )],
        Item::Tank => {
            vec![hot_water, of("scalding water at the taps", "Tell the users; close the outlet valve."), thermosiphon]
        }
        Item::CondensatePump => vec![of("acid condensate in the sump", "Empty it with gloves and eye protection.")],
        Item::RelayPanel => vec![of(
            "capacitors in power supplies and drives",
            "Wait the time on their plates, 5 minutes where they name none, then measure again.",
        )],
    }
}

/// Why the item may start without anybody near it.
pub(super) fn starts(job: &Job, item: Item, subject: Subject) -> Vec<String> {
    let mut list = Vec::new();
    match (item, subject) {
        (Item::Boiler, _) => {
            list.push("Starts by itself on a demand of the controller, and again after a power cut.".into());
            list.push("Its own frost protection or tank input can fire it without any demand of ours.".into());
        }
        (Item::Pump, Subject::Pump(p)) => {
            if job.points.relay(RelayUse::Pump(p)).is_some() {
                list.push("Starts by itself in AUTO: calls, overrun, heat purge, frost, weekly exercise.".into());
            }
            let boilers = job.boilers.iter().enumerate();
            for (i, _) in
                boilers.filter(|(_, b)| matches!(b.pump, BoilerPump::Boiler(q) | BoilerPump::Either(q) if q == p))
            {
                let boiler = job.names.of(Subject::Boiler(heatwright_core::BoilerId(i as u8)));
                list.push(format!("Starts when {boiler} asks for its pump, whatever the controller does."));
            }
            if job.pumps.get(p.index()).is_some_and(|pump| pump.selector == Selector::HandOffAuto) {
                list.push("HAND in the relay panel's door starts it. OFF there is not a lockout.".into());
            }
        }
        (Item::Fan, _) => list.push("Starts by itself when its aquastat meets hot water.".into()),
        (Item::Damper, _) => {
            list.push("Moves by itself with the first call for heat, and by its spring when power goes.".into())
        }
        (Item::Tank, _) => {
            let pump = job.tank.as_ref().map_or("its pump".to_owned(), |t| job.names.of(Subject::Pump(t.pump)));
            list.push(format!(
                "Its pump ({pump}) starts by itself on a call of the aquastat, and for heat purge; it has a sheet of its own."
            ));
        }
        (Item::CondensatePump, _) => list.push("Starts by itself on its float.".into()),
        (Item::RelayPanel, _) => {
            list.push("Every contactor in it can close by itself when its circuit is live.".into());
        }
        (Item::Pump, _) => {}
    }
    list
}

/// What stops, in sentences; empty where nothing else does.
pub fn stops(s: &Stops) -> String {
    let lists = [("Cannot fire", &s.boilers), ("Cannot run", &s.pumps), ("Without power", &s.others)];
    let mut list: Vec<String> = lists
        .into_iter()
        .filter(|l| !l.1.is_empty())
        .map(|(what, names)| format!("{what}: {}.", names.join(", ")))
        .collect();
    if s.no_heat {
        list.push("NO BOILER CAN FIRE: the whole building is without heat.".into());
    }
    list.join(" ")
}

/// The steps in the order of the rule.
pub(super) fn steps(t: &Told<'_>) -> Vec<Step> {
    let step = |clause, heading, tasks| Step { clause, heading, tasks };
    let mut tell = vec![format!("Tell everybody whom it affects that {} is going to be locked out, and why.", t.name)];
    let stops = stops(t.stops);
    tell.push(if stops.is_empty() {
        "With every point open nothing else stops.".into()
    } else {
        format!("With every point open more than this item stops. {stops}")
    });
    vec![
        step("(c)(9)", "Notify", tell),
        step("(d)(1)", "Prepare", prepare(t)),
        step("(d)(2)", "Shut down", vec![shut_down(t)]),
        step("(d)(3)", "Isolate", t.points.iter().map(|p| format!("Open {} ({}).", p.what, p.place)).collect()),
        step("(d)(4)", "Lock and tag", lock(t)),
        step("(d)(5)", "Relieve stored energy", relieve(t)),
        step("(d)(6)", "Verify", verify(t)),
        step("(e)", "Return to service", back(t)),
    ]
}

fn prepare(t: &Told<'_>) -> Vec<String> {
    let mut list = vec![format!(
        "{} has {} electric source{}: {}.",
        t.name,
        t.sources.len(),
        if t.sources.len() == 1 { "" } else { "s" },
        t.sources.iter().map(|s| format!("{} ({:.0} V)", s.what, s.volts)).collect::<Vec<_>>().join("; ")
    )];
    for s in t.sources.iter().filter(|s| s.foreign) {
        list.push(format!(
            "Voltage from elsewhere: {} stands on {} although {}'s own supply is off.",
            s.what,
            s.terminals.join(", "),
            t.name
        ));
    }
    list.extend(t.starts.iter().cloned());
    list
}

fn shut_down(t: &Told<'_>) -> String {
    match t.item {
        Item::Boiler => {
            "End its demand at the controller, let the burner go out, wait for post-purge and pump overrun.".into()
        }
        Item::Pump if pump(t.job, t.subject).is_some_and(|p| p.selector == Selector::HandOffAuto) => {
            "End every call that needs it, let boilers that depend on its flow go out, then turn its selector to OFF."
                .into()
        }
        Item::Pump => "End the calls that need it; let boilers that depend on its flow go out first.".into(),
        Item::Tank => "Turn its aquastat down and wait for its pump to stop.".into(),
        Item::RelayPanel => {
            "End every demand, wait for post-purge and overrun of all boilers, turn all selectors to OFF.".into()
        }
        Item::Fan | Item::Damper | Item::CondensatePump => "End the calls that need it and let it stop.".into(),
    }
}

fn lock(t: &Told<'_>) -> Vec<String> {
    if t.points.is_empty() {
        return vec!["The plan has no switch that isolates it. Do not work on it before one is found.".into()];
    }
    t.points.iter().map(|p| format!("{}: {}; tag with name, date and reason.", p.what, p.lock)).collect()
}

fn relieve(t: &Told<'_>) -> Vec<String> {
    let mut list: Vec<String> = t.stored.iter().map(|s| format!("{}: {}", s.what, s.relieve)).collect();
    list.push("Where it can build up again, verify again while the work goes on.".into());
    list
}

fn verify(t: &Told<'_>) -> Vec<String> {
    let mut list = vec![
        "See that nobody is exposed, then try to start it by every control it has; turn them back to OFF.".to_owned(),
    ];
    list.push("Prove the meter on a known live source.".into());
    list.push(format!(
        "Measure at the point of work, phase to phase, phase to neutral, phase to ground, neutral to ground, and across open \
         contacts: {}. Expect 0 V at each.",
        match t.tests.len() {
            0 => "no terminal of it can be reached by a source".to_owned(),
            1 => "1 pair, listed below".to_owned(),
            n => format!("{n} pairs, listed below"),
        }
    ));
    list.push("Prove the meter again on the same source.".into());
    list
}

fn back(t: &Told<'_>) -> Vec<String> {
    vec![
        "Inspect: tools out, covers and guards on, jumpers counted, valves open.".into(),
        "See that everybody is clear.".into(),
        "Each person removes his or her own lock and tag.".into(),
        "Tell everybody whom it affects that the locks are off, before anything is energized.".into(),
        "Close the points in the reverse order.".into(),
        format!("Bring {} back into service and watch one start.", t.name),
    ]
}
