//! Why rows and devices do not make a network: one sentence each, which stands alone and names the row or the device.

use thiserror::Error;

/// Why rows and devices do not make a network.
#[derive(Clone, Debug, PartialEq, Eq, Error)]
pub enum RebuildError {
    /// Two devices carry the same tag.
    #[error("two devices carry the tag {tag}; a tag must be unique")]
    TagTwice {
        /// The tag.
        tag: String,
    },
    /// Two terminals of one device carry the same mark.
    #[error("device {tag} has two terminals marked {mark}; a mark must be unique in its device")]
    MarkTwice {
        /// The device.
        tag: String,
        /// The mark.
        mark: String,
    },
    /// A row names a device that is not in the list.
    #[error("row {row} (wire {wire}) lands on device {tag}, which is not in the device list")]
    UnknownDevice {
        /// Place of the row in the schedule, from 1.
        row: usize,
        /// Its wire number.
        wire: String,
        /// The device it names.
        tag: String,
    },
    /// A row names a terminal that its device has not.
    #[error("row {row} (wire {wire}) lands on terminal {mark} of {tag}, which has no such terminal")]
    UnknownTerminal {
        /// Place of the row in the schedule, from 1.
        row: usize,
        /// Its wire number.
        wire: String,
        /// The device.
        tag: String,
        /// The terminal it names.
        mark: String,
    },
    /// A row lands on a joint inside a device.
    #[error("row {row} (wire {wire}) lands on {tag} {mark}, a joint inside the device that no wire can reach")]
    Unreachable {
        /// Place of the row in the schedule, from 1.
        row: usize,
        /// Its wire number.
        wire: String,
        /// The device.
        tag: String,
        /// The joint.
        mark: String,
    },
    /// A conductor has no resistance that could be told.
    #[error("row {row} (wire {wire}): {need}")]
    Conductor {
        /// Place of the row in the schedule, from 1.
        row: usize,
        /// Its wire number.
        wire: String,
        /// What is needed.
        need: &'static str,
    },
    /// A part stands on a terminal that its device has not.
    #[error("part {part} of {tag} stands on a terminal that the device does not have")]
    PartTerminal {
        /// The device.
        tag: String,
        /// Place of the part in the device, from 1.
        part: usize,
    },
    /// A contact is moved by a coil that its device has not, or has twice.
    #[error("{tag} has {found} coils with number {number}; a contact is moved by exactly one")]
    Coil {
        /// The device.
        tag: String,
        /// The coil's number.
        number: u8,
        /// How many carry it.
        found: usize,
    },
    /// A rating is not a usable number.
    #[error("part {part} of {tag}: {field} must be {need}")]
    Number {
        /// The device.
        tag: String,
        /// Place of the part in the device, from 1.
        part: usize,
        /// Which rating.
        field: &'static str,
        /// What it must be.
        need: &'static str,
    },
}
