//! How the places of a body map answer to the points of its outline: one sweep a body, in closed form.
//!
//! With D the part of a border that does not follow from its ends, `D(t) = M(t) − (1−t)·M(0) − t·M(1)`, the Coons patch
//! is `X(u,v) = (1−v)·D_S(u) + v·D_I(u) + (1−u)·D_P(v) + u·D_A(v) + Σ c(u,v)·C'` over the four corners, c their bilinear
//! weights. D answers to the contour's own points only and is nothing for a straight border.

use crate::geom::curve::Curve;
use crate::geom::point::{Point, Vec2};
use crate::geom::response::{Columns, Response};
use crate::measure::body::{BodyMap, BodyPoint};
use crate::measure::coons::{corner_step, neighbours};
use crate::measure::outline::{Border, Outline};

const STEPS: [Vec2; 2] = [Vec2::new(1.0, 0.0), Vec2::new(0.0, 1.0)];

/// The derivatives of a body's places by the points of its outline.
///
/// The points are in one list: border by border, of each the first contour's points (of a wall those between the
/// corners, which the end plates carry) and then the second contour's.
#[derive(Debug)]
pub(crate) struct BodyResponse<'a> {
    contours: Vec<CurvedContour<'a>>,
    corners: [Vec<(usize, Columns)>; 4],
    points: usize,
}

/// A curved contour: its border, its share in the border's mean, and where its points stand in the list.
#[derive(Debug)]
struct CurvedContour<'a> {
    border: Border,
    share: f64,
    response: Response<'a>,
    slots: Vec<usize>,
}

/// Where an outline's points stand in the list, by border and contour.
struct Slots {
    first: [Vec<usize>; 4],
    second: [Vec<usize>; 4],
    points: usize,
}

impl Slots {
    fn of(outline: &Outline) -> Self {
        let mut next = 0;
        let mut take = |n: usize| -> Vec<usize> {
            next += n;
            (next - n..next).collect()
        };
        let (mut first, mut second): ([Vec<usize>; 4], [Vec<usize>; 4]) = Default::default();
        for border in Border::ALL {
            let b = border.index();
            let n = outline.first[b].len();
            let inner = if matches!(border, Border::Start | Border::End) { n - 2 } else { n };
            first[b] = take(inner);
            second[b] = take(outline.second[b].as_ref().map_or(0, Vec::len));
        }
        let corners = corner_slots(&first);
        for border in [Border::Start, Border::End] {
            let [from, to] = border.corners();
            let wall = &mut first[border.index()];
            wall.insert(0, corners[from]);
            wall.push(corners[to]);
        }
        Self { first, second, points: next }
    }
}

/// The slots of the four corners: the ends of both end plates.
fn corner_slots(first: &[Vec<usize>; 4]) -> [usize; 4] {
    let ends = |plate: &[usize]| [plate[0], plate[plate.len() - 1]];
    let ([a, b], [c, d]) = (ends(&first[0]), ends(&first[1]));
    [a, b, c, d]
}

impl<'a> BodyResponse<'a> {
    /// The derivatives of a map by the points of the outline it was made from.
    pub(crate) fn of(map: &'a BodyMap, outline: &Outline) -> Self {
        let Slots { first, second, points } = Slots::of(outline);
        let corners = corner_responses(outline, &first, &second);
        let mut contours = Vec::new();
        for border in Border::ALL {
            let b = border.index();
            let both = map.curves.second[b].as_ref();
            let share = if both.is_some() { 0.5 } else { 1.0 };
            for (curve, slots) in [(Some(&map.curves.first[b]), &first[b]), (both, &second[b])] {
                if let Some(curve @ Curve::Curved(_)) = curve {
                    contours.push(CurvedContour {
                        border,
                        share,
                        response: Response::of(curve),
                        slots: slots.clone(),
                    });
                }
            }
        }
        Self { contours, corners, points }
    }

    /// For each point of the outline, what the image place of `at` does when it moves by one pixel in x and in y.
    pub(crate) fn place(&self, at: BodyPoint) -> Vec<Columns> {
        let (u, v) = (at.along, at.height);
        let mut columns = vec![[Vec2::default(); 2]; self.points];
        let mut add = |slot: usize, by: Columns, k: f64| {
            let [x, y] = &mut columns[slot];
            *x += by[0] * k;
            *y += by[1] * k;
        };
        let weights = [(1.0 - u) * (1.0 - v), u * (1.0 - v), (1.0 - u) * v, u * v];
        for (corner, weight) in self.corners.iter().zip(weights) {
            for &(slot, by) in corner {
                add(slot, by, weight);
            }
        }
        for CurvedContour { border, share, response, slots } in &self.contours {
            let (weight, t) = match border {
                Border::Superior => (1.0 - v, u),
                Border::Inferior => (v, u),
                Border::Start => (1.0 - u, v),
                Border::End => (u, v),
            };
            let weight = weight * share;
            // At its ends a border has no part of its own.
            if weight == 0.0 || t == 0.0 || 1.0 - t == 0.0 {
                continue;
            }
            for (&slot, by) in slots.iter().zip(response.at(t)) {
                add(slot, by, weight);
            }
            add(slots[0], STEPS, -weight * (1.0 - t));
            add(slots[slots.len() - 1], STEPS, -weight * t);
        }
        columns
    }
}

