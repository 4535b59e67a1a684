//! The values that a true view would show, and the angles of the view itself.

use crate::measure::quantity::{Budget, Influence, Quantity, Z95};
use crate::measure::reading::MidlineOffsets;

/// An angle of the view with its standard uncertainty, in degrees.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Angle {
    /// The angle.
    pub deg: f64,
    /// Its standard uncertainty.
    pub sd_deg: f64,
}

impl Angle {
    /// From radians.
    pub(crate) fn from_rad(value: f64, variance: f64) -> Self {
        Self { deg: value.to_degrees(), sd_deg: variance.max(0.0).sqrt().to_degrees() }
    }

    /// Lower end of the 95 % interval.
    #[must_use]
    pub fn low(self) -> f64 {
        self.deg - Z95 * self.sd_deg
    }

    /// Upper end of the 95 % interval.
    #[must_use]
    pub fn high(self) -> f64 {
        self.deg + Z95 * self.sd_deg
    }

    /// Whether it differs from none by more than two standard uncertainties.
    #[must_use]
    pub fn shows(self) -> bool {
        self.deg.abs() > 2.0 * self.sd_deg
    }
}

/// Why the turn of an AP view is not worked out, or not used.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum TurnRefusal {
    /// The entry side is not known in the picture, or the tip is not read.
    NotRead,
    /// Not both pedicles are marked.
    OnePedicle,
    /// The turn found, in degrees, is more than the levers bear.
    TooFar(f64),
    /// S1 and the bodies above T11: their levers are others.
    Level,
}

impl TurnRefusal {
    /// A sentence that says what is the matter and what to do.
    #[must_use]
    pub fn sentence(self) -> String {
        match self {
            Self::NotRead => {
                "The rotation of this view cannot be calculated, because the mediolateral position of the tip is not known.".to_owned()
            }
            Self::OnePedicle => {
                "The rotation of this view cannot be calculated without the borders of both pedicles; mark them to see the values of a true view."
                    .to_owned()
            }
            Self::TooFar(deg) => format!(
                "This view is rotated by about {:.0}°, more than the {LIMIT_DEG:.0}° up to which the values of a true view can be calculated; interpret the direct readings with care, or use a truer view.",
                deg.abs()
            ),
            Self::Level => {
                "Values of a true view are calculated for T11 to L5 only; other levels have other proportions.".to_owned()
            }
        }
    }
}

/// The largest turn for which corrected values are given, in degrees.
pub(crate) const LIMIT_DEG: f64 = 10.0;

/// An AP reading as a true view would show it.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct ApTrueView {
    /// The turn about the patient's long axis: positive where what lies in front appears shifted toward the patient's right.
    pub turn: Option<Angle>,
    /// The tilt against the mean end plate: positive where what lies in front appears shifted downward.
    pub tilt: Option<Angle>,
    /// Across fraction of the tip.
    pub across: Option<Quantity>,
    /// Height fraction of the tip.
    pub height: Option<Quantity>,
    /// Offsets from the midline, three ways.
    pub midline_by: MidlineOffsets,
    /// Still to go to the entry-side medial border.
    pub medial_border: Option<Quantity>,
    /// Why the turn is not worked out, if it is not.
    pub refused: Option<TurnRefusal>,
    /// Whether the arch and the spinous process tell different turns.
    pub arch_differs: bool,
}

/// A lateral reading as a true view would show it.
#[derive(Clone, Debug, PartialEq)]
pub struct LateralTrueView {
    /// How far the view is turned, without its direction, which marks do not tell.
    pub turn_abs: Angle,
    /// The tilt against the mean end plate: positive where what lies on the patient's left appears shifted downward.
    pub tilt: Angle,
    /// Depth fraction of the tip.
    pub depth: Quantity,
    /// Height fraction of the tip.
    pub height: Quantity,
}

/// What both views of a matched pair give together.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct PairTrueView {
    /// Depth fraction.
    pub depth: Option<Quantity>,
    /// Across fraction.
    pub across: Option<Quantity>,
    /// Height fraction, from both views.
    pub height: Option<Quantity>,
    /// Offsets from the midline, three ways.
    pub midline_by: MidlineOffsets,
    /// Still to go to the entry-side medial border.
    pub medial_border: Option<Quantity>,
}

/// A quantity with this value and variance whose bone and metal parts are those of the direct one, as far as the variance
/// allows, the rest being the view's.
pub(crate) fn corrected(direct: &Quantity, value: f64, variance: f64) -> Quantity {
    let placed = placement_variance(direct);
    let shrink = if placed > variance { (variance / placed).max(0.0).sqrt() } else { 1.0 };
    let budget = Budget {
        bone: direct.budget.bone * shrink,
        metal: direct.budget.metal * shrink,
        view: (variance - placed).max(0.0).sqrt(),
        model: 0.0,
        softness: direct.budget.softness * shrink,
        proposal: direct.budget.proposal * shrink,
    };
    let influences = direct.influences.iter().map(|i| Influence { sd: i.sd * shrink, ..*i }).collect();
    Quantity { value, budget, influences, monte_carlo: None }
}

/// Variance of a quantity from the placement of marks.
pub(crate) fn placement_variance(q: &Quantity) -> f64 {
    q.budget.bone.powi(2) + q.budget.metal.powi(2)
}
