//! The wiring plan as tables.
//!
//! Each list of the plan is a table of its own; the schedule for people stands circuit by circuit in 80 columns, the one for
//! spreadsheets carries every column in one table.

use super::{
    Block, Report, Table,
    units::{In, awg_mm2, tidy},
};
use heatwright_wiring::{
    device::PlaceId,
    plan::{Circuit, Overload, PanelSide, Plan, RunForm, RunGround, TerminalLanding},
    row::{Class, Colour, Landing, Row, way},
};
use std::collections::HashMap;

/// Terminal in the form that is printed everywhere: `K3:13`.
pub fn at(l: &Landing) -> String {
    format!("{}:{}", l.device, l.terminal)
}

/// A colour in the letters of a wire marker.
pub fn colour(c: Colour) -> String {
    match c {
        Colour::Black => "black".into(),
        Colour::Red => "red".into(),
        Colour::Blue => "blue".into(),
        Colour::Brown => "brown".into(),
        Colour::Orange => "orange".into(),
        Colour::Yellow => "yellow".into(),
        Colour::White => "white".into(),
        Colour::Gray => "gray".into(),
        Colour::Green => "green".into(),
        Colour::WhiteRed => "white/red".into(),
        Colour::Violet => "violet".into(),
        Colour::Pink => "pink".into(),
        Colour::Core(n) => format!("cond. {n}"),
        Colour::Shield => "shield".into(),
    }
}

/// Size and colour of a conductor; a bare one has no colour.
pub fn conductor(r: &Row) -> String {
    if r.insulation == BARE { format!("{} bare", r.awg) } else { format!("{} {}", r.awg, colour(r.colour)) }
}

/// What the schedule calls a conductor without insulation.
const BARE: &str = "bare";

/// A class of circuit in words.
pub fn class(c: Class) -> &'static str {
    match c {
        Class::Power => "power",
        Class::Control => "control (Class 1)",
        Class::Class1PowerLimited => "Class 1 power-limited",
        Class::Class2 => "Class 2",
        Class::Ground => "ground",
    }
}

/// The whole schedule in one table, every column, one row a conductor.
pub fn by_wire(plan: &Plan, u: In) -> Table {
    let length = format!(">Length, {}", u.length_unit());
    let mut heads = vec![
        "Wire",
        "From",
        "From terminal",
        "To",
        "To terminal",
        "Circuit",
        "Class",
        "AWG",
        "Insulation",
        "Color",
        "Raceway or cable",
        length.as_str(),
        ">Volts, V",
        ">Amps, A",
        ">Drop, %",
        "Purpose",
    ];
    if !u.is_us() {
        heads.push(">Cross-section, mm²");
    }
    let mut t = Table::new(&heads);
    for r in &plan.rows {
        let mut row = vec![
            r.wire.clone(),
            r.from.device.clone(),
            r.from.terminal.clone(),
            r.to.device.clone(),
            r.to.terminal.clone(),
            r.circuit.clone(),
            class(r.class).to_owned(),
            r.awg.clone(),
            r.insulation.clone(),
            if r.insulation == BARE { BARE.to_owned() } else { colour(r.colour) },
            way(&r.run, &r.from, &r.to),
            u.length_text(r.length_ft),
            format!("{:.0}", r.volts),
            format!("{:.2}", r.amps),
            format!("{:.2}", r.drop_percent),
            r.purpose.clone(),
        ];
        if !u.is_us() {
            row.push(awg_mm2(&r.awg).map_or(String::new(), |a| tidy(a, 2)));
        }
        t.row(row);
    }
    t
}

/// The schedule for people: a head and a table a circuit, in the order of the plan.
pub fn schedule(plan: &Plan, report: &mut Report, u: In) {
    for c in &plan.circuits {
        let rows: Vec<&Row> = plan.rows.iter().filter(|r| r.circuit == c.name).collect();
        if rows.is_empty() {
            continue;
        }
        report.heading(format!("Circuit {}: {}", c.name, c.label));
        let usual = usual_purpose(&c.label, &rows);
        let said = |r: &Row| r.purpose == EQUIPMENT_GROUND || Some(r.purpose.as_str()) == usual;
        let more = usual.is_none() || rows.iter().any(|r| !said(r));
        let mut line = circuit_line(plan, c, &rows, u);
        if let Some(usual) = usual {
            let where_blank = if more { ", where a line says nothing else" } else { "" };
            line.push_str(&format!(" Does: {usual}{where_blank}; PE: {EQUIPMENT_GROUND}."));
        }
        report.text(line);
        let feet = format!(">{}", u.length_unit());
        let mut heads = vec!["Wire", "From", "To", "Conductor", "In", feet.as_str()];
        if more {
            heads.push("Does");
        }
        let mut t = Table::new(&heads);
        for r in rows {
            let mut cells = vec![
                r.wire.clone(),
                at(&r.from),
                at(&r.to),
                conductor(r),
                way(&r.run, &r.from, &r.to),
                u.length_text(r.length_ft),
            ];
            if more {
                cells.push(if usual.is_some() && said(r) { String::new() } else { r.purpose.clone() });
            }
            t.row(cells);
        }
        report.table(t);
    }
}

