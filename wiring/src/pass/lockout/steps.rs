//! The steps of a sheet in the order of 29 CFR 1910.147: (c)(9), (d)(1) to (d)(6), (e), checked.
//!
//! What takes the limit pair or the flow from a boiler that is still firing leaves it hot without a pump, so the shutdown of (d)(2)
//! follows from what the points stop ([`Stops`]), not from the item alone. The test at each point of work follows NFPA 70E 120.5
//! (meter proved on a known source before and after), checked.
//!
//! Points, valves and pairs are listed once, in the tables of the sheet; the steps name them by number.

use super::{Item, Point, Source, Step, Stops, Stored, Test, Valve, energy, words};
use crate::pass::{choose::asks_with_its_line, movers::Movers};
use crate::{
    device::Kind,
    job::{Control, Job, Selector},
    part::LoadUse,
};
use heatwright_core::{
    BoilerId, Subject,
    config::{BoilerPump, SafetyKind, SafetyScope},
};

/// Everything the steps speak of.
pub(super) struct Told<'a> {
    pub(super) job: &'a Job,
    pub(super) movers: &'a Movers<'a>,
    pub(super) item: Item,
    pub(super) subject: Subject,
    /// What its first device is.
    pub(super) kind: Kind,
    /// Which condensate pump it is, by its place in the job's list.
    pub(super) condensate: Option<u8>,
    pub(super) name: &'a str,
    pub(super) sources: &'a [Source],
    /// True where one of these is its own.
    pub(super) owned: bool,
    /// The relay panel's control disconnect where it is a point, and what the control voltage stands on.
    pub(super) control: Option<(String, Vec<String>)>,
    pub(super) points: &'a [Point],
    pub(super) valves: &'a [Valve],
    pub(super) stored: &'a [Stored],
    pub(super) starts: &'a [String],
    pub(super) tests: &'a [Test],
    pub(super) stops: &'a Stops,
    /// What else whoever prepares must know.
    pub(super) besides: &'a [String],
}

/// The steps in the order of the rule.
pub(super) fn steps(t: &Told<'_>) -> Vec<Step> {
    let step = |clause, heading, tasks| Step { clause, heading, tasks };
    let mut tell = vec![format!("Tell everybody whom it affects that {} is going to be locked out, and why.", t.name)];
    let stops = words::stops(t.stops);
    tell.push(if stops.is_empty() {
        "With every point open nothing else stops.".into()
    } else {
        format!("With every point open more than this item stops. {stops}")
    });
    vec![
        step("(c)(9)", "Notify", tell),
        step("(d)(1)", "Prepare", prepare(t)),
        step("(d)(2)", "Shut down", shut_down(t)),
        step("(d)(3)", "Isolate", isolate(t)),
        step("(d)(4)", "Lock and tag", lock(t)),
        step("(d)(5)", "Relieve stored energy", relieve(t)),
        step("(d)(6)", "Verify", verify(t)),
        step("(e)", "Return to service", back(t)),
    ]
}

/// "1" or "1 to 3".
fn range(n: usize) -> String {
    if n == 1 { "1".into() } else { format!("1 to {n}") }
}

fn prepare(t: &Told<'_>) -> Vec<String> {
    let foreign: Vec<String> =
        t.sources.iter().enumerate().filter(|(_, s)| s.foreign).map(|(i, _)| format!("V{}", i + 1)).collect();
    let of_panel = matches!(t.item, Item::RelayPanel | Item::StarterPanel);
    let with = if of_panel { "its own circuits" } else { "its own switch" };
    let mut list = vec![match (t.sources.len(), foreign.len()) {
        (0, _) => "Electric sources: none.".into(),
        (n, 0) if t.owned => format!("Electric sources: {n}, all its own."),
        (n, 0) => format!("Electric sources: {n}, from elsewhere: it has no circuit and no switch of its own."),
        (n, f) => format!(
            "Electric sources: {} its own, {f} from elsewhere, live with {with} open: {}.",
            n - f,
            foreign.join(", ")
        ),
    }];
    let dry = asks_dry(t.job, t.subject);
    if let (None, Some((tag, on))) = (&dry, &t.control) {
        let on = match on.as_slice() {
            [one, two, three, more @ ..] if more.len() > 1 => format!("{one}, {two}, {three} and {} more", more.len()),
            all => all.join(", "),
        };
        let all = if t.stops.no_heat { ", and with that open no boiler fires" } else { "" };
        list.push(format!(
            "The relay panel's control voltage stands on {on}: so {tag}, the relay panel's control disconnect, is among its points{all}."
        ));
    }
    list.extend(dry);
    if t.item == Item::Damper {
        list.push("Have at hand what blocks its linkage: the blades move when power goes or comes.".into());
    }
    list.extend(t.besides.iter().cloned());
    list.extend(t.starts.iter().cloned());
    list
}

