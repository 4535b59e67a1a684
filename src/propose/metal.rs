//! The instrument in a picture, found without marks, and with it the picture's polarity: metal is darker than bone
//! wherever bone is dark, so the polarity in which the better instrument is dark is bone's.

use crate::align::plane::{NumberPlane, quantile};
use crate::geom::point::{Point, Vec2};
use crate::propose::raster::{Piece, darkness_of_narrow, distance_to, pieces};
pub(crate) use crate::propose::small::SmallImage;
use crate::propose::small::{EDGE_MM, picked};

/// Radius of the disc that bridges an instrument.
const DISC_MM: f64 = 2.7;
/// An instrument's darkness against its surroundings, over the 99.7 % quantile of the picture; and it is among the darkest
/// 8 % of the picture.
const LEAST_OF_BEST: f32 = 0.33;
const BEST_SHARE: f64 = 0.997;
const DARK_SHARE: f64 = 0.08;
/// The shortest piece, the shortest main piece, and the longest that counts, in millimetres.
const SHORTEST_MM: f64 = 5.0;
const SHORTEST_MAIN_MM: f64 = 8.0;
const LONGEST_MM: f64 = 60.0;
/// The widest piece: area over length.
const WIDEST_MM: f64 = 4.8;
/// A piece that comes nowhere this near to the field's edge counts less: end plates are thin, dark and long, too.
const NEAR_EDGE_MM: f64 = 2.0;
const WITHIN: f64 = 0.35;
/// An instrument crosses the field's edge; what has more than this share of itself so near to it runs along it: the edge of a
/// patient, or of the field itself.
const ALONG_EDGE_MM: f64 = 4.0;
const ALONG_EDGE_SHARE: f64 = 0.6;
const ALONG_LENGTH_MM: f64 = 12.0;
/// Pieces this near, this little off the axis and this well aligned are one instrument.
const LINK_MM: f64 = 4.0;
const LINK_OFF_MM: f64 = 2.5;
const LINK_COS: f64 = 0.6;
const LINK_DARKNESS: f64 = 0.4;
/// A second instrument lies this far off the first one's axis, or runs in another direction.
const BESIDE_MM: f64 = 8.0;
/// A second instrument is at least this long, and this dark and this wide against the first one.
const SECOND_MM: f64 = 25.0;
const SECOND_SHARE: f64 = 0.7;
const SECOND_WIDTH: f64 = 0.6;

/// Whether bone is dark or bright in a picture.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Polarity {
    /// Bone and metal are dark.
    BoneDark,
    /// Bone and metal are bright.
    BoneBright,
}

impl Polarity {
    /// 1 where bone is dark, −1 where it is bright: times this, bone is dark.
    #[must_use]
    pub const fn sign(self) -> f32 {
        match self {
            Self::BoneDark => 1.0,
            Self::BoneBright => -1.0,
        }
    }
}

/// What was found.
#[derive(Clone, Debug)]
pub(crate) struct Instrument {
    /// Samples of the instrument, on the scene's grid.
    pub(crate) mask: Vec<bool>,
    pub(crate) polarity: Polarity,
    /// How much it looks like one; 0 where there is none.
    pub(crate) score: f64,
    /// The same for the other polarity.
    pub(crate) other_score: f64,
    /// Length of its main piece in millimetres.
    pub(crate) length_mm: f64,
    /// Whether it comes in from the field's edge.
    pub(crate) from_edge: bool,
    /// Whether there is a second one beside it.
    pub(crate) second: bool,
}

struct Candidate {
    piece: Piece,
    length_mm: f64,
    width_mm: f64,
    darkness: f64,
    score: f64,
    from_edge: bool,
    middle: Point,
    axis: Vec2,
}

/// The instrument of a scene.
pub(crate) fn instrument(scene: &SmallImage) -> Instrument {
    let [dark, bright] = [Polarity::BoneDark, Polarity::BoneBright].map(|p| (p, candidates(scene, p)));
    let best = |list: &[Candidate]| list.iter().map(|c| c.score).fold(0.0, f64::max);
    let (first, other) = if best(&bright.1) > best(&dark.1) { (bright, dark) } else { (dark, bright) };
    let (polarity, list) = first;
    let other_score = best(&other.1);
    let main = list.iter().enumerate().max_by(|a, b| a.1.score.total_cmp(&b.1.score));
    let mut mask = vec![false; scene.inside.len()];
    let Some((index, main)) = main.filter(|(_, main)| main.score > 0.0) else {
        return Instrument {
            mask,
            polarity,
            score: 0.0,
            other_score,
            length_mm: 0.0,
            from_edge: false,
            second: false,
        };
    };
    set(&mut mask, &main.piece);
    let mut linked = vec![false; list.len()];
    linked[index] = true;
    link(scene, &list, main, &mut mask, &mut linked);
    let second = list.iter().zip(&linked).any(|(c, &linked)| {
        !linked
            && c.from_edge
            && c.length_mm > SECOND_MM
            && c.darkness > SECOND_SHARE * main.darkness
            && c.width_mm > SECOND_WIDTH * main.width_mm
            && is_beside(c, main, scene.mm)
    });
    Instrument {
        mask,
        polarity,
        score: main.score,
        other_score,
        length_mm: main.length_mm,
        from_edge: main.from_edge,
        second,
    }
}

