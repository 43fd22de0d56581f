//! From the bytes of a file to the plant that they mean, or every fault that stands in the way.
//!
//! Order: bytes to text, text to tables (a parser that goes on past faults), tables to sections, then what only the whole
//! file can tell: ids that name nothing, pumps that nobody uses, safeties of the wrong scope. Limits: a file of at most
//! 16 MB and 64 levels; at most 100 faults are shown.

use super::{
    checked::{Control, Plant, Pump},
    cursor::{Ctx, Cursor, nearest},
    file,
    in_sight::in_sight,
    odd::odd,
    places::Places,
    quantity::{self, Flow},
    syntax,
    whole::{Users, whole},
};
use crate::{
    finding::{Finding, Source},
    names::Names,
};
use heatwright_core::{
    BoilerId, PumpId, SafetyId, ScheduleId, Severity, Subject, ZoneId,
    config::{BoilerPump, PumpRole, SafetyCircuit, SafetyScope, ZoneDrive},
};
use toml::de::DeTable;

/// Largest file.
const BYTES_MAX: usize = 16 << 20;
/// Deepest nesting of tables and lists; deeper ones are no plant file.
const DEPTH_MAX: usize = 64;
/// Most faults that are shown.
const SHOWN_MAX: usize = 100;

/// A plant and what findings need to point into its file.
#[derive(Clone, Debug)]
pub struct Read {
    /// The plant.
    pub plant: Plant,
    /// Its names.
    pub names: Names,
    /// Where things stand in the file.
    pub places: Places,
    /// The file.
    pub source: Source,
    /// What does not stand in the way.
    pub notes: Vec<Finding>,
}

/// Findings that stand in the way, with the file that they point into.
#[derive(Clone, Debug)]
pub struct Refusal {
    /// Why.
    pub findings: Vec<Finding>,
    /// The file, when it could be read as text.
    pub source: Option<Source>,
}

impl Refusal {
    /// Findings that point into no file.
    pub fn bare(findings: Vec<Finding>) -> Self {
        Self { findings, source: None }
    }

    /// As text for the error stream.
    pub fn render(&self, look: crate::finding::Look) -> String {
        crate::finding::render(&self.findings, self.source.as_ref(), look)
    }
}

/// Reads a plant file. `label` is what to call it in messages.
pub fn read(label: &str, bytes: &[u8]) -> Result<Read, Refusal> {
    let bare = |f: Finding| Refusal { findings: vec![f], source: None };
    let plain = |code, sentence: String| Finding::new(code, Severity::Error, Subject::Plant, sentence);
    if bytes.len() > BYTES_MAX {
        return Err(bare(
            plain(
                "P50",
                format!("{label} is {} MB large; a plant file is at most {} MB", bytes.len() >> 20, BYTES_MAX >> 20),
            )
            .hint("see that this is the plant file"),
        ));
    }
    let text = match std::str::from_utf8(bytes) {
        Ok(t) => t,
        Err(e) => {
            let line = bytes.iter().take(e.valid_up_to()).filter(|b| **b == b'\n').count() + 1;
            return Err(bare(
                plain("P51", format!("{label} is not text: line {line} holds bytes that are not UTF-8"))
                    .note(format!("the first of them is byte {} of the file", e.valid_up_to() + 1))
                    .hint("save it as UTF-8 from an editor; 'heatwright init' writes a file to start from"),
            ));
        }
    };
    let source = Source { label: label.to_owned(), text: text.to_owned() };
    if text.trim_start_matches('\u{feff}').trim().is_empty() {
        return Err(bare(
            plain("P52", format!("{label} is empty")).hint("'heatwright init' writes a file to start from"),
        ));
    }
    if let Some(at) = too_deep(text) {
        return Err(Refusal {
            findings: vec![
                plain("P53", format!("lists or tables stand more than {DEPTH_MAX} deep in each other")).at(at..at + 1),
            ],
            source: Some(source),
        });
    }
    let ctx = Ctx::default();
    let (table, errors) = DeTable::parse_recoverable(text);
    let broken = syntax::faults(text, &errors);
    let root = Cursor::root(&ctx, table.get_ref());
    let plant = assemble(&root);
    let mut findings = ctx.findings.into_inner();
    if !broken.is_empty() {
        // What is missing may stand in the part that could not be read: only what was read is judged.
        findings.retain(|f| ["P01", "P03", "P04", "P05", "P06", "P07", "P09", "P10"].contains(&f.code.as_ref()));
        findings.extend(broken);
    }
    let wrong: Vec<Finding> = {
        let places = ctx.places.borrow();
        findings = findings.into_iter().map(|f| f.place(&places)).collect();
        findings.sort_by_key(|f| (f.span.as_ref().map_or(usize::MAX, |s| s.start), f.severity != Severity::Error));
        findings.iter().filter(|f| f.severity == Severity::Error).cloned().collect()
    };
    if !wrong.is_empty() {
        let more = wrong.len().saturating_sub(SHOWN_MAX);
        let mut shown: Vec<Finding> = wrong.into_iter().take(SHOWN_MAX).collect();
        if more > 0 {
            shown.push(plain("P55", format!("{more} more faults are not shown")).hint("mend these first"));
        }
        return Err(Refusal { findings: shown, source: Some(source) });
    }
    Ok(Read { plant, names: ctx.names.into_inner(), places: ctx.places.into_inner(), source, notes: findings })
}

