//! The run of a level and the change between shots in words: what the saved frames show.

use crate::measure::compare::{Change, Moved};
use crate::measure::length::Length;
use crate::measure::quantity::Quantity;
use crate::measure::run::{BorderSide, NoLine, Run, RunStep};
use crate::scene::format;
use crate::scene::words::reading::depth_place;

/// What stands over a run.
pub const HEADING: &str = "tip path as seen in the saved frames";

/// A coordinate along which a tip can have moved.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum MovedAlong {
    /// From the posterior to the anterior wall.
    Depth,
    /// From the entry side's wall to the other one.
    Across,
    /// From the superior to the inferior endplate.
    Height,
    /// The offset from the midline.
    Midline,
}

impl MovedAlong {
    /// Where its values are small, and where they are large.
    const fn ends(self) -> [&'static str; 2] {
        match self {
            Self::Depth => ["posterior", "anterior"],
            Self::Height => ["superior", "inferior"],
            Self::Across | Self::Midline => ["entry side", "far side"],
        }
    }

    /// Its name.
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            Self::Depth => "depth",
            Self::Across => "across",
            Self::Height => "height",
            Self::Midline => "midline",
        }
    }
}

/// Which way something changed and how far: `anterior → posterior 21 % ± 4`. No sign says it that could be read as one of
/// arithmetic.
#[must_use]
pub fn way(along: MovedAlong, change: &Change) -> String {
    let [low, high] = along.ends();
    let [from, to] = if change.quantity.value < 0.0 { [high, low] } else { [low, high] };
    format!("{from} → {to} {}", size(change))
}

/// The same in millimeters: `anterior → posterior 6.8 mm ± 1.4`.
#[must_use]
pub fn mm_way(along: MovedAlong, length: &Length) -> String {
    let [low, high] = along.ends();
    let back = length.mm() < 0.0;
    let [from, to] = if back { [high, low] } else { [low, high] };
    let quantity = Quantity { value: length.mm().abs(), ..length.quantity.clone() };
    format!("{from} → {to} {}", format::mm_of(&Length { quantity, scale: length.scale }))
}

/// How far something changed, whichever way: `21 % ± 4`.
#[must_use]
pub fn size(change: &Change) -> String {
    without_sign(&change.quantity)
}

/// A change as words: `anterior → posterior 21 % ± 4`, `no relevant change`.
#[must_use]
pub fn change(along: MovedAlong, change: &Change) -> String {
    match change.moved {
        Moved::Yes => way(along, change),
        Moved::No => moved(Moved::No).to_owned(),
        Moved::Undecided => format!("{} ({})", moved(Moved::Undecided), way(along, change)),
    }
}

/// Whether something moved, in words.
#[must_use]
pub const fn moved(moved: Moved) -> &'static str {
    match moved {
        Moved::Yes => "moved",
        Moved::No => "no relevant change",
        Moved::Undecided => "undecided whether the tip moved",
    }
}

/// A step in words.
#[must_use]
pub fn step(step: &RunStep) -> String {
    let past = step.begins_past == Some(true);
    let moves = format!(
        "{} of the body height {}, {} {}",
        without_sign(&step.toward_front),
        if step.toward_front.value < 0.0 { "posteriorly" } else { "anteriorly" },
        without_sign(&step.toward_midline),
        across(past, step.toward_midline.value < 0.0),
    );
    match &step.ratio {
        Some(ratio) => format!("{moves}; {}", for_every(ratio, &step.toward_front, past)),
        None => format!("{moves}; too little anterior movement to compare the two"),
    }
}

/// Which way from side to side, from before or `past` the midline.
const fn across(past: bool, back: bool) -> &'static str {
    match (past, back) {
        (false, false) => "toward the midline",
        (false, true) => "away from the midline",
        (true, false) => "beyond the midline",
        (true, true) => "back toward the midline",
    }
}

/// How far, without a sign: `24 % ± 4`.
fn without_sign(quantity: &Quantity) -> String {
    format::size_of(quantity)
}

/// `moved 1.4 % toward the midline for every 1 % forward`.
fn for_every(ratio: &Quantity, forward: &Quantity, past: bool) -> String {
    let way = if forward.value < 0.0 { "posteriorly" } else { "anteriorly" };
    let aside = ratio.value * forward.value.signum();
    let direction = across(past, aside < 0.0);
    format!("moved {} % {direction} for every 1 % {way}", format::one_decimal(aside.abs()))
}

/// What the last two pairs say of where a straight line leads, in words.
#[must_use]
pub fn line_ahead(run: &Run) -> [String; 2] {
    let wall = match &run.at_wall {
        Ok(wall) => {
            let distance = format::size_of(&wall.to_medial_border);
            let where_to = match wall.side {
                BorderSide::Lateral => "lateral to the pedicle's medial border",
                BorderSide::Medial => "medial to the pedicle's medial border",
                BorderSide::Undecided => "too close to the pedicle's medial border to call the side",
            };
            format!(
                "A straight line through the last two positions meets the posterior wall {where_to} ({distance} of the body width from the border)."
            )
        }
        Err(why) => {
            format!("Where a straight line would meet the posterior wall is not known: {}.", no_line(*why))
        }
    };
    let midline = match &run.at_midline {
        Ok(depth) if depth.value < 0.0 => format!(
            "The same line reaches the midline {} of the body depth posterior to the posterior wall.",
            format::size_of(depth)
        ),
        Ok(depth) => {
            let place = depth_place(depth.value).map_or(String::new(), |place| format!(" ({place})"));
            format!("The same line reaches the midline at a depth of {}{place}.", format::percent_of(depth))
        }
        Err(why) => format!("Where it reaches the midline is not known: {}.", no_line(*why)),
    };
    [wall, midline]
}