/// Whether a piece lies off the main one's axis or runs in another direction.
fn is_beside(c: &Candidate, main: &Candidate, mm: f64) -> bool {
    let off = (c.middle - main.middle).cross(main.axis).abs() * mm;
    off > BESIDE_MM || c.axis.dot(main.axis).abs() < LINK_COS
}

fn set(mask: &mut [bool], piece: &Piece) {
    for &at in &piece.samples {
        mask[at] = true;
    }
}

/// Adds the pieces that lie ahead of what is there.
fn link(scene: &SmallImage, list: &[Candidate], main: &Candidate, mask: &mut [bool], linked: &mut [bool]) {
    let columns = scene.grey.columns;
    loop {
        let distance = distance_to(mask, columns);
        let all: Vec<usize> = (0..mask.len()).filter(|&i| mask[i]).collect();
        let (middle, axis) = line_of(&all, columns);
        let mut changed = false;
        for (c, linked) in list.iter().zip(linked.iter_mut()).filter(|(_, linked)| !**linked) {
            let nearest =
                c.piece.samples.iter().copied().min_by(|&a, &b| distance[a].total_cmp(&distance[b]));
            let Some(nearest) = nearest else { continue };
            let gap = f64::from(distance[nearest]) * scene.mm;
            let off = (place(nearest, columns) - middle).cross(axis).abs() * scene.mm;
            if gap < LINK_MM
                && off < LINK_OFF_MM
                && c.axis.dot(axis).abs() > LINK_COS
                && c.darkness > LINK_DARKNESS * main.darkness
            {
                set(mask, &c.piece);
                *linked = true;
                changed = true;
            }
        }
        if !changed {
            return;
        }
    }
}

/// Whether most of a piece lies near the field's edge.
fn runs_along_edge(scene: &SmallImage, piece: &Piece) -> bool {
    let near = piece.samples.iter().filter(|&&i| scene.edge_mm(i) < ALONG_EDGE_MM).count();
    #[expect(clippy::cast_precision_loss, reason = "a number of samples")]
    let share = near as f64 / piece.samples.len().max(1) as f64;
    share > ALONG_EDGE_SHARE
}

/// Long thin dark pieces in one polarity.
fn candidates(scene: &SmallImage, polarity: Polarity) -> Vec<Candidate> {
    let sign = polarity.sign();
    let grey = scene.grey.map(|v| v * sign);
    #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "a few samples")]
    let radius = (DISC_MM / scene.mm).round().clamp(1.0, 40.0) as usize;
    let mut narrow = darkness_of_narrow(&grey, radius);
    for (v, &inside) in narrow.values.iter_mut().zip(&scene.inside) {
        *v = if inside { *v } else { 0.0 };
    }
    let best = quantile(picked(&narrow.values, &scene.inside, 3), BEST_SHARE);
    let levels = [DARK_SHARE, 0.05, 0.5].map(|q| quantile(picked(&grey.values, &scene.inside, 3), q));
    let [dark, darker, median] = levels;
    let mask: Vec<bool> = narrow
        .values
        .iter()
        .zip(&grey.values)
        .map(|(&n, &g)| n > LEAST_OF_BEST * best && n > 0.0 && g < dark)
        .collect();
    let columns = scene.grey.columns;
    let values = |piece: &Piece, of: &NumberPlane| -> f64 {
        f64::from(quantile(piece.samples.iter().map(|&i| of.values[i]).collect(), 0.5))
    };
    pieces(&mask, columns)
        .into_iter()
        .filter_map(|piece| {
            #[expect(clippy::cast_precision_loss, reason = "a size in samples")]
            let (length_mm, area) = (
                (piece.size.0 as f64).hypot(piece.size.1 as f64) * scene.mm,
                piece.samples.len() as f64 * scene.mm * scene.mm,
            );
            if length_mm < SHORTEST_MM || area / length_mm > WIDEST_MM {
                return None;
            }
            if length_mm > ALONG_LENGTH_MM && runs_along_edge(scene, &piece) {
                return None;
            }
            let darkness = values(&piece, &narrow);
            let depth = (f64::from(median) - values(&piece, &grey)) / f64::from(median - darker).max(1e-6);
            let from_edge = piece.samples.iter().any(|&i| scene.edge_mm(i) < EDGE_MM + NEAR_EDGE_MM);
            let share = if from_edge { 1.0 } else { WITHIN };
            let score = if length_mm > SHORTEST_MAIN_MM {
                length_mm.min(LONGEST_MM) * darkness * share * depth
            } else {
                0.0
            };
            let (middle, axis) = line_of(&piece.samples, columns);
            Some(Candidate {
                piece,
                length_mm,
                width_mm: area / length_mm,
                darkness,
                score,
                from_edge,
                middle,
                axis,
            })
        })
        .collect()
}

