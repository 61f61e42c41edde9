//! Which numbers have a meaning. They are checked once, before the walk, so that the walk need not check them.

/// `x` if it is finite and above zero.
pub(crate) fn positive(x: f64) -> Option<f64> {
    (x.is_finite() && x > 0.0).then_some(x)
}

/// `x` if it is finite and not below zero.
pub(super) fn not_negative(x: f64) -> Option<f64> {
    (x.is_finite() && x >= 0.0).then_some(x)
}

/// `x` if it is finite.
pub(super) fn finite(x: f64) -> Option<f64> {
    x.is_finite().then_some(x)
}

/// Compliance, mm/N, of a part with the given stiffness, N/mm; zero for a rigid part.
pub(super) fn compliance(stiffness: Option<f64>) -> Option<f64> {
    match stiffness {
        Some(k) => positive(k).and_then(|k| finite(1.0 / k)),
        None => Some(0.0),
    }
}
