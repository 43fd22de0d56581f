//! `lockout`: disconnects and lockout points, one sheet an item.

use super::{Common, Failure, PlantFile, plan};
use crate::{
    finding::Finding,
    show::{Report, Table, units::In},
};
use clap::Args;
use heatwright_core::{Severity, Subject};
use heatwright_wiring::{
    job::Control,
    pass::lockout::{self, Between, Point, Sheet, Test},
};

/// Disconnects and lockout points, one sheet an item.
#[derive(Debug, Args)]
pub(super) struct Lockout {
    #[command(flatten)]
    file: PlantFile,
    /// Only items whose name holds this text.
    #[arg(long, value_name = "TEXT")]
    item: Option<String>,
    /// One card an item to hang on the machine: what to shut down, open, close, relieve and measure; no sources, no paragraphs.
    #[arg(long)]
    card: bool,
}

impl Lockout {
    pub(super) fn run(&self, common: &Common) -> Result<Report, Failure> {
        let loaded = self.file.read()?;
        let (job, plan) = plan(&loaded)?;
        let all = lockout::lockout(&job, &plan);
        let wanted = |s: &&Sheet| self.item.as_ref().is_none_or(|i| s.name.to_lowercase().contains(&i.to_lowercase()));
        if !all.sheets.iter().any(|s| wanted(&s)) {
            let names: Vec<&str> = all.sheets.iter().map(|s| s.name.as_str()).collect();
            return Err(Finding::new("X02", Severity::Error, Subject::Plant, "no lockout sheet has such a name")
                .hint(format!("the items are: {}", names.join(", ")))
                .into());
        }
        let mut r = Report::of(&loaded.source, format!("Lockout sheets of {}", loaded.site()));
        for c in &all.cautions {
            r.item(*c);
        }
        if !self.card {
            r.heading("How to read a sheet");
            for line in LEGEND {
                r.item(line);
            }
            if job.control == Control::Controller {
                r.item(CONTROLLER);
            }
        }
        let mut main = Table::new(&["Item", "Place", "Point", "At", "Lock", "Takes away", "Stops besides"]);
        for s in all.sheets.iter().filter(wanted) {
            if self.card {
                card(&mut r, s, In(common.units))
            } else {
                sheet(&mut r, s, In(common.units))
            }
            for p in &s.points {
                main.row([
                    s.name.clone(),
                    s.place.clone(),
                    p.what.clone(),
                    p.place.clone(),
                    p.lock.to_owned(),
                    takes(p),
                    lockout::stops_in_words(&p.stops),
                ]);
            }
            for v in &s.valves {
                let at = s.place.clone();
                main.row([
                    s.name.clone(),
                    at.clone(),
                    v.what.to_owned(),
                    at,
                    v.lock.to_owned(),
                    String::new(),
                    String::new(),
                ]);
            }
        }
        r.main = main;
        let sheets: Vec<&Sheet> = all.sheets.iter().filter(wanted).collect();
        r.json = serde_json::json!({ "sheets": sheets, "cautions": all.cautions });
        Ok(r)
    }
}

fn numbers(places: &[usize]) -> String {
    places.iter().map(|i| format!("V{}", i + 1)).collect::<Vec<_>>().join(", ")
}

/// What a point is there for: sources that it takes away, machines that it keeps from starting.
fn takes(p: &Point) -> String {
    let mut list: Vec<String> = Vec::new();
    if !p.takes.is_empty() {
        list.push(numbers(&p.takes));
    }
    list.extend(p.holds.iter().map(|(tag, name)| format!("start of {name} ({tag})")));
    list.join("; ")
}

/// A heading starts with a capital, whatever the name.
fn capital(s: &str) -> String {
    let mut chars = s.chars();
    chars.next().map_or_else(String::new, |c| c.to_uppercase().chain(chars).collect())
}

/// Heading, tags, and the spaces that are planned and not read off the panelboard.
fn head(r: &mut Report, s: &Sheet) {
    let mut tags = s.devices.join(", ");
    if !s.switches.is_empty() {
        tags.push_str(&format!("; switch {}", s.switches.join(", ")));
    }
    r.heading(format!("{}: {}", capital(&s.name), s.place));
    r.text(format!("Covers {tags}."));
    if !s.no_single.is_empty() {
        r.text(s.no_single.clone());
    }
    if !s.spaces_planned.is_empty() {
        let list: Vec<String> = s.spaces_planned.iter().map(|b| format!("{}-{} = ____", b.panel, b.space)).collect();
        r.text(format!("Circuits by planned space; write in where they were landed: {}.", list.join(", ")));
    }
}

