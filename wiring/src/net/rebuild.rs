//! Rows and devices become a network of terminals, parts and wires.
//!
//! Nothing is guessed and nothing is skipped: a row that names an unknown device or terminal, two devices with one tag, a
//! contact whose coil does not exist or a number that is not one are errors, and all of them are reported at once.
//!
//! Units: volts rms, ohm, volt-amperes, degrees of phase.
//!
//! What it deliberately does not do: it does not know the passes that made the rows. What is proved is the paper.

use super::{
    errors::RebuildError,
    watch::{Watch, What},
};
use crate::{
    device::{Device, DeviceId, PlaceId, Reach},
    part::{Actuator, Part, T},
    row::{Colour, Landing, Row},
    tables::{Awg, resistance},
};
use std::collections::HashMap;

/// A part with its place in the network.
#[derive(Clone, Debug)]
pub(crate) struct Placed {
    pub(crate) device: DeviceId,
    /// First terminal of the device: `first + T` is a terminal of the network.
    pub(crate) first: u32,
    pub(crate) part: Part,
}

impl Placed {
    pub(crate) fn at(&self, t: T) -> u32 {
        self.first + u32::from(t.0)
    }
}

/// What a mark is to a wire.
#[derive(Clone, Copy, PartialEq)]
enum Joint {
    /// A terminal.
    Terminal,
    /// A joint inside the device with parts on it.
    Inner,
    /// A joint with nothing on it: where a shield ends.
    Taped,
}

/// One conductor between two terminals of the network.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Wire {
    pub(crate) ends: [u32; 2],
    pub(crate) shield: bool,
}

/// The network: terminals, parts, wires.
#[derive(Clone, Debug)]
pub struct Network {
    pub(crate) tags: Vec<String>,
    pub(crate) marks: Vec<String>,
    pub(crate) device_of: Vec<DeviceId>,
    pub(crate) parts: Vec<Placed>,
    /// One a row, in the order of the rows.
    pub(crate) wires: Vec<Wire>,
    /// Cable or raceway of each row; empty inside one enclosure.
    pub(crate) runs: Vec<String>,
    /// Circuit of each row.
    pub(crate) circuits: Vec<String>,
    /// Wire number of each row.
    pub(crate) numbers: Vec<String>,
    /// Resistance of each row, ohm; 0 for a shield.
    pub(crate) ohms: Vec<f64>,
    /// Where each device stands.
    pub(crate) places: Vec<PlaceId>,
    lookup: HashMap<(String, String), u32>,
}

/// How a network differs from the plan: faults, and what is switched off for work.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Changes {
    /// Rows left out, by place in the schedule.
    pub without: Vec<usize>,
    /// Rows whose end (0 or 1) is landed on another terminal.
    pub landed: Vec<(usize, usize, u32)>,
    /// Terminals joined by something that is not in the schedule.
    pub joined: Vec<(u32, u32)>,
    /// Contacts that no longer move, by part: true for closed.
    pub stuck: Vec<(usize, bool)>,
    /// Fuses and disconnects that are opened.
    pub opened: Vec<DeviceId>,
    /// Breakers that are opened: panelboard and first space.
    pub breakers: Vec<(DeviceId, u8)>,
}