/// What most green conductors do.
const EQUIPMENT_GROUND: &str = "equipment ground";

/// What is said once above a circuit's conductors, grounds aside: what the circuit is called where two or more do just that, else what
/// more than half of them do.
fn usual_purpose<'a>(label: &str, rows: &[&'a Row]) -> Option<&'a str> {
    let all: Vec<&str> = rows.iter().map(|r| r.purpose.as_str()).filter(|p| *p != EQUIPMENT_GROUND).collect();
    let count = |p: &str| all.iter().filter(|q| **q == p).count();
    let named = all.iter().find(|p| **p == label && count(p) > 1);
    named.or_else(|| all.iter().find(|p| count(p) > 1 && 2 * count(p) > all.len())).copied()
}

fn circuit_line(plan: &Plan, c: &Circuit, rows: &[&Row], u: In) -> String {
    let mut s = format!("{}, {:.0} V", class(c.class), c.volts);
    if c.phases == 3 {
        s.push_str(" three-phase");
    }
    s.push_str(&format!(", {:.2} A", c.amps));
    if let Some(b) = plan.breakers.iter().find(|b| b.circuit == c.name) {
        s.push_str(&format!(
            ", {} A {}-pole breaker{}, phase conductor {}, equipment ground {}. Why this breaker: {}",
            b.amps,
            b.poles,
            if b.ground_fault { " with ground-fault protection" } else { "" },
            u.awg(&b.awg),
            u.awg(&b.ground_awg),
            u.prose(&b.why)
        ));
    }
    if !s.ends_with('.') {
        s.push('.');
    }
    let drop = rows.iter().map(|r| r.drop_percent).fold(0.0, f64::max);
    if drop > 0.0 {
        s.push_str(&format!(" Voltage drop at its far end {drop:.2} %."));
    }
    let spliced = heatwright_wiring::pass::reduced::in_words(plan, &c.name);
    if !spliced.is_empty() {
        s.push_str(&format!(" {}", u.prose(&spliced)));
    }
    s
}

/// What lands on each terminal, device by device, place in the last column.
pub fn by_device(plan: &Plan) -> Table {
    let mut t = Table::new(&["Device", "Terminal", "Wire", "Size", "Other end", "In", "Place"]);
    for (l, [device, terminal, wire, size, far, run]) in landed(plan) {
        t.row([device, terminal, wire, size, far, run, place(plan, l.place)]);
    }
    t
}

/// The same for people: a head and a table a place, one line a terminal in 80 columns.
pub fn by_place(plan: &Plan, report: &mut Report) {
    let all: Vec<_> = landed(plan).collect();
    let mut places = Vec::new();
    for (l, _) in &all {
        if !places.contains(&l.place) {
            places.push(l.place);
        }
    }
    for p in places {
        report.heading(place(plan, p));
        let mut t = Table::new(&["Device", "Terminal", "Wire", "Size", "Other end", "In"]);
        for (_, row) in all.iter().filter(|(l, _)| l.place == p) {
            t.row(row.clone());
        }
        report.table(t);
        let selectors =
            plan.devices.iter().filter(|d| d.kind == heatwright_wiring::device::Kind::Selector && d.place == p);
        for d in selectors {
            report.text(format!("{}: {}.", d.tag, heatwright_wiring::kinds::selector::positions(d)));
        }
    }
}

/// Each terminal with its device, mark, wire, conductor, other end and run.
fn landed(plan: &Plan) -> impl Iterator<Item = (&TerminalLanding, [String; 6])> {
    let mut ends: HashMap<(&str, &Landing, &Landing), &Row> = HashMap::new();
    for r in &plan.rows {
        ends.entry((&r.wire, &r.from, &r.to)).or_insert(r);
        ends.entry((&r.wire, &r.to, &r.from)).or_insert(r);
    }
    plan.landings.iter().map(move |l| {
        let row = ends.get(&(l.wire.as_str(), &l.at, &l.far));
        let cells = [
            l.at.device.clone(),
            l.at.terminal.clone(),
            l.wire.clone(),
            row.map_or_else(String::new, |r| conductor(r)),
            at(&l.far),
            way(&l.run, &l.at, &l.far),
        ];
        (l, cells)
    })
}

