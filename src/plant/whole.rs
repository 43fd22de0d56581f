//! What only the whole plant can tell: too many of a thing, pumps that nobody uses or two kinds of things use, relays pinned
//! twice, sensors that are missing or doubled, targets above what the boilers give.
//!
//! It decides whether the file means a plant at all, not whether the plant is a good one.

use super::{
    checked::{Control, Drive, Fallback, Plant, Pump},
    cursor::Cursor,
    quantity::{self, Flow, Quantity as _},
};
use crate::finding::Finding;
use heatwright_core::{
    BoilerId, PumpId, SafetyId, ScheduleId, SensorId, SensorUse, Severity, Subject, ZoneId,
    config::{BoilerPump, PumpRole, PurgeTo, SafetyKind, SafetyScope},
    limits,
};
use std::collections::BTreeMap;

/// Who uses which pump.
#[derive(Default)]
pub(super) struct Users {
    by: BTreeMap<u8, Vec<PumpRole>>,
}

impl Users {
    /// Notes a user, gives the pump its role, and its flow where the file gives none.
    pub(super) fn take(&mut self, c: &Cursor<'_>, p: PumpId, role: PumpRole, flow: Flow, pumps: &mut [Pump]) {
        let list = self.by.entry(p.0).or_default();
        let zone = |r: &PumpRole| *r == PumpRole::Zone;
        if let Some(first) = list.first().filter(|first| !(zone(first) && zone(&role))) {
            let what = |r: &PumpRole| match r {
                PumpRole::Zone => "a zone",
                PumpRole::Boiler(_) => "a boiler",
                PumpRole::Tank => "the tank",
            };
            c.ctx.tell(
                c.fault(
                    "pump",
                    "P13",
                    format!(
                        "the pump `{}` is named by {} and by {}",
                        c.ctx.names.borrow().pump(p),
                        what(first),
                        what(&role)
                    ),
                )
                .hint("only zones may share a pump; give each other use its own"),
            );
        }
        list.push(role);
        if let Some(pump) = pumps.get_mut(p.index()) {
            pump.role = role;
            // Zones that share a pump add up; a flow that the file gives stands.
            let written = c.ctx.places.borrow().written(Subject::Pump(p), "flow");
            if !written {
                pump.flow.l_s += flow.l_s;
            }
        }
    }
}

/// A relay of the panel serves one thing.
fn pinned_once(root: &Cursor<'_>, p: &Plant) {
    let places = root.ctx.places.borrow();
    let boilers = p.boilers.iter().enumerate().map(|(i, b)| (b.relay, Subject::Boiler(BoilerId(i as u8)), "relay"));
    let pumps = p.pumps.iter().enumerate().map(|(i, x)| (x.relay, Subject::Pump(PumpId(i as u8)), "relay"));
    let zones = p.zones.iter().enumerate().map(|(i, z)| (z.relay, Subject::Zone(ZoneId(i as u8)), "relay"));
    let damper = p.damper.iter().map(|d| (d.relay, Subject::Damper, "relay"));
    let panel = [
        (p.panel.alarm_relay, Subject::Plant, "panel.alarm-relay"),
        (p.panel.health_relay, Subject::Plant, "panel.health-relay"),
    ];
    let mut taken: BTreeMap<u8, (Subject, &str)> = BTreeMap::new();
    for (relay, subject, field) in boilers.chain(pumps).chain(zones).chain(damper).chain(panel) {
        let Some(relay) = relay else { continue };
        if let Some((first, first_field)) = taken.insert(relay.0, (subject, field)) {
            let number = u16::from(relay.0) + 1;
            let mut f = Finding::new(
                "P46",
                Severity::Error,
                subject,
                format!("relay {number} is given to two things; a relay serves one"),
            )
            .field(field)
            .label("again here")
            .hint("give one of them another relay, or leave it out and the next free one is taken");
            if let Some(span) = places.at(first, first_field) {
                f = f.also(span, "first given here");
            }
            root.ctx.tell(f);
        }
    }
}

/// What zone relays have no use for.
fn without_controller(root: &Cursor<'_>, p: &Plant) {
    let mut told = Vec::new();
    if !p.sensors.is_empty() {
        told.push((Subject::Sensor(SensorId(0)), None, "a sensor has nobody who reads it", "take the sensors out"));
    }
    if p.alarm.is_some() {
        told.push((Subject::Plant, Some("alarm"), "an alarm beacon has no alarm relay", "take [alarm] out"));
    }
    if !p.automation.is_empty() {
        told.push((Subject::Plant, None, "building automation is shown nothing", "take [automation] out"));
    }
    for (i, b) in p.boilers.iter().enumerate() {
        if b.drive != Drive::DemandOnly {
            let about = Subject::Boiler(BoilerId(i as u8));
            told.push((
                about,
                Some("drive"),
                "a boiler is told nothing over 0-10 V",
                "write drive = \"demand\" and set its own reset",
            ));
        }
    }
    for (i, z) in p.zones.iter().enumerate() {
        if z.mixing.is_some() {
            let about = Subject::Zone(ZoneId(i as u8));
            let hint = "give the zone a self-acting mixing valve and take `mixing` out, or use a controller";
            told.push((about, Some("mixing"), "a motor-driven mixing valve gets no signal", hint));
        }
    }
    if p.fallback != Fallback::None {
        let hint = "write fallback = \"none\", or leave it out";
        told.push((Subject::Plant, Some("guard.fallback"), "no controller can die, so nothing falls back", hint));
    }
    super::idle::told(root);
    for (about, field, what, hint) in told {
        let mut f =
            Finding::new("P62", Severity::Error, about, format!("without a controller (`panel.control`) {what}"));
        if let Some(field) = field {
            f = f.field(field);
        }
        root.ctx.tell(f.hint(hint));
    }
}

