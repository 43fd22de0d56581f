//! `checkout`: the procedure of commissioning as a form to fill in.

use super::{Common, Failure, PlantFile, plan};
use crate::{
    plant::{Loaded, checked::Element},
    show::{Report, Table, legend, units::In, wiring::ceiling},
};
use clap::{Args, ValueEnum};
use heatwright_wiring::{
    device::Kind,
    pass::{
        checkout::{self, POSITION, ToGround},
        lockout::stops_for_a_test,
    },
};

/// Which part of the procedure.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, ValueEnum)]
enum Part {
    /// All of it.
    #[default]
    All,
    /// Before power: conductors to ring out, terminals, insulation.
    Ring,
    /// Supplies as each is closed in.
    Supply,
    /// Motors, each safety and each safety relay.
    Trip,
    /// Sensors, inputs, 0-10 V outputs, alarm and what other systems are shown.
    Signals,
}

/// Commissioning: ring out, measure, trip each safety, drop each safety relay alone.
#[derive(Debug, Args)]
pub(super) struct Checkout {
    #[command(flatten)]
    file: PlantFile,
    /// Which part; CSV holds that part's table.
    #[arg(long, value_enum, default_value_t)]
    part: Part,
}

impl Checkout {
    pub(super) fn run(&self, common: &Common) -> Result<Report, Failure> {
        let loaded = self.file.read()?;
        let (job, plan) = plan(&loaded)?;
        let all = checkout::checkout(&job, &plan);
        let u = In(common.units);
        let selectors = plan.devices.iter().any(|d| d.kind == Kind::Selector);
        let fit = |line: &str| fitted(line, selectors, loaded.controlled());
        let mut r = Report::of(&loaded.source, format!("Checkout of {}", loaded.site()));
        for line in BEFORE {
            r.item(line);
        }
        r.text(legend::key(&plan));
        r.text(legend::colours(&plan));
        let wanted = |p: Part| self.part == Part::All || self.part == p;
        let (ring, supply, trip, signal) = (ring(&all), supplies(&all), trips(&all, u), signals(&all, &loaded, u));
        if wanted(Part::Ring) {
            r.heading("1. Ring out");
            r.text(format!("Computed, and so to be done, in this position: {}.", fit(POSITION)));
            r.text(RING);
            r.table(ring.clone());
            r.heading("2. Before power: tighten, test the insulation");
            r.text(TORQUE);
            r.table(torque(&all));
            if !all.reduced.is_empty() {
                r.text(REDUCED);
                r.table(spliced(&all));
            }
            r.text(INSULATION);
            r.table(insulation(&all));
        }
        if wanted(Part::Supply) {
            r.heading("3. Close in one supply after the other and measure it");
            for line in READY {
                r.item(fit(line));
            }
            r.text(SUPPLY);
            r.table(supply.clone());
            r.heading("4. Which terminal of each limit pair is hot");
            r.text(PAIR);
            r.table(pairs(&all));
        }
        if wanted(Part::Trip) {
            r.heading("5. Motors, fans, receptacles");
            r.text(MOTOR);
            if let Some(line) = leads(&all) {
                r.text(line);
            }
            if let Some(line) = speeds(&all) {
                r.text(line);
            }
            r.table(motors(&all));
            if !all.overloads.is_empty() {
                r.text(fit(OVERLOAD));
                r.table(overloads(&all));
            }
            if !all.aquastats.is_empty() {
                r.text(AQUASTAT);
                r.table(aquastats(&all));
            }
            if !all.receptacles.is_empty() {
                r.text(RECEPTACLE);
                r.table(receptacles(&all));
            }
            r.heading("6. Trip each safety, burners lit");
            r.text(if all.signals.is_empty() {
                TRIP.replace(" and their lines of part 8", "")
            } else {
                TRIP.to_owned()
            });
            r.table(trip.clone());
            r.heading("7. Drop each safety relay alone");
            r.text(SERIES);
            r.table(series(&all));
        }
        if wanted(Part::Signals) && !all.signals.is_empty() {
            r.heading("8. Signals");
            r.text(fit(SIGNALS));
            if all.signals.iter().any(|s| s.sensor.is_some()) {
                r.text(ELEMENTS);
            }
            r.table(signal.clone());
        }
        r.heading("Afterwards");
        for line in AFTER {
            r.item(fit(line));
        }
        r.main = match self.part {
            Part::All | Part::Ring => ring,
            Part::Supply => supply,
            Part::Trip => trip,
            Part::Signals => signal,
        };
        r.json = serde_json::to_value(&all).unwrap_or_default();
        Ok(r)
    }
}

