//! Whether a proposed outline may be shown: what speaks against it, and what is said instead.

use crate::propose::edge::value_at;
use crate::propose::five::Agreed;
use crate::propose::model::{Edge, Prior, Shape, corners, on_edge};
use crate::propose::patch::Patch;

/// The sum of doubts above which nothing is proposed.
const MOST_DOUBT: f64 = 2.0;
/// Limits that hold whatever the sum says: misfit of the clicks in standard deviations, and the part of a border that must
/// be visible; the oddity of the form has its limit in the prior.
const MOST_MISFIT: f64 = 1.7;
const LEAST_VISIBLE: f64 = 0.4;
/// A border with less response than this, over a clear one's, was not found.
const LEAST_RESPONSE: f64 = 0.22;
/// A border with less response than this hardly shows.
const FAINT: f64 = 0.6;
/// Both end plates of a body look alike: one that answers by less than this share of the other was not found, but something
/// inside the body or beyond it.
const PLATES_ALIKE: f64 = 0.45;
/// Spread of the fits above which it is the border's fault.
const WIDE_MM: f64 = 2.0;

/// What speaks for and against an outline.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Parts {
    /// How far the five fits lie apart, in millimetres.
    pub spread_mm: f64,
    /// The weakest border's response, over a clear one's.
    pub least_response: f64,
    /// How odd the form is: the largest deviation of one of its numbers, in standard deviations.
    pub shape_z: f64,
    /// How far the clicks lie off, root mean square in standard deviations.
    pub click_misfit: f64,
    /// How many of the five fits agree.
    pub agreeing: u32,
}

/// Why nothing is proposed.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Code {
    /// Not a lateral view.
    View,
    /// A click or the body lies outside the picture.
    OutsideImage,
    /// The two clicks lie too close together, or farther apart than any body is deep.
    Clicks,
    /// The picture is rotated by more than 50°.
    Rotated,
    /// No border where one is asked for.
    BorderNotFound,
    /// A border is hidden, or outside the field.
    BorderHidden,
    /// The inside is no darker than what lies beyond both end plates: a disc space, or no body.
    NotABody,
    /// A form that no body has, or a crushed one.
    Shape,
    /// The borders lie elsewhere than the clicks say.
    ClicksOff,
    /// Several outlines are possible.
    Ambiguous,
    /// The other picture does not look alike.
    Unlike,
    /// The instrument ends outside the body that was found: another level.
    OtherLevel,
    /// The other shot's marks cannot be used.
    NoMarks,
    /// The first sacral body, whose inferior border is a remnant that is often not seen.
    Sacrum,
}

/// A refusal: nothing is proposed.
#[derive(Clone, Debug, PartialEq)]
pub struct Refusal {
    /// Why.
    pub code: Code,
    /// The border at fault, if it is one.
    pub border: Option<Edge>,
    /// One sentence: what is wrong, what to do.
    pub text: String,
    /// What was found all the same, and the sum of doubts.
    pub found: Option<(Parts, f64)>,
}

