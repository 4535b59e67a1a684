//! The displays that a file carries: from values to greys, exactly as the standard writes it (DICOM PS3.3 C.11.2).

use crate::case::image::facts::{Facts, GrayCurve, WindowFunction};
use crate::case::image::frame::Frame;

/// The share of white of a value, 0 to 1, before black and white change places in an inverted frame.
#[must_use]
pub fn share(curve: &GrayCurve, value: f64) -> f64 {
    match curve {
        GrayCurve::Window { centre, width, function } => window(*function, *centre, *width, value),
        GrayCurve::Table { first, greys, white } => {
            #[expect(
                clippy::cast_possible_truncation,
                clippy::cast_sign_loss,
                reason = "`as` saturates, and the index is cut to the table"
            )]
            let index = (value.round() - f64::from(*first)).max(0.0) as usize;
            let grey = greys.get(index.min(greys.len().saturating_sub(1))).copied().unwrap_or(0);
            (f64::from(grey) / f64::from((*white).max(1))).min(1.0)
        }
    }
}

/// The three functions of PS3.3 C.11.2.1.2.1, C.11.2.1.3.1 and C.11.2.1.3.2 with the output from 0 to 1.
fn window(function: WindowFunction, centre: f64, width: f64, x: f64) -> f64 {
    match function {
        WindowFunction::Linear => {
            let (middle, span) = (centre - 0.5, width - 1.0);
            if x <= middle - span / 2.0 {
                0.0
            } else if x > middle + span / 2.0 {
                1.0
            } else {
                (x - middle) / span + 0.5
            }
        }
        WindowFunction::LinearExact => {
            if x <= centre - width / 2.0 {
                0.0
            } else if x > centre + width / 2.0 {
                1.0
            } else {
                (x - centre) / width + 0.5
            }
        }
        WindowFunction::Sigmoid => 1.0 / (1.0 + (-4.0 * (x - centre) / width).exp()),
    }
}

/// The shares of white of all samples from 0 to the frame's largest, as the file wants them shown: through the
/// modality transform, the curve, and the change of black and white of an inverted frame.
#[must_use]
pub fn shares(frame: &Frame, curve: &GrayCurve) -> Vec<f64> {
    (0..=frame.max_value()).map(|sample| shown(&frame.facts, curve, sample)).collect()
}

fn shown(facts: &Facts, curve: &GrayCurve, sample: u16) -> f64 {
    let share = share(curve, facts.value(sample));
    if facts.inverted { 1.0 - share } else { share }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::case::image::facts::Modality;
    use crate::case::image::frame::Samples;

    /// Values of DICOM PS3.3 C.11.2.1.2 and C.11.2.1.3, computed independently of this project; those of the linear
    /// functions agree with pydicom's `apply_windowing`.
    const REFERENCE: &str = include_str!("../../../tests/reference/dicom_window.csv");

    fn words(shares: &[f64]) -> String {
        shares.iter().map(f64::to_string).collect::<Vec<_>>().join(" ")
    }

    #[test]
    fn the_three_functions_give_the_standards_values() {
        let mut rows = 0;
        for line in REFERENCE.lines().filter(|line| !line.starts_with('#')).skip(1) {
            let n: Vec<f64> = line.split(',').map(|field| field.parse().unwrap()).collect();
            let &[centre, width, x, linear, exact, sigmoid] = n.as_slice() else { panic!("{line}") };
            for (function, want) in [
                (WindowFunction::Linear, linear),
                (WindowFunction::LinearExact, exact),
                (WindowFunction::Sigmoid, sigmoid),
            ] {
                let got = 255.0 * share(&GrayCurve::Window { centre, width, function }, x);
                // The file has six digits behind the point.
                assert!((got - want).abs() <= 5.1e-7, "{function:?} {line}: {got}");
            }
            rows += 1;
        }
        assert_eq!(rows, 17);
    }

    #[test]
    fn a_linear_window_one_wide_is_a_threshold() {
        let curve = GrayCurve::Window { centre: 2048.0, width: 1.0, function: WindowFunction::Linear };
        assert_eq!(words(&[2047.0, 2047.5, 2048.0].map(|x| share(&curve, x))), "0 0 1");
    }

    #[test]
    fn a_table_holds_its_ends_and_an_inverted_frame_shows_low_values_white() {
        let curve = GrayCurve::Table { first: -1, greys: vec![0, 100, 200], white: 200 };
        let values = [-9.0, -1.0, 0.0, 1.0, 1e9, f64::NAN];
        assert_eq!(words(&values.map(|x| share(&curve, x))), "0 0 0.5 1 1 0");
        let facts =
            Facts { inverted: true, stored_offset: -1, modality: Modality::PLAIN, ..Facts::default() };
        let frame = Frame { facts, ..Frame::of_samples(1, 1, Samples::Gray8(vec![0])) };
        assert_eq!(words(&shares(&frame, &curve)[..3]), "1 0.5 0");
    }
}
