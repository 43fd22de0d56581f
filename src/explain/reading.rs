//! Codes of how the plant file is written: grammar, keys, quantities, words. Emitted while the file is read, before anybody asks
//! whether the plant makes sense.

use super::{ERROR, Entry};

const FORM: &str = "the form of the plant file, our choice";

/// In the order of the codes.
pub(super) const ENTRIES: &[Entry] = &[
    Entry {
        code: "P01",
        name: "unknown-key",
        weight: ERROR,
        source: FORM,
        finds: "A heading or a key that the plant file does not have at this place. The nearest known one is named, or all that are \
            known here are listed.",
        matters: "A key that is passed over is a setting that somebody relies on: a misspelled `outlet-max` would leave the boiler at \
            its default without a word.",
        mend: "Correct the spelling, or move the key under the heading that it belongs to. Words of a key are joined by dashes, never \
            by underscores. 'heatwright schema' writes what an editor needs to complete the keys.",
        example: "[boiler.b1]\noutlet-max = \"185 °F\"",
    },
    Entry {
        code: "P02",
        name: "missing-key",
        weight: ERROR,
        source: FORM,
        finds: "A key that must be written and is not: a boiler's `input`, a zone's `design-loss`, the `scope` of a safety, the \
            `occupied` hours of a schedule, the `pump` of the tank, the `at` of a draw.",
        matters: "Whatever has a sensible default may be left out and is then listed as assumed. These have none: a guess would size \
            a conductor, a curve or a safety circuit by a figure that nobody has seen.",
        mend: "Add the key under the heading that is named; the hint says its meaning and its units or words. Where a whole heading is \
            missing, write it with its keys.",
        example: "[site]\noutdoor-design = \"0 °F\"",
    },
    Entry {
        code: "P03",
        name: "wrong-form",
        weight: ERROR,
        source: FORM,
        finds: "A value of another form than its key takes: a number where a text in quotes is wanted, one value where a list is \
            wanted, a value where a table belongs, or a text where true or false is wanted.",
        matters: "What was meant can be read in more than one way, and the file is never read by guessing.",
        mend: "Write it in the form that the hint shows. A text stands in quotes; a list in brackets; a small table in braces; true, \
            false and plain numbers stand without quotes.",
        example: "[sensor.supply]\nmeasures = \"supply\"\n[boiler.b1]\nstatus-contact = true",
    },
    Entry {
        code: "P04",
        name: "not-a-quantity",
        weight: ERROR,
        source: FORM,
        finds: "A number without its unit, a unit that this key does not take, or a text that is no number with a unit. The hint lists \
            the units that are accepted.",
        matters: "Nobody can tell °F from °C, or feet from metres, by looking at a number; read the wrong way, 65 is a room or a \
            scalding.",
        mend: "Write number and unit together in quotes. Either system may be used for any key, also mixed in one file. Fractions of a \
            horsepower may be written 1/6 or 1-1/2, thousands 1,200, decimals with a point.",
        example: "[zone.office]\nroom = \"70 °F\"\ndesign-loss = \"16 MBH\"",
    },
    Entry {
        code: "P05",
        name: "out-of-range",
        weight: ERROR,
        source: "our choice, unless the reference of the plant file names a standard beside the key",
        finds: "A quantity, a number, a count of phases or the length of a list outside what its key takes; the sentence has both \
            ends, in the unit that was written.",
        matters: "The ranges are wide: what lies outside is almost always a slip of the unit, of the decimal point or of the minus \
            sign, or something that this program does not plan.",
        mend: "See that number and unit are the ones meant. `phases` is 1 or 3: two line conductors of a three-phase service are still \
            single phase.",
        example: "[pump.p-hall]\nphases = 1",
    },
    Entry {
        code: "P06",
        name: "unprintable-text",
        weight: ERROR,
        source: "our choice: what fits on a label",
        finds: "A text that is empty, longer than 80 characters, or that holds a tab, a line break, another control \
            character or an unseen one that turns or hides the text after it.",
        matters: "Names, places and marks are printed on wire labels, sheets and drawings.",
        mend: "Write 1 to 80 plain characters on one line, or leave the key out.",
        example: "[zone.hall]\nname = \"Lecture hall, ground floor\"",
    },
    Entry {
        code: "P07",
        name: "unknown-word",
        weight: ERROR,
        source: FORM,
        finds: "A word that its key does not know. The allowed ones are listed, the nearest first.",
        matters: "Such a word chooses between whole ways of working: a `drive`, a `kind` of safety, a rotation `policy`.",
        mend: "Take one of the listed words, spelled as they are, in small letters and in quotes.",
        example: "[boiler.b1]\ndrive = \"target\"",
    },
    Entry {
        code: "P08",
        name: "too-many-things",
        weight: ERROR,
        source: "the room of one controller, our choice",
        finds: "More boilers, zones, pumps, safeties, sensors or schedules than one controller holds: 4 boilers, 16 zones, 24 pumps, 32 \
            safeties, 16 sensors, 4 schedules. Of any kind of heading no more than 255 are read.",
        matters: "The controller's memory is of a fixed size, so that it can never run out in the middle of a winter. A plant that is \
            too large is refused, never cut short.",
        mend: "Split the plant between two controllers, each with its own file; or let zones share a pump and put rooms that are \
            always warm together into one zone.",
        example: "",
    },
    Entry {
        code: "P09",
        name: "bad-id",
        weight: ERROR,
        source: "our choice: what fits into a wire number",
        finds: "An id, the name behind the dot of a heading, that is not a small letter followed by up to 23 small letters, digits or \
            dashes.",
        matters: "Ids become parts of wire numbers, labels and column heads, and must read the same in all of them.",
        mend: "Rename it, also where other things refer to it. What people are to read goes into `name`, with capitals and blanks.",
        example: "[zone.reading-room]\nname = \"Reading room\"",
    },
    Entry {
        code: "P10",
        name: "written-twice",
        weight: ERROR,
        source: "TOML, the grammar of the file; that ids are one namespace is our choice",
        finds: "A heading that stands twice, a key that is written twice in one table, or an id that two things share, of whatever \
            kind they are. Both places are shown.",
        matters: "Of two values one would be lost in silence. Ids are one namespace for boilers, zones, pumps, safeties, sensors and \
            schedules, because labels are made of them.",
        mend: "Keep one of the two keys, join the two headings, or rename one of the things.",
        example: "[zone.office]\npump = \"p-office\"\n[pump.p-office]\nmotor = \"wet-rotor\"",
    },
    Entry {
        code: "P31",
        name: "unreadable-time",
        weight: ERROR,
        source: "the form of the plant file, our choice; 16 switchings a week is the room of the controller",
        finds: "A time of day that cannot be read (`rotation.at`, the `at` of a draw), a stretch in the `occupied` hours that is no days \
            and times of a week, or a schedule that switches more than 16 times a week.",
        matters: "Setback, rotation and draws follow the clock; a time that was read otherwise than it was meant is noticed on a cold \
            Monday.",
        mend: "Write times like 06:30, from 00:00 to 23:59. A stretch is days, a blank, from and to: mon-fri 07:00-18:00; its end may be \
            24:00, and it does not run past midnight: write two. Join stretches that lie close together.",
        example: "[schedule.office]\noccupied = [\"mon-fri 07:00-18:00\", \"sat 09:00-13:00\"]",
    },
    Entry {
        code: "P45",
        name: "key-without-effect",
        weight: ERROR,
        source: "our choice: a setting that does nothing is one that somebody relies on",
        finds: "A key that is known and well written, but that another key leaves without effect: `signal-low` beside a drive that is \
            told no temperature, `output` of a floor, `hours` beside another rotation `policy`; with zone relays in place of the \
            controller (`control`) every key that only a controller works by. The sentence says which.",
        matters: "Whoever reads the file later believes it.",
        mend: "Take the key out, or change the one that makes it idle.",
        example: "[rotation]\npolicy = \"calendar\"\nevery = \"7 d\"\nat = \"10:00\"",
    },
    Entry {
        code: "P50",
        name: "file-too-large",
        weight: ERROR,
        source: "our choice: 16 MB",
        finds: "A file of more than 16 MB.",
        matters: "A plant file has a few hundred lines. What is so large is something else: a weather file, a log, a disk image.",
        mend: "See that the path names the plant file.",
        example: "",
    },
    Entry {
        code: "P51",
        name: "not-text",
        weight: ERROR,
        source: "TOML: a file is UTF-8",
        finds: "A file that is not text in UTF-8; line and byte of the first bad sign are given.",
        matters: "In another encoding ° and é are other signs, and a unit cannot be read.",
        mend: "Save it as UTF-8 from an editor, as plain text and not as a document of a word processor. 'heatwright init' writes a file \
            to start from.",
        example: "",
    },
    Entry {
        code: "P52",
        name: "empty-file",
        weight: ERROR,
        source: "our choice",
        finds: "A file with nothing in it.",
        matters: "It describes no plant.",
        mend: "'heatwright init PLANT.toml' writes a whole commented file to start from.",
        example: "",
    },
    Entry {
        code: "P53",
        name: "nested-too-deep",
        weight: ERROR,
        source: "our choice: 64 levels",
        finds: "Lists, tables or dotted keys that stand too deep in each other.",
        matters: "No setting of a plant lies nearly so deep: brackets were not closed, or it is another file.",
        mend: "See that this is the plant file, and that every bracket and brace is closed.",
        example: "",
    },
    Entry {
        code: "P54",
        name: "broken-line",
        weight: ERROR,
        source: "TOML, the grammar of the file",
        finds: "A line that does not follow the grammar: a text whose quote is not closed, a key without a value, a bracket that is \
            missing, a sign that may not stand there.",
        matters: "What follows may be read wrongly. Until the file can be read whole, nothing is said about what is missing in it.",
        mend: "Headings stand in brackets, values behind an equals sign, texts and quantities in quotes on one line; behind a # a line \
            is a remark. In double quotes a backslash is written twice.",
        example: "[zone.hall]\nname = \"Hall\"    # a remark",
    },
    Entry {
        code: "P55",
        name: "more-faults",
        weight: ERROR,
        source: "our choice: 100 faults are shown, 10 of them of the grammar",
        finds: "There are more faults in the file than are shown; the sentence says how many.",
        matters: "Many faults often have one cause: an unclosed quote, or a heading that is spelled wrongly.",
        mend: "Mend those that are shown, from the top, and check again.",
        example: "",
    },
];
