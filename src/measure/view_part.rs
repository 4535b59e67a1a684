//! The part of the uncertainty that comes from the direction of the view (method, section 4).
//!
//! Lengths in millimetres at the plane of the body; results are variances of fractions. The half-widths of
//! the contours are the method's: they were checked on stills computed from a real spine.

use crate::measure::mark::Stage;

/// One over the distance from source to body, per millimetre.
const PER_DISTANCE: f64 = 1.0 / 700.0;
/// From the body's middle to its front or back in AP, as depth in millimetres per fraction.
const AP_DEPTH: f64 = 35.0;
/// The largest sine of a turn that a second contour may say.
const MOST_TURN: f64 = 0.5;

/// Two borders between which a fraction is read: how far their contours lie off the middle plane.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct BorderLever {
    /// At fraction 0.
    pub(crate) at_zero: f64,
    /// At fraction 1.
    pub(crate) at_one: f64,
}

/// Lateral depth: the posterior wall's margins, and the anterior wall, which is rounded.
pub(crate) const LATERAL_DEPTH: BorderLever = BorderLever { at_zero: 12.0, at_one: 4.0 };
/// Lateral height: the end plates' rims.
pub(crate) const LATERAL_HEIGHT: BorderLever = BorderLever { at_zero: 20.0, at_one: 20.0 };
/// AP height: the end plates' rims in front and behind.
pub(crate) const AP_HEIGHT: BorderLever = BorderLever { at_zero: 15.0, at_one: 15.0 };

/// What second contours say of one direction.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub(crate) struct Separations {
    /// Mean distance of the contours of the border at fraction 0, if both are marked.
    pub(crate) at_zero: Option<f64>,
    /// The same at fraction 1.
    pub(crate) at_one: Option<f64>,
}

impl Separations {
    /// The sine of the turn that the second contours say, averaged over the borders that have one.
    pub(crate) fn sine(self, lever: BorderLever) -> Option<f64> {
        let sines = [(self.at_zero, lever.at_zero), (self.at_one, lever.at_one)]
            .into_iter()
            .filter_map(|(separation, a)| Some(separation? / (2.0 * a)));
        let (sum, n) = sines.fold((0.0, 0.0), |(sum, n), s| (sum + s, n + 1.0));
        (n > 0.0).then(|| (sum / n).min(MOST_TURN))
    }
}

/// Standard deviation of the sine of the ray's turn: rectangular with this half-width in degrees.
pub(crate) fn rho(half_width_deg: f64) -> f64 {
    half_width_deg.to_radians().sin() / 3.0_f64.sqrt()
}

/// Variance of a fraction `f` between two borders a length apart, of a tip `off_middle` from the middle plane.
pub(crate) fn between_borders(
    f: f64,
    length: f64,
    off_middle: f64,
    lever: BorderLever,
    separations: Separations,
    rho: f64,
) -> f64 {
    let turn = separations.sine(lever).unwrap_or(rho);
    let one_contour = |separation: Option<f64>, a: f64| if separation.is_some() { 0.0 } else { a };
    let a_zero = one_contour(separations.at_zero, lever.at_zero);
    let a_one = one_contour(separations.at_one, lever.at_one);
    let a2 = (a_zero * (1.0 - f)).powi(2) + (a_one * f).powi(2);
    (turn / length).powi(2) * (a2 + off_middle * off_middle)
        + 0.25 * PER_DISTANCE * PER_DISTANCE * a2
        + (off_middle * (f - 0.5) * PER_DISTANCE).powi(2)
}

/// Variances of a fraction `f` in a body that is laid on another shot's by the pictures: from the tip's own distance from the
/// middle plane, and from the borders, for each unit of the fraction that the tip moved. A direction of which no second
/// contour tells is turned by `unknown`, the sine's standard deviation.
pub(crate) fn laid(
    f: f64,
    length: f64,
    off_middle: f64,
    lever: BorderLever,
    separations: Separations,
    unknown: f64,
) -> (f64, f64) {
    let turn = separations.sine(lever).unwrap_or(unknown);
    let one_contour = |separation: Option<f64>, a: f64| if separation.is_some() { 0.0 } else { a };
    let a2 = one_contour(separations.at_zero, lever.at_zero).powi(2)
        + one_contour(separations.at_one, lever.at_one).powi(2);
    let tip = (turn * off_middle / length).powi(2) + (off_middle * (f - 0.5) * PER_DISTANCE).powi(2);
    (tip, a2 * ((turn / length).powi(2) + 0.25 * PER_DISTANCE * PER_DISTANCE))
}

/// Where a structure lies that an AP tip is compared with: depth and across fractions.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Structure {
    /// Depth fraction.
    pub(crate) depth: f64,
    /// Across fraction.
    pub(crate) across: f64,
}

/// The body's own middle, also for the across fraction itself.
pub(crate) const BODY_MIDDLE: Structure = Structure { depth: 0.5, across: 0.5 };
/// The midpoint of the pedicles.
pub(crate) const PEDICLES: Structure = Structure { depth: -0.15, across: 0.5 };
/// The spinous process.
pub(crate) const SPINOUS_PROCESS: Structure = Structure { depth: -1.3, across: 0.5 };

