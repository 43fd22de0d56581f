//! Entries that are each in their range and cannot be meant together: water that the plant's own parts do not fit into, a fallback that
//! turns the heat off, a tank colder than its taps, glycol that freezes, a motor that gives more than it takes.
//!
//! An error is what leaves the plant without heat, hides another finding or contradicts physics; a warning what is probably a slip.
//! Bounds are our choice where no source is named. What needs the curve is looked at in [`told`](super::told).

use super::{
    checked::{Control, Drive, Glycol, Plant, Tank},
    cursor::Cursor,
    quantity::{Amps, HorsePower, Power, Quantity as _, Temp, Volts, Volume},
};
use crate::finding::Finding;
use heatwright_core::{
    PumpId, SafetyId, Severity, Subject, ZoneId,
    config::{PurgeTo, SafetyCircuit},
};

/// A written volume below this share of what the file's own parts hold is no rounding.
const VOLUME_SHARE: f64 = 0.9;
/// A sensor that sits in water or outdoors is allowed to stand still for so long, in seconds.
const FROZEN_LEAST_S: f64 = 300.0;
/// Glycol below this share protects little and keeps badly: common practice, no source.
const GLYCOL_LEAST: f64 = 0.2;
/// Glycol that freezes this far above the design temperature is a slip, in kelvin.
const FREEZE_OVER_K: f64 = 10.0;
/// Heating that is still off at this share of the design loss comes too late.
const OFF_SHARE: f64 = 0.4;
/// Below so many degrees outdoors half of that share is too late: 60 to 65 °F is usual (common practice, no source), 50 °F (10 °C) is a slip.
const OFF_COLD_C: f64 = 10.0;
/// Priority of the tank that ends so few kelvins below warm-weather shutdown is hardly ever there.
const PRIORITY_SPAN_K: f64 = 8.0;

/// Freezing points by mass of 0, 10 ... 60 % in degrees Celsius (ASHRAE Fundamentals, physical properties of secondary coolants; from
/// memory).
const PROPYLENE_C: [f64; 7] = [0.0, -3.3, -7.1, -12.7, -21.1, -33.5, -51.1];
const ETHYLENE_C: [f64; 7] = [0.0, -3.2, -7.8, -14.1, -22.3, -33.8, -48.3];

/// Freezing point of a mixture in degrees Celsius, linear between the rows.
fn freezes_c(glycol: Glycol, share: f64) -> f64 {
    let table = match glycol {
        Glycol::None => return 0.0,
        Glycol::Propylene => PROPYLENE_C,
        Glycol::Ethylene => ETHYLENE_C,
    };
    let at = (share * 10.0).clamp(0.0, 6.0);
    let row = (at.floor() as usize).min(5);
    let (a, b) = (table.get(row).copied().unwrap_or(0.0), table.get(row + 1).copied().unwrap_or(0.0));
    a + (b - a) * (at - row as f64)
}

/// All of it.
pub(super) fn check(root: &Cursor<'_>, p: &Plant) {
    let tell = |f: Finding| root.ctx.tell(f);
    volume(p).into_iter().for_each(tell);
    glycol(p).into_iter().for_each(tell);
    poison(p).into_iter().for_each(tell);
    season(p).into_iter().for_each(tell);
    purge(p).into_iter().for_each(tell);
    if let Some(t) = &p.tank {
        tank(p, t).into_iter().for_each(tell);
    }
    super::rates::check(p).into_iter().for_each(tell);
    // Amps that are missing are told as such; nothing is judged by what stands in for them.
    let unrated = |s: Subject| root.ctx.findings.borrow().iter().any(|f| f.code == "P25" && f.subject == s);
    motors(p).into_iter().filter(|f| !unrated(f.subject)).for_each(tell);
    idle(root, p).into_iter().for_each(tell);
    unheard(p).into_iter().for_each(tell);
    for (i, z) in p.zones.iter().enumerate() {
        if z.gains.w > z.design_loss.w {
            tell(
                Finding::new(
                    "P76",
                    Severity::Warning,
                    Subject::Zone(ZoneId(i as u8)),
                    format!(
                        "its gains, {}, are more than it loses at design, {}: it never needs heat while it is occupied",
                        z.gains.show_both(),
                        z.design_loss.show_both()
                    ),
                )
                .field("gains")
                .hint("see gains and design-loss: one of them is probably a slip"),
            );
        }
    }
}

