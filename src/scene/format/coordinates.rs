//! Where a tip lies, with words in the place of a sign: `22 % ± 3 short of the midline`.

use crate::measure::quantity::Quantity;
use crate::measure::settings::Rule;
use crate::scene::format::{percent, rounded, size_of};

/// Which way a fraction lies from where its scale begins; `None` where its number alone says where it is.
fn direction(rule: Rule, value: f64) -> Option<&'static str> {
    if !value.is_finite() || percent(value.abs()) == percent(0.0) {
        return None;
    }
    match (rule, value < 0.0) {
        (Rule::Depth, true) => Some("posterior to the wall"),
        (Rule::Height, true) => Some("superior to the endplate"),
        (Rule::Midline, true) => Some("short of the midline"),
        (Rule::Midline, false) => Some("past the midline"),
        (Rule::Depth | Rule::Height, false) => None,
    }
}

/// A coordinate with its half-width: `38 % ± 3`, `28 % ± 9 posterior to the wall`,
/// `22 % ± 3 short of the midline`.
#[must_use]
pub fn coordinate(rule: Rule, quantity: &Quantity) -> String {
    let size = size_of(quantity);
    match direction(rule, quantity.value) {
        Some(way) => format!("{size} {way}"),
        None if rule == Rule::Midline => format!("{size} from the midline"),
        None => size,
    }
}

/// Which way a fraction lies, in fewest words, for captions and tables.
fn brief_direction(rule: Rule, value: f64) -> Option<&'static str> {
    direction(rule, value)?;
    Some(match (rule, value < 0.0) {
        (Rule::Depth, _) => "posterior",
        (Rule::Height, _) => "superior",
        (Rule::Midline, true) => "short",
        (Rule::Midline, false) => "past",
    })
}

/// A coordinate in fewest words, for captions and tables: `22 % ± 3 short`, `38 % ± 3`.
#[must_use]
pub fn coordinate_brief(rule: Rule, quantity: &Quantity) -> String {
    let size = size_of(quantity);
    brief_direction(rule, quantity.value).map_or_else(|| size.clone(), |way| format!("{size} {way}"))
}

/// Its 95 % interval likewise: `19 to 25 % short`, `5 % short to 3 % past`.
#[must_use]
pub fn interval_brief(rule: Rule, quantity: &Quantity) -> String {
    interval_with(quantity, |end| brief_direction(rule, end))
}

/// The same of a value alone: `38 %`, `28 % posterior to the wall`.
#[must_use]
pub fn coordinate_value(rule: Rule, value: f64) -> String {
    match direction(rule, value) {
        Some(way) => format!("{} {way}", percent(value.abs())),
        None => percent(value.abs()),
    }
}

/// What stands beside the size of a coordinate where the two are apart: `Depth`, `Short of the midline`.
#[must_use]
pub fn coordinate_name(rule: Rule, value: f64) -> &'static str {
    match (rule, direction(rule, value).is_some(), value < 0.0) {
        (Rule::Depth, true, _) => "Posterior to the wall",
        (Rule::Depth, false, _) => "Depth",
        (Rule::Height, true, _) => "Superior to the endplate",
        (Rule::Height, false, _) => "Height",
        (Rule::Midline, true, true) => "Short of the midline",
        (Rule::Midline, true, false) => "Past the midline",
        (Rule::Midline, false, _) => "From the midline",
    }
}

/// The 95 % interval of a coordinate: `35 to 41 %`, `19 to 25 % short of the midline`, and where it reaches from one side
/// to the other `5 % short of the midline to 3 % past the midline`.
#[must_use]
pub fn coordinate_interval(rule: Rule, quantity: &Quantity) -> String {
    interval_with(quantity, |end| direction(rule, end))
}

