//! `checkout`: the procedure of commissioning as a form to fill in.

use super::{Common, Failure, PlantFile, plan};
use crate::show::{Report, Table, legend, units::In};
use clap::{Args, ValueEnum};
use heatwright_wiring::pass::{
    checkout::{self, POSITION, ToGround},
    lockout::stops_in_words,
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
        let mut r = Report::new(format!("Checkout of {}", loaded.site()));
        for line in BEFORE {
            r.item(line);
        }
        r.text(legend::KEY);
        r.text(legend::colours(&plan));
        let wanted = |p: Part| self.part == Part::All || self.part == p;
        let (ring, supply, trip) = (ring(&all), supplies(&all), trips(&all, u));
        if wanted(Part::Ring) {
            r.heading("1. Ring out");
            r.text(format!("Computed, and so to be done, in this position: {POSITION}."));
            r.text(RING);
            r.table(ring.clone());
            r.heading("2. Before power: tighten, test the insulation");
            r.text(TORQUE);
            r.table(torque(&all));
            r.text(INSULATION);
            r.table(insulation(&all));
        }
        if wanted(Part::Supply) {
            r.heading("3. Close in one supply after the other and measure it");
            r.text(SUPPLY);
            r.table(supply.clone());
            r.heading("4. Which terminal of each limit pair is hot");
            r.text(PAIR);
            r.table(pairs(&all));
        }
        if wanted(Part::Trip) {
            r.heading("5. Motors, fans, receptacles");
            r.text(MOTOR);
            r.table(motors(&all));
            if !all.aquastats.is_empty() {
                r.text(AQUASTAT);
                r.table(aquastats(&all));
            }
            if !all.receptacles.is_empty() {
                r.text(RECEPTACLE);
                r.table(receptacles(&all));
            }
            r.heading("6. Trip each safety, burners lit");
            r.text(TRIP);
            r.table(trip.clone());
            r.heading("7. Drop each safety relay alone");
            r.text(SERIES);
            r.table(series(&all));
        }
        r.heading("Afterwards");
        for line in AFTER {
            r.item(line);
        }
        r.main = match self.part {
            Part::All | Part::Ring => ring,
            Part::Supply => supply,
            Part::Trip => trip,
        };
        r.json = serde_json::to_value(&all).unwrap_or_default();
        Ok(r)
    }
}

const BOX: &str = "[ ]";

fn ring(all: &checkout::Checkout) -> Table {
    let mut t = Table::new(&["Wire", "From", "To", "In", "To ground", "Done"]);
    for x in &all.ring {
        let to_ground = match x.to_ground {
            ToGround::Joined => "0 ohm",
            ToGround::Winding => "near 0 (winding)",
            ToGround::Load => "a load",
            ToGround::Open => "open",
        };
        let run = if x.run.is_empty() { "panel" } else { &x.run };
        t.row([&x.wire, &x.from, &x.to, run, to_ground, BOX]);
    }
    t
}

fn torque(all: &checkout::Checkout) -> Table {
    let mut t = Table::new(&["Where", ">Terminals", "Done"]);
    for x in &all.torque {
        t.row([x.at.clone(), x.terminals.to_string(), BOX.to_owned()]);
    }
    t
}

fn insulation(all: &checkout::Checkout) -> Table {
    let mut t = Table::new(&["Circuit", "Feeds", "Take off first", "Lift", ">Megohm"]);
    for x in &all.insulation {
        let off = if x.take_off.is_empty() { "-".to_owned() } else { x.take_off.join(", ") };
        let lift = if x.lift.is_empty() { "-" } else { &x.lift };
        t.row([x.circuit.as_str(), &x.feeds, &off, lift, "____"]);
    }
    t
}