impl Network {
    /// Rebuilds the network, or says everything that is wrong with rows and devices.
    pub fn rebuild(devices: &[Device], rows: &[Row]) -> Result<Self, Vec<RebuildError>> {
        let mut errors = Vec::new();
        let mut by_tag = HashMap::new();
        let mut net = Self {
            tags: devices.iter().map(|d| d.tag.clone()).collect(),
            marks: Vec::new(),
            device_of: Vec::new(),
            parts: Vec::new(),
            wires: Vec::with_capacity(rows.len()),
            runs: rows.iter().map(|r| r.run.clone()).collect(),
            circuits: rows.iter().map(|r| r.circuit.clone()).collect(),
            numbers: rows.iter().map(|r| r.wire.clone()).collect(),
            ohms: Vec::with_capacity(rows.len()),
            places: devices.iter().map(|d| d.place).collect(),
            lookup: HashMap::new(),
        };
        let mut inside = Vec::new();
        for (d, device) in devices.iter().enumerate() {
            if by_tag.insert(device.tag.as_str(), d).is_some() {
                errors.push(RebuildError::TagTwice { tag: device.tag.clone() });
            }
            let first = net.marks.len() as u32;
            for (i, t) in device.terminals.iter().enumerate() {
                net.marks.push(t.mark.clone());
                net.device_of.push(DeviceId(d as u16));
                let at = T(i as u16);
                let taken = device.parts.iter().any(|p| {
                    let (ts, n) = terminals(p);
                    ts[..n].contains(&at)
                });
                inside.push(match (t.reach, taken) {
                    (Reach::Field, _) => Joint::Terminal,
                    (Reach::Inside, true) => Joint::Inner,
                    (Reach::Inside, false) => Joint::Taped,
                });
                let key = (device.tag.clone(), t.mark.clone());
                if device.terminals[..i].iter().any(|o| o.mark == t.mark) {
                    errors.push(RebuildError::MarkTwice { tag: device.tag.clone(), mark: t.mark.clone() });
                } else {
                    net.lookup.entry(key).or_insert(first + i as u32);
                }
            }
            check_parts(device, &mut errors);
            for part in &device.parts {
                net.parts.push(Placed { device: DeviceId(d as u16), first, part: part.clone() });
            }
        }
        for (i, row) in rows.iter().enumerate() {
            let mut end = |l: &Landing| match net.lookup.get(&(l.device.clone(), l.terminal.clone())) {
                // A shield is taped back on a joint that nothing else stands on.
                Some(t)
                    if inside[*t as usize] == Joint::Inner
                        || (inside[*t as usize] == Joint::Taped && row.colour != Colour::Shield) =>
                {
                    errors.push(RebuildError::Unreachable {
                        row: i + 1,
                        wire: row.wire.clone(),
                        tag: l.device.clone(),
                        mark: l.terminal.clone(),
                    });
                    0
                }
                Some(t) => *t,
                None if by_tag.contains_key(l.device.as_str()) => {
                    errors.push(RebuildError::UnknownTerminal {
                        row: i + 1,
                        wire: row.wire.clone(),
                        tag: l.device.clone(),
                        mark: l.terminal.clone(),
                    });
                    0
                }
                None => {
                    errors.push(RebuildError::UnknownDevice {
                        row: i + 1,
                        wire: row.wire.clone(),
                        tag: l.device.clone(),
                    });
                    0
                }
            };
            let ends = [end(&row.from), end(&row.to)];
            net.wires.push(Wire { ends, shield: row.colour == Colour::Shield });
            net.ohms.push(ohm(row).unwrap_or_else(|need| {
                errors.push(RebuildError::Conductor { row: i + 1, wire: row.wire.clone(), need });
                0.0
            }));
        }
        if errors.is_empty() { Ok(net) } else { Err(errors) }
    }

    /// The terminal with this tag and mark.
    pub fn terminal(&self, tag: &str, mark: &str) -> Option<u32> {
        self.lookup.get(&(tag.to_string(), mark.to_string())).copied()
    }

    /// A terminal in words: tag and mark.
    pub fn name(&self, terminal: u32) -> String {
        let i = terminal as usize;
        match (self.device_of.get(i), self.marks.get(i)) {
            (Some(d), Some(mark)) => format!("{}:{}", self.tags[usize::from(d.0)], mark),
            _ => format!("terminal {terminal}?"),
        }
    }

    /// The device with this tag.
    pub fn device(&self, tag: &str) -> Option<DeviceId> {
        self.tags.iter().position(|t| t == tag).map(|i| DeviceId(i as u16))
    }

    /// The first two terminals of the load or coil that a watch looks at.
    pub fn ends(&self, watch: &Watch) -> Option<(u32, u32)> {
        self.parts.iter().find_map(|p| {
            let fits = match p.part {
                Part::Load { what, .. } | Part::Load3 { what, .. } => watch.what == What::Load(what),
                Part::Coil { .. } => watch.what == What::Coil,
                _ => false,
            };
            let (ts, _) = terminals(&p.part);
            (fits && p.at(ts[0]) == watch.terminal).then(|| (p.at(ts[0]), p.at(ts[1])))
        })
    }

    /// A part in words: its device and where it stands.
    pub fn part_name(&self, part: usize) -> String {
        match self.parts.get(part) {
            Some(p) => {
                let (ts, n) = terminals(&p.part);
                let at: Vec<&str> = ts[..n].iter().map(|t| self.marks[p.at(*t) as usize].as_str()).collect();
                format!("{} {}", self.tags[usize::from(p.device.0)], at.join("-"))
            }
            None => format!("part {part}?"),
        }
    }

    /// Number of rows.
    pub fn wire_count(&self) -> usize {
        self.wires.len()
    }

    /// Number of terminals.
    pub fn terminal_count(&self) -> usize {
        self.marks.len()
    }

    /// Number of parts.
    pub fn part_count(&self) -> usize {
        self.parts.len()
    }

    /// A row in words: its two ends.
    pub fn wire_name(&self, row: usize) -> String {
        match self.wires.get(row) {
            Some(w) => format!("{} - {}", self.name(w.ends[0]), self.name(w.ends[1])),
            None => format!("row {}?", row + 1),
        }
    }

    /// Rows that land on a terminal, with the end that does.
    pub(crate) fn landed_on(&self, terminal: u32) -> Vec<(usize, usize)> {
        let ends = self.wires.iter().enumerate().flat_map(|(row, w)| [(row, 0, w.ends[0]), (row, 1, w.ends[1])]);
        ends.filter(|(_, _, t)| *t == terminal).map(|(row, end, _)| (row, end)).collect()
    }

