//! Codes of the control settings in a plant file.

use super::{ERROR, Entry};

/// In the order of the codes.
pub(super) const ENTRIES: &[Entry] = &[
    Entry {
        code: "P40",
        name: "supply-bounds-crossed",
        weight: ERROR,
        source: "our choice",
        finds: "`supply-max` of the reset is not above its `supply-min`.",
        matters: "Whatever the curve says is held between the two; crossed, they leave no temperature.",
        mend: "Correct the one that is wrong. Boilers that must not condense want a high `supply-min`, condensing ones a low one.",
        example: "[reset]\nsupply-min = \"90 °F\"\nsupply-max = \"185 °F\"",
    },
    Entry {
        code: "P41",
        name: "curve-points",
        weight: ERROR,
        source: "our choice; up to 8 points is the room of the controller",
        finds: "A typed reset curve of fewer than 2 or more than 8 points, one that does not run from cold to warm outdoors, or one that \
            asks for hotter water on a warmer day. Of two points that contradict each other both are shown.",
        matters: "Between two points the target follows a straight line, past the ends it stays level. A curve that runs back has two \
            answers; one that rises with the day heats least when it is coldest.",
        mend: "Write the points from the coldest outdoor temperature to the warmest, each once, the supply falling. Left out, they are \
            computed from the emitters.",
        example: "[reset]\npoints = [\n  { outdoor = \"0 °F\", supply = \"180 °F\" },\n  { outdoor = \"60 °F\", supply = \"95 °F\" },\n]",
    },
    Entry {
        code: "P42",
        name: "staging-contradicts-itself",
        weight: ERROR,
        source: "our choice",
        finds: "Under [staging]: `down-rate` not below `up-rate`, `low-load-band` narrower than `band`, or as many `plant-ignored-calls` as \
            the plant has zones.",
        matters: "With the rates crossed a boiler that was just added is dropped again, for ever. The low-load band is there to make burns \
            longer. A plant that ignores every call never heats.",
        mend: "Keep the rates well apart: 80 and 60 % are taken where neither is written. Ignore fewer calls than there are zones.",
        example: "[staging]\nup-rate = \"80 %\"\ndown-rate = \"60 %\"",
    },
    Entry {
        code: "P43",
        name: "rotation-not-whole-days",
        weight: ERROR,
        source: "our choice",
        finds: "The time between two changes of the lead boiler (`every`) is not a whole number of days.",
        matters: "The change happens at one time of day, `at`, when people are there to see it.",
        mend: "Write it in days.",
        example: "[rotation]\npolicy = \"calendar\"\nevery = \"7 d\"\nat = \"10:00\"",
    },
    Entry {
        code: "P44",
        name: "target-above-boilers",
        weight: ERROR,
        source: "our choice",
        finds: "`reset.supply-max` is above the lowest `outlet-max` of the boilers.",
        matters: "The curve could ask for water that a boiler is never told to give: the zones run short while that boiler believes it is \
            done.",
        mend: "Lower `supply-max`, or raise `outlet-max` of the boilers as far as their limits and their instructions allow.",
        example: "[reset]\nsupply-max = \"185 °F\"\n[boiler.b1]\noutlet-max = \"190 °F\"",
    },
];
