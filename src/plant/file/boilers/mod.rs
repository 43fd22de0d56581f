//! `[boiler.*]`; its burner, electrical data, marks and condensate pump in [`parts`].

mod line_marks;
mod parts;
mod return_valve;

use super::{name, relay, run};
use crate::plant::{
    checked::{Boiler, Drive, Efficiency, EfficiencyPoint, Firing, InputAt, Site},
    cursor::Cursor,
    quantity::{Power, Pressure, Quantity as _, Share, Temp, Time, Volume},
};
use heatwright_core::{Subject, config::BoilerPump};
use heatwright_sim::boiler::altitude::lost_share;
use parts::{burner, condensate_pump, electrical, marks};

/// Who switches a boiler's pump, before the pump's id is looked up.
#[derive(Clone, Copy)]
pub(in crate::plant) enum Owner {
    Controller,
    Boiler,
    Either,
}

/// A boiler and the id of its pump, which is resolved when all pumps are known.
pub(in crate::plant) struct Read {
    pub(in crate::plant) boiler: Boiler,
    pub(in crate::plant) pump: Option<String>,
    pub(in crate::plant) owner: Owner,
}

/// `carries_j_l_k`: what a litre of the plant's fluid carries, in J/K.
pub(in crate::plant) fn boilers<'a>(root: &Cursor<'a>, site: &Site, carries_j_l_k: f64) -> Vec<(Read, Cursor<'a>)> {
    root.named("boiler", "The boilers, in the order of rotation.", |i| Subject::Boiler(heatwright_core::BoilerId(i)))
        .into_iter()
        .map(|(id, c)| (boiler(&c, &id, site, carries_j_l_k), c))
        .collect()
}

fn s(v: f64) -> Time {
    Time::from_s(v)
}