    /// The same network with the return of each source of this device taken off its bar: the star point floats.
    pub(crate) fn return_lost(&self, device: DeviceId) -> Self {
        let mut net = self.clone();
        let star = net.marks.len() as u32;
        net.marks.push("lost return".into());
        net.device_of.push(device);
        for p in net.parts.iter_mut().filter(|p| p.device == device) {
            let first = p.first;
            if let (Part::Source { ret, .. }, Ok(t)) = (&mut p.part, u16::try_from(star - first)) {
                *ret = T(t);
            }
        }
        net
    }

    /// The wires of a changed network, without those left out.
    pub(crate) fn wires_with<'a>(&'a self, changes: &'a Changes) -> impl Iterator<Item = Wire> + 'a {
        self.wires_with_rows(changes).map(|(_, w)| w)
    }

    /// The same with the row of each.
    pub(crate) fn wires_with_rows<'a>(&'a self, changes: &'a Changes) -> impl Iterator<Item = (usize, Wire)> + 'a {
        self.wires.iter().enumerate().filter(|(i, _)| !changes.without.contains(i)).map(|(i, w)| {
            let mut w = *w;
            for (row, end, t) in &changes.landed {
                if *row == i {
                    w.ends[*end & 1] = *t;
                }
            }
            (i, w)
        })
    }

    /// The earth bars.
    pub(crate) fn earths(&self) -> impl Iterator<Item = u32> + '_ {
        self.parts.iter().filter_map(|p| match p.part {
            Part::Earth(t) => Some(p.at(t)),
            _ => None,
        })
    }
}

/// Resistance of a conductor, ohm (Chapter 9 Table 8, 75 °C); a shield carries nothing.
fn ohm(row: &Row) -> Result<f64, &'static str> {
    if row.colour == Colour::Shield {
        return Ok(0.0);
    }
    let awg: Awg = row.awg.parse().map_err(|_| "its size must be one of the table of conductors, 18 to 4/0")?;
    if !row.length_ft.is_finite() || row.length_ft < 0.0 {
        return Err("its length must be a number of feet, zero or more");
    }
    Ok(resistance::ohm_per_kft(awg) * row.length_ft / 1000.0)
}

/// The terminals of a part, in the order of its fields.
pub(crate) fn terminals(part: &Part) -> ([T; 4], usize) {
    let z = T(0);
    match *part {
        Part::Source { hot, ret, .. } => ([hot, ret, z, z], 2),
        Part::Transformer { primary: [a, b], secondary: [c, d], .. } => ([a, b, c, d], 4),
        Part::Bond(a, b) => ([a, b, z, z], 2),
        Part::Contact { a, b, .. }
        | Part::Coil { a, b, .. }
        | Part::Load { a, b, .. }
        | Part::Input { a, b, .. }
        | Part::Element { a, b, .. }
        | Part::SensorInput { a, b, .. } => ([a, b, z, z], 2),
        Part::Load3 { lines: [a, b, c], .. } => ([a, b, c, z], 3),
        Part::SignalOut { plus, minus, .. } | Part::SignalIn { plus, minus, .. } => ([plus, minus, z, z], 2),
        Part::Chassis(a) | Part::Earth(a) => ([a, z, z, z], 1),
    }
}

fn check_parts(device: &Device, errors: &mut Vec<RebuildError>) {
    for (i, part) in device.parts.iter().enumerate() {
        let (ts, n) = terminals(part);
        if ts[..n].iter().any(|t| usize::from(t.0) >= device.terminals.len()) {
            errors.push(RebuildError::PartTerminal { tag: device.tag.clone(), part: i + 1 });
        }
        let mut number = |field, value: f64, zero: bool| {
            let ok = value.is_finite() && (value > 0.0 || (zero && value == 0.0));
            if !ok {
                let need = if zero { "a number, zero or more" } else { "a number above zero" };
                errors.push(RebuildError::Number { tag: device.tag.clone(), part: i + 1, field, need });
            }
        };
        match *part {
            Part::Source { volts, angle_deg, ohm, .. } => {
                number("volts", volts, false);
                number("inner resistance", ohm, false);
                number("size of the phase angle", angle_deg.abs(), true);
            }
            Part::Transformer { primary_volts, secondary_volts, ohm, va, .. } => {
                number("primary volts", primary_volts, false);
                number("secondary volts", secondary_volts, false);
                number("inner resistance", ohm, false);
                number("volt-amperes", va, false);
            }
            Part::Coil { volts, va, .. } | Part::Load { volts, va, .. } | Part::Load3 { volts, va, .. } => {
                number("volts", volts, false);
                number("volt-amperes", va, true);
            }
            _ => {}
        }
        let coils =
            |number| device.parts.iter().filter(|p| matches!(p, Part::Coil { number: n, .. } if *n == number)).count();
        let wanted = match *part {
            Part::Contact { by: Actuator::Coil(number), .. } | Part::Coil { number, .. } => Some(number),
            _ => None,
        };
        if let Some(number) = wanted {
            let found = coils(number);
            let error = RebuildError::Coil { tag: device.tag.clone(), number, found };
            if found != 1 && !errors.contains(&error) {
                errors.push(error);
            }
        }
    }
}
