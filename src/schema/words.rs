//! The words of the trade, each with what it means and which names of the language to read on with.

/// A word of the trade.
#[derive(Clone, Copy, Debug)]
pub struct Word {
    /// The word itself, in small letters: `release bearing`.
    pub word: &'static str,
    /// What else people call it, or type to find it.
    pub also: &'static [&'static str],
    /// What it means, in a sentence or two.
    pub meaning: &'static str,
    /// What to read on with in `explain`: checks, blocks, fields and results by their names.
    pub see: &'static [&'static str],
}

impl Word {
    /// The first of some words that goes by a name, or else the first that people look for under it.
    pub fn called<'w>(
        name: &str,
        words: impl Iterator<Item = &'w Self> + Clone,
    ) -> Option<&'w Self> {
        let plain = Self::plain(name);
        let is_it = |name: &str| {
            let singular = plain.strip_suffix('s').unwrap_or(&plain);
            name == plain || name == singular
        };
        let by_name = words.clone().find(|word| is_it(word.word));
        by_name.or_else(|| {
            let mut words = words;
            words.find(|word| word.also.iter().any(|also| is_it(also)))
        })
    }

    /// A name in small letters, with one blank between words. Dashes stay: `throw-out` is known as such.
    pub fn plain(name: &str) -> String {
        let lower = name.to_lowercase().replace(['_', '’', '\''], " ");
        let lower = lower.replace("won t", "wont");
        lower.split_whitespace().collect::<Vec<_>>().join(" ")
    }

    /// The block that describes what people call by a name: `bearing` of a `throwout_bearing`.
    pub fn block_called(name: &str) -> Option<&'static str> {
        let word = Self::called(name, WORDS.iter())?;
        let blocks = word
            .see
            .iter()
            .map(|see| see.split('.').next().unwrap_or(see));
        let mut blocks = blocks.filter(|block| super::Block::named(block).is_some());
        blocks.next()
    }

    /// The words that explain a check, a block, a field or a result, by its name.
    pub fn about(name: &str) -> impl Iterator<Item = &'static Self> {
        WORDS.iter().filter(move |word| word.see.contains(&name))
    }
}