impl Code {
    /// The key in the command line's output.
    #[must_use]
    pub const fn key(self) -> &'static str {
        match self {
            Self::View => "view",
            Self::OutsideImage => "outside_image",
            Self::Clicks => "clicks",
            Self::Rotated => "rotated",
            Self::BorderNotFound => "border_not_found",
            Self::BorderHidden => "border_hidden",
            Self::NotABody => "not_a_body",
            Self::Shape => "shape",
            Self::ClicksOff => "clicks_off",
            Self::Ambiguous => "ambiguous",
            Self::Unlike => "unlike",
            Self::OtherLevel => "other_level",
            Self::NoMarks => "no_marks",
            Self::Sacrum => "sacrum",
        }
    }

    /// One sentence for it.
    fn text(self, border: Option<Edge>) -> String {
        let named = border.map(Edge::name);
        match (self, named) {
            (Self::BorderNotFound, Some(name)) => format!("{} not found: click it.", capital(name)),
            (Self::BorderHidden, Some(name)) => {
                format!("Too little of the {name} is visible: mark it by hand.")
            }
            (Self::Ambiguous, Some(name)) => {
                format!("The {name} could lie in more than one place: click it.")
            }
            _ => self.plain().to_owned(),
        }
    }

    /// The sentence where no border is named.
    const fn plain(self) -> &'static str {
        match self {
            Self::View => {
                "Outlines are proposed in lateral views only; copy the marks from another shot, or mark by hand."
            }
            Self::OutsideImage => {
                "The body reaches beyond the visible part of the image: mark what can be seen by hand."
            }
            Self::Clicks => {
                "The two clicks are not one vertebral body apart: click the middle of the posterior wall, then the middle of the anterior wall."
            }
            Self::Rotated => {
                "The spine is rotated by more than 50°, so the superior end is not known: mark the four corners by hand."
            }
            Self::BorderNotFound => "A border was not found: mark the outline by hand.",
            Self::BorderHidden => "Too little of the body is visible: mark it by hand.",
            Self::NotABody => {
                "No vertebral body was found between the clicks, perhaps a disc space: click the walls of a body, or mark by hand."
            }
            Self::Shape => {
                "What was found is not shaped like an intact vertebral body: mark the outline by hand."
            }
            Self::ClicksOff => {
                "The borders found do not lie where the clicks are: click the middle of both walls again, or mark by hand."
            }
            Self::Ambiguous => "More than one outline is possible: mark it by hand.",
            Self::Unlike => {
                "The two images are not alike enough to copy marks from one to the other: click both walls, or mark by hand."
            }
            Self::OtherLevel => {
                "The instrument ends outside the body that was found, perhaps a neighboring level: click both walls, or mark by hand."
            }
            Self::NoMarks => "The other shot is not fully marked: mark it first, or select another.",
            Self::Sacrum => {
                "Nothing is proposed for S1, whose inferior border is often not seen: mark it by hand."
            }
        }
    }
}

fn capital(name: &str) -> String {
    let mut letters = name.chars();
    letters.next().map(|c| c.to_uppercase().collect::<String>() + letters.as_str()).unwrap_or_default()
}

impl Refusal {
    /// A refusal before anything was looked for.
    #[must_use]
    pub fn plain(code: Code) -> Self {
        Self { code, border: None, text: code.text(None), found: None }
    }

    /// The same of an AP or en face view, where two clicks propose nothing.
    pub(crate) fn in_front_view(mut self) -> Self {
        let text = match self.code {
            Code::OtherLevel => {
                "The level is not sure: the instrument ends elsewhere, or a neighboring level looks the same. Mark this shot by hand."
            }
            Code::Unlike => {
                "The two images are not alike enough to copy marks from one to the other: mark this shot by hand."
            }
            _ => return self,
        };
        text.clone_into(&mut self.text);
        self
    }

    pub(crate) fn of(code: Code, border: Option<Edge>, parts: Parts) -> Self {
        Self { code, border, text: code.text(border), found: Some((parts, doubt(&parts))) }
    }
}

impl Edge {
    /// The name in a sentence.
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            Self::Superior => "superior endplate",
            Self::Inferior => "inferior endplate",
            Self::Posterior => "posterior wall",
            Self::Anterior => "anterior wall",
        }
    }
}

/// The parts of an agreed outline.
pub(crate) fn parts(agreed: &Agreed) -> Parts {
    Parts {
        spread_mm: agreed.spread.iter().copied().fold(0.0, f64::max).min(6.0),
        least_response: Edge::ALL.into_iter().map(|edge| told(agreed, edge)).fold(f64::INFINITY, f64::min),
        shape_z: agreed.oddest,
        click_misfit: agreed.misfit,
        agreeing: agreed.agreeing,
    }
}

/// What speaks for a border: its response over a clear one's; a clear one where a person has clicked it.
fn told(agreed: &Agreed, edge: Edge) -> f64 {
    let response = agreed.found[edge.index()].mean_response();
    if agreed.helped[edge.index()] { response.max(1.0) } else { response }
}

/// The sum of doubts: 0 where nothing speaks against the outline.
#[must_use]
pub fn doubt(parts: &Parts) -> f64 {
    parts.spread_mm
        + 2.0 * (0.6 - parts.least_response).max(0.0)
        + (parts.shape_z - 1.5).max(0.0)
        + (parts.click_misfit - 1.5).max(0.0)
        + 0.5 * (5.0 - f64::from(parts.agreeing))
}

