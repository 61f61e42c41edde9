//! The properties in which components that meet must agree, and the blocks that exist to make them meet.
//!
//! None of them changes a result. Which fields meet is in [`MEETS`](super::MEETS).

use super::{Alternatives, Block, Field, Kind, Purpose, Range};
use crate::quantity::Dimension;

const LENGTH: Kind = Kind::Quantity(Dimension::LENGTH);

const fn text(name: &'static str, doc: &'static str) -> Field {
    let mut field = Field::new(name, Kind::Text, doc);
    field.purpose = Purpose::Fit;
    field
}

const fn length(name: &'static str, doc: &'static str, low: f64, high: f64) -> Field {
    let mut field = Field::new(name, LENGTH, doc)
        .range(Range::POSITIVE)
        .usual(low, high);
    field.purpose = Purpose::Fit;
    field
}

const fn window(name: &'static str, doc: &'static str, low: f64, high: f64) -> Field {
    let mut field = length(name, doc, low, high);
    field.kind = Kind::Window(Dimension::LENGTH);
    field
}

pub(super) const NONE: &[Field] = &[];

pub(super) const MASTER: &[Field] = &[
    text(
        "outlet",
        "The port where the line begins: its thread and its seat, in quotes, such as \
         \"3/8-24 inverted flare\".",
    ),
    length(
        "bolt_spacing",
        "Between the centers of the two mounting bolts.",
        20.0,
        150.0,
    ),
];

pub(super) const LINE: &[Field] = &[
    text(
        "inlet",
        "The end towards the master: its thread and its seat, in quotes, such as \
         \"3/8-24 inverted flare\".",
    ),
    text(
        "outlet",
        "The end towards the slave: its thread and its seat, in quotes, such as \
         \"M10x1 bubble flare\".",
    ),
];

pub(super) const SLAVE: &[Field] = &[
    text(
        "inlet",
        "The port where the line ends: its thread and its seat, in quotes, such as \
         \"M10x1 bubble flare\".",
    ),
    length(
        "bolt_spacing",
        "Between the centers of the two mounting bolts.",
        20.0,
        200.0,
    ),
    length(
        "rod_ball",
        "Diameter of the rod's end where it sits in the fork.",
        4.0,
        30.0,
    ),
];

pub(super) const FORK: &[Field] = &[length(
    "seat",
    "Diameter of the cup or dimple that the slave's rod sits in.",
    4.0,
    35.0,
)];

pub(super) const BEARING: &[Field] = &[length(
    "bore",
    "Diameter of the bore that slides on the gearbox's guide tube.",
    15.0,
    100.0,
)];

pub(super) const DISC: &[Field] = &[text(
    "spline",
    "The hub's spline, in quotes, written as the gearbox's is: \"1-1/8 in x 10\".",
)];

pub(super) const ENGINE: &[Field] = &[
    length(
        "pilot_bore",
        "Bore of the pilot bearing in the crankshaft or flywheel.",
        8.0,
        60.0,
    ),
    text(
        "pattern",
        "Bolt pattern of the rear face, in quotes, by a name that the bell housing or the adapter \
         uses too.",
    ),
];

pub(super) const BELLHOUSING: &[Field] = &[
    text(
        "engine_pattern",
        "Bolt pattern of the face towards the engine, in quotes.",
    ),
    text(
        "gearbox_pattern",
        "Bolt pattern of the face towards the gearbox, in quotes.",
    ),
    length(
        "register",
        "Diameter of the bore that centers the gearbox.",
        60.0,
        250.0,
    ),
];

pub(super) const GEARBOX: &[Field] = &[
    length(
        "guide",
        "Outside diameter of the guide tube that the release bearing slides on.",
        15.0,
        100.0,
    ),
    text(
        "spline",
        "The input shaft's spline, in quotes, written as the disc's is: \"1-1/8 in x 10\".",
    ),
    length(
        "tip",
        "Diameter of the input shaft's tip, which runs in the pilot bearing.",
        8.0,
        60.0,
    ),
    text(
        "pattern",
        "Bolt pattern of the front face, in quotes, by a name that the bell housing uses too.",
    ),
    length(
        "register",
        "Diameter of the collar that centers the gearbox in the bell housing.",
        60.0,
        250.0,
    ),
];

pub(super) const FITTING_BLOCK: Block = Block {
    name: "fitting",
    doc: "An adapter between two ports of the line. Fittings and lines follow one another in the \
          order of the text, from the master to the slave; each has a label of your own.",
    repeated: true,
    labelled: false,
    takes_parts: true,
    needs: &[&["master"]],
    alternatives: &[],
    fields: &[
        text(
            "inlet",
            "The port towards the master: its thread and its seat, in quotes.",
        )
        .required(),
        text(
            "outlet",
            "The port towards the slave: its thread and its seat, in quotes.",
        )
        .required(),
    ],
};

pub(super) const FIREWALL_BLOCK: Block = Block {
    name: "firewall",
    doc: "Where the master is bolted on: the firewall itself, or a plate on it.",
    repeated: false,
    labelled: false,
    takes_parts: true,
    needs: &[],
    alternatives: &[Alternatives {
        ways: &[&["bolt_spacing"], &["slots"]],
        required: false,
    }],
    fields: &[
        length(
            "bolt_spacing",
            "Between the centers of the two holes.",
            20.0,
            150.0,
        )
        .alternative(),
        window(
            "slots",
            "The bolt spacings that a slotted plate takes, from least to most.",
            20.0,
            150.0,
        )
        .alternative(),
    ],
};

pub(super) const BRACKET_BLOCK: Block = Block {
    name: "bracket",
    doc: "The bracket that carries the slave.",
    repeated: false,
    labelled: false,
    takes_parts: true,
    needs: &[],
    alternatives: &[],
    fields: &[window(
        "slots",
        "The bolt spacings that its slots take, from least to most.",
        20.0,
        200.0,
    )],
};

pub(super) const ADAPTER_BLOCK: Block = Block {
    name: "adapter",
    doc: "An adapter plate between the engine and the bell housing. Its thickness is \
          `bellhousing.adapter`.",
    repeated: false,
    labelled: false,
    takes_parts: true,
    needs: &[],
    alternatives: &[],
    fields: &[
        text(
            "engine_pattern",
            "Bolt pattern of the face towards the engine, in quotes.",
        ),
        text(
            "bell_pattern",
            "Bolt pattern of the face towards the bell housing, in quotes.",
        ),
    ],
};