/// Why our control voltage stands on the terminals of a boiler that asks for its pump.
fn asks_dry(job: &Job, subject: Subject) -> Option<String> {
    let Subject::Boiler(id) = subject else { return None };
    let b = job.boilers.get(id.index())?;
    let asks = matches!(b.pump, BoilerPump::Boiler(_) | BoilerPump::Either(_)) && !asks_with_its_line(job, id);
    let [one, other] = &b.marks.pump.as_ref().filter(|c| asks && c.dry)?.marks;
    Some(format!(
        "{} asks for its pump by a dry contact, {one} and {other}, which the relay panel's control voltage passes: so the \
         relay panel's control disconnect is among its points.",
        job.names.of(subject)
    ))
}

fn shut_down(t: &Told<'_>) -> Vec<String> {
    let mut list = Vec::new();
    if !t.stops.boilers.is_empty() {
        list.push(format!(
            "First end every demand{} and wait for post-purge and overrun of all boilers. Opening these points drops {}: a boiler cut \
             off while it fires stays hot with no pump to cool it.",
            by_hand(t),
            t.stops.boilers.join(", ")
        ));
    }
    list.push(match t.item {
        Item::Boiler => boiler_down(t),
        Item::Pump if has_selector(t) => "End every call that needs it, then turn its selector to OFF.".into(),
        Item::Pump => "End the calls that need it and let it stop.".into(),
        Item::Tank => "Turn its aquastat down and wait for its pump to stop.".into(),
        Item::RelayPanel | Item::StarterPanel => {
            let selectors = t.job.pumps.iter().any(|p| p.selector == Selector::HandOffAuto);
            format!(
                "End every demand{}, wait for post-purge and overrun of all boilers{}.",
                by_hand(t),
                if selectors { ", turn all selectors to OFF" } else { "" }
            )
        }
        Item::CondensatePump => match served(t).as_slice() {
            [] => "Shut every condensing boiler down first: their condensate has nowhere to go.".into(),
            [one] => format!("Shut {one} down first: its condensate has nowhere to go. Then let the float stop it."),
            all => format!(
                "Shut {} down first: their condensate has nowhere to go. Then let the float stop it.",
                all.join(", ")
            ),
        },
        Item::Panelboard => "Shut down what it feeds, then open its breakers, the main last.".into(),
        Item::Fan => "End the calls of its zone and let it stop.".into(),
        Item::Valve if t.kind == Kind::ZoneValve => {
            "End the call of its zone and wait until it stands closed and its pump has run out.".into()
        }
        Item::Valve => "End the call of its zone and wait until its pump has run out.".into(),
        Item::Damper => format!(
            "End every demand{}: no burner may fire with the damper out of service. Once the burners are out and the blades stand, \
             block the linkage, before the point is opened. Keep fingers out.",
            by_hand(t)
        ),
        Item::Other => match t.kind {
            Kind::Beacon => "Nothing runs through it. Agree who looks for alarms while it is out.".into(),
            Kind::Receptacle => "Unplug what is in use.".into(),
            Kind::Strip => "End the calls of what it feeds and let that stop.".into(),
            Kind::DryTransformer => "Shut down what it feeds, then open the breakers of its panelboard, the main last.".into(),
            _ => "End the calls that need it.".into(),
        },
    });
    list
}

/// Where no controller ends demands: whose calls are turned down by hand.
fn by_hand(t: &Told<'_>) -> String {
    match (t.job.control, words::all_callers(t.job, t.movers).as_slice()) {
        (Control::Controller, _) | (_, []) => String::new(),
        (Control::ZoneRelays, calls) => format!(" (turn down the call of {})", calls.join(", ")),
    }
}

