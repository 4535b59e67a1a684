//! What the columns of every table say: unit and meaning by the column's heading, as docs/columns.md lists them.

/// A column of a table.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct TableColumn {
    /// Its heading.
    pub name: &'static str,
    /// Its unit; empty for words, counts and fractions.
    pub unit: &'static str,
    /// What it says.
    pub meaning: &'static str,
}

impl TableColumn {
    /// A column.
    #[must_use]
    pub const fn new(name: &'static str, unit: &'static str, meaning: &'static str) -> Self {
        Self { name, unit, meaning }
    }
}

/// Columns that mean the same in every table of results.
const PLAIN: [TableColumn; 52] = [
    TableColumn::new("file", "", "case file: its number, or its path where paths are asked for"),
    TableColumn::new("case", "", "title of the case"),
    TableColumn::new("shot", "", "id of the shot in its case"),
    TableColumn::new("view", "", "lateral, ap or pedicle; empty where nobody has set it"),
    TableColumn::new("level", "", "vertebra, such as L4"),
    TableColumn::new("side", "", "entry side of the patient: left or right"),
    TableColumn::new("stage", "", "docking, pedicle, posterior_wall, stylet or final"),
    TableColumn::new("operator", "", "code of the operator"),
    TableColumn::new("date", "", "date of the procedure, as the case says it"),
    TableColumn::new("half_year", "", "half-year of the date, such as 2026 H1"),
    TableColumn::new("shots", "", "number of shots of the body"),
    TableColumn::new("midline_by", "", "what the midline offset goes by: pedicles, spinous_process or body"),
    TableColumn::new("quadrant", "", "quadrant of the pedicle that the tip lies in"),
    TableColumn::new(
        "body_length_px",
        "px",
        "length of the body at mid height: depth in a lateral, width in an AP",
    ),
    TableColumn::new(
        "start_height_px",
        "px",
        "height of the body at its posterior border, in an AP at its right border",
    ),
    TableColumn::new("middle_height_px", "px", "height of the body in its middle"),
    TableColumn::new(
        "end_height_px",
        "px",
        "height of the body at its anterior border, in an AP at its left border",
    ),
    TableColumn::new("end_plate_angle_deg", "°", "angle between the endplates"),
    TableColumn::new("mm_per_px", "mm/px", "scale at the plane of the body"),
    TableColumn::new(
        "scale_assumed",
        "",
        "true where the scale is that of a body of typical size, for marking errors only",
    ),
    TableColumn::new(
        "issues",
        "",
        "codes of what stands in the way of a reading or qualifies it, with spaces between",
    ),
    TableColumn::new(
        "turn_deg",
        "°",
        "rotation of the view about the long axis of the body; in a lateral without its sign",
    ),
    TableColumn::new("turn_sd_deg", "°", "its standard uncertainty"),
    TableColumn::new(
        "tilt_deg",
        "°",
        "tilt of the view in the sagittal plane of an AP, in the coronal plane of a lateral",
    ),
    TableColumn::new("tilt_sd_deg", "°", "its standard uncertainty"),
    TableColumn::new(
        "verdicts_by_true_view",
        "",
        "verdicts that go by what a true view would show, with spaces between",
    ),
    TableColumn::new("mark_sd_mm", "mm", "standard deviation of each point across its border, mark by mark"),
    TableColumn::new("marks_by_hand", "", "number of points that a person placed"),
    TableColumn::new("marks_proposed", "", "number of points as the program proposed them"),
    TableColumn::new("marks_moved", "", "number of points that a person moved after a proposal"),
    TableColumn::new(
        "outcome_nominal",
        "",
        "whether the values alone lie inside all bands: inside or outside",
    ),
    TableColumn::new("outcome_state", "", "verdict of the body: inside, outside or undecided"),
    TableColumn::new("outcome_p_inside", "", "probability that the tip lies inside all bands, 0 to 1"),
    TableColumn::new("no_outcome", "", "why there is no verdict, where there is none"),
    TableColumn::new("lesion_s", "s", "duration of the lesion, as the case says it"),
    TableColumn::new("remarks", "", "remarks on the body"),
    TableColumn::new(
        "by",
        "",
        "what the groups are made by: all, level, side, operator, half_year and so on",
    ),
    TableColumn::new("group", "", "the group"),
    TableColumn::new("first", "", "first group; the difference is first minus second"),
    TableColumn::new("second", "", "second group"),
    TableColumn::new(
        "n",
        "",
        "number of bodies; in the table of sums the place in the order of time, from 1",
    ),
    TableColumn::new("inside", "", "number of bodies inside"),
    TableColumn::new("outside", "", "number of bodies outside"),
    TableColumn::new("undecided", "", "number of undecided bodies"),
    TableColumn::new("rule", "", "band that the error is against: depth, height or midline"),
    TableColumn::new("mean", "", "mean of value minus aim"),
    TableColumn::new("low", "", "lower end of the 95 % interval of the mean"),
    TableColumn::new("high", "", "upper end of the 95 % interval of the mean"),
    TableColumn::new("sd", "", "standard deviation of value minus aim"),
    TableColumn::new("p_inside", "", "probability that the tip lies inside all bands, 0 to 1"),
    TableColumn::new("subject", "", "what was read: case and shot"),
    TableColumn::new("rater", "", "code of the reader"),
];
/// More of the same.
const MORE: [TableColumn; 2] = [
    TableColumn::new("round", "", "number of the reading of this reader"),
    TableColumn::new("blind", "", "yes for a blinded re-reading, no for the first marks"),
];