/// Points and valves.
fn isolation(r: &mut Report, s: &Sheet) {
    r.text("Open and lock, in this order:");
    let mut t = Table::new(&["No.", "Point", "At", "Lock", "Takes away"]);
    for (i, p) in s.points.iter().enumerate() {
        t.row([(i + 1).to_string(), p.what.clone(), p.place.clone(), p.lock.to_owned(), takes(p)]);
    }
    r.table(t);
    for i in &s.instead {
        let list: Vec<String> = i.points.iter().map(|p| (p + 1).to_string()).collect();
        let stops = lockout::stops_in_words(&i.point.stops);
        r.item(format!(
            "One lock instead of points {}: {}, {} ({}). It takes away {}.{}{stops}",
            list.join(", "),
            i.point.what,
            i.point.place,
            i.point.lock,
            takes(&i.point),
            if stops.is_empty() { "" } else { " " },
        ));
    }
    if !s.valves.is_empty() {
        r.text("Close and lock, in this order (write each valve's tag in):");
        let mut t = Table::new(&["No.", "Valve", "Tag", "Lock"]);
        for (i, v) in s.valves.iter().enumerate() {
            t.row([(i + 1).to_string(), v.what.to_owned(), "__________".to_owned(), v.lock.to_owned()]);
        }
        r.table(t);
    }
}

/// The pairs to measure.
fn measured(r: &mut Report, s: &Sheet) {
    if s.tests.iter().any(|t| t.incoming) {
        r.text("Test for absence of voltage at the point of work, 0 V wanted at each:");
        for x in &s.measuring {
            r.item(x);
        }
        r.table(pairs(s));
    }
}

/// What hangs on the machine.
fn card(r: &mut Report, s: &Sheet, u: In) {
    head(r, s);
    let steps = |r: &mut Report, clause: &str| {
        for task in s.steps.iter().filter(|x| x.clause == clause).flat_map(|x| &x.tasks) {
            r.item(u.prose(task));
        }
    };
    let stops = lockout::stops_in_words(&s.stops);
    if !stops.is_empty() {
        r.item(u.prose(&format!("STOPS BESIDES: {stops}")));
    }
    let volts = |(i, x): (usize, &lockout::Source)| format!("V{} {} V", i + 1, x.volts_written);
    if !s.sources.is_empty() {
        r.item(format!("SOURCES: {}", s.sources.iter().enumerate().map(volts).collect::<Vec<_>>().join(", ")));
    }
    steps(r, "(d)(2)");
    isolation(r, s);
    for x in &s.stays_live {
        r.item(u.prose(&format!("STAYS LIVE: {x}")));
    }
    steps(r, "(d)(5)");
    steps(r, "(d)(6)");
    measured(r, s);
}

fn sheet(r: &mut Report, s: &Sheet, u: In) {
    head(r, s);
    r.text("Electric sources:");
    let mut t = Table::new(&["No.", "Source", ">V", "Can stand on", "Through", "Foreign"]);
    for (i, x) in s.sources.iter().enumerate() {
        t.row([
            format!("V{}", i + 1),
            x.what.clone(),
            x.volts_written.clone(),
            by_device(x.terminals.iter().map(String::as_str)).join("; "),
            if x.through.is_empty() { "joined".into() } else { x.through.join(" ") },
            if x.foreign { "YES" } else { "no" }.into(),
        ]);
    }
    r.table(t);
    isolation(r, s);
    for (i, p) in s.points.iter().enumerate() {
        let told = lockout::stops_in_words(&p.stops);
        if !told.is_empty() {
            r.item(format!("Point {} stops more than this item. {told}", i + 1));
        }
    }
    for x in &s.stays_live {
        r.item(u.prose(&format!("Stays live: {x}")));
    }
    r.text("Steps (29 CFR 1910.147; for work on electrical parts 1910.333(b)(2) governs, from memory):");
    let mut t = Table::new(&["Step", "What to do", "Done"]);
    for x in &s.steps {
        for (i, task) in x.tasks.iter().enumerate() {
            let head = if i == 0 { format!("{} {}", x.clause, x.heading) } else { String::new() };
            t.row([head, u.prose(task), "[ ]".to_owned()]);
        }
    }
    r.table(t);
    measured(r, s);
}

/// Terminals device by device: "E1: L 11 12".
fn by_device<'a>(names: impl Iterator<Item = &'a str>) -> Vec<String> {
    let mut list: Vec<(String, Vec<&str>)> = Vec::new();
    for name in names {
        let (tag, mark) = name.split_once(':').unwrap_or((name, ""));
        match list.iter_mut().find(|(t, _)| t == tag) {
            Some((_, marks)) => marks.push(mark),
            None => list.push((tag.to_owned(), vec![mark])),
        }
    }
    list.into_iter().map(|(tag, marks)| format!("{tag}: {}", marks.join(" "))).collect()
}

/// Terminals of one device that are measured each against the other and each against one ground.
struct Together<'a> {
    marks: Vec<&'a str>,
    ground: &'a str,
    sources: &'a [usize],
}

