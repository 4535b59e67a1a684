//! What has been clicked of a screen in a photo, so that the photo can be straightened.

use crate::case::image::straighten::{ScreenOutline, ellipse_of_field};
use crate::geom::point::{Point, Vec2};

/// By what of a screen a photo is straightened.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum ScreenPart {
    /// Its four corners.
    #[default]
    Corners,
    /// Its round field.
    Field,
}

/// One of the clicked points.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum ScreenPoint {
    /// A corner, or a point on the edge of the field, by its place in the list.
    Edge(usize),
    /// The center of the field.
    Centre,
}

/// What has been clicked.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct ScreenClicks {
    /// By what the photo is straightened.
    pub by: ScreenPart,
    /// The corners in the order of the clicks, or points on the edge of the field.
    pub edge: Vec<Point>,
    /// The center of the field, where it can be seen.
    pub centre: Option<Point>,
    /// Whether the next click is that center.
    pub centre_next: bool,
}

impl ScreenClicks {
    /// Takes a click in.
    pub(crate) fn click(&mut self, at: Point) {
        if self.centre_next {
            self.centre = Some(at);
            self.centre_next = false;
        } else {
            self.edge.push(at);
        }
    }

    /// Puts a clicked point elsewhere.
    pub(crate) fn put(&mut self, point: ScreenPoint, at: Point) {
        match point {
            ScreenPoint::Edge(index) => {
                if let Some(place) = self.edge.get_mut(index) {
                    *place = at;
                }
            }
            ScreenPoint::Centre => self.centre = Some(at),
        }
    }

    /// Takes the last click back: the center, if there is one, for it comes after the edge.
    pub(crate) fn back(&mut self) {
        if self.centre_next {
            self.centre_next = false;
        } else if self.centre.take().is_none() {
            self.edge.pop();
        }
    }

    /// Whether nothing has been clicked.
    #[must_use]
    pub const fn is_empty(&self) -> bool {
        self.edge.is_empty() && self.centre.is_none() && !self.centre_next
    }

    /// Whether another click would be one too many.
    #[must_use]
    pub const fn is_full(&self) -> bool {
        matches!(self.by, ScreenPart::Corners) && self.edge.len() >= 4
    }

    /// All points, each with what it is.
    pub fn points(&self) -> impl Iterator<Item = (ScreenPoint, Point)> + '_ {
        let edge = self.edge.iter().enumerate().map(|(index, at)| (ScreenPoint::Edge(index), *at));
        edge.chain(self.centre.map(|at| (ScreenPoint::Centre, at)))
    }

    /// The point that a press at this place takes hold of, within this distance.
    #[must_use]
    pub fn held(&self, at: Point, within: f64) -> Option<ScreenPoint> {
        let near = self.points().map(|(point, place)| (point, place.distance(at)));
        let nearest = near.min_by(|a, b| a.1.total_cmp(&b.1));
        nearest.filter(|(_, distance)| *distance <= within).map(|(point, _)| point)
    }

    /// The outline as it is seen in the photo so far: closed once it is whole.
    #[must_use]
    pub fn outline(&self) -> Vec<Point> {
        match self.by {
            ScreenPart::Corners => match self.corners() {
                Some(corners) => corners.into_iter().chain(corners.first().copied()).collect(),
                None => self.edge.clone(),
            },
            ScreenPart::Field => match ellipse_of_field(&self.edge) {
                Ok(field) => {
                    let mut round = field.outline(96);
                    round.extend(round.first().copied());
                    round
                }
                Err(_not_yet) => Vec::new(),
            },
        }
    }

    /// What is known of the screen by it; `aspect` is the screen's width over its height, if it is known.
    ///
    /// # Errors
    /// What is missing or wrong, as the end of a sentence.
    pub fn known(&self, aspect: Option<f64>) -> Result<ScreenOutline, String> {
        match self.by {
            ScreenPart::Corners => {
                let corners = self.corners().ok_or("click the four corners of the screen")?;
                Ok(ScreenOutline::Corners { corners, aspect })
            }
            ScreenPart::Field => {
                ellipse_of_field(&self.edge)?;
                Ok(ScreenOutline::Field { edge: self.edge.clone(), centre: self.centre })
            }
        }
    }

    /// The four corners as they go around from the upper left, in whatever order they were clicked.
    fn corners(&self) -> Option<[Point; 4]> {
        let mut corners = <[Point; 4]>::try_from(self.edge.as_slice()).ok()?;
        let sum = corners.iter().fold(Vec2::default(), |sum, p| sum + p.to_vec());
        let middle = Point::default() + sum / 4.0;
        let turn = |p: &Point| (p.y - middle.y).atan2(p.x - middle.x);
        corners.sort_by(|a, b| turn(a).total_cmp(&turn(b)));
        let first = (0..4).min_by(|&a, &b| {
            let from = |i: usize| corners[i].x + corners[i].y;
            from(a).total_cmp(&from(b))
        })?;
        corners.rotate_left(first);
        Some(corners)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn corners_go_around_from_the_upper_left_however_they_were_clicked() {
        let around =
            [(10.0, 20.0), (400.0, 5.0), (390.0, 300.0), (20.0, 280.0)].map(|(x, y)| Point::new(x, y));
        for order in [[0, 1, 2, 3], [2, 0, 3, 1], [3, 2, 1, 0]] {
            let mut clicks = ScreenClicks::default();
            order.iter().for_each(|&i| clicks.click(around[i]));
            assert!(clicks.is_full());
            let Ok(ScreenOutline::Corners { corners, .. }) = clicks.known(None) else { panic!("{clicks:?}") };
            assert_eq!(corners, around);
            assert_eq!(clicks.outline().len(), 5);
        }
    }

    #[test]
    fn the_center_is_taken_back_before_the_edge() {
        let mut clicks = ScreenClicks { by: ScreenPart::Field, ..ScreenClicks::default() };
        (0..6).for_each(|i| clicks.click(Point::new(f64::from(i).cos(), f64::from(i).sin())));
        clicks.centre_next = true;
        clicks.click(Point::new(0.0, 0.0));
        assert_eq!(
            (clicks.edge.len(), clicks.centre, clicks.centre_next),
            (6, Some(Point::new(0.0, 0.0)), false)
        );
        assert_eq!(clicks.held(Point::new(0.1, 0.0), 0.2), Some(ScreenPoint::Centre));
        assert_eq!(clicks.held(Point::new(0.5, 0.0), 0.2), None);
        clicks.back();
        assert_eq!((clicks.edge.len(), clicks.centre), (6, None));
        (0..6).for_each(|_| clicks.back());
        assert!(clicks.is_empty() && clicks.outline().is_empty() && clicks.known(None).is_err());
    }
}
