//! The bores that cylinders are commonly made in.

/// Bores commonly made, in mm: inch sixteenths from 1/2 to 1 1/4 in, 0.700 in, and whole
/// millimeters from 12 to 32. Common practice, no source; 16, 20, 25 and 32 mm are also in
/// ISO 3320 (from memory).
pub const COMMON_BORES: &[f64] = &[
    12.0, 12.7, 13.0, 14.0, 14.2875, 15.0, 15.875, 16.0, 17.0, 17.4625, 17.78, 18.0, 19.0, 19.05,
    20.0, 20.6375, 21.0, 22.0, 22.225, 23.0, 23.8125, 24.0, 25.0, 25.4, 26.0, 26.9875, 27.0, 28.0,
    28.575, 29.0, 30.0, 30.1625, 31.0, 31.75, 32.0,
];