/// The first byte that stands too deep, counting brackets outside texts and comments roughly: a guard, not a parser.
fn too_deep(text: &str) -> Option<usize> {
    let mut depth = 0usize;
    let mut quoted: Option<u8> = None;
    let mut comment = false;
    for (i, b) in text.bytes().enumerate() {
        match (comment, quoted, b) {
            (true, _, b'\n') => comment = false,
            (true, ..) => {}
            (_, Some(q), b) if b == q || b == b'\n' => quoted = None,
            (_, Some(_), _) => {}
            (_, None, b'"' | b'\'') => quoted = Some(b),
            (_, None, b'#') => comment = true,
            (_, None, b'[' | b'{') => depth += 1,
            (_, None, b']' | b'}') => depth = depth.saturating_sub(1),
            _ => {}
        }
        if depth > DEPTH_MAX {
            return Some(i);
        }
    }
    // Dotted keys nest too: a line with very many dots before its equals sign.
    let mut at = 0;
    for line in text.split_inclusive('\n') {
        let key = line.split('=').next().unwrap_or("");
        if !key.trim_start().starts_with('#') && key.matches('.').count() > DEPTH_MAX && !key.contains('"') {
            return Some(at);
        }
        at += line.len();
    }
    None
}

/// Reads every section and resolves what names what.
pub(super) fn assemble(root: &Cursor<'_>) -> Plant {
    use file::{boilers, power, pumps, safeties, schedules, settings, site, tank, water, zones};
    let the_site = site::site(root);
    let the_power = power::power(root, &the_site);
    let code = site::code(root);
    let fluid = site::fluid(root);
    let carries_j_l_k = super::carrier::j_l_k(&super::lower::sim::fluid(&fluid));
    let header = site::header(root);
    let panel = site::panel(root);
    let starter_panel = power::starter_panel(root, &panel, &the_site);
    let boilers = boilers::boilers(root, &the_site, carries_j_l_k);
    let zones = zones::zones(root, &the_site, carries_j_l_k);
    let pumps_read = pumps::pumps(root, &the_site);
    let schedules = schedules::schedules(root);
    let sensors = safeties::sensors(root, &the_site);
    let safeties = safeties::safeties(root, &the_site);
    let tank = tank::tank(root, &the_site);
    let damper = tank::damper(root, &the_site);
    let (mut reset, reset_schedule) = settings::reset(root, &the_site);
    let staging = settings::staging(root, zones.len());
    let rotation = settings::rotation(root);
    let purge = settings::purge(root);
    let (guard, fallback) = settings::guard(root, &the_site);
    let alarm = site::alarm(root, &panel, &the_site);
    let automation = site::automation(root, &the_site);
    let water = water::water(root, &header, boilers.iter().map(|b| &b.0.boiler), zones.iter().map(|z| &z.0.zone));
    root.done();

    let mut pumps: Vec<Pump> = pumps_read.into_iter().map(|(_, p)| p).collect();
    let mut users = Users::default();

    let mut out_boilers = Vec::new();
    for (i, (read, c)) in boilers.into_iter().enumerate() {
        let mut b = read.boiler;
        if let Some(p) = read.pump.as_deref().and_then(|p| pump_of(&c, "pump", p)) {
            users.take(&c, p, PumpRole::Boiler(BoilerId(i as u8)), b.flow, &mut pumps);
            b.pump = match read.owner {
                file::boilers::Owner::Controller => BoilerPump::Controller(p),
                file::boilers::Owner::Boiler => BoilerPump::Boiler(p),
                file::boilers::Owner::Either => BoilerPump::Either(p),
            };
        }
        // A contact that is written and cannot be read is told already.
        let contact = b.electrical.pump_contact.is_some()
            || c.ctx.places.borrow().written(Subject::Boiler(BoilerId(i as u8)), "electrical.pump-contact");
        if !matches!(b.pump, BoilerPump::None | BoilerPump::Controller(_)) && !contact {
            c.ctx.tell(
                c.fault("pump-owner", "P34", "this boiler is to switch its pump, but no pump contact is given for it")
                    .hint("add pump-contact under its electrical data, or let the controller own the pump"),
            );
        }
        out_boilers.push(b);
    }

    let mut out_tank = None;
    if let Some((mut t, pump, c)) = tank {
        if let Some(p) = pump.as_deref().and_then(|p| pump_of(&c, "pump", p)) {
            let flow = Flow { l_s: t.coil.w / (carries_j_l_k * 20.0 / 1.8) };
            users.take(&c, p, PumpRole::Tank, flow, &mut pumps);
            t.pump = p;
        }
        if let Some((k, s)) = safeties
            .iter()
            .enumerate()
            .find(|(_, (s, _))| s.circuit == SafetyCircuit::TankLimit)
            .map(|(k, s)| (k, &s.0))
        {
            t.limit = Some(SafetyId(k as u8));
            t.limit_at = s.opens_at;
        }
        c.done();
        out_tank = Some(t);
    }

    let mut out_zones = Vec::new();
    for (i, (read, c)) in zones.into_iter().enumerate() {
        let id = ZoneId(i as u8);
        let mut z = read.zone;
        z.schedule = read.schedule.as_deref().and_then(|s| schedule_of(&c, "schedule", s));
        let pump = read.pump.as_deref().and_then(|p| pump_of(&c, "pump", p));
        if let Some(p) = pump {
            users.take(&c, p, PumpRole::Zone, z.flow, &mut pumps);
        }
        z.drive = match (z.drive, pump) {
            (ZoneDrive::Valve { .. }, pump) => ZoneDrive::Valve { pump },
            (ZoneDrive::Pump(_), Some(p)) => ZoneDrive::Pump(p),
            (ZoneDrive::Pump(p), None) => {
                if read.pump.is_none() && c.ctx.schema.is_none() {
                    c.ctx.tell(
                        c.fault(
                            "pump",
                            "P12",
                            format!("[{}] has neither a pump nor a valve: nothing moves its water", c.path),
                        )
                        .hint("add pump = \"ID OF A PUMP\", or a table for its valve"),
                    );
                }
                ZoneDrive::Pump(p)
            }
        };
        if let Some(m) = &mut z.mixing {
            let limit = safeties
                .iter()
                .enumerate()
                .find(|(_, (s, _))| s.circuit == SafetyCircuit::ZoneLimit && s.scope == SafetyScope::Zone(id));
            m.limit = limit.map(|(k, _)| SafetyId(k as u8));
            m.limit_at = limit.and_then(|(_, s)| s.0.opens_at);
        }
        c.done();
        out_zones.push(z);
    }
    for (_, c) in &safeties {
        c.done();
    }
    reset.schedule = reset_schedule.as_deref().and_then(|s| schedule_of(root, "reset.schedule", s));

    let plant = Plant {
        site: the_site,
        power: the_power,
        code,
        fluid,
        header,
        water,
        boilers: out_boilers,
        zones: out_zones,
        pumps,
        tank: out_tank,
        safeties: safeties.into_iter().map(|(s, _)| s).collect(),
        sensors,
        damper,
        schedules: schedules.into_iter().map(|(_, s)| s).collect(),
        reset,
        staging,
        rotation,
        purge,
        guard,
        fallback,
        panel,
        starter_panel,
        alarm,
        automation,
        assumptions: Vec::new(),
    };
    if root.ctx.schema.is_none() {
        whole(root, &plant, &users);
        in_sight(root, &plant);
        odd(root, &plant);
        super::limits_set::check(root, &plant);
        super::sense::check(root, &plant);
        super::doubts::check(root, &plant);
        super::guards::check(root, &plant);
    }
    let mut assumptions = root.ctx.assumptions.take();
    if plant.panel.control == Control::ZoneRelays {
        super::idle::without_controller(&mut assumptions);
    }
    Plant { assumptions, ..plant }
}