/// A sample's place.
#[expect(clippy::cast_precision_loss, reason = "a place in samples")]
pub(crate) fn place(index: usize, columns: usize) -> Point {
    Point::new((index % columns) as f64, (index / columns) as f64)
}

/// Middle and direction of samples: the axis along which they spread most.
pub(crate) fn line_of(samples: &[usize], columns: usize) -> (Point, Vec2) {
    let places: Vec<Point> = samples.iter().map(|&i| place(i, columns)).collect();
    line_through(&places)
}

/// Middle and direction of places.
pub(crate) fn line_through(places: &[Point]) -> (Point, Vec2) {
    #[expect(clippy::cast_precision_loss, reason = "a number of places")]
    let n = places.len().max(1) as f64;
    let middle = places.iter().fold(Point::default(), |sum, p| sum + p.to_vec() / n);
    let (mut xx, mut xy, mut yy) = (0.0, 0.0, 0.0);
    for p in places {
        let d = *p - middle;
        xx += d.x * d.x;
        xy += d.x * d.y;
        yy += d.y * d.y;
    }
    let angle = 0.5 * (2.0 * xy).atan2(xx - yy);
    (middle, Vec2::new(angle.cos(), angle.sin()))
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A dark rod from the left edge, a thin dark line within, in a mottled field; then the same inverted.
    fn scene(sign: f32) -> SmallImage {
        let mut whole = NumberPlane::filled(300, 260, 0.0);
        for y in 0..260_usize {
            for x in 0..300_usize {
                #[expect(clippy::cast_precision_loss, reason = "small numbers")]
                let (fx, fy) = (x as f32, y as f32);
                let mut v = 0.6 + 0.05 * (fx / 23.0).sin() * (fy / 31.0).cos();
                if x < 160 && (fy - 100.0 - 0.2 * fx).abs() < 3.0 {
                    v -= 0.4;
                }
                if (180..260).contains(&x) && (fy - 200.0).abs() < 1.0 {
                    v -= 0.2;
                }
                whole.values[y * 300 + x] = 0.5 + sign * (v - 0.5);
            }
        }
        SmallImage::new(&whole, &vec![true; 300 * 260], 0.4)
    }

    /// A dark strip beside the right edge, 48 mm long: the edge of a patient.
    #[test]
    fn what_runs_along_the_edge_is_no_instrument() {
        let mut scene = scene(1.0);
        let strip = |x: usize, y: usize| (289..295).contains(&x) && (60..180).contains(&y);
        let mut whole = NumberPlane::filled(300, 260, 0.6);
        for (i, v) in whole.values.iter_mut().enumerate() {
            *v -= if strip(i % 300, i / 300) { 0.5 } else { 0.0 };
        }
        assert!(instrument(&scene).from_edge);
        scene = SmallImage::new(&whole, &vec![true; 300 * 260], 0.4);
        let found = instrument(&scene);
        assert!(!(found.from_edge && found.length_mm > 20.0), "{} mm", found.length_mm);
    }

    #[test]
    fn a_rod_from_the_edge_and_the_polarity_are_found() {
        for (sign, polarity) in [(1.0, Polarity::BoneDark), (-1.0, Polarity::BoneBright)] {
            let scene = scene(sign);
            let found = instrument(&scene);
            assert_eq!(found.polarity, polarity);
            assert!(found.from_edge && found.length_mm > 40.0 && !found.second);
            assert!(found.score > 3.0 * found.other_score);
            let at = |x: f64, y: f64| {
                let p = scene.of_frame(Point::new(x, y));
                #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "inside")]
                let index = p.y.round() as usize * scene.grey.columns + p.x.round() as usize;
                found.mask[index]
            };
            assert!(at(80.5, 116.5) && !at(80.5, 140.5) && !at(220.5, 200.5));
        }
    }

    #[test]
    fn in_an_even_field_there_is_none() {
        let scene = SmallImage::new(&NumberPlane::filled(200, 200, 0.5), &vec![true; 40_000], 0.35);
        assert!(instrument(&scene).score.abs() < 1e-12);
    }
}
