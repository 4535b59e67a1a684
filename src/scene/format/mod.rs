//! Numbers and keys to words: the only place that rounds.
//!
//! Fractions of the body are written as whole percent with the half-width of their 95 % interval behind: the
//! certainty is part of the number. Half-widths are never written as zero.

mod coordinates;
mod names;
mod verdicts;

pub use coordinates::{
    coordinate, coordinate_brief, coordinate_interval, coordinate_name, coordinate_value, interval_brief,
};
pub use names::{VIEW_NOT_SET, body, mark, mark_point, origin, pair, patient_right, shot, side, stage, view};
pub use verdicts::{against_target, nominal, rule, standing, state, state_sign, verdict};

use crate::case::annotation::value::{Along, DrawnLength};
use crate::case::image::offered_scale::ScaleOffer;
use crate::case::image::scale_fault::told;
use crate::measure::calibration::ScaleFrom;
use crate::measure::length::Length;
use crate::measure::mark::Side;
use crate::measure::quantity::{Quantity, Z95};
use crate::measure::settings::{Band, Rule};

/// A fraction as whole percent: `38 %`, `−4 %`.
#[must_use]
pub fn percent(fraction: f64) -> String {
    format!("{} %", whole(100.0 * fraction))
}

/// A fraction as whole percent with its sign, for what may lie on either side: `+4 %`, `−4 %`, `0 %`.
#[must_use]
pub fn signed_percent(fraction: f64) -> String {
    let number = whole(100.0 * fraction);
    let sign = if number != "0" && fraction > 0.0 { "+" } else { "" };
    format!("{sign}{number} %")
}

/// A fraction with the half-width of its 95 % interval: `38 % ± 3`.
#[must_use]
pub fn percent_of(quantity: &Quantity) -> String {
    format!("{} ± {}", percent(quantity.value), half_width(quantity))
}

/// The size of a fraction without its sign, for words that say the direction: `17 % ± 3`.
#[must_use]
pub fn size_of(quantity: &Quantity) -> String {
    format!("{} ± {}", percent(quantity.value.abs()), half_width(quantity))
}

/// Where no distance from the midline is left.
const AT_MIDLINE: &str = "at the midline";

/// On which side of the midline a fraction lies, seen from the entry side: `4 % short of the midline`.
fn beside_midline(value: f64) -> String {
    if percent(value.abs()) == percent(0.0) {
        return AT_MIDLINE.to_owned();
    }
    coordinate_value(Rule::Midline, value)
}

/// The same with the patient's side on which it lies, where the entry side is known: `4 % short of the midline (patient's
/// right)`.
#[must_use]
pub fn beside_midline_of(value: f64, entry: Option<Side>) -> String {
    let words = beside_midline(value);
    match entry {
        Some(entry) if words != AT_MIDLINE => {
            let on = if value < 0.0 { entry } else { entry.other() };
            format!("{words} (patient's {})", side(on))
        }
        _ => words,
    }
}

/// The half-width of a fraction's 95 % interval in percent points, at least 1: `3`.
#[must_use]
pub fn half_width(quantity: &Quantity) -> String {
    let points = 100.0 * Z95 * quantity.sd();
    if !points.is_finite() {
        return "unknown".to_owned();
    }
    whole(points.max(1.0))
}

/// The 95 % interval of a fraction: `35 to 41 %`.
#[must_use]
pub fn interval(quantity: &Quantity) -> String {
    format!("{} to {} %", whole(100.0 * quantity.low()), whole(100.0 * quantity.high()))
}

/// A part of the budget as a standard uncertainty in percent points, one decimal: `1.5`.
#[must_use]
pub fn budget_part(sd: f64) -> String {
    decimal(100.0 * sd, 1)
}

/// A number as it is typed, without rounding: `0.25`, `−3`.
#[must_use]
pub fn as_typed(value: f64) -> String {
    value.to_string().replace('-', "−")
}

/// A time in seconds as it was typed: `900 s`.
#[must_use]
pub fn seconds(time_s: f64) -> String {
    format!("{} s", as_typed(time_s))
}

/// A fraction as it is typed in percent, to six decimals and no zeros behind: `30`, `12.5`.
#[must_use]
pub fn percent_as_typed(fraction: f64) -> String {
    let text = decimal(100.0 * fraction, 6);
    let text = text.trim_end_matches('0').trim_end_matches('.');
    text.to_owned()
}

/// A name that is too long, with its middle left out so that both its beginning and its ending are seen:
/// `lateral-of…-0042.png`. `most` is the number of signs that stay, at least 3.
#[must_use]
pub fn shortened(name: &str, most: usize) -> String {
    let signs: Vec<char> = name.chars().collect();
    let most = most.max(3);
    if signs.len() <= most {
        return name.to_owned();
    }
    let behind = (most - 1) / 2;
    let before = most - 1 - behind;
    let (head, tail) = (&signs[..before], &signs[signs.len() - behind..]);
    head.iter().chain(['…'].iter()).chain(tail).collect()
}