fn boiler(c: &Cursor<'_>, id: &str, site: &Site, carries_j_l_k: f64) -> Read {
    let plate_input: Power = c.need("input", "Full input.", 2_000.0..=4_000_000.0);
    let input_at = c.word(
        "input-at",
        "What `input` holds for: site or sea-level, which loses 4 % for each 1,000 ft where the site lies above 2,000 ft; left out: not said, \
         taken in full.",
        &[("site", InputAt::Site), ("sea-level", InputAt::SeaLevel)],
        false,
    );
    let lost = if input_at == Some(InputAt::SeaLevel) { lost_share(site.altitude.m) } else { 0.0 };
    let input = Power { w: plate_input.w * (1.0 - lost) };
    let turndown = c.number(
        "turndown",
        "Full input over smallest input, 5 for 5:1; 1 or left out for an on/off burner.",
        1.0..=50.0,
    );
    let firing = match turndown {
        Some(t) if t > 1.0 => Firing::Modulating { minimum: Share { of_one: 1.0 / t } },
        Some(_) => Firing::OnOff,
        None => {
            c.assume("turndown", "1".to_owned(), "an on/off burner");
            Firing::OnOff
        }
    };
    // Water of modern low-mass boilers: about 0.03 gal for each MBH; as much metal again by heat capacity (our choice).
    let water = Volume { l: plate_input.w / 293.07 * 0.12 };
    let drive = c.word(
        "drive",
        "demand: contact only; target: 0-10 V sets the water temperature; rate: 0-10 V sets the firing rate.",
        &[("demand", 0), ("target", 1), ("rate", 2)],
        true,
    );
    let low = c.may("signal-low", "Target at 0 V; left out: must be written for drive = \"target\".", -20.0..=60.0);
    let high = c.may("signal-high", "Target at 10 V; left out: must be written for drive = \"target\".", 40.0..=120.0);
    let drive = match drive {
        Some(1) => {
            if low.is_none() || high.is_none() {
                c.ctx.tell(
                    c.fault("drive", "P21", format!("boiler `{id}` is driven by a target signal, but the temperatures at 0 V and 10 V are not both given"))
                        .hint("add signal-low and signal-high from the boiler's instructions"),
                );
            }
            let (low, high) = (low.unwrap_or(Temp::from_c(0.0)), high.unwrap_or(Temp::from_c(100.0)));
            if high.c - low.c < 10.0 {
                c.ctx.tell(
                    c.fault(
                        "signal-high",
                        "P21",
                        format!("boiler `{id}`: signal-high must lie at least 18 °F (10 K) above signal-low"),
                    )
                    .hint("copy both ends of the 0-10 V scale from the boiler's instructions, or from its own setting"),
                );
            }
            Drive::Target { low, high }
        }
        Some(2) => Drive::Rate,
        _ => Drive::DemandOnly,
    };
    if matches!(drive, Drive::DemandOnly | Drive::Rate) && c.judged() {
        c.idle(&["signal-low", "signal-high"], "only a boiler with drive = \"target\" is told a temperature");
    }
    let flow = c.or_by(
        "flow",
        "Flow with its pump on.",
        0.001..=200.0,
        crate::plant::quantity::Flow { l_s: input.w * 0.9 / (carries_j_l_k * 20.0 / 1.8) },
        "full output at a rise of 20 °F (11 K)",
    );
    let outlet_max: Temp = c.or(
        "outlet-max",
        "Highest target it is ever given.",
        40.0..=120.0,
        Temp::from_f(190.0),
        "10 °F below the operating limit",
    );
    let efficiency = efficiency(c);
    let return_valve: Option<Temp> = c.may(
        "return-valve",
        "Setting of the self-acting three-way valve that mixes its outlet water into its return, so that no colder water enters \
         it; left out: no such valve.",
        20.0..=90.0,
    );
    let return_min = c.may(
        "return-min",
        "Lowest return temperature that it may see for long; left out: 130 °F (54 °C) where efficiency = \"non-condensing\", else it may \
         condense.",
        20.0..=90.0,
    );
    let return_min = return_min.or_else(|| return_min_of_kind(c, &efficiency, return_valve));
    let boiler = Boiler {
        name: name(c, id),
        place: c.text_or("place", "Where it stands.", "boiler room"),
        input,
        plate_input,
        input_at,
        firing,
        efficiency,
        water: c.or_by(
            "water",
            "Water in it.",
            0.2..=20_000.0,
            water,
            "0.03 gal for each MBH, a low-mass boiler (our choice)",
        ),
        metal: c.or_by(
            "metal",
            "Heat capacity of its metal, as the volume of water that stores as much.",
            0.0..=20_000.0,
            water,
            "as much as its water (our choice)",
        ),
        jacket_loss: c.or(
            "jacket-loss",
            "Loss of its jacket at design, as a share of full input.",
            0.0..=0.1,
            Share::from_percent(0.5),
            "our choice for an insulated boiler",
        ),
        flow_min: c.or_by(
            "flow-min",
            "Smallest flow through it.",
            0.0..=200.0,
            crate::plant::quantity::Flow { l_s: flow.l_s * 0.5 },
            "half its flow (our choice); take it from the instructions",
        ),
        flow_max: c.may(
            "flow-max",
            "Largest flow through it that its instructions allow; left out: not judged.",
            0.001..=400.0,
        ),
        rise_max: c.may(
            "rise-max",
            "Largest rise of the water through it that its instructions allow; left out: 40 °F (22 K), common practice.",
            5.0..=80.0,
        ),
        pressure_drop: c.or(
            "pressure-drop",
            "Pressure that its flow loses in it, with its valves.",
            0.1..=300.0,
            Pressure { kpa: 2.0 * 6.894_757 },
            "our choice: near 5 ft of water; take it from the instructions",
        ),
        relief: c.or(
            "relief",
            "Setting of its relief valve.",
            50.0..=1_200.0,
            Pressure { kpa: 30.0 * 6.894_757 },
            "common practice, no source: most boilers of low buildings; read the valve's plate",
        ),
        relief_capacity: c.may(
            "relief-capacity",
            "Rated capacity of its relief valve; left out: not known, and `check` says what is needed.",
            1_000.0..=10_000_000.0,
        ),
        working_pressure: c.may(
            "working-pressure",
            "Largest working pressure on its plate; left out: not known, 160 psi is taken as the end of the standard.",
            50.0..=1_200.0,
        ),
        flow,
        burner: burner(c),
        drive,
        pump: BoilerPump::None,
        outlet_max,
        fixed_target: c.or(
            "fixed-target",
            "Target that it holds by itself when nobody tells it one.",
            30.0..=115.0,
            Temp { c: Temp::from_f(180.0).c.min(outlet_max.c) },
            "the usual design supply, no hotter than outlet-max",
        ),
        limit: c.or(
            "limit",
            "Its own operating limit.",
            45.0..=121.0,
            Temp::from_f(200.0),
            "common practice, no source: 200 to 210 °F",
        ),
        own_frost: c.may("own-frost", "Its own frost protection fires below this; left out: none.", 1.0..=15.0),
        return_min,
        return_valve,
        on_min: c.or(
            "on-min",
            "Shortest time between a demand and its ordinary end.",
            0.0..=3600.0,
            s(180.0),
            "our choice: past ignition and first warm-up",
        ),
        off_min: c.or(
            "off-min",
            "Shortest time between the end of a demand and the next.",
            0.0..=3600.0,
            s(300.0),
            "our choice: with a run of 3 min no more than 7.5 starts an hour",
        ),
        flow_proof_max: c.or(
            "flow-proof-max",
            "Flow must be proved this soon after the pump is asked for.",
            2.0..=600.0,
            s(30.0),
            "common practice, no source: 5 to 30 s",
        ),
        flame_proof_max: c.or(
            "flame-proof-max",
            "Flame must be proved this soon after the demand, all ignition trials included.",
            10.0..=900.0,
            s(240.0),
            "pre-purge and three trials of most burner controls",
        ),
        pump_overrun: c.or(
            "pump-overrun",
            "Its pump runs on this long after the flame.",
            0.0..=3600.0,
            s(180.0),
            "common practice, no source: 2 to 10 min",
        ),
        retry_after: c.or(
            "retry-after",
            "One more request this long after a failed start.",
            10.0..=7200.0,
            s(300.0),
            "our choice: a person has time to hear the alarm",
        ),
        status_contact: c.flag("status-contact", "A contact that says the burner is lit is wired back.", false),
        alarm_contact: c.flag("alarm-contact", "A contact that says it is in fault is wired back.", false),
        service_switch: c.flag("service-switch", "Its service switch is read back.", false),
        condensate_pump: condensate_pump(c, site),
        electrical: electrical(c),
        marks: marks(c),
        run: run(c, "Run from the control panel.", site.run_default),
        relay: relay(c),
    };
    line_marks::judge(c, &boiler.marks, &boiler.electrical);
    if boiler.fixed_target.c > boiler.limit.c || boiler.outlet_max.c > boiler.limit.c {
        let key = if c.written("limit") {
            "limit"
        } else if boiler.outlet_max.c > boiler.limit.c {
            "outlet-max"
        } else {
            "fixed-target"
        };
        c.ctx.tell(
            c.fault(
                key,
                "P22",
                format!(
                    "boiler `{id}`: its targets reach {}, above its operating limit of {}",
                    Temp { c: boiler.outlet_max.c.max(boiler.fixed_target.c) }.show_both(),
                    boiler.limit.show_both()
                ),
            )
            .hint("lower outlet-max and fixed-target, or correct the limit"),
        );
    }
    if boiler.flow_min.l_s > boiler.flow.l_s {
        c.ctx.tell(
            c.fault(
                "flow-min",
                "P22",
                format!(
                    "boiler `{id}`: its smallest flow, {}, is more than the flow with its pump on, {}",
                    boiler.flow_min.show_both(),
                    boiler.flow.show_both()
                ),
            )
            .hint("a pump that gives its smallest flow and more (`flow`), or flow-min as the boiler's instructions have it"),
        );
    }
    let b = &boiler.burner;
    let trials = f64::from(b.trials);
    let lights_s = b.pre_purge.s + trials * (b.ignition.s + b.proof.s) + (trials - 1.0).max(0.0) * b.inter_purge.s;
    if boiler.flame_proof_max.s < lights_s {
        c.ctx.tell(
            c.fault(
                "flame-proof-max",
                "P22",
                format!(
                    "boiler `{id}`: flame is given up after {}, but its burner takes up to {} for pre-purge and {} trials",
                    boiler.flame_proof_max.show_both(),
                    Time::from_s(lights_s).show_both(),
                    b.trials
                ),
            )
            .hint("allow that and some time to spare, or correct the times of its burner"),
        );
    }
    if let Some(most) = boiler.flow_max.filter(|m| m.l_s < boiler.flow_min.l_s) {
        c.ctx.tell(
            c.fault(
                "flow-max",
                "P22",
                format!(
                    "boiler `{id}`: its largest flow, {}, is less than its smallest, {}",
                    most.show_both(),
                    boiler.flow_min.show_both()
                ),
            )
            .hint("see whether flow-min and flow-max are exchanged; both stand in the boiler's instructions"),
        );
    }
    let pump = c.text("pump", "Id of its pump; left out: the zones' flow passes through it.");
    return_valve::judge(c, id, &boiler, pump.is_some());
    let owners = [("controller", Owner::Controller), ("boiler", Owner::Boiler), ("either", Owner::Either)];
    let read = Read {
        boiler,
        pump,
        owner: c.word_or(
            "pump-owner",
            "Who switches its pump: controller, boiler or either.",
            &owners,
            ("controller", Owner::Controller),
            "our choice: one place that knows of overrun and purge",
        ),
    };
    c.done();
    read
}

