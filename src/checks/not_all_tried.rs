//! Combinations that were left out.

use super::{Check, Example, Run};
use crate::check_id::CheckId;
use crate::finding::Severity;

pub const CHECK: Check = Check {
    id: CheckId::NotAllTried,
    severity: Severity::Info,
    finds: "A system stands for so many combinations that an editor tries only some of them while you type.",
    why: "One that was left out may still not work; `bitepoint check` tries them all.",
    limits: &[],
    source: "the tool's own rule",
    bad: Example::System(
        "}\npart fork a { ratio = 1.62 }\npart fork b { ratio = 1.64 }\npart fork c { ratio = 1.66 }\npart fork d { ratio = 1.68 }\nsystem kit from reference {\n    choose fork a, b, c, d",
    ),
    good: Example::System(
        "}\npart fork a { ratio = 1.62 }\npart fork b { ratio = 1.64 }\nsystem kit from reference {\n    choose fork a, b",
    ),
    run: Run::Reading,
};