fn place(plan: &Plan, p: PlaceId) -> String {
    plan.places.get(usize::from(p.0)).cloned().unwrap_or_default()
}

/// What lies in each raceway and cable, conductor by conductor.
pub fn by_cable(plan: &Plan, u: In) -> Table {
    let mut t = Table::new(&["Run", "What it is", "Wire", "Conductor", "From", "To"]);
    for run in &plan.runs {
        let mut rows: Vec<&Row> = plan.rows.iter().filter(|r| r.run == run.name).collect();
        rows.sort_by_key(|r| if let Colour::Core(n) = r.colour { n } else { 0 });
        for r in rows {
            t.row([run.name.clone(), form(&run.form, u), r.wire.clone(), conductor(r), at(&r.from), at(&r.to)]);
        }
    }
    t
}

/// What a raceway or cable is.
fn form(f: &RunForm, u: In) -> String {
    match f {
        RunForm::Emt(size) => format!("EMT {}", u.trade_size(size)),
        RunForm::Bare => "bare conductor".into(),
        RunForm::Cable { cores, shielded } => {
            format!("{cores}-wire cable{}", if *shielded { ", shielded" } else { "" })
        }
    }
}

/// Jumper bars.
pub fn by_bar(plan: &Plan) -> Table {
    let mut t = Table::new(&["Strip", "From", "Through", ">Poles", "Wire", "Circuit"]);
    for b in &plan.bars {
        t.row([
            b.strip.clone(),
            b.first.clone(),
            b.last.clone(),
            b.poles.to_string(),
            b.wire.clone(),
            b.circuit.clone(),
        ]);
    }
    t
}

/// Raceways and cables.
pub fn by_run(plan: &Plan, u: In) -> Table {
    let mut t = Table::new(&[
        "Run",
        "From",
        "To",
        "Form",
        &format!(">{}", u.length_unit()),
        ">Wires",
        ">Live",
        ">Fill, %",
        ">Max, %",
        "Ground",
        "Class",
    ]);
    for r in &plan.runs {
        let percent = |p: Option<f64>| p.map_or(String::new(), |p| format!("{p:.0}"));
        t.row([
            r.name.clone(),
            r.from.clone(),
            r.to.clone(),
            form(&r.form, u),
            u.length_text(r.length_ft),
            r.conductors.to_string(),
            r.current_carrying.to_string(),
            percent(r.fill_percent),
            percent(r.fill_max_percent),
            match &r.ground {
                RunGround::Wire(awg) => format!("{awg} AWG green"),
                RunGround::Raceway => "the tubing".into(),
                RunGround::None => String::new(),
            },
            format!("{}{}", class(r.class), if r.safety { ", safety only" } else { "" }),
        ]);
    }
    t
}

/// The panelboards' directories: every space.
pub fn directory(plan: &Plan) -> Table {
    let mut t = Table::new(&["Panel", ">Space", "Side", "Phase", "Circuit", "Breaker", "Feeds", ">Load, VA"]);
    for d in &plan.directory {
        let spare = d.amps == 0;
        let breaker = match d.poles {
            0 => String::new(),
            1 => format!("{} A, 1 pole", d.amps),
            n => format!("{} A, pole {} of {n}", d.amps, d.pole),
        };
        t.row([
            d.panel.clone(),
            d.space.to_string(),
            match d.side {
                PanelSide::Left => "left",
                PanelSide::Right => "right",
            }
            .to_owned(),
            phase(d.phase),
            d.circuit.clone(),
            breaker,
            d.feeds.clone(),
            if spare { String::new() } else { format!("{:.0}", d.va) },
        ]);
    }
    t
}

/// A phase in the letter that labels and colour keys give it.
fn phase(number: u8) -> String {
    let letter = ["A", "B", "C"].get(usize::from(number).wrapping_sub(1));
    letter.map_or_else(|| number.to_string(), |l| (*l).to_owned())
}