/// Where terminals of one device are measured each to the other and each to ground, that is said in one line.
fn together<'a>(tests: &[&'a Test]) -> Vec<(usize, Together<'a>)> {
    let to_ground = |at: &str| tests.iter().find(|t| !is_pair(t.between) && t.at == at);
    let joined = |a: &str, b: &str, sources: &[usize]| {
        tests.iter().any(|t| {
            is_plain(t.between) && t.sources == sources && (t.at == a && t.against == b || t.at == b && t.against == a)
        })
    };
    let mut taken: Vec<&str> = Vec::new();
    let mut out = Vec::new();
    for (i, t) in tests.iter().enumerate().filter(|(_, t)| is_plain(t.between)) {
        let tag = t.at.split_once(':').map(|x| x.0);
        if tag != t.against.split_once(':').map(|x| x.0) || taken.contains(&t.at.as_str()) {
            continue;
        }
        let Some(ground) = to_ground(&t.at).map(|g| g.against.as_str()) else { continue };
        let mut marks = vec![t.at.as_str()];
        for other in tests.iter().filter(|o| is_plain(o.between)).flat_map(|o| [o.at.as_str(), o.against.as_str()]) {
            let grounded = to_ground(other).is_some_and(|g| g.against == ground);
            if grounded && !taken.contains(&other) && marks.iter().all(|m| *m != other && joined(m, other, &t.sources))
            {
                marks.push(other);
            }
        }
        if marks.len() > 1 {
            taken.extend(&marks);
            out.push((i, Together { marks, ground, sources: &t.sources }));
        }
    }
    out
}

/// Pairs of one kind on one device in a line.
fn pairs(s: &Sheet) -> Table {
    let mut t = Table::new(&["Measure", "At", "Against", "Would show"]);
    let first: Vec<&Test> = s.tests.iter().filter(|t| t.incoming).collect();
    let bundles = together(&first);
    let mark = |name: &str| name.split_once(':').map_or_else(|| name.to_owned(), |x| x.1.to_owned());
    for (i, b) in &bundles {
        let tag = first[*i].at.split_once(':').map_or("", |a| a.0);
        t.row([
            "each other, ground".to_owned(),
            format!("{tag}: {}", b.marks.iter().map(|m| mark(m)).collect::<Vec<_>>().join(", ")),
            b.ground.to_owned(),
            numbers(b.sources),
        ]);
    }
    let told = |x: &&&Test| {
        bundles.iter().any(|(_, b)| {
            let holds = |m: &str| b.marks.contains(&m);
            holds(&x.at) && (is_plain(x.between) && holds(&x.against) && x.sources == b.sources)
                || holds(&x.at) && !is_pair(x.between) && x.against == b.ground && x.sources == b.sources
        })
    };
    let mut list: Vec<(&Test, Vec<String>)> = Vec::new();
    for x in first.iter().filter(|x| !told(x)).copied() {
        let (tag, mark) = x.at.split_once(':').unwrap_or((&x.at, ""));
        let far = x.against.strip_prefix(&format!("{tag}:"));
        let one = |y: &Test| {
            let same =
                y.at.split_once(':').map(|a| a.0) == Some(tag) && y.between == x.between && y.sources == x.sources;
            // Against one terminal: a list of terminals; else a list of pairs on one device.
            same && (y.against == x.against || is_pair(x.between) && far.is_some())
        };
        let text = match far {
            Some(far) if is_pair(x.between) => format!("{mark} - {far}"),
            _ => mark.to_owned(),
        };
        match list.iter_mut().find(|(y, _)| one(y)) {
            Some((_, all)) => all.push(text),
            None => list.push((x, vec![text])),
        }
    }
    for (x, all) in list {
        let tag = x.at.split_once(':').map_or("", |a| a.0);
        let pair = is_pair(x.between) && x.against.starts_with(&format!("{tag}:"));
        t.row([
            between(x.between).to_owned(),
            format!("{tag}: {}", all.join(", ")),
            if pair { "each other".into() } else { x.against.clone() },
            numbers(&x.sources),
        ]);
    }
    t
}

fn is_pair(b: Between) -> bool {
    !matches!(b, Between::PhaseToGround | Between::NeutralToGround)
}

/// Two conductors of one supply.
fn is_plain(b: Between) -> bool {
    matches!(b, Between::PhaseToPhase | Between::PhaseToNeutral | Between::AcrossSupply)
}

/// What is measured, in words.
fn between(b: Between) -> &'static str {
    match b {
        Between::PhaseToPhase => "phase to phase",
        Between::AcrossSupply => "across the supply",
        Between::PhaseToNeutral => "phase to neutral",
        Between::PhaseToGround => "phase to ground",
        Between::NeutralToGround => "neutral to ground",
        Between::AcrossContact => "across the contact",
        Between::AcrossOpen => "across, contact open",
    }
}

/// How to read a sheet.
const LEGEND: [&str; 7] = [
    "V1, V2 and so on number the electric sources of one sheet. Each is found by following the plan's conductors with every \
     contact taken as closed.",
    "Through: the devices whose contacts lie between; 'joined' means that no contact lies between.",
    "Foreign YES: it comes from another circuit than the item's own and stays when only the item's own switch is open.",
    "Takes away: the sources that are gone once this point is open, and machines that can no longer start.",
    "One terminal of a terminal block stands for all under its jumper bar. 'Ground bar' is the bar of that enclosure.",
    "'Each other, ground': every terminal of the line against every other of it, and each against ground.",
    "Of many pairs to measure those are printed at which a source comes in, where its conductors from the field land; --format json \
     lists every pair, these first.",
];
/// The same where there is a controller.
const CONTROLLER: &str = "The controller's own inputs and sensors carry up to 24 V of Class 2 and are not listed.";