/// What only the whole file can tell.
pub(super) fn whole(root: &Cursor<'_>, p: &Plant, users: &Users) {
    let tell = |f: Finding| root.ctx.tell(f);
    let error = |code, subject, sentence: String| Finding::new(code, Severity::Error, subject, sentence);
    if p.boilers.is_empty() {
        tell(
            error("P14", Subject::Plant, "the plant has no boilers".into())
                .hint("add one under a heading like [boiler.b1]"),
        );
    }
    if p.zones.is_empty() {
        tell(
            error("P15", Subject::Plant, "the plant has no zones".into())
                .hint("add one under a heading like [zone.hall]"),
        );
    }
    for (what, count, room, first_past) in [
        ("boilers", p.boilers.len(), limits::BOILERS, Subject::Boiler(BoilerId(limits::BOILERS as u8))),
        ("zones", p.zones.len(), limits::ZONES, Subject::Zone(ZoneId(limits::ZONES as u8))),
        ("pumps", p.pumps.len(), limits::PUMPS, Subject::Pump(PumpId(limits::PUMPS as u8))),
        ("safeties", p.safeties.len(), limits::SAFETIES, Subject::Safety(SafetyId(limits::SAFETIES as u8))),
        ("sensors", p.sensors.len(), limits::SENSORS, Subject::Sensor(SensorId(limits::SENSORS as u8))),
        ("schedules", p.schedules.len(), limits::SCHEDULES, Subject::Schedule(ScheduleId(limits::SCHEDULES as u8))),
    ] {
        // Pumps come with their zones: a plant with too many zones is told once.
        let with_zones = what == "pumps" && p.zones.len() > limits::ZONES;
        if count > room && !with_zones {
            tell(
                error("P08", first_past, format!("the plant has {count} {what}; one controller holds {room}"))
                    .label("the first that finds no room")
                    .hint(if what == "zones" {
                        "make it several plant files of so many zones each, each with its controller and boilers; zones that always \
                         call together may be one zone"
                    } else {
                        "split the plant between two controllers"
                    }),
            );
        }
    }
    // A pump is also without users when a name in a user is misspelled or its user cannot be read; then that is the fault.
    let misnamed = {
        let causes = ["P01", "P02", "P03", "P10", "P11", "P12", "P13", "P14", "P15"];
        root.ctx.findings.borrow().iter().any(|f| causes.contains(&f.code.as_ref()))
    };
    for i in 0..if misnamed { 0 } else { p.pumps.len() } {
        let id = PumpId(i as u8);
        if !users.by.contains_key(&id.0) {
            tell(
                error(
                    "P16",
                    Subject::Pump(id),
                    format!("nothing uses the pump `{}`", root.ctx.names.borrow().pump(id)),
                )
                .hint("name it in a zone, a boiler or the tank, or take it out"),
            );
        }
    }
    pinned_once(root, p);
    let mut measured = BTreeMap::new();
    for (i, s) in p.sensors.iter().enumerate() {
        let id = SensorId(i as u8);
        if s.measures == SensorUse::Tank && p.tank.is_none() {
            tell(error(
                "P17",
                Subject::Sensor(id),
                format!(
                    "the sensor `{}` measures a tank that the plant does not have",
                    root.ctx.names.borrow().sensor(id)
                ),
            ));
        }
        let key = format!("{:?}", s.measures);
        if s.measures != SensorUse::Spare && measured.insert(key, id).is_some() {
            tell(
                error(
                    "P17",
                    Subject::Sensor(id),
                    format!(
                        "the sensor `{}` measures what another one measures already",
                        root.ctx.names.borrow().sensor(id)
                    ),
                )
                .hint("leave one of them out"),
            );
        }
    }
    let controlled = p.panel.control == Control::Controller;
    if !controlled {
        without_controller(root, p);
    }
    // A word for the control that is not known is the fault; what it would need is not.
    let known =
        !root.ctx.findings.borrow().iter().any(|f| f.code == "P07" && f.field.as_deref() == Some("panel.control"));
    for needed in [SensorUse::Outdoor, SensorUse::Supply].into_iter().filter(|_| controlled && known) {
        if !p.sensors.iter().any(|s| s.measures == needed) && !p.boilers.is_empty() {
            let word = if needed == SensorUse::Outdoor { "outdoor" } else { "supply" };
            tell(
                error(
                    "P18",
                    Subject::Plant,
                    format!("no sensor measures {word} temperature; the reset curve needs it"),
                )
                .hint(format!("add [sensor.{word}] with measures = \"{word}\"")),
            );
        }
    }
    for (i, z) in p.zones.iter().enumerate() {
        let id = ZoneId(i as u8);
        if z.mixing.is_some() && !p.sensors.iter().any(|s| s.measures == SensorUse::Mixed(id)) {
            tell(
                error(
                    "P18",
                    Subject::Zone(id),
                    format!("zone `{}` has a mixing valve and no sensor behind it", root.ctx.names.borrow().zone(id)),
                )
                .hint(format!(
                    "add a sensor with measures = \"mixed\" and of = \"{}\"",
                    root.ctx.names.borrow().zone(id)
                )),
            );
        }
    }
    if p.purge.to == PurgeTo::Tank && p.tank.is_none() {
        tell(
            error("P19", Subject::Plant, "`purge.to` is the tank, but the plant has no tank".into())
                .field("purge.to")
                .hint("write none or the id of a zone, or add [tank]"),
        );
    }
    if let PurgeTo::Zone(z) = p.purge.to
        && p.zones.get(z.index()).is_some_and(|z| z.mixing.is_some())
    {
        tell(
            error(
                "P19",
                Subject::Plant,
                "`purge.to` is a low-temperature zone; hot boiler water must not go there".into(),
            )
            .field("purge.to")
            .hint("name a zone without a mixing valve, or the tank"),
        );
    }
    if let Some(z) = p.purge.otherwise
        && p.zones.get(z.index()).is_some_and(|z| z.mixing.is_some())
    {
        tell(
            error(
                "P19",
                Subject::Plant,
                "`purge.otherwise` is a low-temperature zone; hot boiler water must not go there".into(),
            )
            .field("purge.otherwise")
            .hint("name a zone without a mixing valve, or leave it out"),
        );
    }
    for (i, s) in p.safeties.iter().enumerate() {
        if s.scope == SafetyScope::Tank && p.tank.is_none() {
            tell(error(
                "P33",
                Subject::Safety(SafetyId(i as u8)),
                "this safety stops a tank that the plant does not have".into(),
            ));
        }
        if s.kind == SafetyKind::DamperSwitch && p.damper.is_none() {
            tell(
                error(
                    "P33",
                    Subject::Safety(SafetyId(i as u8)),
                    "this switch proves a damper that the plant does not have".into(),
                )
                .field("kind")
                .hint("describe the damper in [damper], or take this safety out"),
            );
        }
    }
    if p.boilers.iter().any(|b| b.pump == BoilerPump::None)
        && p.boilers.len() > 1
        && !p.boilers.iter().all(|b| b.pump == BoilerPump::None)
    {
        tell(error(
            "P35",
            Subject::Plant,
            "some boilers have a pump of their own and some have none; give every one its pump".into(),
        ));
    }
    let hot = p.boilers.iter().map(|b| b.outlet_max.c).fold(f64::INFINITY, f64::min);
    if p.reset.supply_max.c > hot {
        tell(
            error(
                "P44",
                Subject::Plant,
                format!(
                    "`reset.supply-max` is {}, above the highest target of a boiler, {}",
                    p.reset.supply_max.show_both(),
                    quantity::Temp { c: hot }.show_both()
                ),
            )
            .field("reset.supply-max")
            .hint("lower supply-max, or raise outlet-max of the boilers"),
        );
    }
}

#[cfg(test)]
mod tests {
    use crate::plant::read::read;
    use heatwright_core::{SafetyId, Subject};

    /// Without it neither the controller knows how long to wait for the proof nor the simulator what moves the blade.
    #[test]
    fn a_damper_switch_without_a_damper_is_named_with_its_line() {
        let library = include_str!("../../docs/examples/library.toml");
        let from = library.find("\n[damper]").expect("the library has one") + 1;
        let length = library[from..].find("\n[").expect("more follows");
        let without = format!("{}{}", &library[..from], &library[from + length + 1..]);
        let refused = read("plant.toml", without.as_bytes()).expect_err("it is refused");
        let [f] = &refused.findings[..] else { panic!("{:?}", refused.findings) };
        let switch = library.split("\n[safety.").skip(1).position(|s| s.starts_with("damper-open]"));
        assert_eq!((&*f.code, Some(f.subject)), ("P33", switch.map(|i| Subject::Safety(SafetyId(i as u8)))));
        let line = f.span.clone().map(|s| &without[s]).unwrap_or_default();
        assert!(line.contains("damper-switch"), "{f:?}");
        assert!(f.hints.iter().any(|h| h.contains("[damper]")), "{f:?}");
    }
}