/// Why a line says nothing, as a part of a sentence.
#[must_use]
pub const fn no_line(why: NoLine) -> &'static str {
    match why {
        NoLine::NotForward => {
            "the tip did not clearly move anteriorly or posteriorly between the last two matched pairs"
        }
        NoLine::NotAcross => "the tip did not clearly move mediolaterally between the last two matched pairs",
        NoLine::NoMedialBorder => "mark the entry-side pedicle in the last two AP shots",
        NoLine::NoMidline => "the last two AP shots use different landmarks for the midline",
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::measure::quantity::Budget;
    use crate::measure::run::AtWall;
    use crate::measure::unknown_view::LaidView;

    fn quantity(value: f64) -> Quantity {
        let budget = Budget { bone: 0.01, ..Budget::default() };
        Quantity { value, budget, influences: Vec::new(), monte_carlo: None }
    }

    fn said(front: f64, across: f64, begins_past: bool) -> String {
        step(&RunStep {
            toward_front: quantity(front),
            toward_midline: quantity(across),
            ratio: Some(quantity(across / front)),
            begins_past: Some(begins_past),
        })
    }

    #[test]
    fn a_change_is_said_without_a_sign() {
        let of = |value: f64, moved| Change {
            quantity: quantity(value),
            moved,
            view_unknown: false,
            laid: LaidView::default(),
        };
        assert_eq!(change(MovedAlong::Depth, &of(-0.21, Moved::Yes)), "anterior → posterior 21 % ± 2");
        assert_eq!(change(MovedAlong::Height, &of(0.05, Moved::Yes)), "superior → inferior 5 % ± 2");
        assert_eq!(change(MovedAlong::Height, &of(0.01, Moved::No)), "no relevant change");
        assert_eq!(
            change(MovedAlong::Across, &of(0.03, Moved::Undecided)),
            "undecided whether the tip moved (entry side → far side 3 % ± 2)"
        );
    }

    #[test]
    fn where_a_line_leads_is_said_without_a_sign() {
        let run = |border: f64, midline: f64| {
            let side = if border < 0.0 { BorderSide::Medial } else { BorderSide::Lateral };
            let at_wall = Ok(AtWall { to_medial_border: quantity(border), side });
            line_ahead(&Run { steps: Vec::new(), at_wall, at_midline: Ok(quantity(midline)) })
        };
        let [wall, midline] = run(-0.21, -0.18);
        assert!(wall.contains("medial to the pedicle's medial border (21 % ± 2 of"), "{wall}");
        assert!(midline.contains("18 % ± 2 of the body depth posterior to the posterior wall"), "{midline}");
        let [wall, midline] = run(0.08, 0.7);
        assert!(wall.contains("(8 % ± 2 of"), "{wall}");
        assert!(midline.contains("at a depth of 70 % ± 2 (in the anterior third)"), "{midline}");
    }

    /// By hand: a standard uncertainty of 0.3 and 0.4 mm is 0.5 mm, and 1.96 of these 1.0 mm.
    #[test]
    fn millimeters_are_said_without_a_sign() {
        let budget = Budget { bone: 0.3, ..Budget::default() };
        let quantity = Quantity { value: -6.8, budget, influences: Vec::new(), monte_carlo: None };
        let length = Length { quantity, scale: 0.4 };
        assert_eq!(mm_way(MovedAlong::Depth, &length), "anterior → posterior 6.8 mm ± 1.0");
        assert_eq!(mm_way(MovedAlong::Height, &length), "inferior → superior 6.8 mm ± 1.0");
    }

    #[test]
    fn a_step_is_said_without_a_sign() {
        let begins = |front, across| said(front, across, false).split("; ").next().map(str::to_owned);
        let expected = "24 % ± 2 of the body height posteriorly, 2 % ± 2 away from the midline";
        assert_eq!(begins(-0.24, -0.02).as_deref(), Some(expected));
        let expected = "40 % ± 2 of the body height anteriorly, 9 % ± 2 toward the midline";
        assert_eq!(begins(0.40, 0.09).as_deref(), Some(expected));
    }

    #[test]
    fn directions_are_named_as_they_are() {
        assert!(said(0.1, 0.3, false).ends_with("moved 3.0 % toward the midline for every 1 % anteriorly"));
        assert!(
            said(0.1, -0.3, false).ends_with("moved 3.0 % away from the midline for every 1 % anteriorly")
        );
        assert!(said(0.1, 0.1, true).ends_with("moved 1.0 % beyond the midline for every 1 % anteriorly"));
        assert!(
            said(-0.1, -0.1, true).ends_with("moved 1.0 % back toward the midline for every 1 % posteriorly")
        );
    }
}
