//! How far the marks of repeated readings scatter: standard deviations of each place, in pixels and millimetres, and
//! pooled by what the marks are placed on.

use std::collections::BTreeMap;

use crate::geom::point::{Point, Vec2};
use crate::measure::mark::{Marks, Material, View};
use crate::stats::repeatability::sd_interval;
use crate::study::places::{MarkPart, PlaceKey, Placed, places};

/// One marking of a picture.
#[derive(Clone, Copy, Debug)]
pub struct Marking<'a> {
    /// Who made it.
    pub rater: &'a str,
    /// The marks.
    pub marks: &'a Marks,
}

/// All markings of one picture.
#[derive(Clone, Debug)]
pub struct MarkedPicture<'a> {
    /// Its view.
    pub view: View,
    /// Millimetres to a pixel at the plane of the body, if anything tells.
    pub mm_per_px: Option<f64>,
    /// The markings.
    pub markings: Vec<Marking<'a>>,
}

/// A standard deviation with its interval.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct SpreadEstimate {
    /// The standard deviation in each direction, pooled over pictures by degrees of freedom.
    pub sd: f64,
    /// Degrees of freedom.
    pub df: f64,
    /// Lower end of the 95 % interval (chi-squared).
    pub low: f64,
    /// Upper end.
    pub high: f64,
}

/// The scatter of one place or of several.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Scatter {
    /// Among one rater's own readings, in pixels.
    pub own_px: Option<SpreadEstimate>,
    /// The same in millimetres.
    pub own_mm: Option<SpreadEstimate>,
    /// Among all readings of a picture, whoever made them, in pixels.
    pub all_px: Option<SpreadEstimate>,
    /// The same in millimetres.
    pub all_mm: Option<SpreadEstimate>,
    /// The largest distance of a reading from the mean of its picture, in pixels.
    pub largest_px: f64,
}

/// The scatter of the marks.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct MarkSpread {
    /// By place.
    pub places: Vec<(PlaceKey, Scatter)>,
    /// All marks on bone together, but for the middles of borders: a line through several points scatters less than a
    /// point does.
    pub bone: Scatter,
    /// All marks on metal together.
    pub metal: Scatter,
}

/// Sums of squares with their degrees of freedom.
#[derive(Clone, Copy, Debug, Default)]
struct SquareSums {
    px: (f64, f64),
    mm: (f64, f64),
}

#[derive(Clone, Copy, Debug, Default)]
struct Both {
    own: SquareSums,
    all: SquareSums,
    largest: f64,
}

