//! Points and displacements of the plane.

use std::ops::{Add, AddAssign, Div, Mul, Neg, Sub};

/// A place in the plane; in a picture, pixels from its top-left corner, x to the right and y down.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Point {
    /// Distance to the right.
    pub x: f64,
    /// Distance down.
    pub y: f64,
}

/// A displacement between two places.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Vec2 {
    /// To the right.
    pub x: f64,
    /// Down.
    pub y: f64,
}

impl Point {
    /// The place at `x`, `y`.
    #[must_use]
    pub const fn new(x: f64, y: f64) -> Self {
        Self { x, y }
    }

    /// The displacement from the origin to this place.
    #[must_use]
    pub const fn to_vec(self) -> Vec2 {
        Vec2 { x: self.x, y: self.y }
    }

    /// Distance to `other`.
    #[must_use]
    pub fn distance(self, other: Self) -> f64 {
        (other - self).length()
    }

    /// The place a fraction `t` of the way to `other`; `t` may lie outside 0–1.
    #[must_use]
    pub fn lerp(self, other: Self, t: f64) -> Self {
        self + (other - self) * t
    }

    /// The place half way to `other`.
    #[must_use]
    pub fn midpoint(self, other: Self) -> Self {
        self.lerp(other, 0.5)
    }

    /// Whether both coordinates are finite.
    #[must_use]
    pub const fn is_finite(self) -> bool {
        self.x.is_finite() && self.y.is_finite()
    }
}

impl Vec2 {
    /// The displacement by `x`, `y`.
    #[must_use]
    pub const fn new(x: f64, y: f64) -> Self {
        Self { x, y }
    }

    /// The place this displacement leads to from the origin.
    #[must_use]
    pub const fn to_point(self) -> Point {
        Point { x: self.x, y: self.y }
    }

    /// Euclidean length.
    #[must_use]
    pub fn length(self) -> f64 {
        self.x.hypot(self.y)
    }

    /// Inner product.
    #[must_use]
    pub fn dot(self, other: Self) -> f64 {
        self.x * other.x + self.y * other.y
    }

    /// Signed area of the parallelogram of `self` and `other`; positive when `other` lies clockwise on a
    /// screen whose y axis points down.
    #[must_use]
    pub fn cross(self, other: Self) -> f64 {
        self.x * other.y - self.y * other.x
    }

    /// The same direction with length one, or `None` for a displacement without direction.
    #[must_use]
    pub fn normalized(self) -> Option<Self> {
        let length = self.length();
        (length > 0.0 && length.is_finite()).then(|| self / length)
    }

    /// Turned by a quarter, clockwise on a screen whose y axis points down.
    #[must_use]
    pub const fn perpendicular(self) -> Self {
        Self { x: -self.y, y: self.x }
    }
}

impl Sub for Point {
    type Output = Vec2;
    fn sub(self, other: Self) -> Vec2 {
        Vec2 { x: self.x - other.x, y: self.y - other.y }
    }
}

impl Add<Vec2> for Point {
    type Output = Self;
    fn add(self, by: Vec2) -> Self {
        Self { x: self.x + by.x, y: self.y + by.y }
    }
}

impl Sub<Vec2> for Point {
    type Output = Self;
    fn sub(self, by: Vec2) -> Self {
        Self { x: self.x - by.x, y: self.y - by.y }
    }
}

impl AddAssign<Vec2> for Point {
    fn add_assign(&mut self, by: Vec2) {
        *self = *self + by;
    }
}

impl Add for Vec2 {
    type Output = Self;
    fn add(self, other: Self) -> Self {
        Self { x: self.x + other.x, y: self.y + other.y }
    }
}

impl AddAssign for Vec2 {
    fn add_assign(&mut self, other: Self) {
        *self = *self + other;
    }
}

impl Sub for Vec2 {
    type Output = Self;
    fn sub(self, other: Self) -> Self {
        Self { x: self.x - other.x, y: self.y - other.y }
    }
}

impl Neg for Vec2 {
    type Output = Self;
    fn neg(self) -> Self {
        Self { x: -self.x, y: -self.y }
    }
}

impl Mul<f64> for Vec2 {
    type Output = Self;
    fn mul(self, k: f64) -> Self {
        Self { x: self.x * k, y: self.y * k }
    }
}

impl Div<f64> for Vec2 {
    type Output = Self;
    fn div(self, k: f64) -> Self {
        Self { x: self.x / k, y: self.y / k }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn three_four_five() {
        let (a, b) = (Point::new(1.0, 2.0), Point::new(4.0, 6.0));
        assert!((a.distance(b) - 5.0).abs() < 1e-12);
        assert_eq!(a.midpoint(b), Point::new(2.5, 4.0));
        assert_eq!(Vec2::new(0.0, 0.0).normalized(), None);
    }

    #[test]
    fn a_quarter_turn_is_clockwise_on_screen() {
        assert_eq!(Vec2::new(1.0, 0.0).perpendicular(), Vec2::new(0.0, 1.0));
        assert!(Vec2::new(1.0, 0.0).cross(Vec2::new(0.0, 1.0)) > 0.0);
    }
}