/// A medial border at this across fraction.
pub(crate) const fn medial_border(across: f64) -> Structure {
    Structure { depth: -0.15, across }
}

/// Variance of the across distance of a tip at depth `depth` and across `across` from a structure, on a body
/// of this width in millimetres.
pub(crate) fn against(structure: Structure, depth: f64, across: f64, width: f64, rho: f64) -> f64 {
    let turn = AP_DEPTH * (depth - structure.depth).abs() * rho / width;
    let cone = AP_DEPTH
        * PER_DISTANCE
        * ((across - 0.5) * (depth - 0.5) - (structure.across - 0.5) * (structure.depth - 0.5));
    turn * turn + cone * cone
}

/// How far the tip of an unpaired lateral is taken to lie off the middle plane, in millimetres.
pub(crate) const fn typical_off_middle(stage: Option<Stage>) -> f64 {
    match stage {
        Some(Stage::Final) => 3.0,
        Some(Stage::Stylet) | None => 6.0,
        Some(Stage::PosteriorWall) => 10.0,
        Some(Stage::Pedicle | Stage::Docking) => 14.0,
    }
}

/// The depth fraction of the tip of an unpaired AP.
pub(crate) const fn typical_depth(stage: Option<Stage>) -> f64 {
    match stage {
        Some(Stage::Final) | None => 0.40,
        Some(Stage::Stylet) => 0.30,
        Some(Stage::PosteriorWall) => 0.05,
        Some(Stage::Pedicle) => -0.25,
        Some(Stage::Docking) => -0.5,
    }
}

/// How far off the middle of its depth the tip lies in an AP view, for its height.
pub(crate) fn ap_off_middle(depth: f64) -> f64 {
    AP_DEPTH * (depth - 0.5)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// By hand: f = 0.4, L = 35, t = 3, a = 12 and 4: A² = 7.2² + 1.6² = 54.4; ρ = sin 1.4°/√3 = 0.0141059;
    /// (ρ/35)²·63.4 = 1.029808e-5; (½·k)²·54.4 = 2.775510e-5; (3·0.1/700)² = 1.83673e-7.
    #[test]
    fn lateral_depth_by_hand() {
        let v = between_borders(0.4, 35.0, 3.0, LATERAL_DEPTH, Separations::default(), rho(1.4));
        assert!((v - (1.029_808e-5 + 2.775_510e-5 + 1.836_73e-7)).abs() < 1e-9, "{v}");
    }

    /// By hand: contours of the posterior wall 2.4 mm apart say sin θ = 0.1; A² = (4·0.4)² = 2.56, so with
    /// t = 3 and L = 35 the turn gives (0.1/35)²·11.56 = 9.43673e-5.
    #[test]
    fn a_second_contour_replaces_the_assumed_turn() {
        let both = Separations { at_zero: Some(2.4), at_one: None };
        assert!((both.sine(LATERAL_DEPTH).unwrap() - 0.1).abs() < 1e-12);
        let v = between_borders(0.4, 35.0, 3.0, LATERAL_DEPTH, both, rho(1.4));
        let cone = 0.25 / 490_000.0 * 2.56 + (0.3_f64 / 700.0).powi(2);
        assert!((v - (9.436_73e-5 + cone)).abs() < 1e-9, "{v}");
        let wide = Separations { at_zero: Some(100.0), at_one: None };
        assert!((wide.sine(LATERAL_DEPTH).unwrap() - 0.5).abs() < 1e-12);
    }

    /// By hand: 6 mm off the middle plane, turned by sin⁻¹ 0.07, 35 mm deep: 0.07·6/35 = 0.012; at f = 0.4 the cone brings
    /// 6·0.1/700. Borders with one contour: √(12² + 4²) = 12.649 mm, times 0.07/35 and times half of 1/700.
    #[test]
    fn a_laid_body_by_hand() {
        let (tip, borders) = laid(0.4, 35.0, 6.0, LATERAL_DEPTH, Separations::default(), 0.07);
        assert!((tip - (0.012_f64.powi(2) + (0.6_f64 / 700.0).powi(2))).abs() < 1e-12);
        assert!((borders - 160.0 * (0.002_f64.powi(2) + (0.5_f64 / 700.0).powi(2))).abs() < 1e-12);
        let both = Separations { at_zero: Some(2.4), at_one: Some(0.8) };
        let (tip, borders) = laid(0.5, 35.0, 6.0, LATERAL_DEPTH, both, 0.07);
        assert!((tip.sqrt() - 0.1 * 6.0 / 35.0).abs() < 1e-12 && borders.abs() < 1e-15);
    }

    /// By hand: against the spinous process at u = 0.4, w = 0.5, W = 50: 35·1.7·0.0141059/50 = 0.0167861.
    #[test]
    fn against_the_spinous_process_by_hand() {
        let v = against(SPINOUS_PROCESS, 0.4, 0.5, 50.0, rho(1.4));
        assert!((v.sqrt() - 0.016_786_1).abs() < 1e-6, "{}", v.sqrt());
    }
}