/// How many spaces each panelboard needs, in sentences.
pub fn spaces(plan: &Plan) -> String {
    let mut boards: Vec<&str> = plan.directory.iter().map(|d| d.panel.as_str()).collect();
    boards.dedup();
    let mut out: Vec<String> = boards
        .iter()
        .map(|board| {
            let all = plan.directory.iter().filter(|d| d.panel == *board);
            let taken = all.clone().filter(|d| d.amps > 0).count();
            let breakers = all.clone().filter(|d| d.pole == 1).count();
            let spaces = all.count();
            let which = if boards.len() > 1 { format!("Panelboard {board}") } else { "The panelboard".to_owned() };
            format!("{which} needs {spaces} spaces: {taken} taken by {breakers} breakers, {} spare.", spaces - taken)
        })
        .collect();
    out.push(
        "Odd spaces stand on the left, even ones on the right; the poles of one breaker stand one below the other on one \
         side."
            .to_owned(),
    );
    out.join(" ")
}

/// What each phase carries, a line a panelboard.
pub fn balance(plan: &Plan) -> Table {
    let mut t = Table::new(&[
        "Panel",
        ">A, VA",
        ">B, VA",
        ">C, VA",
        ">In all, kVA",
        ">Most, A",
        "Most on",
        ">Over the mean, %",
    ]);
    for b in heatwright_wiring::pass::balance::balances(plan) {
        let va = |n: usize| b.va.get(n).map_or_else(|| "-".to_owned(), |va| format!("{va:.0}"));
        let most = b.most();
        t.row([
            b.panel.clone(),
            va(0),
            va(1),
            va(2),
            format!("{:.2}", b.total_va() / 1000.0),
            format!("{:.1}", b.amps.iter().copied().fold(0.0, f64::max)),
            most.map_or_else(|| "-".to_owned(), |m| phase(m.0 as u8 + 1)),
            most.map_or_else(|| "-".to_owned(), |m| format!("{:.0}", m.1)),
        ]);
    }
    t
}

/// Devices by tag.
pub fn devices(plan: &Plan) -> Table {
    let mut t = Table::new(&["Tag", "What it is", "Place", ">Terminals"]);
    for d in &plan.devices {
        t.row([
            d.tag.clone(),
            d.label.clone(),
            plan.places.get(usize::from(d.place.0)).cloned().unwrap_or_default(),
            d.terminals.iter().filter(|t| t.reach == heatwright_wiring::device::Reach::Field).count().to_string(),
        ]);
    }
    t
}

/// What to buy.
pub fn materials(plan: &Plan, u: In) -> Table {
    let mut t = Table::new(&["Item", ">Quantity", "Unit", "Note"]);
    for m in &plan.materials {
        let feet = m.unit == "ft";
        let (quantity, unit) =
            if feet { (u.length(m.quantity), u.length_unit()) } else { (m.quantity, m.unit.as_str()) };
        let item = match m.item.strip_prefix("EMT ").and_then(|t| t.strip_suffix(" in")) {
            Some(size) => format!("EMT {}", u.trade_size(size)),
            None => u.prose(&m.item),
        };
        t.row([item, format!("{:.0}", quantity.ceil()), unit.to_owned(), u.prose(&m.note)]);
    }
    t
}

/// Labels to print.
pub fn labels(plan: &Plan) -> Table {
    let mut t = Table::new(&["On", "Text", ">Count"]);
    for l in &plan.labels {
        t.row([l.on.clone(), l.text.replace('\n', " | "), l.count.to_string()]);
    }
    t
}

/// Motors with what switches, protects and disconnects them.
pub fn motors(plan: &Plan) -> Table {
    let mut t = Table::new(&[
        "Motor",
        "Circuit",
        ">Sizing, A",
        ">Plate, A",
        "Switched by",
        ">Set, A",
        ">Most, A",
        ">To start, A",
        "Disconnect",
        "At controller",
        ">At least, A",
    ]);
    for m in &plan.motors {
        let [set, most, to_start] = overload(m.overload);
        t.row([
            m.device.clone(),
            m.circuit.clone(),
            format!("{:.1}", m.sizing_a),
            format!("{:.1}", m.nameplate_a),
            m.switch.text().to_owned(),
            set,
            most,
            to_start,
            m.disconnect.clone(),
            match m.controller_disconnect.as_str() {
                "" => "-".to_owned(),
                ahead => ahead.to_owned(),
            },
            least(m.disconnect_min_a),
        ]);
    }
    t
}

/// A least rating in tenths of an ampere: rounded up, never down.
fn least(a: f64) -> String {
    format!("{:.1}", (a * 10.0 - 1e-9).ceil() / 10.0)
}