/// A line as this plant has it: without selectors nobody turns one, without a controller nothing is read there.
fn fitted(line: &str, selectors: bool, controlled: bool) -> String {
    let mut out = line.to_owned();
    if !selectors {
        for what in [
            "; selectors at OFF",
            ", selectors at OFF",
            " in HAND, OFF and AUTO where it has a selector",
            ", in HAND and in AUTO where it has them",
        ] {
            out = out.replace(what, "");
        }
    }
    if !controlled {
        out = out.replace(" and read at the controller", "");
    }
    out
}

const BOX: &str = "[ ]";

fn ring(all: &checkout::Checkout) -> Table {
    let mut t = Table::new(&["Wire", "From", "To", "In", "To ground", "Done"]);
    for x in &all.ring {
        let to_ground = match x.to_ground {
            ToGround::Joined => "0 ohm",
            ToGround::Winding => "near 0 (winding)",
            ToGround::SmallWinding => "a winding",
            ToGround::Load => "a load",
            ToGround::Open => "open",
        };
        let tag = |at: &str| at.split(':').next().map(str::to_owned);
        let run = match x.run.as_str() {
            "" if tag(&x.from) == tag(&x.to) => "inside",
            "" => "panel",
            run => run,
        };
        t.row([&x.wire, &x.from, &x.to, run, to_ground, BOX]);
    }
    t
}

fn torque(all: &checkout::Checkout) -> Table {
    let mut t = Table::new(&["Where", ">Screws", ">Class 2", "Done"]);
    for x in &all.torque {
        t.row([x.at.clone(), x.screws.to_string(), x.class2_screws.to_string(), BOX.to_owned()]);
    }
    t
}

fn spliced(all: &checkout::Checkout) -> Table {
    let mut t = Table::new(&["Terminal", "Wire", "In", "From AWG", "To AWG", "Done"]);
    for x in &all.reduced {
        let at = format!("{}:{}", x.at.device, x.at.terminal);
        let run = if x.run.is_empty() { "panel" } else { &x.run };
        t.row([at.as_str(), &x.wire, run, &x.awg, &x.to_awg, BOX]);
    }
    t
}

fn insulation(all: &checkout::Checkout) -> Table {
    let mut t = Table::new(&["Circuit", "Between", "Wires tied", "Take off first", "Lift", ">V dc", ">Megohm"]);
    for x in &all.insulation {
        let off = if x.take_off.is_empty() { "-".to_owned() } else { x.take_off.join(", ") };
        let lift = if x.lift.is_empty() { "-" } else { &x.lift };
        t.row([
            x.circuit.clone(),
            x.between.join(", "),
            x.wires.join(", "),
            off,
            lift.to_owned(),
            format!("{:.0}", x.volts_dc),
            "____".to_owned(),
        ]);
    }
    t
}

fn motors(all: &checkout::Checkout) -> Table {
    let mut t = Table::new(&["Motor", "Close", "Start by", "Direction", ">Set A", ">Never over", ">Plate A", "Read"]);
    for x in &all.motors {
        let amps = |a: Option<f64>| a.map_or_else(|| "built in".to_owned(), |a| format!("{a:.2}"));
        let direction = if x.direction { BOX } else { "-" };
        let never = x.max_a.map_or_else(|| "-".to_owned(), ceiling);
        let plate = if x.nameplate_a > 0.0 { format!("{:.2}", x.nameplate_a) } else { "-".to_owned() };
        t.row([
            format!("{} {}", x.tag, x.name),
            x.close.join(", "),
            x.start.clone(),
            direction.to_owned(),
            amps(x.set_a),
            never,
            plate,
            "____ A".to_owned(),
        ]);
    }
    t
}

fn overloads(all: &checkout::Checkout) -> Table {
    let mut t = Table::new(&["Starter", "Motor", "Start by", "Test: stops", "Coil dead by", "0 V"]);
    for x in &all.overloads {
        let (by, read) = if x.aux_of.is_empty() { ("-", "-") } else { (x.aux_of.as_str(), BOX) };
        t.row([format!("{} {}", x.tag, x.name).as_str(), &x.motors.join(", "), &x.start, BOX, by, read]);
    }
    t
}

fn aquastats(all: &checkout::Checkout) -> Table {
    let mut t = Table::new(&["Aquastat", "Fan", "Stands", "Runs"]);
    for x in &all.aquastats {
        t.row([x.tag.as_str(), &x.fan, BOX, BOX]);
    }
    t
}

