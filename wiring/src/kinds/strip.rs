//! Terminal strips, jumper bars, the ground bar.
//!
//! A strip terminal is identified for two conductors, one a side. Terminals of one potential stand side by side under a
//! jumper bar: the bar is part of the device, not a row. Marks are given later, by wire number and place on the bar
//! (see [`crate::pass::strips`]).

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

/// Adds a splice of so many conductors in a box without a strip: one terminal, since nothing but the splice joins them.
pub fn add_splice(d: &mut Device, conductors: usize) -> T {
    let mark = format!("new {}", d.terminals.len());
    d.terminal_for(mark, u8::try_from(conductors).unwrap_or(u8::MAX))
}

/// Adds so many terminals under one jumper bar and gives their places; their marks are for the time being.
pub fn add_joined(d: &mut Device, count: usize) -> Vec<T> {
    let terminals: Vec<T> = (0..count)
        .map(|_| {
            let mark = format!("new {}", d.terminals.len());
            d.terminal_for(mark, 2)
        })
        .collect();
    for pair in terminals.windows(2) {
        if let [a, b] = *pair {
            d.parts.push(Part::Bond(a, b));
        }
    }
    terminals
}