/// What each corner of the map answers to: the marked corner, and where second contours end there, those ends and the
/// corners beside it, from which the chords run.
fn corner_responses(
    outline: &Outline,
    first: &[Vec<usize>; 4],
    second: &[Vec<usize>; 4],
) -> [Vec<(usize, Columns)>; 4] {
    let slots = corner_slots(first);
    let ends = |plate: &[Point]| [plate[0], plate[plate.len() - 1]];
    let ([a, b], [c, d]) = (ends(&outline.first[0]), ends(&outline.first[1]));
    let marked = [a, b, c, d];
    let mut responses = slots.map(|slot| vec![(slot, STEPS)]);
    for border in Border::ALL {
        let Some(contour) = &outline.second[border.index()] else { continue };
        for (corner, index) in border.corners().into_iter().zip([0, contour.len() - 1]) {
            let [along, down] = neighbours(corner);
            let (plate, wall) = (marked[along] - marked[corner], marked[down] - marked[corner]);
            let off = contour[index] - marked[corner];
            let step =
                |dp: Vec2, dw: Vec2, dq: Vec2| step_derivative(border, [plate, wall, off], [dp, dw, dq]);
            let none = Vec2::default();
            let list = &mut responses[corner];
            list.push((second[border.index()][index], STEPS.map(|by| step(none, none, by))));
            list.push((slots[along], STEPS.map(|by| step(by, none, none))));
            list.push((slots[down], STEPS.map(|by| step(none, by, none))));
            // The corner itself is where all three run from.
            list.push((slots[corner], STEPS.map(|by| step(-by, -by, -by))));
        }
    }
    responses
}

/// The derivative of [`corner_step`] when the end plate's chord, the wall's chord and the contour's end move: of
/// `½·w·(p × q)/(p × w)`, and of the same with p and w changing places.
fn step_derivative(border: Border, [plate, wall, off]: [Vec2; 3], [dp, dw, dq]: [Vec2; 3]) -> Vec2 {
    let (p, w, dp, dw) = match border {
        Border::Superior | Border::Inferior => (plate, wall, dp, dw),
        Border::Start | Border::End => (wall, plate, dw, dp),
    };
    let area = p.cross(w);
    let share = p.cross(off) / area;
    let change = (dp.cross(off) + p.cross(dq) - share * (dp.cross(w) + p.cross(dw))) / area;
    debug_assert!(
        (corner_step(border, plate, wall, off) - w * (0.5 * share)).length() <= 1e-9 * off.length()
    );
    (w * change + dw * share) * 0.5
}

#[cfg(test)]
mod tests {
    use super::*;

    fn points(list: &[(f64, f64)]) -> Vec<Point> {
        list.iter().map(|&(x, y)| Point::new(x, y)).collect()
    }

    /// A body with curved and straight borders, three of which show twice.
    fn outline() -> Outline {
        let mut outline = Outline::new(
            points(&[(412.0, 305.0), (376.0, 313.0), (340.0, 316.0), (268.0, 318.0)]),
            points(&[(405.0, 398.0), (330.0, 401.0), (262.0, 421.0)]),
            &points(&[(403.0, 352.0)]),
            &[],
        );
        outline.second[0] = Some(points(&[(410.0, 313.0), (342.0, 325.0), (270.0, 326.0)]));
        outline.second[2] = Some(points(&[(418.0, 306.0), (409.0, 350.0), (411.0, 399.0)]));
        outline.second[3] = Some(points(&[(272.0, 318.0), (265.0, 421.0)]));
        outline
    }

    /// The outline with the point at a place of the list moved.
    fn moved(outline: &Outline, slot: usize, by: Vec2) -> Outline {
        let Slots { first, second, .. } = Slots::of(outline);
        let mut moved = outline.clone();
        for b in 0..4 {
            for (point, &at) in moved.first[b].iter_mut().zip(&first[b]) {
                *point += if at == slot { by } else { Vec2::default() };
            }
            for (point, &at) in moved.second[b].iter_mut().flatten().zip(&second[b]) {
                *point += if at == slot { by } else { Vec2::default() };
            }
        }
        moved
    }

    /// The map made again with each point moved, two step widths extrapolated (Richardson).
    #[test]
    fn closed_form_and_differences_agree() {
        let outline = outline();
        let map = BodyMap::new(&outline).unwrap();
        let response = BodyResponse::of(&map, &outline);
        for (u, v) in [(0.3, 0.5), (0.62, 0.21), (-0.3, 0.4), (1.2, 1.1), (0.0, 0.5), (0.5, 1.0), (1.0, 1.0)]
        {
            let at = BodyPoint::new(u, v);
            let columns = response.place(at);
            assert_eq!(columns.len(), 16);
            for (slot, own) in columns.into_iter().enumerate() {
                for (axis, unit) in STEPS.into_iter().enumerate() {
                    let place = |k: f64| BodyMap::new(&moved(&outline, slot, unit * k)).unwrap().to_image(at);
                    let slope = |h: f64| (place(h) - place(-h)) / (2.0 * h);
                    let other = (slope(0.01) * 4.0 - slope(0.02)) / 3.0;
                    assert!(
                        (own[axis] - other).length() < 1e-9,
                        "{slot} {axis} at ({u}, {v}): {own:?} {other:?}"
                    );
                }
            }
        }
    }
}