fn receptacles(all: &checkout::Checkout) -> Table {
    let mut t = Table::new(&["Receptacle", "What", "Dead on test", "Live on reset"]);
    for x in &all.receptacles {
        t.row([x.tag.as_str(), &x.name, BOX, BOX]);
    }
    t
}

fn supplies(all: &checkout::Checkout) -> Table {
    let mut t = Table::new(&["Close", "Supply", "Feeds", "First at", ">Volts", ">Accept", ">To ground", "Read"]);
    for x in &all.supplies {
        let volts = if x.phases == 3 { format!("3 x {:.0}", x.volts) } else { format!("{:.0}", x.volts) };
        let to_ground = x.to_ground_v.map_or_else(|| "none (floating)".to_owned(), |v| format!("{v:.0}"));
        let accept = if x.volts < 60.0 {
            format!("{:.1} to {:.1}", x.accept_v[0], x.accept_v[1])
        } else {
            format!("{:.0} to {:.0}", x.accept_v[0], x.accept_v[1])
        };
        // Which panelboard stands in the second column.
        let close = if x.close.is_empty() { "(with it)" } else { x.close.split(" of ").next().unwrap_or(&x.close) };
        t.row([close, &x.from, &x.feeds, &x.at, &volts, &accept, &to_ground, "____ V"]);
    }
    t
}

fn pairs(all: &checkout::Checkout) -> Table {
    let mut t = Table::new(&["Boiler", "Hot", ">Volts", "Far", ">V", "Against", "Done"]);
    for x in &all.pairs {
        let volts = format!("{:.0}", x.volts);
        t.row([x.boiler.as_str(), &x.hot, &volts, &x.far, "0", &x.against, BOX]);
    }
    t
}

fn trips(all: &checkout::Checkout, u: In) -> Table {
    let mut t = Table::new(&["Safety", "How", "Must stop", "Seen at", "After", "Done"]);
    for x in &all.trips {
        let told = stops_for_a_test(&x.stops);
        let stops = if !told.is_empty() {
            told
        } else if x.input.is_some() {
            "Nothing: the alarm lights.".to_owned()
        } else {
            "Nothing: it only alarms, and nothing hears it.".to_owned()
        };
        let input = x.input.map_or_else(|| "no input".to_owned(), |n| format!("input {n}"));
        let name = format!("{} {}", x.tag, x.name);
        t.row([name, u.prose(&x.how), stops, input, x.after.to_owned(), BOX.to_owned()]);
    }
    t
}

fn series(all: &checkout::Checkout) -> Table {
    let mut t = Table::new(&["Relay", "Lift at its coil", "Live beside it", "Must stop", "Done"]);
    for x in &all.series {
        let live = if x.still_live.is_empty() {
            "nothing".to_owned()
        } else {
            format!("with {} alone open: {}", x.switch, x.still_live.join("; "))
        };
        t.row([format!("{} {}", x.tag, x.label), x.coil.clone(), live, stops_for_a_test(&x.stops), BOX.to_owned()]);
    }
    t
}

fn signals(all: &checkout::Checkout, l: &Loaded, u: In) -> Table {
    let mut t = Table::new(&["Signal", "At", "Make it", "Must be seen", "With", "Read", "Done"]);
    for x in &all.signals {
        let element = x.sensor.and_then(|s| l.plant.sensors.get(s.index())).map(|s| s.element);
        let what = match element.map(anchors) {
            Some((name, _)) => format!("{}; {name}", x.what),
            None => x.what.clone(),
        };
        let with = if x.burner_lit { "part 6" } else { "part 5" };
        let read = if x.sensor.is_some() { "____ °, ____ ohm" } else { "____" };
        t.row([
            what,
            x.at.clone(),
            u.prose(&x.how),
            u.prose(&x.seen),
            with.to_owned(),
            read.to_owned(),
            BOX.to_owned(),
        ]);
    }
    t
}

/// An element's name and its ohms at 0, 25 and 50 °C (thermistors: their makers' published anchors; platinum: IEC 60751).
fn anchors(e: Element) -> (&'static str, [f64; 3]) {
    match e {
        Element::Thermistor10k2 => ("10 kilohm, type II", [32_650.0, 10_000.0, 3_602.0]),
        Element::Thermistor10k3 => ("10 kilohm, type III", [29_490.0, 10_000.0, 3_893.0]),
        Element::Platinum1000 => ("platinum 1000 ohm", [1_000.0, 1_097.3, 1_194.0]),
    }
}