/// Every word, by the alphabet.
pub static WORDS: &[Word] = &[
    Word {
        word: "air",
        also: &["bubble", "spongy", "soft pedal", "trapped air"],
        meaning: "Air left in the fluid. It squeezes up before the slave moves, so the clutch frees late or not at \
                  all. With a stiff cover the pedal can feel firm all the same.",
        see: &["air-in-line", "fluid.air", "lost_air", "air_volume"],
    },
    Word {
        word: "bell housing",
        also: &["bellhousing", "housing", "scattershield"],
        meaning: "The housing around the clutch, between the engine and the gearbox.",
        see: &["bellhousing", "misaligned-bell", "bell_offset"],
    },
    Word {
        word: "bite",
        also: &[
            "bite point",
            "engagement point",
            "take-up",
            "friction point",
        ],
        meaning: "Where on the pedal's way up the clutch begins to pull.",
        see: &["low-bite", "high-bite", "release_point"],
    },
    Word {
        word: "bleed screw",
        also: &["bleed", "bleeding", "bleeder", "bleed nipple"],
        meaning: "The screw that lets air out of the slave. It has to be at the highest point of the fluid.",
        see: &["bubble-trap", "air-in-line", "bubble_volume", "slave.slope"],
    },
    Word {
        word: "bore",
        also: &["piston diameter", "cylinder size"],
        meaning: "The inside diameter of a cylinder, usually cast or stamped on it.",
        see: &["master.bore", "slave.bore", "odd-size"],
    },
    Word {
        word: "clutch fork",
        also: &[
            "fork",
            "release fork",
            "throwout fork",
            "throw-out fork",
            "release arm",
        ],
        meaning: "The lever in the bell housing that moves the release bearing.",
        see: &["fork", "fork_ratio", "fork-fouls"],
    },
    Word {
        word: "concentric slave",
        also: &[
            "csc",
            "hydraulic release bearing",
            "hydraulic throwout bearing",
            "internal slave",
        ],
        meaning: "A slave cylinder around the input shaft that pushes the release bearing itself. There is no fork.",
        see: &["slave", "setup-gap", "slave-crushed"],
    },
    Word {
        word: "cover",
        also: &[
            "pressure plate",
            "clutch cover",
            "cover assembly",
            "clutch kit",
        ],
        meaning: "The clutch cover assembly: the cover bolted to the flywheel, its diaphragm and its pressure plate.",
        see: &["cover", "cover.release_travel", "cover.clamp_load"],
    },
    Word {
        word: "diaphragm fingers",
        also: &["fingers", "diaphragm", "tines", "levers"],
        meaning: "The inner ends of the diaphragm spring, which the release bearing pushes or pulls.",
        see: &["diaphragm", "finger_travel", "cover.finger_ratio"],
    },
    Word {
        word: "disc",
        also: &[
            "disk",
            "clutch disc",
            "clutch disk",
            "friction disc",
            "clutch plate",
            "driven plate",
        ],
        meaning: "The disc with the friction faces, splined to the input shaft.",
        see: &["disc", "disc.wear", "torque_capacity"],
    },
    Word {
        word: "dowel",
        also: &["dowel pin", "offset dowel", "runout", "dial indicator"],
        meaning: "A pin that locates the bell housing on the engine. Offset dowels bring the housing true to the crankshaft.",
        see: &["misaligned-bell", "bell_offset", "bell_angle"],
    },
    Word {
        word: "drag",
        also: &[
            "drags",
            "dragging",
            "does not release",
            "wont disengage",
            "grinds into gear",
            "hard to shift",
            "creeps",
        ],
        meaning: "The clutch does not fully release: the disc is still turned with the pedal down, and the gears grind.",
        see: &[
            "short-release",
            "lift-short",
            "drags-as-measured",
            "release_margin",
        ],
    },
    Word {
        word: "engage",
        also: &["engagement", "let out", "chatter", "judder", "grab"],
        meaning: "The cover clamps the disc and the engine drives the gearbox.",
        see: &["release_point", "clamp_load"],
    },
    Word {
        word: "firewall",
        also: &["bulkhead", "firewall flex"],
        meaning: "The wall between engine and driver, which carries the master. Where it flexes, stroke is lost.",
        see: &["firewall", "master.mount_stiffness", "lost_flex"],
    },
    Word {
        word: "fork pivot",
        also: &["pivot ball", "pivot stud", "pivot"],
        meaning: "The ball or stud that the clutch fork swings on.",
        see: &["fork.pivot", "fork.slave_arm", "fork.bearing_arm"],
    },
    Word {
        word: "free play",
        also: &["freeplay", "play", "slack", "lash"],
        meaning: "Travel at the pedal or the bearing before anything is pushed.",
        see: &["pedal.free_play", "bearing.free_play", "lost_play"],
    },
    Word {
        word: "hose",
        also: &[
            "line",
            "flex line",
            "braided line",
            "tube",
            "hard line",
            "hydraulic line",
        ],
        meaning: "The flexible part of the line that carries the fluid from the master to the slave. It swells under pressure and \
                  costs stroke.",
        see: &["line", "hose-gives", "line.expansion", "lost_hose"],
    },
    Word {
        word: "intensifier",
        also: &[
            "pressure intensifier",
            "stepped piston",
            "hydraulic multiplier",
        ],
        meaning: "A stepped piston in the line: the master works its large bore, its small bore works the slave. It raises the pressure and costs travel.",
        see: &[
            "intensifier",
            "intensifier-bottoms",
            "intensifier_travel",
            "master_pressure",
        ],
    },
    Word {
        word: "inverted flare",
        also: &[
            "flare",
            "flare nut",
            "banjo",
            "an fitting",
            "fitting",
            "adapter fitting",
        ],
        meaning: "A flared tube end held by a nut, seated inside the port. Seats of different kinds do not seal together.",
        see: &["fitting", "line.inlet", "does-not-fit"],
    },
    Word {
        word: "master cylinder",
        also: &["master"],
        meaning: "The cylinder at the pedal. It pushes fluid to the slave.",
        see: &["master", "master-bottoms", "master_travel"],
    },
    Word {
        word: "overstroke",
        also: &[
            "over center",
            "overcenter",
            "over-travel",
            "overtravel",
            "pedal stop",
        ],
        meaning: "Travel past the most that the cover can take. It bends the fingers; a pedal stop prevents it.",
        see: &[
            "over-release",
            "overtravel_margin",
            "stop_travel",
            "pedal.stop",
        ],
    },
    Word {
        word: "pedal effort",
        also: &[
            "effort",
            "heavy pedal",
            "stiff pedal",
            "hard pedal",
            "leg",
            "pedal force",
        ],
        meaning: "The force of the foot on the pad.",
        see: &["pedal_effort", "heavy-pedal", "pedal_effort_full"],
    },
    Word {
        word: "pilot bearing",
        also: &["pilot", "pilot bushing", "spigot bearing"],
        meaning: "The bearing or bushing in the crankshaft that carries the tip of the input shaft.",
        see: &[
            "pilot_engagement",
            "pilot-missed",
            "shaft-bottoms",
            "gearbox",
        ],
    },
    Word {
        word: "pushrod",
        also: &["push rod", "rod", "slave rod", "pedal rod", "clevis"],
        meaning: "The rod from the pedal to the master, or from the slave to the fork.",
        see: &[
            "slave.rod_length",
            "rod_cut_length",
            "pedal.rod_length",
            "rod-length",
        ],
    },
    Word {
        word: "relay lever",
        also: &[
            "bell crank",
            "bellcrank",
            "idler",
            "idler lever",
            "lever",
            "z-bar",
            "zbar",
            "intermediate lever",
            "old cross-shaft",
        ],
        meaning: "A lever with two arms on one shaft between the pedal and the fork, such as a bell crank or an old cross-shaft that a slave works.",
        see: &["relay", "relay_ratio", "wrong-way", "heavy-pedal"],
    },
    Word {
        word: "release",
        also: &["disengage", "free", "frees"],
        meaning: "The pressure plate lifts off, and the disc turns free of the flywheel.",
        see: &["release_margin", "short-release", "cover.release_travel"],
    },
    Word {
        word: "release bearing",
        also: &[
            "throwout bearing",
            "throw-out bearing",
            "throw out bearing",
            "thrust bearing",
            "tob",
            "bearing",
        ],
        meaning: "The bearing that pushes (or pulls) the diaphragm fingers.",
        see: &["bearing", "bearing_travel", "bearing-overrun"],
    },
    Word {
        word: "reservoir",
        also: &["fluid level", "brake fluid", "fluid", "dot 4", "dot4"],
        meaning: "What holds the fluid above the master. Brake fluid takes up water and attacks paint and some seals.",
        see: &[
            "fluid",
            "fluid.grade",
            "small-reservoir",
            "fluid-attacks-seals",
        ],
    },
    Word {
        word: "shim",
        also: &["spacer", "shims", "set up", "setup", "air gap"],
        meaning: "A washer or plate that takes up a gap, such as behind a concentric slave.",
        see: &["setup-gap", "setup_gap"],
    },
    Word {
        word: "slave cylinder",
        also: &["slave"],
        meaning: "The cylinder at the bell housing. It pushes the fork.",
        see: &["slave", "slave-overrun", "slave_travel"],
    },
    Word {
        word: "slip",
        also: &["slips", "slipping"],
        meaning: "The disc turns between flywheel and pressure plate under load: too little clamp, or the cover is held \
                  part way off.",
        see: &[
            "torque-short",
            "torque_margin",
            "no-wear-room",
            "wear_reserve",
        ],
    },
    Word {
        word: "stroke",
        also: &["travel", "throw"],
        meaning: "How far something moves, or can move.",
        see: &[
            "slave_travel",
            "master_travel",
            "slave.stroke",
            "master.stroke",
        ],
    },
    Word {
        word: "tolerance",
        also: &["tolerance range", "band", "worst case", "plus or minus"],
        meaning: "How far a value may be off, written behind it with `±`. A result's tolerance range reaches from the \
                  least to the greatest that all tolerances together make of it.",
        see: &["thin-margin", "release_margin"],
    },
];