/// A number at a ruler's tick, percent without the sign: `30`.
#[must_use]
pub fn ruler_number(fraction: f64) -> String {
    whole(100.0 * fraction)
}

/// A band of a target: `30–50 %`, `−10 to +10 %` where it reaches below zero.
#[must_use]
pub fn band(band: Band) -> String {
    let (low, high) = (100.0 * band.low, 100.0 * band.high);
    if band.low < 0.0 {
        let plus = if band.high > 0.0 { "+" } else { "" };
        format!("{} to {plus}{} %", whole(low), whole(high))
    } else {
        format!("{}–{} %", whole(low), whole(high))
    }
}

/// A band about the midline: `±10 %` where it is symmetrical, else `−10 to +5 %`.
#[must_use]
pub fn offset_band(limits: Band) -> String {
    let (low, high) = (whole(-100.0 * limits.low), whole(100.0 * limits.high));
    if low == high && limits.high > 0.0 { format!("±{high} %") } else { band(limits) }
}

/// A probability: `51 %`, `over 99 %`, `under 1 %`.
#[must_use]
pub fn probability(p: f64) -> String {
    if !p.is_finite() {
        "unknown".to_owned()
    } else if p > 0.99 {
        "over 99 %".to_owned()
    } else if p < 0.01 {
        "under 1 %".to_owned()
    } else {
        percent(p)
    }
}

/// Millimetres to one decimal: `12.3 mm`.
#[must_use]
pub fn mm(length_mm: f64) -> String {
    format!("{} mm", decimal(length_mm, 1))
}

/// Millimetres with the half-width of the 95 % interval, at least 0.1: `12.3 mm ± 0.8`.
#[must_use]
pub fn mm_of(length: &Length) -> String {
    let half = (Z95 * length.sd()).max(0.1);
    format!("{} ± {}", mm(length.mm()), decimal(half, 1))
}

/// A number of whatever unit a table has, four digits: `−78.10`, `0.01235`, `1235`.
#[must_use]
pub fn measured(value: f64) -> String {
    // As many decimals as leave four digits, none for large and for whole numbers.
    let size = value.abs();
    if size < 1e6 && value.fract().abs() < 1e-12 {
        return whole(value);
    }
    let decimals = (0..12).zip(std::iter::successors(Some(size), |x| Some(10.0 * x)));
    decimal(value, decimals.into_iter().find(|(_, scaled)| *scaled >= 999.95).map_or(12, |(n, _)| n))
}

/// The same with three digits: `−78.1`, `0.0123`.
#[must_use]
pub fn measured_briefly(value: f64) -> String {
    let size = value.abs();
    if size < 1e-12 {
        return whole(0.0);
    }
    let decimals = (0..12).zip(std::iter::successors(Some(size), |x| Some(10.0 * x)));
    decimal(value, decimals.into_iter().find(|(_, scaled)| *scaled >= 99.95).map_or(12, |(n, _)| n))
}

/// A number at a tick of an axis, as fine as the ticks lie apart: `−0.5`, `40`.
#[must_use]
pub fn tick(value: f64, step: f64) -> String {
    let decimals = (0..9).zip(std::iter::successors(Some(step), |x| Some(10.0 * x)));
    let value = if value.abs() < 1e-9 * step { 0.0 } else { value };
    decimal(value, decimals.into_iter().find(|(_, scaled)| *scaled >= 0.999).map_or(9, |(n, _)| n))
}

/// A coefficient of at most 1, two decimals: `0.93`, `−0.13`.
#[must_use]
pub fn coefficient(value: f64) -> String {
    decimal(value, 2)
}

/// A number to the nearest whole one: `58`.
#[must_use]
pub fn rounded(value: f64) -> String {
    whole(value)
}

/// A number of no unit to one decimal: `1.4`.
#[must_use]
pub fn one_decimal(value: f64) -> String {
    decimal(value, 1)
}

/// A correlation to two decimals: `0.96`.
#[must_use]
pub fn correlation(value: f64) -> String {
    decimal(value, 2)
}

/// Pixels to one decimal: `365.4 px`.
#[must_use]
pub fn px(length_px: f64) -> String {
    format!("{} px", decimal(length_px, 1))
}

/// A length of a label: `12.3 mm`, `31 % of the body’s depth`, or `48.0 px` where neither is known.
#[must_use]
pub fn label_size(size: DrawnLength) -> String {
    match size {
        DrawnLength::Mm(length) => mm(length),
        DrawnLength::OfBody(fraction, along) => {
            let of = match along {
                Along::Depth => "depth",
                Along::Width => "width",
                Along::Height => "height",
            };
            format!("{} of the body’s {of}", percent(fraction))
        }
        DrawnLength::Px(length) => px(length),
    }
}

