//! Codes of files and options (F, X) and of a wiring plan that cannot be made (J).

use super::{ERROR, Entry, WARNING};

/// In the order of the codes.
pub(super) const ENTRIES: &[Entry] = &[
    Entry {
        code: "F01",
        name: "cannot-read",
        weight: ERROR,
        source: "the operating system",
        finds: "A file that cannot be read: it is not there, it is a folder, or you may not.",
        matters: "Without it there is nothing to say.",
        mend: "See that the path is right, from the folder that you stand in.",
        example: "",
    },
    Entry {
        code: "F02",
        name: "cannot-write",
        weight: ERROR,
        source: "the operating system; that nothing is written over is our choice",
        finds: "A result that cannot be put where it should: something is there already, the place is a folder or not there, the disk is \
            full, or it is the very file that was read.",
        matters: "Files are written whole or not at all. What is there is not lost by a slip, and the plant file never.",
        mend: "Name another file, or add --force to write over it. A file that was read in the same run is not written over even so.",
        example: "",
    },
    Entry {
        code: "F03",
        name: "cannot-print",
        weight: ERROR,
        source: "the operating system",
        finds: "The result cannot be written to the screen or to where the shell sends it, for example because a disk is full.",
        matters: "What arrived there is not the whole of it.",
        mend: "Make room, or write with --output, which leaves no half file.",
        example: "",
    },
    Entry {
        code: "F04",
        name: "no-earlier-schedule",
        weight: ERROR,
        source: "the JSON form of 'heatwright wire'",
        finds: "The file given to --diff is no wiring schedule of an earlier run.",
        matters: "What a revision does is told from the rows and lists of the plan that was pulled.",
        mend: "Write it before the plant is changed: 'heatwright wire PLANT.toml --format json --output OLD.json'. CSV and text do not serve.",
        example: "",
    },
    Entry {
        code: "F05",
        name: "no-workbook",
        weight: ERROR,
        source: "the form of the workbook",
        finds: "The workbook of the schedule cannot be made.",
        matters: "Nothing was written.",
        mend: "A sheet holds about a million lines; 'heatwright wire --format csv' has no such limit.",
        example: "",
    },
    Entry {
        code: "F06",
        name: "wrong-ending",
        weight: ERROR,
        source: "our choice",
        finds: "The name of the file for a chart, a series, a workbook or a netlist ends otherwise than its form.",
        matters: "What opens a file goes by its ending; and the name is judged before time is spent on a run.",
        mend: "Name a file with the ending that the sentence gives.",
        example: "",
    },
    Entry {
        code: "F07",
        name: "series-not-written",
        weight: ERROR,
        source: "the operating system",
        finds: "The series of a run cannot be written to its end.",
        matters: "It is kept whole or not at all: no file was made or changed.",
        mend: "See that there is room on the disk; a longer --sample makes fewer rows.",
        example: "",
    },
    Entry {
        code: "F08",
        name: "option-without-effect",
        weight: ERROR,
        source: "our choice: an option that does nothing is one that somebody relies on",
        finds: "--image without an emulated controller, --port without one on a port, --utc-offset with the built-in year or a table \
            whose times carry no offset (both are local already), --sample without a series, or --page with a result that is no text for \
            people.",
        matters: "The run would be made in this process while somebody believes it was made on the board; or the weather would be \
            hours off from what somebody believes.",
        mend: "Leave the option out; or choose that controller with --controller emulated or --controller port; or write the times of \
            the weather with Z where they are in UTC.",
        example: "",
    },
    Entry {
        code: "F09",
        name: "file-named-twice",
        weight: ERROR,
        source: "our choice: nothing is written over in silence",
        finds: "The file for the result (--output) is also the file for a chart, a series, a workbook, a netlist or a configuration block.",
        matters: "Of two results in one file only the later is left, and nothing shows that the other is gone.",
        mend: "Name a file of its own for each.",
        example: "",
    },
    Entry {
        code: "F10",
        name: "several-lists-in-a-csv",
        weight: ERROR,
        source: "the form of the file",
        finds: "Several lists of the wiring plan asked for in one table of comma-separated values.",
        matters: "Each list has columns of its own; one below the other they read as nonsense in a spreadsheet.",
        mend: "Name one list with --by, or write all into one workbook with --xlsx.",
        example: "",
    },
    Entry {
        code: "F11",
        name: "fault-not-understood",
        weight: ERROR,
        source: "our choice",
        finds: "A --fault of 'simulate' that this plant cannot have: no boiler, pump, sensor, zone or safety of that id, a way that such a thing \
            does not fail in, or an hour past the end of the run. Boilers: lockout, off. Pumps: stopped, overload. Sensors: open, short, \
            frozen. Zones: silent, calls. Safeties: open.",
        matters: "The run would be one without that fault while somebody believes the plant has stood it.",
        mend: "Write ID=HOW@HOURS, or ID=HOW@HOURS-HOURS for a fault that is mended: the id from the plant file, hours from the start of the \
            run. The message lists what can be.",
        example: "",
    },
    Entry {
        code: "F12",
        name: "another-plants-schedule",
        weight: WARNING,
        source: "our choice: one wire in ten, or one in two from a plant file of another name",
        finds: "Of the wires in the file given to --diff less than one in ten stands as it is in the plan, or less than half where the file was made \
            from a plant file of another name.",
        matters: "Whoever takes out what is dropped by such a list takes out another plant's wires.",
        mend: "Both prints say which plant file they were made from, with its checksum. Where panels or spaces were named anew all wires are new: \
            then pull by the schedule, not by the difference.",
        example: "",
    },
    Entry {
        code: "J01",
        name: "cannot-be-wired",
        weight: ERROR,
        source: "the planner's own ranges; sections of the NEC where the sentence names one",
        finds: "Something that no wiring can be planned for: volts and phases that no panelboard has, a current or a way that is too large, \
            two circuits in one space, a boiler's marks that land line or neutral on the wrong terminal, entries that contradict each \
            other.",
        matters: "A plan with a hole would be pulled as it is. Nothing is planned until it can be planned whole.",
        mend: "The sentence says which entry to look at: `volts`, `phases`, `amps`, `space`, the `marks`, the service. What calls itself \
            our mistake is one: report it with the plant file.",
        example: "[boiler.b1.electrical]\nvolts = \"120 V\"\nphases = 1\namps = \"6.5 A\"",
    },
    Entry {
        code: "J02",
        name: "no-network",
        weight: ERROR,
        source: "our choice: proof and readings know the rows and the device list, nothing else",
        finds: "The rows of the schedule and the device list make no network: a row that ends on a terminal that no device has, say, or \
            a tag that two devices carry. That is a fault of this program, not of the plant.",
        matters: "Neither readings nor a wired run could be computed from such a schedule, nor should it be pulled.",
        mend: "Report it with the plant file.",
        example: "",
    },
    Entry {
        code: "X01",
        name: "no-such-code",
        weight: ERROR,
        source: "our choice",
        finds: "'heatwright explain' was asked for a code or a name that no finding has.",
        matters: "Nothing is explained by guessing; the nearest codes are named.",
        mend: "Take the code from the finding, where it stands in brackets, or see 'heatwright explain --list'.",
        example: "",
    },
    Entry {
        code: "X02",
        name: "no-such-sheet",
        weight: ERROR,
        source: "our choice",
        finds: "No lockout sheet has the text given with --item in its name.",
        matters: "An empty pile of sheets could be read as nothing to lock out.",
        mend: "Take a part of one of the names that are listed; capitals do not matter.",
        example: "",
    },
];