const BEFORE: [&str; 5] = [
    "This is a planning aid. The local code, the authority having jurisdiction, the instructions of the equipment and licensed \
     practice govern.",
    "Parts 1 and 2 are done with every breaker locked open and absence of voltage tested (see the lockout sheets); parts 3 to 8 \
     are work near live parts.",
    "Parts 1 to 5 are done with every manual gas valve closed and locked: until part 6 no limit has been tried. A boiler that is asked \
     then tries to light and locks out; it is reset in part 6.",
    "Count jumpers and lifted wires: taken in ____, brought out ____. A jumper never goes across a safety.",
    "Volts between terminals in each state of the plant: 'heatwright wire PLANT --readings'.",
];
const RING: &str = "Each wire end to end: next to no ohms. To ground: 0 ohm, a grounded conductor; near 0 (winding), half of a \
     transformer whose other side is grounded, which a meter cannot tell from a short: lift the bonding jumper to test it; a \
     winding, the secondary of a small transformer grounded on its other side, some ohms; a load, the resistance of a coil or \
     motor; open, nothing. What reads 0 ohm and should not is found now, not with the breaker. A shield, taped at its far end, \
     reads to ground and not to its neighbor.";
const TORQUE: &str = "Every screw that holds a conductor, to the value printed on it or beside it, with a torque screwdriver; where \
     none is printed, to that of its instructions. Screws: of power, control and ground, a terminal block counted on each side \
     that is used; Class 2 is counted apart and tightened too.";
const REDUCED: &str = "Ends of runs that were made larger against voltage drop than the terminal takes: a splice in a box beside it, the connector listed \
     for both sizes, tightened or crimped as it says, pulled by hand, insulated, the box covered. The ringing out of part 1 goes through it.";
const INSULATION: &str = "Every breaker and every disconnect open and locked, no relay pulled: a line is a piece between open \
     contacts, so that line side and load side are tested apart. Take off first what the line names (motors, electronics, \
     windings, ground-fault protection), lift the grounded conductor. Tie the conductors of the line together, test them \
     against ground: 1 megohm or more. Tied together, because coils and limits join them; one against the other only where none \
     is left between them. Land all again and count. Class 2 is not tested with such volts.";
/// What stands before anything is switched on.
const READY: [&str; 3] = [
    "Manual gas valves of all boilers closed, locked and tagged: they stay so until part 6. By: ______ at: ______",
    "Boilers, circuits and pumps filled and vented, the cold pressure read: no pump runs dry.",
    "Thermostats turned down, selectors at OFF: nothing calls until part 5 says so.",
];
const SUPPLY: &str = "In this order, every disconnect and breaker behind it open until it is named here. Close: what brings it, \
     at the panelboard and space of the second column; (with it): it comes with the line before. First at: where the supply \
     first arrives. Accept: between its conductors, the service 5 % either way (ANSI C84.1, from memory), a transformer between \
     its volts with all its load and with none: small ones read well above their plate while nothing is on them. Not those volts: open it again and find out why.";
const MOTOR: &str = "Manual gas valves still closed and locked, the system filled and vented. Set the overload as printed; above 'Never \
     over' never. Close the disconnects in this order, start it for a moment as named and stop it the same way, watch the \
     shaft: the wrong way round, open and change two phases at its own disconnect. Then let it run and read its current on each \
     phase: none above the plate, all alike. A call asks a boiler too: it may try to light, and locks out.";
/// For three-phase motors: which volts their leads are joined for.
fn leads(all: &checkout::Checkout) -> Option<String> {
    let mut volts: Vec<String> = all.motors.iter().filter(|m| m.direction).map(|m| format!("{:.0}", m.volts)).collect();
    volts.sort_unstable();
    volts.dedup();
    (!volts.is_empty()).then(|| {
        format!(
            "Three-phase motors: before the first start see that the leads are joined for {} V as the plate shows.",
            volts.join(" or ")
        )
    })
}
/// For electronically commutated pumps: their speed is set on them.
fn speeds(all: &checkout::Checkout) -> Option<String> {
    let tags: Vec<&str> = all.motors.iter().filter(|m| m.speed_set_on_it).map(|m| m.tag.as_str()).collect();
    (!tags.is_empty()).then(|| {
        format!(
            "Speed of {}: set it on the pump itself, for the flow that it is to give, and write it down. No speed signal is wired: a 0-10 V \
             input stays empty, and a function that starts the pump by itself or stops it is switched off.",
            tags.join(", ")
        )
    })
}
const OVERLOAD: &str = "Each starter, its motor running: press the test button of its overload; the motor stops, in HAND and in AUTO where it has \
     them. Reset it. Then the disconnect named under 'Coil dead by' open and the start still made: 0 V between A1 and A2 of the starter, \
     by its auxiliary contact. The lockout sheets rely on that. Close it again.";
