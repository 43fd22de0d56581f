//! Terminal strips, jumper bars, the ground bar.
//!
//! A strip terminal is identified for two conductors, one a side. Terminals of one potential stand side by side under a
//! jumper bar: the bar is part of the device, not a row. A terminal is marked with the far terminal it serves, so that a new
//! zone renumbers nothing.

use crate::{
    device::{Device, Kind, PlaceId},
    part::{Part, T},
};

/// An empty strip.
pub fn strip(tag: &str, place: PlaceId, label: &str) -> Device {
    Device::new(tag, Kind::Strip, place, label)
}

/// The ground bar of an enclosure: bonded to the enclosure's metal.
pub fn ground_bar(tag: &str, place: PlaceId, label: &str) -> Device {
    let mut d = strip(tag, place, label);
    let bar = d.inside("PE");
    d.parts.push(Part::Chassis(bar));
    d
}

/// Adds a terminal on the ground bar.
pub fn add_ground(d: &mut Device, mark: &str) -> T {
    let t = d.terminal(mark);
    if let Some(bar) = d.find("PE") {
        d.parts.push(Part::Bond(bar, t));
    }
    t
}

/// Adds terminals under one jumper bar and gives their places; a mark that is taken already gets a letter.
pub fn add_joined(d: &mut Device, marks: &[String]) -> Vec<T> {
    let terminals: Vec<T> = marks
        .iter()
        .map(|m| {
            let free = free_mark(d, m);
            d.terminal_for(free, 2)
        })
        .collect();
    for pair in terminals.windows(2) {
        if let [a, b] = *pair {
            d.parts.push(Part::Bond(a, b));
        }
    }
    terminals
}

fn free_mark(d: &Device, mark: &str) -> String {
    if d.find(mark).is_none() {
        return mark.to_owned();
    }
    let mut n = 2u16;
    loop {
        let tried = format!("{mark}.{n}");
        if d.find(&tried).is_none() {
            return tried;
        }
        n = n.saturating_add(1);
    }
}
