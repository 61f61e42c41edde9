//! The numbers along an axis.

/// At most `most` round numbers from one value to another. Their step is 1, 2 or 5 times a power of ten.
pub fn ticks(low: f64, high: f64, most: usize) -> Vec<f64> {
    let span = high - low;
    if !(span.is_finite() && span > 0.0) || most < 2 {
        return Vec::new();
    }
    let power = 10f64.powf((span / most as f64).log10().floor());
    let steps = [1.0, 2.0, 5.0, 10.0].map(|digit| digit * power);
    let (first, last) = (
        |step: f64| (low / step - 1e-9).ceil(),
        |step: f64| (high / step + 1e-9).floor(),
    );
    let fits = |step: &f64| last(*step) - first(*step) < most as f64;
    let Some(step) = steps.into_iter().find(fits) else {
        return Vec::new();
    };
    let count = (last(step) - first(step)) as usize;
    // Divided rather than multiplied by a step such as 0.1, which is not exact.
    let number = |i: usize| match step < 1.0 {
        true => (first(step) + i as f64) / (1.0 / step).round(),
        false => (first(step) + i as f64) * step,
    };
    (0..=count).map(number).collect()
}

#[cfg(test)]
mod tests {
    use super::ticks;

    #[test]
    fn numbers_are_round_and_no_more_than_there_is_room_for() {
        assert_eq!(
            ticks(0.0, 153.0, 16),
            (0..=15).map(|i| f64::from(i) * 10.0).collect::<Vec<_>>()
        );
        assert_eq!(ticks(0.0, 0.5, 5), [0.0, 0.2, 0.4]);
        assert_eq!(
            ticks(-3.0, 12.0, 8),
            [-2.0, 0.0, 2.0, 4.0, 6.0, 8.0, 10.0, 12.0]
        );
        assert_eq!(ticks(0.0, 0.3, 8), [0.0, 0.05, 0.1, 0.15, 0.2, 0.25, 0.3]);
    }

    #[test]
    fn any_span_has_between_two_and_all_of_the_numbers() {
        for exponent in -6..7 {
            for digit in 1..100 {
                let high = f64::from(digit) * 10f64.powi(exponent);
                for most in [5, 8, 16] {
                    let found = ticks(0.0, high, most).len();
                    assert!((2..=most).contains(&found), "{high} {most}: {found}");
                }
            }
        }
    }

    #[test]
    fn no_span_has_no_numbers() {
        assert!(ticks(1.0, 1.0, 5).is_empty());
        assert!(ticks(0.0, f64::NAN, 5).is_empty());
        assert!(ticks(0.0, f64::INFINITY, 5).is_empty());
    }
}