fn volume(p: &Plant) -> Option<Finding> {
    let parts_l = super::file::water::parts_l(&p.header, p.boilers.iter(), p.zones.iter());
    let sentence = format!(
        "`water.volume` is {}, and boilers, mains and emitters of this file hold {} already: the expansion tank would be judged too lightly",
        p.water.volume.show_both(),
        Volume { l: parts_l }.show_both()
    );
    (p.water.volume.l < VOLUME_SHARE * parts_l).then(|| {
        Finding::new("P75", Severity::Error, Subject::Plant, sentence)
            .field("water.volume")
            .hint("leave it out to have the parts added up, or write all water of the plant, branch pipes included")
    })
}

fn glycol(p: &Plant) -> Option<Finding> {
    let (share, design) = (p.fluid.share.of_one, p.site.outdoor_design);
    let freezes = Temp { c: freezes_c(p.fluid.glycol, share) };
    if p.fluid.glycol == Glycol::None || freezes.c <= design.c {
        return None;
    }
    let weak = share < GLYCOL_LEAST || freezes.c > design.c + FREEZE_OVER_K;
    let sentence = format!(
        "glycol of {} freezes at {}, warmer than the outdoor design temperature of {}",
        p.fluid.share.show_both(),
        freezes.show_both(),
        design.show_both()
    );
    let hint = "where water can stand in the cold, take more; slush bursts no pipe at once: the maker's table says how far down it holds";
    let f = if weak {
        Finding::new("P66", Severity::Warning, Subject::Plant, sentence)
    } else {
        Finding::new("P66", Severity::Note, Subject::Plant, sentence)
    };
    Some(f.field("fluid.share").hint(hint))
}

/// Ethylene glycol behind the wall of a coil from drinking water. IPC 608.17.3 (from memory): a heat exchanger with an essentially
/// toxic fluid has a double wall that is vented.
fn poison(p: &Plant) -> Option<Finding> {
    (p.fluid.glycol == Glycol::Ethylene && p.tank.is_some()).then(|| {
        Finding::new(
            "P79",
            Severity::Warning,
            Subject::Plant,
            "ethylene glycol is poisonous, and one wall of the tank's coil parts it from drinking water",
        )
        .field("fluid.kind")
        .hint("fill propylene glycol of food grade, or a tank whose coil has a vented double wall; local plumbing codes rule")
    })
}

/// Warm-weather shutdown, the outdoor fallback, still sensors.
fn season(p: &Plant) -> Vec<Finding> {
    let (r, g) = (&p.reset, &p.guard);
    let mut out = Vec::new();
    let back = Temp { c: r.warm_weather_off.c - r.warm_weather_differential.k };
    if r.outdoor_fallback.c > back.c {
        let sentence = format!(
            "with its outdoor sensor broken the plant takes {} for granted, and comes on below {} only: it would not heat in January",
            r.outdoor_fallback.show_both(),
            back.show_both()
        );
        out.push(
            Finding::new("P67", Severity::Error, Subject::Plant, sentence)
                .field("reset.outdoor-fallback")
                .hint("leave it out: then the outdoor design temperature is taken, and nobody freezes"),
        );
    }
    // Share of the design loss that the coolest zone has when heating comes back.
    let share = |z: &super::checked::Zone| {
        let full = z.room.c - p.site.outdoor_design.c;
        let loss = z.design_loss.w * (z.room.c - back.c) / full.max(1.0) - z.gains.w;
        loss / z.design_loss.w.max(1e-9)
    };
    let worst = p.zones.iter().map(share).fold(0.0, f64::max);
    if worst > OFF_SHARE || (r.warm_weather_off.c < OFF_COLD_C && worst > OFF_SHARE / 2.0) {
        let sentence = format!(
            "heating comes back below {} only ({} less {}): a zone then loses {:.0} % of its design loss and gets nothing",
            back.show_both(),
            r.warm_weather_off.show_both(),
            r.warm_weather_differential.show_both(),
            worst * 100.0
        );
        out.push(
            Finding::new("P68", Severity::Warning, Subject::Plant, sentence)
                .field("reset.warm-weather-off")
                .hint("60 to 65 °F and a differential of 2 to 5 °F are usual (common practice, no source)"),
        );
    }
    if g.frozen_after.s > 0.0 && g.frozen_after.s < FROZEN_LEAST_S {
        let sentence = format!(
            "a sensor is taken for broken once it stands still for {}: sound ones do that all the time, and each raises the alarm",
            g.frozen_after.show_both()
        );
        out.push(
            Finding::new("P69", Severity::Error, Subject::Plant, sentence)
                .field("guard.frozen-after")
                .hint("30 min is taken where it is left out; 0 s: no check"),
        );
    }
    out
}

