//! Results that depend on assumed defaults.

use super::{Check, Context, Example, Found, Run};
use crate::check_id::CheckId;
use crate::finding::Severity;
use crate::schema::COMMON;

pub const CHECK: Check = Check {
    id: CheckId::AssumedValue,
    severity: Severity::Info,
    finds: "Results rest on values that the spec does not give and that are not zero.",
    why: "A default fits many cars and perhaps not this one: efforts can easily be a tenth off.",
    limits: &[],
    source: COMMON,
    bad: Example::System("pedal { efficiency = 0.95 }"),
    good: Example::System(
        "pedal { efficiency = 0.95 }
master { efficiency = 0.95 }
line hard { modulus = 205 GPa  poisson = 0.3 }
slave { efficiency = 0.95 }
fork { efficiency = 0.95 }",
    ),
    run: Run::Outcome(run),
};

fn run(cx: &Context<'_>, out: &mut Found) {
    if cx.system.all_assumed().next().is_none() || out.noted(None) {
        return;
    }
    let assumed = cx.system.assumed_shown();
    let mut sources: Vec<&str> = Vec::new();
    for (field, _) in &assumed {
        let source = field.field().source;
        if !sources.contains(&source) {
            sources.push(source);
        }
    }
    let list: Vec<String> = assumed
        .iter()
        .map(|(field, text)| format!("{} {text}", field.path()))
        .collect();
    let message = format!(
        "the results rest on values that are assumed: {} ({})",
        list.join(", "),
        sources.join("; "),
    );
    out.push(
        cx.problem_of_system(message)
            .help("enter this car's own figures, even where they are the same"),
    );
}