fn pump_of(c: &Cursor<'_>, key: &str, id: &str) -> Option<PumpId> {
    if c.ctx.schema.is_some() {
        return None;
    }
    match c.ctx.names.borrow().find(id) {
        Some(Subject::Pump(p)) => return Some(p),
        other => {
            let names = c.ctx.names.borrow();
            let pumps: Vec<String> =
                names.iter().filter(|(s, _)| matches!(s, Subject::Pump(_))).map(|(_, n)| n.id.clone()).collect();
            let mut f = c.fault(
                key,
                "P11",
                match other {
                    Some(thing) => {
                        format!("[{}] names `{id}` as its pump, which is {}", c.path, kind_of(thing))
                    }
                    None => format!("[{}] names the pump `{}`, which is not in the file", c.path, quantity::clip(id)),
                },
            );
            // It stands under a heading that is not known: that heading is the slip, and no other pump is meant.
            if let Some(heading) = c.ctx.astray.borrow().get(id) {
                c.ctx.tell(
                    f.hint(format!("it stands under [{heading}], which is no heading of a pump: mend that one first")),
                );
                return None;
            }
            f = match (nearest(id, pumps.iter().map(String::as_str)), other, pumps.is_empty()) {
                (Some(near), ..) => f.hint(format!("perhaps `{near}` is meant")),
                (None, Some(_), true) => f.hint("add a pump under a heading of its own, like [pump.p-one]"),
                (None, Some(_), false) => f.hint(format!("name one of: {}", pumps.join(", "))),
                (None, None, true) => f.hint(format!("add [pump.{}]", quantity::clip(id))),
                (None, None, false) => {
                    f.hint(format!("add [pump.{}], or name one of: {}", quantity::clip(id), pumps.join(", ")))
                }
            };
            c.ctx.tell(f);
        }
    }
    None
}