fn purge(p: &Plant) -> Option<Finding> {
    let (until, hottest) = (p.purge.until, p.reset.supply_max);
    let sentence = format!(
        "the purge ends once the supply is down to {}, and the curve never asks for more than {}: it ends before it begins",
        until.show_both(),
        hottest.show_both()
    );
    (p.purge.to != PurgeTo::None && until.c >= hottest.c).then(|| {
        Finding::new("P70", Severity::Error, Subject::Plant, sentence)
            .field("purge.until")
            .hint("lower it: 110 °F is taken where it is left out")
    })
}

fn tank(p: &Plant, t: &Tank) -> Vec<Finding> {
    let mut out = Vec::new();
    let mut wrong = |field: &'static str, sentence: String, hint: &str| {
        out.push(Finding::new("P71", Severity::Error, Subject::Tank, sentence).field(field).hint(hint));
    };
    if t.tap.c <= t.cold.c {
        let sentence = format!(
            "water at the tap (`tank.tap`), {}, is no warmer than the cold water (`tank.cold`), {}",
            t.tap.show_both(),
            t.cold.show_both()
        );
        wrong("tap", sentence, "see whether the two are exchanged");
    }
    if t.aquastat.c < t.tap.c {
        let sentence = format!(
            "the tank is held at {} (`tank.aquastat`) and its taps want {} (`tank.tap`): it never has it",
            t.aquastat.show_both(),
            t.tap.show_both()
        );
        wrong("aquastat", sentence, "raise the aquastat above the tap by more than its differential, or lower tap");
    }
    // A limit below the aquastat itself is told by its own finding.
    if let Some(limit) = t.limit_at.filter(|l| t.aquastat.c < l.c && t.purge_max.c >= l.c) {
        let sentence = format!(
            "purge heat goes into the tank up to {} (`tank.purge-max`), past its limit of {}: each purge ends in a trip",
            t.purge_max.show_both(),
            limit.show_both()
        );
        wrong(
            "purge-max",
            sentence,
            "lower purge-max below the limit; 9 °F (5 K) above the aquastat is taken where it is left out",
        );
    }
    let off = p.reset.warm_weather_off;
    // What is taken where it is left out, a little above the design temperature, is meant so however mild that is.
    let little = t.priority_above.c > (off.c - PRIORITY_SPAN_K).max(p.site.outdoor_design.c + PRIORITY_SPAN_K);
    if t.priority_max.s > 0.0 && (little || t.priority_above.c >= off.c) {
        let sentence = format!(
            "the tank has priority above {} outdoors only, and zones are heated below {} only: it {} any",
            t.priority_above.show_both(),
            off.show_both(),
            if t.priority_above.c >= off.c { "never has" } else { "hardly ever has" }
        );
        out.push(Finding::new("P72", Severity::Warning, Subject::Tank, sentence).field("priority-above").hint(
            "priority-above is where priority ends in the cold; write priority-max = \"0 s\" where none is wanted",
        ));
    }
    // A litre of water and a kelvin: 1.163 Wh.
    let wh = |litres: f64, kelvin: f64| 1.163 * litres * kelvin.max(0.0);
    let stored_wh = wh(t.volume.l, t.aquastat.c - t.cold.c);
    let draw = t.draws.iter().map(|d| (d, wh(d.flow.l_s * d.lasts.s, t.tap.c - t.cold.c)));
    let over = draw.filter(|(d, wanted)| *wanted > stored_wh + t.coil.w * d.lasts.s / 3600.0);
    if let Some((d, wanted_wh)) = over.max_by(|a, b| a.1.total_cmp(&b.1)) {
        let has = |wh: f64| Power { w: wh * 3600.0 / d.lasts.s.max(1.0) };
        let sentence = format!(
            "a draw of {} for {} takes {} while it lasts; the full tank and its coil give {}",
            d.flow.show_both(),
            d.lasts.show_both(),
            has(wanted_wh).show_both(),
            has(stored_wh + t.coil.w * d.lasts.s / 3600.0).show_both()
        );
        out.push(
            Finding::new("P73", Severity::Warning, Subject::Tank, sentence)
                .field("draws")
                .hint("see the draw's flow; if it is right, a larger tank or coil"),
        );
    }
    out
}