/// A place in the picture: `365.4, 356.9`.
#[must_use]
pub fn place(x: f64, y: f64) -> String {
    format!("{}, {}", decimal(x, 1), decimal(y, 1))
}

/// Degrees to one decimal: `4.1°`.
#[must_use]
pub fn degrees(angle_deg: f64) -> String {
    format!("{}°", decimal(angle_deg, 1))
}

/// A scale: `0.310 mm per pixel`.
#[must_use]
pub fn scale(mm_per_px: f64) -> String {
    format!("{} mm/pixel", decimal(mm_per_px, 3))
}

/// A scale with its 95 % interval and where it comes from: `0.310 mm per pixel ± 8 %, from a known length`.
#[must_use]
pub fn scale_of(mm_per_px: f64, sd: Option<f64>, from: Option<ScaleFrom>) -> String {
    let mut words = scale(mm_per_px);
    words.push_str(&scale_interval(mm_per_px, sd));
    if let Some(from) = from {
        words.push_str(match from {
            ScaleFrom::Typed => ", typed",
            ScaleFrom::KnownLength => ", from a known length",
            ScaleFrom::Detector => ", from the detector spacing and a magnification",
            ScaleFrom::Calibrated => ", calibrated to the patient by the file",
        });
    }
    if sd.is_none() {
        words.push_str("; assumed exact (no uncertainty entered)");
    }
    words
}

/// The 95 % interval of a scale as a share of it, with a space in front; empty where none is known or it is too small
/// to be written.
#[must_use]
pub fn scale_interval(mm_per_px: f64, sd: Option<f64>) -> String {
    match sd.map(|sd| 100.0 * Z95 * sd / mm_per_px) {
        Some(percent) if percent >= 0.05 => {
            format!(" ± {} %", decimal(percent, usize::from(percent < 9.95)))
        }
        Some(_) | None => String::new(),
    }
}

/// What a file offers as a scale, in words that say which plane it is true of.
#[must_use]
pub fn offered_scale(offer: &ScaleOffer) -> String {
    match offer {
        ScaleOffer::Nothing => "The file contains no scale.".to_owned(),
        ScaleOffer::Contradicts { faults } => format!(
            "What the file says of its scale contradicts itself and is not offered. {} Mark a known width, or type the scale.",
            told(faults)
        ),
        ScaleOffer::NotSquare => "The file states that pixels are not square, so it gives no scale, and the fractions are distorted too.".to_owned(),
        ScaleOffer::Calibrated { scale, how } => format!(
            "The file gives {}, calibrated to the patient ({how}).",
            self::scale(scale.mm_per_px)
        ),
        ScaleOffer::Magnified { scale, spacing_mm, magnification } => format!(
            "The file gives {} mm at the detector and a magnification of {}: {} at the patient.",
            decimal(*spacing_mm, 3),
            decimal(*magnification, 2),
            self::scale(scale.mm_per_px)
        ),
        ScaleOffer::Detector { spacing_mm } => format!(
            "The file gives {} mm at the detector, where the body is magnified; enter the magnification to get a scale.",
            decimal(*spacing_mm, 3)
        ),
    }
}

/// A zoom: `150 %`.
#[must_use]
pub fn zoom(screen_px_per_px: f64) -> String {
    percent(screen_px_per_px)
}

/// `1 shot`, `4 shots`.
#[must_use]
pub fn count(n: usize, one: &str, more: &str) -> String {
    if n == 1 { format!("1 {one}") } else { format!("{n} {more}") }
}

/// A clock hour: `about 10 o'clock`; 0 is written 12.
#[must_use]
pub fn clock_hour(hour: f64) -> String {
    let rounded = whole(hour.rem_euclid(12.0));
    format!("about {} o’clock", if rounded == "0" { "12" } else { &rounded })
}

/// An hour on a clock's face: `12`.
#[must_use]
pub fn hour(hour: u32) -> String {
    hour.to_string()
}

/// A time in years as year and month: `2026-07` of 2026.5.
#[must_use]
pub fn year_and_month(years: f64) -> String {
    let month = (12.0 * years.rem_euclid(1.0)).floor() + 1.0;
    format!("{}-{:0>2}", whole(years.floor()), whole(month))
}

/// A number of no unit with the half-width of its 95 % interval, at least 0.01: `0.74 ± 0.10`.
#[must_use]
pub fn number_of(quantity: &Quantity) -> String {
    format!("{} ± {}", decimal(quantity.value, 2), decimal((Z95 * quantity.sd()).max(0.01), 2))
}