const AQUASTAT: &str = "Each fan: stands while its water is cold; runs, in part 6 with hot water, once its aquastat is set \
     below the water's temperature. Back to the setting of the plan.";
const RECEPTACLE: &str =
    "Ground-fault protection: a lamp goes out with its test button and comes back with its reset button.";
const PAIR: &str = "Control circuit live, one safety of the pair tripped. Hot must show its volts, Far must show none. The other way \
     round the pair lies in the grounded leg: one ground fault would bridge every safety in it. Do not fire; have the \
     boiler's diagram read again.";
const TRIP: &str = "Only now, with parts 1 to 5 and their lines of part 8 done: open the manual gas valves slowly, purge as the instructions of the burners say, \
     reset what locked out, and light one boiler at a time, somebody beside it with a hand on its gas valve until its limits are \
     tried. Make the condition itself; a lifted wire proves only the wire. What is named must stop, everything else must go on: \
     a boiler that stops without being named is a wrong wire. Where nothing stops, the safety is bridged.";
const SERIES: &str = "Two contacts in series open for each other: the first that welds is never seen in a trip. First lock out the relay \
     panel by its own sheet and test: its control disconnect alone leaves live on the relay what the third column names. Then lift and \
     insulate the named wire, leave the relay in its socket, close the panel, take the locks off by the sheet, call for heat. \
     What is named must stay out. Lock out again, land the wire; the same for the next. Repeat it every year.";
const SIGNALS: &str = "One line a point, each made at its far end and read at the controller: a wire that was rung out can still lie on the \
     wrong input. The lines of part 5 are done with it, before a burner is lit, sensors first; those of part 6 with it.";
const ELEMENTS: &str = "Sensors, lifted at the controller and read in ohms (32, 77 and 122 °F): 10 kilohm type II 32,650, 10,000 and 3,602; \
     type III 29,490, 10,000 and 3,893; platinum 1,000, 1,097 and 1,194. A wrong type reads right at 77 °F and wrong when it is cold.";
const AFTER: [&str; 4] = [
    "Every lifted wire landed again, every setting turned back to the plan, every cover on.",
    "Jumpers and lifted wires counted: as many out as in.",
    "Each boiler lit once from a call of each zone, each pump turned once in HAND, OFF and AUTO where it has a selector.",
    "Name, license, date: ______________________________",
];

#[cfg(test)]
mod tests {
    use super::*;

    /// The printed ohms are what the core reads as that temperature, to a tenth of a kelvin.
    #[test]
    fn the_printed_ohms_are_the_elements_own() {
        use heatwright_core::{Reading, element::Element as E};
        for (e, core) in [
            (Element::Thermistor10k2, E::Thermistor10k2),
            (Element::Thermistor10k3, E::Thermistor10k3),
            (Element::Platinum1000, E::Platinum1000),
        ] {
            let (_, ohms) = anchors(e);
            for (ohm, c) in ohms.into_iter().zip([0.0, 25.0, 50.0]) {
                let Reading::At(t) = core.reading((ohm * 10.0).round() as u32) else { panic!("{e:?} {ohm}") };
                assert!((f64::from(t.centi_c()) / 100.0 - c).abs() < 0.15, "{e:?} {ohm}: {t:?}");
                assert!(ELEMENTS.replace(',', "").contains(&format!("{ohm:.0}")), "{ohm}");
            }
        }
    }

    /// Seen to fail: a plant of zone relays without selectors was told to turn them to OFF and to read its signals at the controller.
    #[test]
    fn no_line_names_what_the_plant_has_not() {
        let lines = || READY.iter().chain(&AFTER).copied().chain([POSITION, OVERLOAD, SIGNALS]);
        let named = |selectors, controlled, word: &str| {
            lines().filter(|l| fitted(l, selectors, controlled).contains(word)).count()
        };
        for word in ["selector", "HAND", "AUTO"] {
            assert_eq!(named(false, true, word), 0, "{word}");
            assert!(named(true, true, word) > 0, "{word}");
        }
        assert_eq!((named(true, false, "controller"), named(true, true, "controller")), (0, 1));
    }
}