/// The coldest return that a boiler of this kind bears where the file does not say: its instructions do.
fn return_min_of_kind(c: &Cursor<'_>, efficiency: &Efficiency, valve: Option<Temp>) -> Option<Temp> {
    let Efficiency::NonCondensing = efficiency else { return None };
    let kind = Temp::from_f(130.0);
    // A valve that is set lower says what its designer found enough.
    let least = valve.filter(|v| v.c < kind.c).unwrap_or(kind);
    c.assume(
        "return-min",
        least.show_both(),
        "common practice, no source: its flue gas condenses below 130 °F (54 °C) and eats it; read its instructions",
    );
    Some(least)
}

fn efficiency(c: &Cursor<'_>) -> Efficiency {
    let typed = c.list(
        "efficiency-points",
        "Typed efficiency curve: [{ return = \"120 °F\", efficiency = \"92 %\" }, ...], rising in return temperature; left out: the curve that `efficiency` names.",
    );
    let kind = c.word(
        "efficiency",
        "condensing or non-condensing: the standard curve computed from combustion.",
        &[("condensing", true), ("non-condensing", false)],
        false,
    );
    if typed.is_some() && c.judged() {
        c.idle(&["efficiency"], "the typed efficiency-points stand in its place");
    }
    if let Some(list) = typed {
        let points: Vec<EfficiencyPoint> = list
            .iter()
            .map(|p| {
                let out = EfficiencyPoint {
                    return_water: p.need("return", "Return water temperature.", 0.0..=110.0),
                    efficiency: p.need("efficiency", "Efficiency on the higher heating value.", 0.3..=1.0),
                };
                p.done();
                out
            })
            .collect();
        if c.ctx.schema.is_none() {
            if points.len() < 2 || points.windows(2).any(|w| w[1].return_water.c <= w[0].return_water.c) {
                c.ctx.tell(
                    c.fault(
                        "efficiency-points",
                        "P23",
                        "an efficiency curve needs two points or more, rising in return temperature",
                    )
                    .hint("write them from cold to hot return water, each once; or efficiency = \"condensing\" or \"non-condensing\" for a curve of ours"),
                );
            }
            // Hotter return water takes less heat out of the flue gas.
            if let Some(w) = points.windows(2).find(|w| w[1].efficiency.of_one > w[0].efficiency.of_one + 1e-9) {
                c.ctx.tell(
                    c.fault(
                        "efficiency-points",
                        "P23",
                        format!(
                            "the efficiency rises from {} at a return of {} to {} at {}: hotter return water cools flue gas less",
                            w[0].efficiency.show_both(),
                            w[0].return_water.show_both(),
                            w[1].efficiency.show_both(),
                            w[1].return_water.show_both()
                        ),
                    )
                    .hint("see whether two efficiencies are exchanged; level or falling with the return temperature is right"),
                );
            }
            return Efficiency::Points(points);
        }
    }
    match kind {
        Some(false) => Efficiency::NonCondensing,
        Some(true) => Efficiency::Condensing,
        None => {
            c.assume("efficiency", "condensing".to_owned(), "our choice; say non-condensing where it is not");
            Efficiency::Condensing
        }
    }
}

#[cfg(test)]
mod tests {
    use crate::plant::read::read;

    const CHAPEL: &str = include_str!("../../../../docs/examples/chapel.toml");

    fn least_f(kind: &str) -> Option<f64> {
        let text = CHAPEL.replacen("efficiency = \"condensing\"", kind, 1);
        let read = read("plant.toml", text.as_bytes()).unwrap_or_else(|e| panic!("{:?}", e.findings));
        let assumed = read.plant.assumptions.iter().any(|a| a.key.ends_with(".return-min"));
        let least = read.plant.boilers[0].return_min.map(|t| (t.c * 1.8 + 32.0).round());
        assert_eq!(assumed, least.is_some() && !kind.contains("return-min"), "{kind}");
        least
    }

    #[test]
    fn what_a_boiler_bears_follows_from_its_kind_unless_it_is_written() {
        assert_eq!(least_f("efficiency = \"condensing\""), None);
        assert_eq!(least_f("efficiency = \"non-condensing\""), Some(130.0));
        assert_eq!(least_f("efficiency = \"non-condensing\"\nreturn-min = \"140 °F\""), Some(140.0));
    }
}