/// The scatter of all marks that pictures have in common.
#[must_use]
pub fn mark_spread(pictures: &[MarkedPicture<'_>]) -> MarkSpread {
    let mut by_place: BTreeMap<PlaceKey, Both> = BTreeMap::new();
    let (mut bone, mut metal) = (Both::default(), Both::default());
    for picture in pictures {
        let mut found: BTreeMap<PlaceKey, Vec<(&str, Placed)>> = BTreeMap::new();
        for marking in &picture.markings {
            for placed in places(picture.view, marking.marks) {
                found.entry(placed.key).or_default().push((marking.rater, placed));
            }
        }
        for (key, readings) in found {
            let material = match key.kind.material() {
                Material::Bone => &mut bone,
                Material::Metal => &mut metal,
            };
            by_place.entry(key).or_default().add(&readings, picture.mm_per_px);
            if key.part != MarkPart::Middle {
                material.add(&readings, picture.mm_per_px);
            }
        }
    }
    let of_two = |(_, both): &(PlaceKey, Both)| both.all.px.1 > 0.0;
    MarkSpread {
        places: by_place.into_iter().filter(of_two).map(|(key, both)| (key, both.scatter())).collect(),
        bone: bone.scatter(),
        metal: metal.scatter(),
    }
}

impl Both {
    /// Adds the readings of one place in one picture.
    fn add(&mut self, readings: &[(&str, Placed)], mm_per_px: Option<f64>) {
        let all: Vec<&Placed> = readings.iter().map(|(_, placed)| placed).collect();
        self.largest = self.largest.max(self.all.add(&all, mm_per_px));
        let mut raters: Vec<&str> = readings.iter().map(|(rater, _)| *rater).collect();
        raters.sort_unstable();
        raters.dedup();
        for rater in raters {
            let own: Vec<&Placed> =
                readings.iter().filter(|(who, _)| *who == rater).map(|(_, placed)| placed).collect();
            self.own.add(&own, mm_per_px);
        }
    }

    fn scatter(&self) -> Scatter {
        Scatter {
            own_px: spread(self.own.px),
            own_mm: spread(self.own.mm),
            all_px: spread(self.all.px),
            all_mm: spread(self.all.mm),
            largest_px: self.largest,
        }
    }
}

impl SquareSums {
    /// Adds the squares about the mean of these readings; returns the largest distance from it.
    #[expect(clippy::cast_precision_loss, reason = "a handful of readings")]
    fn add(&mut self, readings: &[&Placed], mm_per_px: Option<f64>) -> f64 {
        let Some(first) = readings.first().filter(|_| readings.len() > 1) else { return 0.0 };
        let n = readings.len() as f64;
        // One direction for all of them, or they would not add up.
        let by: Vec<Vec2> = readings.iter().map(|placed| first.axes.of(placed.at - first.at)).collect();
        let mean = by.iter().fold(Point::default(), |sum, by| sum + *by).to_vec() / n;
        let squares: f64 = by.iter().map(|by| (*by - mean).dot(*by - mean)).sum();
        let df = (n - 1.0) * first.axes.count();
        self.px = (self.px.0 + squares, self.px.1 + df);
        if let Some(scale) = mm_per_px {
            self.mm = (self.mm.0 + squares * scale * scale, self.mm.1 + df);
        }
        by.iter().map(|by| (*by - mean).length()).fold(0.0, f64::max)
    }
}

fn spread((squares, df): (f64, f64)) -> Option<SpreadEstimate> {
    if df <= 0.0 {
        return None;
    }
    let sd = (squares / df).sqrt();
    let (low, high) = sd_interval(sd, df);
    Some(SpreadEstimate { sd, df, low, high })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::measure::mark::MarkKind;

    /// Two readings of two tips, by hand: 3 px apart in x and 4 in y in the first, the same in the second. Squares about
    /// the means 4.5 + 8, four degrees of freedom: SD √(12.5/4) = 1.7678 px.
    #[test]
    fn squares_are_pooled_over_pictures_and_directions() {
        let tip = |x: f64, y: f64| Marks::new().with(MarkKind::Tip, &[(x, y)]);
        let all = [tip(10.0, 10.0), tip(13.0, 14.0), tip(5.0, 5.0), tip(5.0, 5.0)];
        let of = |marks: &'static str, list: [usize; 2], scale| MarkedPicture {
            view: View::Lateral,
            mm_per_px: scale,
            markings: list.map(|i| Marking { rater: marks, marks: &all[i] }).to_vec(),
        };
        let found = mark_spread(&[of("a", [0, 1], Some(0.5)), of("a", [2, 3], None)]);
        let [(key, scatter)] = found.places.as_slice() else { panic!("one place: {found:?}") };
        assert_eq!((key.kind, key.part), (MarkKind::Tip, MarkPart::First));
        let px = scatter.own_px.unwrap();
        assert!((px.sd - (12.5_f64 / 4.0).sqrt()).abs() < 1e-12 && (px.df - 4.0).abs() < 1e-12);
        assert!(px.low < px.sd && px.sd < px.high);
        // Millimetres from the first picture alone: √(12.5/2)/2.
        assert!((scatter.own_mm.unwrap().sd - (12.5_f64 / 2.0).sqrt() / 2.0).abs() < 1e-12);
        assert!((scatter.largest_px - 2.5).abs() < 1e-12);
        assert_eq!(found.metal.all_px, scatter.all_px);
        assert_eq!(found.bone.all_px, None);
    }

    #[test]
    fn two_raters_scatter_together_and_not_each_by_himself() {
        let tip = |x: f64| Marks::new().with(MarkKind::Tip, &[(x, 0.0)]);
        let (a, b) = (tip(0.0), tip(2.0));
        let markings = vec![Marking { rater: "a", marks: &a }, Marking { rater: "b", marks: &b }];
        let found = mark_spread(&[MarkedPicture { view: View::Lateral, mm_per_px: None, markings }]);
        assert_eq!(found.places[0].1.own_px, None);
        // Squares 1 + 1 in x, none in y: √(2/2).
        assert!((found.places[0].1.all_px.unwrap().sd - 1.0).abs() < 1e-12);
    }
}