fn schedule_of(c: &Cursor<'_>, key: &str, id: &str) -> Option<ScheduleId> {
    if c.ctx.schema.is_some() {
        return None;
    }
    if let Some(Subject::Schedule(s)) = c.ctx.names.borrow().find(id) {
        return Some(s);
    }
    if let Some(other) = c.ctx.names.borrow().find(id) {
        let sentence = format!("`{}` is {}, not a schedule", quantity::clip(id), kind_of(other));
        c.ctx.tell(c.fault(key, "P11", sentence).hint("an id names one thing of the plant: give the schedule another"));
        return None;
    }
    let sentence = format!("`{}` is no schedule of this plant", quantity::clip(id));
    // One name that is missing is one finding, however many follow it.
    if let Some(told) = c.ctx.findings.borrow_mut().iter_mut().find(|f| f.code == "P11" && f.sentence == sentence) {
        let here = c.fault(key, "P11", "").place(&c.ctx.places.borrow());
        told.also.extend(here.span.map(|span| (span, "and here".to_owned())));
        return None;
    }
    c.ctx.tell(
        c.fault(key, "P11", sentence)
            .hints(file::near_id(c, id, |s| matches!(s, Subject::Schedule(_))))
            .hint(format!("add [schedule.{}] with its occupied hours", quantity::clip(id))),
    );
    None
}

/// What kind of thing an id names.
fn kind_of(s: Subject) -> &'static str {
    match s {
        Subject::Plant => "a contact for building automation",
        Subject::Header => "the header",
        Subject::Tank => "the tank",
        Subject::Damper => "the damper",
        Subject::Zone(_) => "a zone",
        Subject::Pump(_) => "a pump",
        Subject::Boiler(_) => "a boiler",
        Subject::Safety(_) => "a safety",
        Subject::Sensor(_) => "a sensor",
        Subject::Relay(_) => "a relay",
        Subject::Contact(_) => "a contact",
        Subject::Analog(_) => "a 0-10 V output",
        Subject::Schedule(_) => "a schedule",
    }
}
