//! `checkout`: the procedure of commissioning as a form to fill in.

use super::{Common, Failure, PlantFile, plan};
use crate::show::{Report, Table, legend, units::In};
use clap::{Args, ValueEnum};
use heatwright_wiring::pass::{
    checkout::{self, ToGround},
    lockout::stops_in_words,
};

/// Which part of the procedure.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, ValueEnum)]
enum Part {
    /// All of it.
    #[default]
    All,
    /// Conductors to ring out before power.
    Ring,
    /// Supplies as each breaker is closed.
    Supply,
    /// Each safety and each safety relay.
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
        let wanted = |p: Part| self.part == Part::All || self.part == p;
        let (ring, supply, trip) = (ring(&all), supplies(&all, &plan.panelboard), trips(&all, u));
        if wanted(Part::Ring) {
            r.heading("1. Ring out, all breakers open");
            r.text(RING);
            r.table(ring.clone());
        }
        if wanted(Part::Supply) {
            r.heading("2. Measure each supply as its breaker is closed");
            r.text(SUPPLY);
            r.table(supply.clone());
            r.heading("3. Which terminal of each limit pair is hot");
            r.text(PAIR);
            r.table(pairs(&all));
        }
        if wanted(Part::Trip) {
            r.heading("4. Trip each safety, burners lit");
            r.text(TRIP);
            r.table(trip.clone());
            r.heading("5. Drop each safety relay alone");
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
            ToGround::Load => "a load",
            ToGround::Open => "open",
        };
        let run = if x.run.is_empty() { "panel" } else { &x.run };
        t.row([&x.wire, &x.from, &x.to, run, to_ground, BOX]);
    }
    t
}

fn supplies(all: &checkout::Checkout, panelboard: &str) -> Table {
    let from = if panelboard.is_empty() { "From" } else { panelboard };
    let mut t = Table::new(&[from, "Feeds", "First at", ">Volts", ">To ground", "Read"]);
    for x in &all.supplies {
        let volts = if x.phases == 3 { format!("3 x {:.0}", x.volts) } else { format!("{:.0}", x.volts) };
        t.row([x.from.clone(), x.feeds.clone(), x.at.clone(), volts, format!("{:.0}", x.to_ground_v), "____ V".into()]);
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
    let mut t = Table::new(&["Relay", "Lift at its coil", "Must stop", "Done"]);
    for x in &all.series {
        t.row([format!("{} {}", x.tag, x.label), x.coil.clone(), stops_in_words(&x.stops), BOX.to_owned()]);
    }
    t
}

const BEFORE: [&str; 4] = [
    "This is a planning aid. The local code, the authority having jurisdiction, the instructions of the equipment and licensed \
     practice govern.",
    "Part 1 is done with every source locked open and tested (see the lockout sheets); parts 2 to 5 are work near live parts.",
    "Count jumpers and lifted wires: taken in ____, brought out ____. A jumper never goes across a safety.",
    "Volts between terminals in each state of the plant: 'heatwright wire PLANT --readings'.",
];
const RING: &str = "Each wire end to end: next to no ohms. To ground: 0 ohm, a grounded conductor; a load, the resistance of a coil, \
     motor or winding; open, nothing. What reads 0 ohm and should not is found now, not with the breaker.";
const SUPPLY: &str = "One breaker at a time, everything behind it open. First at: where the supply first arrives. Volts: between its \
     conductors, within 5 % (ANSI C84.1, from memory). Not those volts: open it again and find out why.";
const PAIR: &str = "Control circuit live, one safety of the pair tripped. Hot must show its volts, Far must show none. The other way \
     round the pair lies in the grounded leg: one ground fault would bridge every safety in it. Do not fire; have the \
     boiler's diagram read again.";
const TRIP: &str = "Make the condition itself; a lifted wire proves only the wire. What is named must stop, everything else must go on: a \
     boiler that stops without being named is a wrong wire. Where nothing stops, the safety is bridged.";
const SERIES: &str = "Two contacts in series open for each other: the first that welds is never seen in a trip. Lock the relay panel's \
     control disconnect open, lift and insulate the named wire, leave the relay in its socket, close the disconnect, call for \
     heat. What is named must stay out. Then the same for the next. Repeat it every year.";
const AFTER: [&str; 4] = [
    "Every lifted wire landed again, every setting turned back to the plan, every cover on.",
    "Jumpers and lifted wires counted: as many out as in.",
    "Each boiler lit once from a call of each zone, each pump turned once in HAND, OFF and AUTO where it has a selector.",
    "Name, licence, date: ______________________________",
];
