//! Codes of the water side: pressure, expansion, relief, flow. Here a code is a name.

use super::{ERROR, Entry, NOTE, WARNING, Weight};

const TEXTS: &str = "hydronics texts, from memory";

/// In the order in which the study looks.
pub(super) const ENTRIES: &[Entry] = &[
    Entry {
        code: "fill-low",
        name: "fill-low",
        weight: WARNING,
        source: TEXTS,
        finds: "The fill pressure is more than 1 psi (7 kPa) below what the height of the plant needs.",
        matters: "Needed = rho g h + `top-pressure`: 1 psi for each 2.31 ft of cold water above the gauge, and 4 to 5 psi at the top. Below \
            it vents and pump seals draw air, which stays at the highest point and stops the flow there.",
        mend: "Fill higher and charge the expansion tank to the same pressure, or correct `height`. Left out, `fill` is just what is needed.",
        example: "[water]\nheight = \"25 ft\"\nfill = \"16 psi\"",
    },
    Entry {
        code: "boils-at-top",
        name: "boils-at-top",
        weight: ERROR,
        source: "saturation pressure of water; the rest hydronics texts, from memory",
        finds: "At the highest point the pressure is below that at which the hottest water boils.",
        matters: "There `fill` - rho g h + air pressure is left. Less than the saturation pressure of `hottest`, and the water flashes: it \
            bangs, and the flow stops. The rise of pressure while the plant warms up is not counted on.",
        mend: "Fill higher, or hold the water cooler. See `altitude` of the site: the air presses less on a mountain.",
        example: "[water]\nfill = \"20 psi\"",
    },
    Entry {
        code: "no-room-below-relief",
        name: "no-room-below-relief",
        weight: ERROR,
        source: TEXTS,
        finds: "The fill pressure leaves nothing below what the relief valves allow.",
        matters: "Most = the smaller of 0.9 x `relief` and `relief` - 5 psi, less `pump-rise`. With nothing between it and the fill no expansion \
            tank is large enough, and the valves open at every warm-up.",
        mend: "Lower `water.fill` where it is more than the height needs. Else relief valves with a higher setting, up to `working-pressure` on the plates; or fill lower, where height allows.",
        example: "[boiler.b1]\nrelief = \"50 psi\"\nworking-pressure = \"80 psi\"",
    },
    Entry {
        code: "expansion-tank-small",
        name: "expansion-tank-small",
        weight: Weight::Varies,
        source: "ASHRAE HVAC Systems and Equipment, hydronic heating; ASME's formula is the same without pipes",
        finds: "The expansion tank that is there is smaller than the one that is needed. An error where the relief valves open before the \
            water is at its hottest, a warning where only the margin below them is used up.",
        matters: "Tank = volume x ((v2 / v1 - 1) - 3 a dT) / (1 - P1 / P2): v specific volume cold and hot, a expansion of the pipe, P1 fill \
            and P2 most pressure, both absolute. A `precharge` above the fill takes its place as P1, one below makes the tank larger by fill over charge. A valve that opens each night lets fresh water in, and with it oxygen and scale.",
        mend: "A larger tank or a second one beside it. See `volume`: what is not written is added up from boilers, mains and emitters.",
        example: "[water]\nvolume = \"220 gal\"\nexpansion-tank = \"30 gal\"",
    },
    Entry {
        code: "expansion-tank-unsaid",
        name: "expansion-tank-unsaid",
        weight: NOTE,
        source: "ASHRAE HVAC Systems and Equipment, hydronic heating, as expansion-tank-small",
        finds: "The plant file names no expansion tank. The sentence says how large a diaphragm tank must be at least.",
        matters: "Every closed plant needs one: water that warms from 50 to 180 °F grows by three parts in a hundred, and nothing else takes it up. Without \
            one, or with one that is too small, the relief valves open each time the plant warms.",
        mend: "Read the plate of the tank that is there and write its whole volume as `expansion-tank`; or buy one of that size.",
        example: "[water]\nexpansion-tank = \"30 gal\"",
    },
    Entry {
        code: "expansion-acceptance-small",
        name: "expansion-acceptance-small",
        weight: ERROR,
        source: "heat balance of the fluid, as expansion-tank-small",
        finds: "The diaphragm of the expansion tank lets in less water (`expansion-tank-acceptance`) than the plant's water expands, and than stands \
            in it cold where it is charged below the fill.",
        matters: "A tank has two volumes: the whole one keeps the pressure down, the acceptance volume is how far its diaphragm goes. Past it no \
            air is left to give way: the pressure shoots up, the relief valves open and the diaphragm tears.",
        mend: "A tank with both volumes as 'heatwright water' has them, or a second one beside it.",
        example: "[water]\nexpansion-tank = \"30 gal\"\nexpansion-tank-acceptance = \"11 gal\"",
    },
    Entry {
        code: "precharge-off",
        name: "precharge-off",
        weight: WARNING,
        source: "hydronics texts; 1 psi is what a gauge is read to, our choice",
        finds: "The air charge of the expansion tank is more than 1 psi (7 kPa) off the fill pressure.",
        matters: "Charged lower, the tank is partly full of water while the plant is still cold; charged higher, it takes none until the \
            pressure has come up. Either way part of it is of no use.",
        mend: "Charge it to the fill pressure while it is empty of water, before its valve to the plant is opened. Left out, `precharge` is \
            taken to be right.",
        example: "[water]\nfill = \"16 psi\"\nexpansion-tank = \"30 gal\"\nprecharge = \"16 psi\"",
    },
    Entry {
        code: "relief-set-high",
        name: "relief-set-high",
        weight: ERROR,
        source: "ASME Boiler and Pressure Vessel Code, Section IV, from memory",
        finds: "A relief valve (`relief`) that opens above the `working-pressure` on its boiler's plate, or above 160 psi (1103 kPa), where \
            hot-water boilers of that section end.",
        matters: "It is the last thing between a boiler and a burst, and must open before the plate's pressure is passed.",
        mend: "Change the valve. Correct the keys only after both plates have been read.",
        example: "[boiler.b1]\nrelief = \"30 psi\"\nworking-pressure = \"80 psi\"",
    },
    Entry {
        code: "relief-small",
        name: "relief-small",
        weight: ERROR,
        source: "ASME Boiler and Pressure Vessel Code, Section IV, from memory",
        finds: "A relief valve whose rated capacity is less than its boiler can give: `input` times the best efficiency that it reaches.",
        matters: "With the burner stuck on and the water shut in, the valve must carry all of it away as steam, 1000 Btu/h for each lb/h.",
        mend: "A valve that carries it. `relief-capacity` is the figure on its plate, in Btu/h or MBH, not the size of its inlet.",
        example: "[boiler.b1]\ninput = \"400 MBH\"\nrelief-capacity = \"535 MBH\"",
    },
    Entry {
        code: "relief-unknown",
        name: "relief-unknown",
        weight: NOTE,
        source: "ASME Boiler and Pressure Vessel Code, Section IV, from memory",
        finds: "A boiler whose `relief-capacity` is not written; the sentence says what the valve must carry.",
        matters: "Nobody has compared the two yet.",
        mend: "Read the plate of the valve and type it.",
        example: "[boiler.b1]\nrelief-capacity = \"535 MBH\"",
    },
    Entry {
        code: "boiler-flow-low",
        name: "boiler-flow-low",
        weight: Weight::Varies,
        source: "the boiler's instructions, as typed in `flow-min`",
        finds: "A boiler without a pump of its own gets less than its `flow-min`: an error where that is so with all zones calling, a \
            warning where only the smallest zone, calling alone, leaves it short. A boiler with a pump of its own has its `flow`, which P22 looks at.",
        matters: "Too little water boils at the tubes: it kettles, trips on its limit and scales up. Boilers without pumps share what the \
            zones draw, in proportion to their own `flow`.",
        mend: "A pump of its own for each boiler, or a bypass that keeps its flow. `flow-min` is taken as half the `flow` where it is not \
            written: read the instructions first.",
        example: "[boiler.b1]\npump = \"p-b1\"\nflow-min = \"18 gal/min\"",
    },
    Entry {
        code: "boiler-flow-high",
        name: "boiler-flow-high",
        weight: WARNING,
        source: "the boiler's instructions, as typed in `flow-max`",
        finds: "A boiler gets more water at design than its `flow-max`.",
        matters: "Fast water wears copper and headers away, and the pump spends power on friction.",
        mend: "A smaller boiler pump, a lower speed, or a balancing valve.",
        example: "[boiler.b1]\nflow = \"36 gal/min\"\nflow-max = \"45 gal/min\"",
    },
    Entry {
        code: "boiler-rise-large",
        name: "boiler-rise-large",
        weight: Weight::Varies,
        source: "heat balance; 40 °F (22 K), common practice, no source; an error where less than 80 % of full fire is left: our choice",
        finds: "At full fire and design flow the water rises in a boiler by more than its `rise-max`, or by more than 40 °F (22 K) where that is not \
            given. It is an error where the water that the zones send back at `site.outdoor-design` would leave the boiler more than \
            `outlet-max` allows, so that it can give less than 80 % of its full fire.",
        matters: "Rise (°F) = output (Btu/h) / (500 x flow (gal/min)), more with glycol. Not every boiler stands it: the outlet reaches \
            its limit while the return is still cold, and the burner stops or turns down. An on/off burner starts and stops all day.",
        mend: "See `flow` and `input` and their units first. More flow lowers the rise. Where the instructions allow it, type that as `rise-max`: \
            the warning goes; the error stays as long as heat is lost by it.",
        example: "[boiler.b1]\nflow = \"36 gal/min\"\nrise-max = \"50 °F\"",
    },
    Entry {
        code: "boiler-rise-small",
        name: "boiler-rise-small",
        weight: NOTE,
        source: "common practice, no source: 20 to 40 °F at full fire; 5 °F (2.8 K) is our choice",
        finds: "At full fire and design flow the water rises in a boiler by less than 5 °F (2.8 K).",
        matters: "`flow` or `input` is usually a slip of the unit; pump sizes, staging and every study stand on both.",
        mend: "Read both again. Leave it if it is meant.",
        example: "[boiler.b1]\ninput = \"80 MBH\"\nflow = \"8 gal/min\"",
    },
    Entry {
        code: "boilers-uneven",
        name: "boilers-uneven",
        weight: WARNING,
        source: "Darcy and Weisbach with Haaland's friction factor; a tenth is our choice",
        finds: "By the way their mains run (`boiler-mains`) the boilers' flows lie more than 10 % apart, measured on what each should get.",
        matters: "By direct return the boiler nearest the header has the shortest way and takes the most; the farthest runs hot and cycles. By \
            reverse return, first returned and last supplied, every way is equally long.",
        mend: "Reverse return, wider mains, or balancing valves. Pumps of their own even out what is left.",
        example: "[water]\nboiler-mains = \"reverse-return\"\nboiler-spacing = \"4 ft\"\nmain-bore = \"3 in\"",
    },
];
