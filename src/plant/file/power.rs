//! `[power]`, `[power.transformer]`, `[starter-panel]`: where the power comes from and where motors are switched.

use super::RUN_MAX_M;
use crate::plant::{
    checked::{Panel, PowerService, PowerTransformer, Service, Site, StarterPanel},
    cursor::Cursor,
    quantity::{Amps, Length, Share},
};
use heatwright_wiring::job::PumpCircuits;

/// Longest secondary conductors, in metres: 25 ft, NEC 240.21(C)(6).
const SECONDARY_MAX_M: f64 = 25.0 * 0.3048;

pub(in crate::plant) fn power(root: &Cursor<'_>, site: &Site) -> PowerService {
    let c = root.table("power", "Where the power comes from.");
    let words = [
        ("120/240 V", Service::Split120_240),
        ("208Y/120 V", Service::Wye208_120),
        ("480Y/277 V", Service::Wye480_277),
    ];
    let out = PowerService {
        service: c
            .word("service", "System voltage of the service: 120/240 V, 208Y/120 V or 480Y/277 V.", &words, true)
            .unwrap_or(Service::Split120_240),
        fault_current: c
            .may(
                "fault-current",
                "Short-circuit current available at the distribution panel; left out: not known, and `check` warns.",
                0.0..=200_000.0,
            )
            .unwrap_or(Amps { a: 0.0 }),
        panel: c.text_or("panel", "Name of the distribution panel.", "distribution panel"),
        panel_place: c.text_or("panel-place", "Where the distribution panel hangs.", "boiler room"),
        panel_run: c.or_by(
            "panel-run",
            "Run from the distribution panel to the control panel.",
            0.0..=RUN_MAX_M,
            site.run_default,
            "the site's default run",
        ),
        panel_in_sight: c.flag(
            "panel-in-sight",
            "The distribution panel is in sight of the boilers and of the control panel, within 50 ft, and its breakers can be locked open.",
            false,
        ),
        feeder_drop: c.or(
            "feeder-drop",
            "Volt drop ahead of the distribution panel at full load.",
            0.0..=0.1,
            Share::from_percent(0.0),
            "not known: nothing is taken off; measure it under load",
        ),
        pump_circuits: c.word_or(
            "pump-circuits",
            "shared: small single-phase pumps of zones share a breaker, up to four each, as far as NEC 430.53(A) and 430.24 allow (1 hp and 6 A a motor, 20 A at 120 V, 15 A where a relay contact carries one); each keeps its own disconnect. one-each: a breaker a pump.",
            &[("shared", PumpCircuits::Shared), ("one-each", PumpCircuits::OneEach)],
            ("shared", PumpCircuits::Shared),
            "our choice: the usual way with small circulators; pumps of boilers and of the tank keep their own",
        ),
        transformer: transformer(&c, site),
    };
    if out.service == Service::Wye480_277 && out.transformer.is_none() {
        c.ctx.tell(
            c.fault("service", "P59", "a service of 480Y/277 V has no 120 V, and [power.transformer] is missing")
                .hint("describe the transformer to 120/240 V that feeds the second panelboard: [power.transformer] va = \"15 kVA\""),
        );
    }
    if out.service != Service::Wye480_277 && out.transformer.is_some() {
        c.ctx.tell(
            c.fault("service", "P59", "[power.transformer] stands beside a service that has 120 V")
                .hint("leave the transformer out; it is for service = \"480Y/277 V\""),
        );
    }
    c.done();
    out
}

fn transformer(power: &Cursor<'_>, site: &Site) -> Option<PowerTransformer> {
    let c = power.table(
        "transformer",
        "Dry-type transformer from two phases of a 480Y/277 V service to a second panelboard of 120/240 V; left out: none.",
    );
    if !c.there() {
        return None;
    }
    let place = c.text_or("place", "Where it stands.", "boiler room");
    let out = PowerTransformer {
        va: c.need("va", "Its rating.", 3000.0..=36_000.0),
        impedance: c.may(
            "impedance",
            "Its impedance on the plate; left out: not known, and the second panelboard is taken to have the whole short-circuit current.",
            0.005..=0.2,
        ),
        panel_place: c.text_or("panel-place", "Where the second panelboard hangs.", &place),
        place,
        run: c.or_by(
            "run",
            "Run from the distribution panel to it.",
            0.0..=RUN_MAX_M,
            site.run_default,
            "the site's default run",
        ),
        secondary_run: c.or(
            "secondary-run",
            "Run from it to the second panelboard.",
            0.0..=SECONDARY_MAX_M,
            Length::from_ft(10.0),
            "side by side, as NEC 240.21(C)(2) likes it",
        ),
        electrode_run: c.or_by(
            "electrode-run",
            "Run from it to building steel or the metal water pipe.",
            0.0..=RUN_MAX_M,
            site.run_default,
            "the site's default run",
        ),
        panel_run: c.or_by(
            "panel-run",
            "Run from the second panelboard to the control panel.",
            0.0..=RUN_MAX_M,
            site.run_default,
            "the site's default run",
        ),
        panel_in_sight: c.flag(
            "panel-in-sight",
            "The second panelboard is in sight of the control panel, within 50 ft, and its breakers can be locked open.",
            false,
        ),
    };
    c.done();
    Some(out)
}

pub(in crate::plant) fn starter_panel(root: &Cursor<'_>, panel: &Panel, site: &Site) -> Option<StarterPanel> {
    let c = root.table(
        "starter-panel",
        "An enclosure of its own for contactors and starters on the distribution panel; left out: they stand in the control panel.",
    );
    if !c.there() {
        return None;
    }
    let out = StarterPanel {
        name: c.text_or("name", "Name of the starter panel.", "starter panel"),
        place: c.text_or("place", "Where it hangs.", &panel.place),
        run: c.or_by(
            "run",
            "Run from the control panel to it.",
            0.0..=RUN_MAX_M,
            site.run_default,
            "the site's default run",
        ),
        panel_run: c.or_by(
            "panel-run",
            "Run from the distribution panel to it.",
            0.0..=RUN_MAX_M,
            site.run_default,
            "the site's default run",
        ),
        panel_in_sight: c.flag(
            "panel-in-sight",
            "The distribution panel is in sight of it, within 50 ft, and its breakers can be locked open.",
            false,
        ),
        enclosure: super::site::enclosure(&c),
        moisture: super::site::moisture(&c),
        short_circuit_rating: c.may(
            "short-circuit-rating",
            "Short-circuit rating marked on the whole assembly; left out: not rated.",
            100.0..=200_000.0,
        ),
    };
    c.done();
    Some(out)
}