/// A most that must not be passed, in hundredths of an ampere: rounded down, never up.
pub fn ceiling(a: f64) -> String {
    format!("{:.2}", (a * 100.0 + 1e-9).floor() / 100.0)
}

/// Setting of an overload relay, the most by the plate, and the most where the motor will not start otherwise.
fn overload(o: Option<Overload>) -> [String; 3] {
    match o {
        Some(o) => [format!("{:.2}", o.set_a), ceiling(o.max_a), ceiling(o.max_to_start_a)],
        None => ["in motor", "-", "-"].map(str::to_owned),
    }
}

/// Transformers and what hangs on them.
pub fn transformers(plan: &Plan) -> Table {
    let mut t = Table::new(&["Transformer", ">Plate, VA", ">Sealed, VA", ">All starting, VA", ">Then, V", "Loads"]);
    for x in &plan.transformers {
        t.row([
            x.tag.clone(),
            format!("{:.0}", x.va),
            format!("{:.1}", x.sealed_va),
            format!("{:.1}{}", x.inrush_va, if x.inrush_va > x.va { " *" } else { "" }),
            format!("{:.1}", x.starting_v),
            x.loads.join(", "),
        ]);
    }
    t
}

/// The cautions that stand on everything an electrician is handed.
pub fn cautions(report: &mut Report) {
    report.push(Block::Heading("Cautions".into()));
    report.item(
        "This is a planning aid. The local electrical and boiler codes, the authority having jurisdiction, the equipment's \
         own instructions and licensed practice govern.",
    );
    report.item("Lock out, tag out and test for absence of voltage at the point of work before touching a conductor.");
    report.item(
        "Limits and safeties are hard-wired devices. No output of the controller may bypass one, and a jumper never goes \
         across one.",
    );
}

#[cfg(test)]
mod tests {
    use super::*;

    /// What most lines of a circuit do stands once above them, and no line loses what it alone does.
    #[test]
    fn a_remark_of_most_lines_is_said_once() {
        let path = "docs/examples/mill.toml";
        let l = crate::plant::load(path, &std::fs::read(path).unwrap()).unwrap();
        let plan = heatwright_wiring::plan::plan(&l.job()).unwrap();
        let mut report = Report::new("");
        schedule(&plan, &mut report, In(crate::plant::quantity::Units::Us));
        let text = String::from_utf8(report.render(crate::show::Format::Text, 200)).unwrap();
        let mut told = 0;
        for c in &plan.circuits {
            let rows: Vec<&Row> = plan.rows.iter().filter(|r| r.circuit == c.name).collect();
            let Some(usual) = usual_purpose(&c.label, &rows) else { continue };
            told += 1;
            assert!(rows.iter().filter(|r| r.purpose == usual).count() > 1);
            assert!(text.contains(&format!("Does: {usual}")), "{}: {usual}", c.name);
            for r in rows.iter().filter(|r| r.purpose != usual && r.purpose != EQUIPMENT_GROUND) {
                let line = |l: &str| l.starts_with(&r.wire) && l.contains(&at(&r.from)) && l.contains(&r.purpose);
                assert!(text.lines().any(line), "{}: {}", r.wire, r.purpose);
            }
        }
        assert!(told > 30, "{told}");
    }

    /// NEC 430.110(A): 115 % of 3.5 A is 4.025 A, so a switch of 4.0 A would be too small; 115 % of 8.0 A is 9.2 A as it stands.
    #[test]
    fn a_least_rating_is_never_rounded_down() {
        assert_eq!(least(3.5 * 1.15), "4.1");
        assert_eq!(least(8.0 * 1.15), "9.2");
    }

    #[test]
    fn a_phase_has_the_letter_of_the_labels() {
        assert_eq!([1, 2, 3].map(phase), ["A", "B", "C"]);
        assert_eq!(phase(0), "0", "a panelboard has none such");
    }

    /// NEC 430.32(A)(1) and (C): 125 % of 3.1 A is 3.875 A; a setting of 3.88 A would be past it.
    #[test]
    fn a_ceiling_is_never_rounded_up() {
        let o = Overload { set_a: 3.1, max_a: 3.1 * 1.25, max_to_start_a: 3.1 * 1.40, max_percent: 125.0 };
        assert_eq!(overload(Some(o)), ["3.10", "3.87", "4.34"]);
        // 125 % of 1.4 A is 1.75 A: 1.8 would be 128.6 %.
        assert_eq!(ceiling(1.4 * 1.25), "1.75");
    }
}