/// Why an agreed outline is refused, if it is.
pub(crate) fn refusal(patch: &Patch, prior: &Prior, agreed: &Agreed) -> Option<Refusal> {
    let parts = parts(agreed);
    let by = |better: &dyn Fn(usize) -> f64| -> Edge {
        Edge::ALL
            .into_iter()
            .min_by(|a, b| better(a.index()).total_cmp(&better(b.index())))
            .unwrap_or(Edge::Superior)
    };
    let hidden = by(&|i| agreed.found[i].visible);
    let weakest = by(&|i| told(agreed, Edge::ALL[i]));
    let widest = by(&|i| -agreed.spread[i]);
    let refused = |code, border| Some(Refusal::of(code, border, parts));
    if agreed.found[hidden.index()].visible < LEAST_VISIBLE {
        return refused(Code::BorderHidden, Some(hidden));
    }
    match is_lighter_inside(patch, &agreed.shape, agreed.helped) {
        [false, false] => {}
        // One plate alone that hardly answers is not seen; the other one says that there is a body.
        [true, false] if told(agreed, Edge::Superior) < FAINT => {
            return refused(Code::BorderNotFound, Some(Edge::Superior));
        }
        [false, true] if told(agreed, Edge::Inferior) < FAINT => {
            return refused(Code::BorderNotFound, Some(Edge::Inferior));
        }
        _ => return refused(Code::NotABody, None),
    }
    if agreed.oddest > prior.most_odd {
        return refused(Code::Shape, None);
    }
    if agreed.misfit > MOST_MISFIT {
        return refused(Code::ClicksOff, None);
    }
    if parts.least_response < LEAST_RESPONSE {
        return refused(Code::BorderNotFound, Some(weakest));
    }
    let [superior, inferior] = [Edge::Superior, Edge::Inferior].map(|edge| told(agreed, edge));
    if superior.min(inferior) < PLATES_ALIKE * superior.max(inferior) {
        let weaker = if superior < inferior { Edge::Superior } else { Edge::Inferior };
        return refused(Code::BorderNotFound, Some(weaker));
    }
    // What is no number is never within a limit.
    let within = doubt(&parts) <= MOST_DOUBT;
    if within {
        return None;
    }
    if parts.spread_mm > WIDE_MM {
        refused(Code::Ambiguous, Some(widest))
    } else {
        refused(Code::BorderNotFound, Some(weakest))
    }
}

/// For the superior and the inferior end plate, whether bone near it is not darker than what lies 1–3 mm outside it: a disc
/// space looks like a body to the edges alone. Not asked where a person has put the border.
fn is_lighter_inside(patch: &Patch, shape: &Shape, helped: [bool; 4]) -> [bool; 2] {
    let corners = corners(shape);
    let mean = |edge: Edge, offsets: &[f64]| -> Option<f64> {
        let (mut sum, mut n) = (0.0, 0.0);
        for i in 3..=17 {
            let place = on_edge(shape, &corners, edge, f64::from(i) / 20.0);
            for &off in offsets {
                if let Some(v) = value_at(patch, &patch.contrast, place.at + place.out * off) {
                    sum += f64::from(v);
                    n += 1.0;
                }
            }
        }
        (n >= 5.0).then(|| sum / n)
    };
    [Edge::Superior, Edge::Inferior].map(|edge| {
        let inside = mean(edge, &[-1.5, -2.5, -3.5, -4.5, -5.5]);
        let outside = mean(edge, &[1.0, 1.5, 2.0, 2.5, 3.0]);
        let darker = inside.zip(outside).is_some_and(|(inside, outside)| inside < outside);
        !darker && !helped[edge.index()]
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    /// By hand: 0.3 + 2·(0.6 − 0.5) + (1.7 − 1.5) + 0 + ½·1 = 1.2.
    #[test]
    fn doubts_add_up_by_hand() {
        let parts =
            Parts { spread_mm: 0.3, least_response: 0.5, shape_z: 1.7, click_misfit: 0.9, agreeing: 4 };
        assert!((doubt(&parts) - 1.2).abs() < 1e-12);
    }

    #[test]
    fn every_refusal_is_a_sentence_that_says_what_to_do() {
        let codes = [
            Code::View,
            Code::OutsideImage,
            Code::Clicks,
            Code::Rotated,
            Code::BorderNotFound,
            Code::BorderHidden,
            Code::NotABody,
            Code::Shape,
            Code::ClicksOff,
            Code::Ambiguous,
            Code::Unlike,
            Code::OtherLevel,
            Code::NoMarks,
            Code::Sacrum,
        ];
        for code in codes {
            for border in [None, Some(Edge::Superior)] {
                let text = code.text(border);
                assert!(text.ends_with('.') && text.contains([':', ';']), "{text}");
            }
        }
        assert_eq!(Code::BorderNotFound.text(Some(Edge::Superior)), "Superior endplate not found: click it.");
    }
}