/// Quantities by their name: what value they have.
const QUANTITIES: [(&str, &str); 5] = [
    ("depth", "fraction of the body's depth from the posterior wall"),
    ("across", "fraction of the body's width from its right border"),
    ("height", "fraction of the body's height from the inferior endplate"),
    ("midline", "offset of the tip from the midline as a fraction of the body's width, positive beyond it"),
    ("radius", "distance from the middle of the pedicle; 1 is its outline"),
];
/// What stands behind the name of a quantity.
const OF_QUANTITY: [(&str, &str); 11] = [
    ("", ""),
    ("_sd", "standard uncertainty"),
    ("_low", "lower end of the 95 % interval"),
    ("_high", "upper end of the 95 % interval"),
    ("_sd_bone", "part of the uncertainty that comes from the marks of bone"),
    ("_sd_metal", "part that comes from the marks of metal"),
    ("_sd_view", "part that comes from the unknown angle of the view"),
    ("_monte_carlo_mean", "mean of the simulated readings"),
    ("_monte_carlo_sd", "standard deviation of the simulated readings"),
    ("_monte_carlo_low", "2.5 % quantile of the simulated readings"),
    ("_monte_carlo_high", "97.5 % quantile of the simulated readings"),
];
/// What stands behind the name of a rule of the target.
const OF_RULE: [(&str, &str); 6] = [
    ("_nominal", "where the value alone lies: inside, or the side it lies on"),
    ("_state", "verdict: inside, outside or undecided"),
    ("_p_inside", "probability that the tip lies in the band, 0 to 1"),
    ("_band_low", "lower end of the target"),
    ("_band_high", "upper end of the target"),
    ("_basis", "what the verdict goes by: direct or true_view"),
];
/// How undecided bodies are counted.
const WAYS: [(&str, &str); 3] = [
    ("as_in", "undecided bodies count as inside"),
    ("as_out", "undecided bodies count as outside"),
    ("by_probability", "undecided bodies count by their probability"),
];
/// What stands behind a way of counting.
const OF_WAY: [(&str, &str); 6] = [
    ("", "proportion inside, or difference of proportions"),
    ("_low", "lower end of its 95 % interval"),
    ("_high", "upper end of its 95 % interval"),
    ("_sum", "cumulative sum after this body"),
    ("_deterioration", "chart for deterioration after this body"),
    ("_learning", "chart for learning after this body"),
];

/// Unit and meaning of a column of a table of results by its heading; `None` for one that no table has.
#[must_use]
pub fn describe(column: &str) -> Option<(&'static str, String)> {
    if let Some(found) = PLAIN.iter().chain(&MORE).find(|known| known.name == column) {
        return Some((found.unit, found.meaning.to_owned()));
    }
    if let Some(mark) = column.strip_prefix("sd_mm_") {
        let mark = mark.replace('_', " ");
        return Some(("mm", format!("scatter of this mark over the readings of the shot: {mark}")));
    }
    let (base, as_seen) = match column.strip_prefix("true_view_") {
        Some(base) => (base, ", as a true view would show it"),
        None => (column, ""),
    };
    for (name, of) in QUANTITIES {
        let Some(end) = base.strip_prefix(name) else { continue };
        if let Some((_, meaning)) = OF_QUANTITY.iter().find(|(known, _)| *known == end) {
            let what = if end.is_empty() { of.to_owned() } else { format!("{meaning} of {name}") };
            return Some(("", format!("{what}{as_seen}")));
        }
    }
    for rule in ["depth", "height", "midline", "docking"] {
        let Some(end) = column.strip_prefix(rule) else { continue };
        if let Some((_, meaning)) = OF_RULE.iter().find(|(known, _)| *known == end) {
            return Some(("", format!("{rule}: {meaning}")));
        }
    }
    for (way, counted) in WAYS {
        let Some(end) = column.strip_prefix(way) else { continue };
        if let Some((_, meaning)) = OF_WAY.iter().find(|(known, _)| *known == end) {
            return Some(("", format!("{meaning}; {counted}")));
        }
    }
    None
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn headings_are_described_and_others_are_not() {
        assert_eq!(describe("mm_per_px").map(|(unit, _)| unit), Some("mm/px"));
        let (_, meaning) = describe("true_view_depth_sd").unwrap();
        assert_eq!(meaning, "standard uncertainty of depth, as a true view would show it");
        assert!(describe("depth_band_low").is_some() && describe("by_probability_learning").is_some());
        for unknown in ["", "depthx", "nose", "as_in_x", "true_view_nose"] {
            assert_eq!(describe(unknown), None, "{unknown}");
        }
    }

    #[test]
    fn no_column_is_described_twice() {
        let mut names: Vec<&str> = PLAIN.iter().chain(&MORE).map(|known| known.name).collect();
        names.sort_unstable();
        let all = names.len();
        names.dedup();
        assert_eq!(names.len(), all);
    }
}