/// How a boiler is brought down and cooled, by whom it is asked and who moves its water.
fn boiler_down(t: &Told<'_>) -> String {
    let Subject::Boiler(id) = t.subject else { return "End its demand and let the burner go out.".into() };
    let calls = words::callers(t.job, t.movers, LoadUse::Demand(id));
    let end = match (t.job.control, calls.as_slice()) {
        (Control::Controller, _) => "End its demand at the controller".to_owned(),
        (Control::ZoneRelays, []) => "End its demand".to_owned(),
        (Control::ZoneRelays, calls) => format!(
            "End its demand: turn down every thermostat that asks it ({}), or where one cannot be reached turn the boiler off at its \
             own control as its instructions say, not at its switch",
            calls.join(", ")
        ),
    };
    let pump = t.job.boilers.get(id.index()).and_then(|b| match b.pump {
        BoilerPump::Controller(p) | BoilerPump::Boiler(p) | BoilerPump::Either(p) => {
            t.job.pumps.get(p.index()).map(|x| (p, x))
        }
        BoilerPump::None => None,
    });
    let cool = match pump {
        Some((p, pump)) if pump.selector == Selector::HandOffAuto => format!(
            "wait for post-purge and pump overrun. Keep its pump ({}) running with its selector at HAND until its outlet is below \
             110 °F; where other boilers keep the return hotter, close its valves after the overrun and let it stand.",
            t.job.names.of(Subject::Pump(p))
        ),
        Some((p, _)) => format!(
            "wait for post-purge and pump overrun. Nobody can hold its pump ({}) on: once that has stopped by itself, let the boiler \
             stand until its outlet is below 110 °F.",
            t.job.names.of(Subject::Pump(p))
        ),
        None => "wait for post-purge. Let water flow through it until its outlet is below 110 °F; where the return is hotter, let it \
                 stand."
            .into(),
    };
    format!("{end}, let the burner go out, {cool}")
}

fn has_selector(t: &Told<'_>) -> bool {
    let Subject::Pump(p) = t.subject else { return false };
    t.job.pumps.get(p.index()).is_some_and(|p| p.selector == Selector::HandOffAuto)
}

/// The boilers whose condensate goes to this pump, by name.
fn served(t: &Told<'_>) -> Vec<String> {
    served_by(t.job, t.condensate).into_iter().map(|b| t.job.names.of(Subject::Boiler(b))).collect()
}

/// The boilers whose condensate goes to this pump: the one that it is for; of a pump for all, those with a drain switch that no
/// other pump serves.
pub(super) fn served_by(job: &Job, condensate: Option<u8>) -> Vec<BoilerId> {
    let own = |i: u8| job.condensate_pumps.get(usize::from(i)).and_then(|c| c.boiler);
    if let Some(b) = condensate.and_then(own) {
        return vec![b];
    }
    let own: Vec<BoilerId> = job.condensate_pumps.iter().filter_map(|c| c.boiler).collect();
    let drained = job.safeties.iter().filter(|s| s.config.kind == SafetyKind::Condensate);
    let mut list: Vec<BoilerId> = drained
        .filter_map(|s| if let SafetyScope::Boiler(b) = s.config.scope { Some(b) } else { None })
        .filter(|b| !own.contains(b))
        .collect();
    list.sort_unstable();
    list.dedup();
    list
}

fn isolate(t: &Told<'_>) -> Vec<String> {
    if t.points.is_empty() {
        return Vec::new();
    }
    let in_order = |n: usize| if n == 1 { "" } else { ", in this order" };
    let n = t.points.len();
    let mut list = vec![format!("Open {} {}{}.", plural(n, "point"), range(n), in_order(n))];
    if !t.valves.is_empty() {
        let n = t.valves.len();
        list.push(format!("Close {} {}{}.", plural(n, "valve"), range(n), in_order(n)));
    }
    list
}

fn plural(n: usize, word: &str) -> String {
    if n == 1 { word.into() } else { format!("{word}s") }
}

fn lock(t: &Told<'_>) -> Vec<String> {
    if t.points.is_empty() {
        return vec!["The plan has no switch that isolates it. Do not work on it before one is found.".into()];
    }
    let and = if t.valves.is_empty() { "" } else { " and valve" };
    vec![format!("Lock each point{and} as listed; a tag at each with name, date and reason.")]
}

fn relieve(t: &Told<'_>) -> Vec<String> {
    let mut list: Vec<String> = t
        .stored
        .iter()
        .map(|s| {
            let mut chars = s.what.chars();
            let what: String = chars.next().into_iter().flat_map(char::to_uppercase).chain(chars).collect();
            format!("{what}. {}", s.relieve)
        })
        .collect();
    list.push(match list.len() {
        0 => "Nothing is stored in it but what the points take away.".into(),
        _ => "Where it can build up again, verify again while the work goes on.".into(),
    });
    list
}

