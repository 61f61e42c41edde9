//! Results that rest on defaults.

use super::{Check, Context, Example, Found, Run};
use crate::field;
use crate::finding::Severity;
use crate::schema::{COMMON, FieldId};

pub const CHECK: Check = Check {
    name: "assumed-value",
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
    let given = |field: FieldId| cx.system.given(field).is_some();
    // The cover's action is only read to tell which way the bearing should go.
    let action_counts = given(field!(slave.moves)) && given(field!(fork.pivot));
    let counts = |(field, _): &(FieldId, &str)| *field != field!(cover.action) || action_counts;
    if !cx.system.all_assumed().any(|assumed| counts(&assumed)) || out.noted(None) {
        return;
    }
    let mut assumed = cx.system.assumed();
    assumed.retain(counts);
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
            .help("give each as it is in this car, be it the same value"),
    );
}