/// Every statement of the language, by the alphabet.
pub static STATEMENTS: &[Word] = &[
    Word {
        word: "allow",
        also: &["silence", "ignore"],
        meaning: "Silences one check, with the reason: `allow heavy-pedal \"the buyer knows\"`. It stands in a system, or in \
                  the block that the finding is about.",
        see: &[],
    },
    Word {
        word: "choose",
        also: &["choice", "kit", "variant"],
        meaning: "Leaves a choice among parts: `choose slave hy_22, hy_25`. Every combination is checked; `--pick` takes one.",
        see: &["does-not-fit"],
    },
    Word {
        word: "let",
        also: &["variable"],
        meaning: "Gives a value a name: `let gap = 1.5 mm`. Fields and other lets may use it.",
        see: &[],
    },
    Word {
        word: "part",
        also: &["library"],
        meaning: "A block under a name, for many systems: `part slave hy_22 { bore = 22.2 mm }`. A system takes it with `slave hy_22`.",
        see: &[],
    },
    Word {
        word: "require",
        also: &["limit"],
        meaning: "A limit of your own on any result: `require pedal_effort <= 150 N \"what our customer asked for\"`.",
        see: &["require-failed"],
    },
    Word {
        word: "system",
        also: &["from"],
        meaning: "One clutch from the pedal to the pressure plate: `system car { … }`. `system truck from car { … }` starts from \
                  another and says only what differs.",
        see: &[],
    },
    Word {
        word: "use",
        also: &["import"],
        meaning: "Brings in the parts and systems of another file: `use \"parts/cylinders.clutch\"`. The path is relative to the \
                  file that it stands in.",
        see: &[],
    },
];
