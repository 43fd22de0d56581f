//! Codes of what names what in a plant file: ids that lead nowhere, things that are missing, unused, shared or doubled.

use super::{ERROR, Entry};

/// In the order of the codes.
pub(super) const ENTRIES: &[Entry] = &[
    Entry {
        code: "P11",
        name: "names-nothing",
        weight: ERROR,
        source: "our choice",
        finds: "A key that names another thing by its id, and no such thing is in the file, or it is of another kind: the `pump` of a \
            boiler, a zone or the tank, the `schedule` of a zone or of the reset, the `scope` of a safety, `of` of a sensor, `to` and \
            `otherwise` of the purge. Also a sensor for a boiler's outlet or behind a mixing valve whose `of` is missing.",
        matters: "The id is the only link between the two. Without it nobody knows which relay to wire to which motor.",
        mend: "Correct the id; the nearest one is named. Or add the thing under a heading of its own.",
        example: "[zone.office]\npump = \"p-office\"\n[pump.p-office]\nmotor = \"wet-rotor\"\n[sensor.out1]\nmeasures = \"boiler-outlet\"\nof = \"b1\"",
    },
    Entry {
        code: "P12",
        name: "zone-without-pump",
        weight: ERROR,
        source: "our choice",
        finds: "A zone with neither a `pump` nor a `valve`.",
        matters: "Nothing would move its water, and its call would switch nothing.",
        mend: "Name its pump, or describe its zone valve; behind a valve the pump may be one that several zones share.",
        example: "[zone.office]\npump = \"p-zones\"\n[zone.office.valve]\nend-switch = true",
    },
    Entry {
        code: "P13",
        name: "shared-pump",
        weight: ERROR,
        source: "our choice",
        finds: "One pump that is named by two things that may not share it: by a boiler and a zone, by two boilers, by the tank and \
            anything else.",
        matters: "A boiler's pump must run for its own flow proof, overrun and purge; a tank's must stop at its limit. Switched for \
            another's sake it does neither. Only zones may share a pump: it runs while any of them calls.",
        mend: "Give each other use its own pump.",
        example: "",
    },
    Entry {
        code: "P14",
        name: "no-boiler",
        weight: ERROR,
        source: "our choice",
        finds: "A plant without a boiler.",
        matters: "There is nothing to stage, to wire or to simulate.",
        mend: "Add one under a heading of its own. The order of the headings is the order of rotation.",
        example: "[boiler.b1]\ninput = \"400 MBH\"\ndrive = \"target\"",
    },
    Entry {
        code: "P15",
        name: "no-zone",
        weight: ERROR,
        source: "our choice",
        finds: "A plant without a zone.",
        matters: "The supply temperature is computed from what the zones need; a tank alone gives none.",
        mend: "Add one under a heading of its own.",
        example: "[zone.hall]\ndesign-loss = \"40 MBH\"\npump = \"p-hall\"",
    },
    Entry {
        code: "P16",
        name: "unused-pump",
        weight: ERROR,
        source: "our choice",
        finds: "A pump that no boiler, no zone and not the tank names.",
        matters: "It would have a circuit and a relay, and never run.",
        mend: "Name it where it belongs, or take it out.",
        example: "[zone.hall]\npump = \"p-hall\"",
    },
    Entry {
        code: "P17",
        name: "needless-sensor",
        weight: ERROR,
        source: "our choice",
        finds: "A sensor that measures what another sensor measures already, or a tank that the plant does not have.",
        matters: "The controller follows one sensor for each use; which of two it follows must not hang on their order in the file.",
        mend: "Leave one of them out, or say with `measures` and `of` what it really measures. For a spare input see `spare-sensors` of \
            the panel.",
        example: "",
    },
    Entry {
        code: "P18",
        name: "missing-sensor",
        weight: ERROR,
        source: "our choice",
        finds: "No sensor that measures outdoors, none in the supply behind the header, or none behind a zone's mixing valve.",
        matters: "The reset curve reads the first and is held by the second; a mixing valve without the third could send boiler water \
            into a floor.",
        mend: "Add the sensor that is named.",
        example: "[sensor.outdoor]\nmeasures = \"outdoor\"\n[sensor.floor-supply]\nmeasures = \"mixed\"\nof = \"lobby\"",
    },
    Entry {
        code: "P19",
        name: "purge-to-wrong-place",
        weight: ERROR,
        source: "our choice",
        finds: "The heat that is left in a boiler is to go (`purge.to`) into a tank that the plant does not have, or into a zone behind a \
            mixing valve.",
        matters: "The first goes nowhere. In the second, boiler water meets a floor that must not have it.",
        mend: "Name the tank, a zone without a mixing valve, or none: then only the boiler's pump runs on.",
        example: "[purge]\nto = \"tank\"\notherwise = \"garage\"",
    },
    Entry {
        code: "P35",
        name: "some-boiler-pumps",
        weight: ERROR,
        source: "our choice: the model of the header",
        finds: "Some boilers name a pump of their own and some do not.",
        matters: "On one header, pumped boilers push water backwards through those without a pump, and nobody can say what flow each \
            gets.",
        mend: "Give every boiler its pump, or none: then the zones' flow passes through all of them.",
        example: "[boiler.b2]\npump = \"p-b2\"",
    },
    Entry {
        code: "P46",
        name: "relay-given-twice",
        weight: ERROR,
        source: "our choice",
        finds: "One number of relay that is given to two things, by their `relay`, by `alarm-relay` or by `health-relay`. Both places are \
            shown.",
        matters: "A relay serves one thing.",
        mend: "Give one of them another number, or leave it out: the next free relay is taken. Pin a relay only where it must not move \
            when the plant grows.",
        example: "[pump.p-hall]\nrelay = 7",
    },
    Entry {
        code: "P58",
        name: "same-name",
        weight: ERROR,
        source: "our choice",
        finds: "Two boilers, two pumps, two zones, two safeties or two sensors with the same `name`; capitals do not tell them apart. Also \
            one that is called like a part of every plan, such as relay panel.",
        matters: "Their labels and lockout sheets could not be told apart, and somebody would lock out the wrong one.",
        mend: "Give each its own name. Left out, the name is the id. Things of different kinds may share one: all but one then bear their kind \
            behind it on labels and sheets, as in hall (pump).",
        example: "[pump.p-b1]\nname = \"Pump of boiler 1\"",
    },
];