/// Motors that give more than they take.
fn motors(p: &Plant) -> Vec<Finding> {
    let pumps = p
        .pumps
        .iter()
        .enumerate()
        .map(|(i, m)| (Subject::Pump(PumpId(i as u8)), m.hp, m.phases, m.volts, m.amps, "hp"));
    let fans = p.zones.iter().enumerate().filter_map(|(i, z)| {
        let f = z.fans.as_ref()?;
        Some((Subject::Zone(ZoneId(i as u8)), f.hp, f.phases, f.volts, f.amps, "fans.hp"))
    });
    type Plate = (Subject, Option<HorsePower>, u8, Volts, Amps, &'static str);
    let wrong = |(about, hp, phases, volts, amps, field): Plate| {
        let hp = hp?;
        let gives_w = hp.hp * WATTS_HP;
        let takes_w = volts.v * amps.a * if phases == 3 { 3.0_f64.sqrt() } else { 1.0 };
        let sentence = format!(
            "a motor of {} takes {:.0} VA from {} and {}: it would give more than it takes",
            hp.show_both(),
            takes_w,
            volts.show_both(),
            amps.show_both()
        );
        (gives_w > takes_w).then(|| {
            Finding::new("P74", Severity::Error, about, sentence)
                .field(field)
                .hint("copy hp, volts and amps from one nameplate; leave hp out for a pump rated in amps alone")
        })
    };
    pumps.chain(fans).filter_map(wrong).collect()
}

/// Safeties that only alarm where no controller listens: no wire would reach them.
fn unheard(p: &Plant) -> Vec<Finding> {
    let all = p.safeties.iter().enumerate().filter(|(_, s)| s.circuit == SafetyCircuit::Alarm);
    all.filter(|_| p.panel.control == Control::ZoneRelays)
        .map(|(i, _)| {
            let about = Subject::Safety(SafetyId(i as u8));
            let sentence = "it only alarms, and zone relays have no alarm: nothing would be wired to it";
            Finding::new("P80", Severity::Error, about, sentence)
                .field("circuit")
                .hint("give it the circuit that it is to open (`circuit`), or take it out")
        })
        .collect()
}

/// Keys that the guide calls faults: written, and nothing comes of them.
fn idle(root: &Cursor<'_>, p: &Plant) -> Vec<Finding> {
    let places = root.ctx.places.borrow();
    let written = |key: &str| places.written(Subject::Plant, key);
    let mut out = Vec::new();
    let mut tell = |key: &str, why: &str| {
        if written(key) {
            out.push(
                Finding::new("P45", Severity::Error, Subject::Plant, format!("`{key}` has no effect: {why}"))
                    .field(key.to_owned())
                    .hint("take it out, so that nobody relies on it"),
            );
        }
    };
    let r = &p.reset;
    // A schedule that is misspelled is a fault of its own.
    if r.schedule.is_none() && !written("reset.schedule") {
        for key in ["reset.boost", "reset.boost-for", "reset.setback"] {
            tell(key, "no reset.schedule says when setback is");
        }
    } else if r.boost.k > 0.0 && r.boost_for.s <= 0.0 {
        tell("reset.boost", "reset.boost-for is not written: it lasts no time");
    } else if r.boost.k <= 0.0 && r.boost_for.s > 0.0 {
        tell("reset.boost-for", "reset.boost is not written: it raises the target by nothing");
    }
    if matches!(p.purge.to, PurgeTo::Zone(z) if p.purge.otherwise == Some(z)) {
        tell("purge.otherwise", "it names what purge.to names already");
    }
    if !p.boilers.is_empty() && p.boilers.iter().all(|b| !matches!(b.drive, Drive::Rate)) {
        for key in ["staging.up-rate", "staging.down-rate", "staging.rate-hold", "staging.modulation"] {
            tell(key, "no boiler has drive = \"rate\", so nobody knows a rate");
        }
    }
    out
}

/// Watts in a horsepower.
const WATTS_HP: f64 = 745.699_871_582_270_2;

#[cfg(test)]
pub(super) mod tests {
    use super::*;

    /// The library with lines put under a heading of it, or the heading put at its end.
    fn library_with(heading: &str, lines: &str) -> String {
        let library = include_str!("../../docs/examples/library.toml");
        let key = |l: &str| l.split(" = ").next().unwrap_or_default().to_owned();
        let new: Vec<String> = lines.lines().map(key).collect();
        let Some(at) = library.find(&format!("\n{heading}")) else {
            return format!("{library}\n{heading}\n{lines}\n");
        };
        let body = at + 1 + library[at + 1..].find('\n').unwrap();
        let (before, after) = (&library[..body], &library[body + 1..]);
        // A key that stands there already gives way.
        let end = after.find("\n[").unwrap_or(after.len());
        let stays = |l: &&str| !new.contains(&key(l)) && (!lines.starts_with("draws") || !l.starts_with([' ', ']']));
        let kept = after[..end].lines().filter(stays).collect::<Vec<_>>().join("\n");
        format!("{before}\n{lines}\n{kept}{}", &after[end..])
    }

    /// What reading says of it: code, weight, and whether it has a place and something to do.
    pub(in crate::plant) fn told(text: &str) -> Vec<(String, Severity, bool)> {
        let findings = match crate::plant::read::read("plant.toml", text.as_bytes()) {
            Ok(read) => read.notes,
            Err(refusal) => refusal.findings,
        };
        findings.iter().map(|f| (f.code.to_string(), f.severity, f.span.is_some() && !f.hints.is_empty())).collect()
    }

    #[test]
    fn what_cannot_be_meant_together_is_told_with_its_line_and_a_mend() {
        let (error, warning, note) = (Severity::Error, Severity::Warning, Severity::Note);
        for (heading, lines, code, weight) in [
            ("[water]", "volume = \"4 gal\"", "P75", error),
            ("[reset]", "outdoor-fallback = \"68 °F\"", "P67", error),
            ("[guard]", "frozen-after = \"1 s\"", "P69", error),
            ("[tank]", "purge-max = \"190 °F\"", "P71", error),
            ("[tank]", "aquastat = \"110 °F\"", "P71", error),
            ("[tank]", "tap = \"86 °F\"\ncold = \"86 °F\"", "P71", error),
            ("[tank]", "priority-above = \"80 °F\"", "P72", warning),
            ("[tank]", "priority-above = \"60 °F\"", "P72", warning),
            ("[tank]", "draws = [{ at = \"08:30\", for = \"20 min\", flow = \"300 gal/min\" }]", "P73", warning),
            ("[purge]", "to = \"tank\"\nuntil = \"194 °F\"", "P70", error),
            ("[fluid]", "kind = \"propylene-glycol\"\nshare = \"5 %\"", "P66", warning),
            ("[fluid]", "kind = \"propylene-glycol\"\nshare = \"35 %\"", "P66", note),
            ("[fluid]", "kind = \"ethylene-glycol\"\nshare = \"35 %\"", "P79", warning),
            ("[purge]", "to = \"hall\"\notherwise = \"hall\"", "P45", error),
            ("[reset]", "warm-weather-off = \"41 °F\"\nwarm-weather-differential = \"18 °F\"", "P68", warning),
            ("[reset]", "warm-weather-off = \"45 °F\"\nwarm-weather-differential = \"3 °F\"", "P68", warning),
            ("[staging]", "up-rate = \"85 %\"", "P45", error),
            ("[staging]", "rate-hold = \"4 min\"", "P45", error),
        ] {
            let all = told(&library_with(heading, lines));
            let found: Vec<_> = all.iter().filter(|f| f.0 == code).collect();
            assert!(matches!(found[..], [f] if f.1 == weight && f.2), "{heading} {lines}: {code} in {all:?}");
        }
        let library = include_str!("../../docs/examples/library.toml");
        let boost = library.replacen("schedule = \"open-hours\"\nboost", "boost", 1);
        assert!(boost.len() < library.len());
        assert_eq!(told(&boost).iter().filter(|f| f.0 == "P45").count(), 2, "boost and boost-for: {:?}", told(&boost));
    }

    #[test]
    fn the_examples_can_be_meant() {
        for text in [
            include_str!("../../docs/examples/library.toml"),
            include_str!("../../docs/examples/workshop.toml"),
            include_str!("../../docs/examples/chapel.toml"),
            include_str!("../../docs/examples/terrace.toml"),
            include_str!("../../docs/examples/mill.toml"),
        ] {
            let all = told(text);
            assert!(all.iter().all(|f| f.1 != Severity::Error && (f.0.as_str() < "P66" || f.0 == "P66")), "{all:?}");
        }
    }

    #[test]
    fn glycol_freezes_between_its_rows() {
        assert!((freezes_c(Glycol::Propylene, 0.35) - -16.9).abs() < 0.01);
        assert!((freezes_c(Glycol::Ethylene, 0.6) - -48.3).abs() < 1e-9);
        assert_eq!(freezes_c(Glycol::None, 0.5), 0.0);
    }
}