/// A whole number with a true minus sign, never `−0`; what is not finite is a word.
fn whole(value: f64) -> String {
    decimal(value, 0)
}

/// A number with this many decimals, a true minus sign, never `−0`; what is not finite is a word.
fn decimal(value: f64, decimals: usize) -> String {
    if !value.is_finite() {
        return "unknown".to_owned();
    }
    let text = format!("{:.decimals$}", value.abs());
    let zero = text.chars().all(|c| c == '0' || c == '.');
    if value < 0.0 && !zero { format!("−{text}") } else { text }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::measure::quantity::Budget;

    #[test]
    fn an_offset_from_the_midline_says_its_side_in_words() {
        assert_eq!(beside_midline(-0.042), "4 % short of the midline");
        assert_eq!(beside_midline(0.1), "10 % past the midline");
        assert_eq!(beside_midline(-0.004), "at the midline");
        assert_eq!(
            beside_midline_of(-0.22, Some(Side::Right)),
            "22 % short of the midline (patient's right)"
        );
        assert_eq!(beside_midline_of(0.03, Some(Side::Right)), "3 % past the midline (patient's left)");
        assert_eq!(beside_midline_of(0.03, None), "3 % past the midline");
        assert_eq!(beside_midline_of(0.001, Some(Side::Left)), "at the midline");
    }

    fn quantity(value: f64, sd: f64) -> Quantity {
        Quantity {
            value,
            budget: Budget { bone: sd, ..Budget::default() },
            influences: Vec::new(),
            monte_carlo: None,
        }
    }

    #[test]
    fn times_in_years() {
        assert_eq!(year_and_month(2026.5), "2026-07");
        assert_eq!(year_and_month(2025.0), "2025-01");
        assert_eq!(year_and_month(2025.999), "2025-12");
    }

    #[test]
    fn the_certainty_is_part_of_the_number() {
        assert_eq!(percent_of(&quantity(0.3803, 0.0162)), "38 % ± 3");
        assert_eq!(percent_of(&quantity(-0.044, 0.03)), "−4 % ± 6");
        assert_eq!(percent_of(&quantity(0.5, 0.0)), "50 % ± 1");
        assert_eq!(size_of(&quantity(-0.17, 0.015)), "17 % ± 3");
        assert_eq!(interval(&quantity(0.38, 0.0162)), "35 to 41 %");
        let length = Length { quantity: quantity(12.34, 0.0), scale: 0.4 };
        assert_eq!(mm_of(&length), "12.3 mm ± 0.8");
        let from = Some(ScaleFrom::KnownLength);
        assert_eq!(scale_of(0.31, Some(0.0127), from), "0.310 mm/pixel ± 8.0 %, from a known length");
        assert_eq!(scale_of(0.31, None, None), "0.310 mm/pixel; assumed exact (no uncertainty entered)");
    }

    #[test]
    fn hours_run_from_one_to_twelve() {
        assert_eq!(
            [0.2, 10.4, 11.7].map(clock_hour),
            ["about 12 o’clock", "about 10 o’clock", "about 12 o’clock"]
        );
    }

    #[test]
    fn long_names_lose_their_middle() {
        assert_eq!(shortened("short.png", 12), "short.png");
        assert_eq!(shortened("lateral-of-the-body-0042.png", 13), "latera…42.png");
        assert_eq!(shortened("äöüäöüäöü", 5), "äö…öü");
    }

    #[test]
    fn typed_numbers_are_not_rounded() {
        assert_eq!([0.3, 0.07, -0.1, 0.125, 0.0].map(percent_as_typed), ["30", "7", "−10", "12.5", "0"]);
        assert_eq!(as_typed(-0.25), "−0.25");
    }

    #[test]
    fn zero_has_no_sign() {
        assert_eq!(percent(-0.001), "0 %");
        assert_eq!(signed_percent(0.004), "0 %");
        assert_eq!(degrees(-0.04), "0.0°");
        assert_eq!(degrees(-4.06), "−4.1°");
    }

    #[test]
    fn what_is_no_number_is_a_word() {
        assert_eq!(percent(f64::NAN), "unknown %");
        assert_eq!(probability(f64::NAN), "unknown");
    }

    #[test]
    fn bands_and_probabilities() {
        assert_eq!(band(Band::new(0.3, 0.5)), "30–50 %");
        assert_eq!(band(Band::new(-0.1, 0.1)), "−10 to +10 %");
        assert_eq!(band(Band::new(-0.05, 0.15)), "−5 to +15 %");
        assert_eq!(offset_band(Band::new(-0.1, 0.1)), "±10 %");
        assert_eq!(offset_band(Band::new(-0.1, 0.05)), "−10 to +5 %");
        assert_eq!([0.0001, 0.51, 0.9999].map(probability), ["under 1 %", "51 %", "over 99 %"]);
    }
}