/// How one sees that the points took hold: what can start is tried, what cannot is left to the meter.
fn try_it(t: &Told<'_>) -> &'static str {
    match (t.item, t.kind) {
        (Item::RelayPanel | Item::StarterPanel, _) => {
            "Then try to start each machine that it feeds by every control it has; turn them back to OFF."
        }
        (Item::Panelboard, _) | (Item::Other, Kind::DryTransformer) => {
            "Then try to start one machine that it feeds; turn its control back to OFF."
        }
        (Item::Valve, _) => {
            "Then turn its zone's thermostat up: the valve must not move and no pump may start; turn it back."
        }
        (Item::Damper, _) => {
            "Then see that the blades stand where their spring takes them: nothing asks them to move with its supply off."
        }
        (Item::Other, Kind::Beacon) => {
            "Then press its test, if it has one: it must stay dark. Nothing else shows it; the meter does."
        }
        (Item::Other, Kind::Receptacle) => {
            "Then plug a lamp in that lit a minute ago: it must stay dark. A tripped ground-fault receptacle is dark too while its line screws \
             are live: measure at those, with the cover off."
        }
        (Item::Other, _) => "There is nothing in it to start: the meter alone shows it dead.",
        _ => "Then try to start it by every control it has; turn them back to OFF.",
    }
}

fn verify(t: &Told<'_>) -> Vec<String> {
    let mut list = vec![
        format!("See that nobody is exposed. {}", try_it(t)),
        "Prove the meter on a known live source.".to_owned(),
    ];
    let incoming = t.tests.iter().filter(|t| t.incoming).count();
    list.push(match (t.tests.len(), incoming) {
        (0, _) => "No terminal of it can be reached by a source: measure whatever is touched all the same.".into(),
        (n, i) if n == i => format!("Measure the {n} {} listed below. Expect 0 V at each.", plural(n, "pair")),
        (_, i) => format!(
            "First measure the {i} {} listed below, where the sources come in. Expect 0 V at each.",
            plural(i, "pair")
        ),
    });
    if incoming < t.tests.len() {
        list.push(
            "Then each terminal that you will touch, before you touch it: to ground and to its neighbors. Expect 0 V at each."
                .into(),
        );
    }
    list.push("Prove the meter again on the same source.".into());
    let mut gone: Vec<(&str, Vec<String>)> = Vec::new();
    for (i, v) in t.valves.iter().enumerate() {
        match gone.iter_mut().find(|(g, _)| *g == v.gone) {
            Some((_, list)) => list.push((i + 1).to_string()),
            None => gone.push((v.gone, vec![(i + 1).to_string()])),
        }
    }
    list.extend(gone.into_iter().map(|(gone, of)| {
        format!("{} {}: see that {gone}.", if of.len() == 1 { "Valve" } else { "Valves" }, of.join(", "))
    }));
    list
}

fn back(t: &Told<'_>) -> Vec<String> {
    let mut list = vec![
        "Inspect: tools out, covers and guards on, jumpers counted. See that everybody is clear.".into(),
        "Each person removes his or her own lock and tag.".into(),
        "Tell everybody whom it affects that the locks are off, before anything is energized.".into(),
    ];
    list.extend(energy::refill(t.item));
    list.push(match t.points.len() {
        0 | 1 => "Close the point.".into(),
        _ => "Close the points in the reverse order.".into(),
    });
    let selectors = t.job.pumps.iter().any(|p| p.selector == Selector::HandOffAuto);
    match t.item {
        Item::Pump if has_selector(t) => {
            list.push("Turn its selector back to AUTO: at OFF it has no frost protection.".into())
        }
        Item::RelayPanel | Item::StarterPanel if selectors => {
            list.push("Turn all selectors back to AUTO: at OFF a pump has no frost protection.".into());
        }
        _ => {}
    }
    list.push(match (t.item, t.kind) {
        (Item::Other, Kind::Beacon) => "Raise an alarm on purpose and see it, then acknowledge it.".into(),
        (Item::Other, Kind::Receptacle) => {
            "Press its test button: it must go dead; press reset, and plug back in what was in use.".into()
        }
        (Item::Other, Kind::Strip) => format!("Watch one start of each machine that {} feeds.", t.name),
        (Item::Other, Kind::DryTransformer) | (Item::Panelboard, _) => {
            "Measure the secondary, line to line and each line to neutral, before the main breaker is closed; then close the branch \
             breakers one by one."
                .into()
        }
        (Item::Valve, Kind::ZoneValve) => {
            format!("Call its zone: see {} open and what its end switch starts run, then end the call and see it close.", t.name)
        }
        (Item::Valve, _) => format!("Call its zone and see {} follow its signal both ways.", t.name),
        (Item::Other, Kind::Safety) => {
            format!("Trip {} once by its own condition and see that what it stops stops; then watch one start.", t.name)
        }
        _ => format!("Bring {} back into service and watch one start.", t.name),
    });
    list
}