fn motors(all: &checkout::Checkout) -> Table {
    let mut t = Table::new(&["Motor", "Close", "Direction", ">Set A", ">Never over", ">Plate A", "Read"]);
    for x in &all.motors {
        let amps = |a: Option<f64>| a.map_or_else(|| "built in".to_owned(), |a| format!("{a:.1}"));
        let direction = if x.direction { BOX } else { "-" };
        let never = x.max_a.map_or_else(|| "-".to_owned(), |a| format!("{a:.1}"));
        let plate = if x.nameplate_a > 0.0 { format!("{:.1}", x.nameplate_a) } else { "-".to_owned() };
        t.row([
            format!("{} {}", x.tag, x.name),
            x.close.join(", "),
            direction.to_owned(),
            amps(x.set_a),
            never,
            plate,
            "____ A".to_owned(),
        ]);
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
        let close = if x.close.is_empty() { "(with it)" } else { &x.close };
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
        let told = stops_in_words(&x.stops);
        let stops = if told.is_empty() { "Nothing: an alarm only.".to_owned() } else { told };
        let input = x.input.map_or_else(|| "no input".to_owned(), |n| format!("input {n}"));
        let name = format!("{} {}", x.tag, x.name);
        t.row([name, u.prose(x.how), stops, input, x.after.to_owned(), BOX.to_owned()]);
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
        t.row([format!("{} {}", x.tag, x.label), x.coil.clone(), live, stops_in_words(&x.stops), BOX.to_owned()]);
    }
    t
}

const BEFORE: [&str; 4] = [
    "This is a planning aid. The local code, the authority having jurisdiction, the instructions of the equipment and licensed \
     practice govern.",
    "Parts 1 and 2 are done with every breaker locked open and absence of voltage tested (see the lockout sheets); parts 3 to 7 \
     are work near live parts.",
    "Count jumpers and lifted wires: taken in ____, brought out ____. A jumper never goes across a safety.",
    "Volts between terminals in each state of the plant: 'heatwright wire PLANT --readings'.",
];
const RING: &str = "Each wire end to end: next to no ohms. To ground: 0 ohm, a grounded conductor; near 0 (winding), half of a \
     transformer whose other side is grounded, which a meter cannot tell from a short: lift the bonding jumper to test it; a \
     load, the resistance of a coil or motor; open, nothing. What reads 0 ohm and should not is found now, not with the \
     breaker. A shield, taped at its far end, reads to ground and not to a neighbour.";
const TORQUE: &str = "Every terminal to the value printed on it or beside it, with a torque tool; where none is printed, to that of \
     its instructions.";
const INSULATION: &str = "500 V dc, conductor to conductor and each to ground: 1 megohm or more. Take off first what holds electronics, \
     windings between systems or ground-fault protection; lift the neutral from its bar; land all again and count.";
const SUPPLY: &str = "In this order, every disconnect and breaker behind it open until it is named here. Close: what brings it; (with it): it \
     comes with what was closed before. First at: where the supply first arrives. Accept: between its conductors, the service 5 \
     % either way (ANSI C84.1, from memory), a transformer between its volts with all its load and with none. Not those volts: \
     open it again and find out why.";
const MOTOR: &str = "Set the overload as printed. Close the disconnects in this order, start it for a moment, watch the shaft: the wrong way \
     round, open and change two phases at its own disconnect. Then let it run and read its current on each phase: none above \
     the plate, all alike.";
const AQUASTAT: &str = "Each fan: stands while its water is cold, runs once its aquastat is set below the temperature of hot water. Back to \
     the setting of the plan.";
const RECEPTACLE: &str =
    "Ground-fault protection: a lamp goes out with its test button and comes back with its reset button.";
const PAIR: &str = "Control circuit live, one safety of the pair tripped. Hot must show its volts, Far must show none. The other way \
     round the pair lies in the grounded leg: one ground fault would bridge every safety in it. Do not fire; have the \
     boiler's diagram read again.";
const TRIP: &str = "Make the condition itself; a lifted wire proves only the wire. What is named must stop, everything else must go on: a \
     boiler that stops without being named is a wrong wire. Where nothing stops, the safety is bridged.";
const SERIES: &str = "Two contacts in series open for each other: the first that welds is never seen in a trip. First lock out the relay \
     panel by its own sheet and test: its control disconnect alone leaves live on the relay what the third column names. Then lift and \
     insulate the named wire, leave the relay in its socket, close the panel, take the locks off by the sheet, call for heat. \
     What is named must stay out. Lock out again, land the wire; the same for the next. Repeat it every year.";
const AFTER: [&str; 4] = [
    "Every lifted wire landed again, every setting turned back to the plan, every cover on.",
    "Jumpers and lifted wires counted: as many out as in.",
    "Each boiler lit once from a call of each zone, each pump turned once in HAND, OFF and AUTO where it has a selector.",
    "Name, licence, date: ______________________________",
];