fn interval_with(quantity: &Quantity, direction: impl Fn(f64) -> Option<&'static str>) -> String {
    let (low, high) = (quantity.low(), quantity.high());
    let size = |end: f64| rounded(100.0 * end.abs());
    let end = |end: f64| match direction(end) {
        Some(way) => format!("{} % {way}", size(end)),
        None => format!("{} %", size(end)),
    };
    match (direction(low), direction(high)) {
        (None, None) => format!("{} to {} %", size(low), size(high)),
        (Some(way), Some(other)) if way == other => {
            let [near, far] = if low < 0.0 { [high, low] } else { [low, high] };
            format!("{} to {} % {way}", size(near), size(far))
        }
        _ => format!("{} to {}", end(low), end(high)),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::measure::quantity::Budget;

    fn quantity(value: f64) -> Quantity {
        let budget = Budget { bone: 0.02, ..Budget::default() };
        Quantity { value, budget, influences: Vec::new(), monte_carlo: None }
    }

    /// By hand: 1.96 · 2 % are 4 %.
    #[test]
    fn the_side_is_said_in_words() {
        let said = |rule, value| coordinate(rule, &quantity(value));
        assert_eq!(said(Rule::Depth, 0.38), "38 % ± 4");
        assert_eq!(said(Rule::Depth, -0.28), "28 % ± 4 posterior to the wall");
        assert_eq!(said(Rule::Depth, 1.04), "104 % ± 4");
        assert_eq!(said(Rule::Height, -0.05), "5 % ± 4 superior to the endplate");
        assert_eq!(said(Rule::Midline, -0.22), "22 % ± 4 short of the midline");
        assert_eq!(said(Rule::Midline, 0.03), "3 % ± 4 past the midline");
        assert_eq!(said(Rule::Midline, -0.004), "0 % ± 4 from the midline");
        assert_eq!(said(Rule::Depth, -0.004), "0 % ± 4");
        assert_eq!(coordinate_value(Rule::Depth, 0.38), "38 %");
        assert_eq!(coordinate_brief(Rule::Midline, &quantity(-0.22)), "22 % ± 4 short");
        assert_eq!(coordinate_brief(Rule::Depth, &quantity(0.38)), "38 % ± 4");
        assert_eq!(coordinate_value(Rule::Height, -0.1), "10 % superior to the endplate");
    }

    /// A figure once had “depth −28 %”, which a room takes for a loss.
    #[test]
    fn no_coordinate_has_a_sign() {
        for rule in [Rule::Depth, Rule::Height, Rule::Midline] {
            for hundredth in -60..120 {
                let at = quantity(f64::from(hundredth) / 100.0);
                let said =
                    [coordinate(rule, &at), coordinate_brief(rule, &at), coordinate_interval(rule, &at)];
                assert!(said.iter().all(|words| !words.contains(['−', '-', '+'])), "{said:?}");
            }
        }
    }

    #[test]
    fn an_interval_says_on_which_side_its_ends_are() {
        let said = |rule, value| coordinate_interval(rule, &quantity(value));
        assert_eq!(said(Rule::Depth, 0.38), "34 to 42 %");
        assert_eq!(said(Rule::Depth, -0.28), "24 to 32 % posterior to the wall");
        assert_eq!(said(Rule::Depth, 0.02), "2 % posterior to the wall to 6 %");
        assert_eq!(said(Rule::Midline, -0.22), "18 to 26 % short of the midline");
        assert_eq!(said(Rule::Midline, 0.10), "6 to 14 % past the midline");
        assert_eq!(said(Rule::Midline, -0.01), "5 % short of the midline to 3 % past the midline");
        assert_eq!(said(Rule::Midline, -0.0392), "8 % short of the midline to 0 %");
        assert_eq!(interval_brief(Rule::Midline, &quantity(-0.01)), "5 % short to 3 % past");
        assert_eq!(interval_brief(Rule::Depth, &quantity(-0.28)), "24 to 32 % posterior");
    }

    /// A number stands apart from its name only under a name that says its side.
    #[test]
    fn a_name_says_the_side_of_its_number() {
        assert_eq!(coordinate_name(Rule::Depth, 0.3), "Depth");
        assert_eq!(coordinate_name(Rule::Depth, -0.3), "Posterior to the wall");
        assert_eq!(coordinate_name(Rule::Height, -0.3), "Superior to the endplate");
        assert_eq!(coordinate_name(Rule::Midline, -0.3), "Short of the midline");
        assert_eq!(coordinate_name(Rule::Midline, 0.3), "Past the midline");
        assert_eq!(coordinate_name(Rule::Midline, 0.001), "From the midline");
    }
}
