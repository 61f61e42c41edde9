//! The documentation of the checks that run while a text is read.

use super::{Check, Example, LANGUAGE, Run};
use crate::check_id::CheckId;
use crate::finding::Severity;

/// A check that runs while a text is read.
pub(super) const fn check(
    id: CheckId,
    severity: Severity,
    finds: &'static str,
    why: &'static str,
    bad: Example,
    good: Example,
) -> Check {
    Check {
        id,
        severity,
        finds,
        why,
        limits: &[],
        source: LANGUAGE,
        bad,
        good,
        run: Run::Reading,
    }
}

use Example::{File, Settings, System};
use Severity::{Error, Hint};

pub const SYNTAX: Check = check(
    CheckId::Syntax,
    Error,
    "Something in the text is not written as the language has it.",
    "The statement cannot be understood; all the rest of the file still is.",
    System("slave { bore = 22,2 mm }"),
    System("slave { bore = 22.2 mm }"),
);

pub const WRONG_UNIT: Check = check(
    CheckId::WrongUnit,
    Error,
    "A value is of another kind than its field or its neighbours: a force where a length is wanted, or no unit at all.",
    "Any result worked out from it would be nonsense.",
    System("slave { stroke = 30 N }"),
    System("slave { stroke = 30 mm }"),
);

pub const UNKNOWN_UNIT: Check = check(
    CheckId::UnknownUnit,
    Error,
    "A unit is not one that the language knows, or is spelled by habit.",
    "A value in an unknown unit has no size.",
    System("slave { stroke = 30 milli }"),
    System("slave { stroke = 30 mm }"),
);

pub const UNKNOWN_BLOCK: Check = check(
    CheckId::UnknownBlock,
    Error,
    "A block has a name that the schema does not know.",
    "It would be left out of the model without a word.",
    System("slvae { stroke = 30 mm }"),
    System("slave { stroke = 30 mm }"),
);

pub const UNKNOWN_FIELD: Check = check(
    CheckId::UnknownField,
    Error,
    "A field has a name that its block does not know.",
    "It would be left out of the model without a word.",
    System("slave { srtoke = 30 mm }"),
    System("slave { stroke = 30 mm }"),
);

pub const UNKNOWN_NAME: Check = check(
    CheckId::UnknownName,
    Error,
    "A part, a let, a base, a function, a field or a choice is named that does not exist.",
    "There is nothing to take the value from.",
    System("slave { stroke = master.strok }"),
    System("slave { stroke = master.stroke }"),
);

pub const UNKNOWN_RESULT: Check = check(
    CheckId::UnknownResult,
    Error,
    "A `require` names a result that is not worked out.",
    "The limit would never be held against anything.",
    System("require pedal_efort <= 200 N"),
    System("require pedal_effort <= 200 N"),
);

pub const MISSING_BLOCK: Check = check(
    CheckId::MissingBlock,
    Error,
    "A system lacks a component that every system of its kind has.",
    "Nothing can be worked out without it.",
    File("system bare { pedal { ratio = 6  travel = 150 mm } }"),
    File("part cover plain { release_travel = 7.5 mm to 11 mm  release_load = 1500 N }"),
);

pub const MISSING_FIELD: Check = check(
    CheckId::MissingField,
    Error,
    "A component lacks a value that has no default.",
    "Nothing can be worked out without it.",
    File(
        "system bare {
    pedal { ratio = 6 }
    master { bore = 3/4 in  stroke = 36 mm }
    slave { bore = 7/8 in  stroke = 30 mm }
    fork { ratio = 1.6 }
    cover { release_travel = 7.5 mm to 11 mm  release_load = 1500 N }
}
",
    ),
    System("pedal { travel = 145 mm }"),
);

pub const GIVEN_TWICE: Check = check(
    CheckId::GivenTwice,
    Error,
    "A field, a block or a name stands twice where it may stand once.",
    "Which of the two is meant cannot be known.",
    System("slave { stroke = 30 mm  stroke = 32 mm }"),
    System("slave { stroke = 32 mm }"),
);

pub const TAKEN_NAME: Check = check(
    CheckId::TakenName,
    Severity::Warning,
    "A `let` has the name of a constant, a function or a unit of the language.",
    "`pi` keeps its own value, whatever the `let` says; the others are read for what they usually are: `2 g` are two grams, `2 * g` is twice the `let`.",
    System("let pi = 3\nslave { bore = sqrt(4 * 380 mm^2 / pi) }"),
    System("let area = 380 mm^2\nslave { bore = sqrt(4 * area / pi) }"),
);

pub const OUT_OF_RANGE: Check = check(
    CheckId::OutOfRange,
    Error,
    "A value is not physically possible, or a computation leaves the numbers.",
    "Any result worked out from it would be nonsense.",
    System("pedal { efficiency = 1.2 }"),
    System("pedal { efficiency = 0.9 }"),
);

pub const USE_MISSING: Check = check(
    CheckId::UseMissing,
    Error,
    "A file that is used cannot be read, may not be read, or has a mistake in it. A mistake is told once for each `use` that leads to it; an editor marks that with a warning, and the mistake itself where it stands.",
    "Its parts and lets are not there, or not all of them, and what depends on them is not worked out. An editor shows the results from before the mistake, and says so.",
    File("use \"no-such-file.clutch\"\n"),
    File("let slope = 4 deg\n"),
);

pub const USE_CYCLE: Check = check(
    CheckId::UseCycle,
    Error,
    "Files, systems, lets or fields lead back to themselves.",
    "There is no value at the bottom of it.",
    System("slave { stroke = slave.stroke + 1 mm }"),
    System("slave { stroke = master.stroke - 1 mm }"),
);

pub const TOO_LARGE: Check = check(
    CheckId::TooLarge,
    Error,
    "A file, an expression, a row of references or a nesting is beyond the limits that keep the tool quick.",
    "It is refused, so that an answer always comes in bounded time.",
    System(
        "slave { stroke = ((((((((((((((((((((((((((((((((((30 mm)))))))))))))))))))))))))))))))))) }",
    ),
    System("slave { stroke = (30 mm) }"),
);

pub const UNUSED_PART: Check = check(
    CheckId::UnusedPart,
    Hint,
    "A part stands in a file with systems, and none of them uses it.",
    "It is left over, or another part was named by mistake.",
    System("}\npart fork other { ratio = 1.5"),
    System("fork { ratio = 1.65 }"),
);

pub const UNUSED_LET: Check = check(
    CheckId::UnusedLet,
    Hint,
    "A named value stands in a file with systems, and nothing uses it.",
    "It is left over, or another name was written by mistake.",
    System("let spare = 3 mm"),
    System("let reach = 30 mm\nslave { stroke = reach }"),
);

pub const UNUSED_ALLOW: Check = check(
    CheckId::UnusedAllow,
    Severity::Warning,
    "An `allow` silences nothing: its check finds nothing there, or does not exist.",
    "What was excused is no longer so, and the excuse would hide the next one.",
    System("allow short-release \"it is only parked\""),
    System("fork { ratio = 1.65 }"),
);

pub const WRONG_SETTING: Check = check(
    CheckId::WrongSetting,
    Error,
    "Something in `bitepoint.toml` is not a setting, or has a value that is not allowed.",
    "It would be left out without a word, and specs be held against other limits than was thought.",
    Settings("[limits]\nheavy-pedl.effort = \"140 N\"\n"),
    Settings("[limits]\nheavy-pedal.effort = \"140 N\"\n"),
);
