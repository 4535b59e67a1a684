//! A length in millimetres: from pixels by a scale that is itself uncertain.

use crate::measure::quantity::{Quantity, Z95};

/// A length in millimetres at the plane of the body.
#[derive(Clone, Debug, PartialEq)]
pub struct Length {
    /// The length with what the placement of marks and the view bring; the scale is held fixed, as it is in a
    /// simulation.
    pub quantity: Quantity,
    /// What the scale brings, as a standard uncertainty in millimetres: its relative standard uncertainty times the
    /// length. It is common to all lengths of one shot.
    pub scale: f64,
}

impl Length {
    /// The length in millimetres.
    #[must_use]
    pub const fn mm(&self) -> f64 {
        self.quantity.value
    }

    /// Standard uncertainty in millimetres: all parts in quadrature (JCGM 100:2008, 5.1.2).
    #[must_use]
    pub fn sd(&self) -> f64 {
        self.quantity.sd().hypot(self.scale)
    }

    /// Lower end of the 95 % interval.
    #[must_use]
    pub fn low(&self) -> f64 {
        self.mm() - Z95 * self.sd()
    }

    /// Upper end of the 95 % interval.
    #[must_use]
    pub fn high(&self) -> f64 {
        self.mm() + Z95 * self.sd()
    }
}

/// The body's sizes in millimetres; names as in [`crate::measure::reading::BodySizes`].
#[derive(Clone, Debug, PartialEq)]
pub struct BodyLengths {
    /// Depth (lateral) or width (AP) at mid height.
    pub depth: Length,
    /// Height at the start of the end plates: posterior (lateral), entry side (AP).
    pub posterior_height: Length,
    /// Height at their middle.
    pub middle_height: Length,
    /// Height at their end: anterior (lateral), far side (AP).
    pub anterior_height: Length,
}

impl BodyLengths {
    /// All of them, for a simulation to fill in.
    pub(crate) fn quantities(&mut self) -> [&mut Quantity; 4] {
        [&mut self.depth, &mut self.posterior_height, &mut self.middle_height, &mut self.anterior_height]
            .map(|length| &mut length.quantity)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::measure::quantity::Budget;

    #[test]
    fn the_scale_is_one_part_among_four() {
        let budget = Budget { bone: 3.0, ..Budget::default() };
        let quantity = Quantity { value: 30.0, budget, influences: Vec::new(), monte_carlo: None };
        let length = Length { quantity, scale: 4.0 };
        assert!((length.sd() - 5.0).abs() < 1e-12);
        assert!((length.high() - length.low() - 2.0 * Z95 * 5.0).abs() < 1e-9);
    }
}
