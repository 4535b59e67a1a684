//! Solids as smooth unions of simple shapes, and the surface around them.

use glam::{DMat3, DVec3};

use crate::phantom::anatomy::mesh::Mesh;

/// A simple shape.
#[derive(Clone, Debug)]
pub enum SimpleShape {
    /// An ellipsoid along its own axes.
    Ellipsoid {
        /// Its middle.
        middle: DVec3,
        /// Directions of its axes, length one, at right angles.
        axes: DMat3,
        /// Half axes.
        radii: DVec3,
    },
    /// A bar with round ends and elliptic sections that change evenly from end to end.
    Bar {
        /// One end.
        from: DVec3,
        /// The other end.
        to: DVec3,
        /// Directions of the section's half axes and of the bar, length one, at right angles.
        axes: DMat3,
        /// Half axes of the section at the two ends.
        sections: [(f64, f64); 2],
        /// From end to end.
        length: f64,
    },
}

impl SimpleShape {
    /// An ellipsoid along the axes of its space.
    #[must_use]
    pub const fn ellipsoid(middle: DVec3, radii: DVec3) -> Self {
        Self::Ellipsoid { middle, axes: DMat3::IDENTITY, radii }
    }

    /// A bar whose first half axis points about along `wide`.
    #[must_use]
    pub fn bar(from: DVec3, to: DVec3, wide: DVec3, sections: [(f64, f64); 2]) -> Self {
        let along = (to - from).normalize();
        let wide = (wide - along * wide.dot(along)).normalize();
        let length = from.distance(to);
        Self::Bar { from, to, axes: DMat3::from_cols(wide, along.cross(wide), along), sections, length }
    }

    /// A ball that holds the shape.
    fn ball(&self) -> (DVec3, f64) {
        match self {
            Self::Ellipsoid { middle, radii, .. } => (*middle, radii.max_element()),
            Self::Bar { from, to, sections, length, .. } => {
                let widest = sections.iter().fold(0.0_f64, |w, s| w.max(s.0).max(s.1));
                (from.midpoint(*to), 0.5 * length + widest)
            }
        }
    }

    /// Distance to the surface, negative inside; exact on the surface, about right near it.
    fn distance(&self, p: DVec3) -> f64 {
        match self {
            Self::Ellipsoid { middle, axes, radii } => {
                let q = axes.transpose() * (p - *middle);
                let (k, l) = ((q / *radii).length(), (q / (*radii * *radii)).length());
                if l < 1e-9 { -radii.min_element() } else { k * (k - 1.0) / l }
            }
            Self::Bar { from, axes, sections, length, .. } => {
                let q = axes.transpose() * (p - *from);
                let t = (q.z / length).clamp(0.0, 1.0);
                let [a, b] = sections;
                let (wide, thin) = (a.0 + (b.0 - a.0) * t, a.1 + (b.1 - a.1) * t);
                let least = wide.min(thin);
                let beyond = (q.z - t * *length) / least;
                (DVec3::new(q.x / wide, q.y / thin, beyond).length() - 1.0) * least
            }
        }
    }
}

/// A smooth union of shapes.
#[derive(Clone, Debug, Default)]
pub struct Solid {
    shapes: Vec<(SimpleShape, DVec3, f64)>,
    /// Over how many millimetres two surfaces flow together.
    blend: f64,
}

impl Solid {
    /// The union of shapes that flow together over `blend` millimetres.
    #[must_use]
    pub fn new(shapes: Vec<SimpleShape>, blend: f64) -> Self {
        let with_ball = |shape: SimpleShape| {
            let (middle, radius) = shape.ball();
            (shape, middle, radius)
        };
        Self { shapes: shapes.into_iter().map(with_ball).collect(), blend }
    }

    /// Distance to the surface, negative inside; about right near it.
    #[must_use]
    pub fn distance(&self, p: DVec3) -> f64 {
        let mut least = f64::MAX;
        for (shape, middle, radius) in &self.shapes {
            // What is too far away to matter is not asked: the square saves most of the roots.
            let reach = least + self.blend + radius;
            if least < f64::MAX && reach > 0.0 && p.distance_squared(*middle) > reach * reach {
                continue;
            }
            let d = shape.distance(p);
            least = if least < f64::MAX { smooth_min(least, d, self.blend) } else { d };
        }
        least
    }

    /// Two opposite corners of a box around the solid.
    #[must_use]
    pub fn bounds(&self) -> (DVec3, DVec3) {
        let spread = DVec3::splat(self.blend);
        self.shapes.iter().fold((DVec3::MAX, DVec3::MIN), |(low, high), (_, middle, radius)| {
            (low.min(*middle - *radius - spread), high.max(*middle + *radius + spread))
        })
    }
}

/// The smaller of two distances, rounded off where they are closer than `blend`.
fn smooth_min(a: f64, b: f64, blend: f64) -> f64 {
    let h = (blend - (a - b).abs()).max(0.0);
    a.min(b) - h * h / (4.0 * blend)
}

/// Cells a side of a block that is left out as a whole where the surface is far.
const BLOCK: usize = 4;

/// The surface on which `distance` is 0 inside a box, as a net with one point in each cell of a grid that the
/// surface passes through (Gibson 1998, constrained elastic surface nets, without the relaxation; from memory).
#[must_use]
pub fn net(distance: &dyn Fn(DVec3) -> f64, bounds: (DVec3, DVec3), step: f64) -> Mesh {
    let grid = DistanceGrid::new(distance, bounds, step);
    let mut mesh = Mesh::default();
    let mut names = vec![u32::MAX; grid.values.len()];
    let [nx, ny, nz] = grid.size;
    for z in 0..nz - 1 {
        for y in 0..ny - 1 {
            for x in 0..nx - 1 {
                if let Some(p) = grid.point_in_cell([x, y, z]) {
                    names[grid.index([x, y, z])] = u32::try_from(mesh.points.len()).unwrap_or(u32::MAX);
                    mesh.points.push(p);
                }
            }
        }
    }
    for z in 1..nz - 1 {
        for y in 1..ny - 1 {
            for x in 1..nx - 1 {
                let here = grid.values[grid.index([x, y, z])] < 0.0;
                for axis in 0..3 {
                    let mut next = [x, y, z];
                    next[axis] += 1;
                    if here == (grid.values[grid.index(next)] < 0.0) {
                        continue;
                    }
                    // The four cells around the edge, in the order of a turn about its direction.
                    let (a, b) = ((axis + 1) % 3, (axis + 2) % 3);
                    let around = [(1, 1), (0, 1), (0, 0), (1, 0)].map(|(da, db)| {
                        let mut cell = [x, y, z];
                        cell[a] -= da;
                        cell[b] -= db;
                        names[grid.index(cell)]
                    });
                    let [p, q, r, s] =
                        if here { around } else { [around[3], around[2], around[1], around[0]] };
                    mesh.triangles.push([p, q, r]);
                    mesh.triangles.push([p, r, s]);
                }
            }
        }
    }
    mesh
}

/// Distances on a grid.
struct DistanceGrid {
    low: DVec3,
    step: f64,
    size: [usize; 3],
    values: Vec<f64>,
}

impl DistanceGrid {
    #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "a few hundred cells")]
    fn new(distance: &dyn Fn(DVec3) -> f64, (low, high): (DVec3, DVec3), step: f64) -> Self {
        let low = low - DVec3::splat(2.0 * step);
        let blocks = ((high - low + DVec3::splat(2.0 * step)) / (step * BLOCK as f64)).ceil();
        let blocks = [blocks.x, blocks.y, blocks.z].map(|n| n.max(1.0) as usize);
        let size = blocks.map(|n| n * BLOCK + 1);
        let mut grid = Self { low, step, size, values: vec![f64::NAN; size[0] * size[1] * size[2]] };
        // The distances are only about right far from the surface, hence the margin.
        let far = 1.3 * 0.5 * 3.0_f64.sqrt() * step * BLOCK as f64;
        let mut near = Vec::new();
        for z in 0..blocks[2] {
            for y in 0..blocks[1] {
                for x in 0..blocks[0] {
                    let first = [x * BLOCK, y * BLOCK, z * BLOCK];
                    let d = distance(grid.at(first) + DVec3::splat(0.5 * step * BLOCK as f64));
                    if d.abs() <= far {
                        near.push(first);
                    } else {
                        grid.each_of_block(first, |grid, i, _| grid.values[i] = d);
                    }
                }
            }
        }
        let mut known = vec![false; grid.values.len()];
        for first in near {
            grid.each_of_block(first, |grid, i, p| {
                if !known[i] {
                    known[i] = true;
                    grid.values[i] = distance(p);
                }
            });
        }
        grid
    }

    fn each_of_block(&mut self, first: [usize; 3], mut of: impl FnMut(&mut Self, usize, DVec3)) {
        for z in 0..=BLOCK {
            for y in 0..=BLOCK {
                for x in 0..=BLOCK {
                    let cell = [first[0] + x, first[1] + y, first[2] + z];
                    let (i, p) = (self.index(cell), self.at(cell));
                    of(self, i, p);
                }
            }
        }
    }

    const fn index(&self, [x, y, z]: [usize; 3]) -> usize {
        (z * self.size[1] + y) * self.size[0] + x
    }

    #[expect(clippy::cast_precision_loss, reason = "a few hundred cells")]
    fn at(&self, [x, y, z]: [usize; 3]) -> DVec3 {
        self.low + DVec3::new(x as f64, y as f64, z as f64) * self.step
    }

    /// The mean of the places where the cell's edges cross the surface.
    fn point_in_cell(&self, cell: [usize; 3]) -> Option<DVec3> {
        let corner = |n: usize| [cell[0] + (n & 1), cell[1] + (n >> 1 & 1), cell[2] + (n >> 2 & 1)];
        let values: [f64; 8] = std::array::from_fn(|n| self.values[self.index(corner(n))]);
        let inside = values.iter().filter(|&&v| v < 0.0).count();
        if inside == 0 || inside == 8 {
            return None;
        }
        let (mut sum, mut count) = (DVec3::ZERO, 0.0);
        for (n, &a) in values.iter().enumerate() {
            for bit in [1, 2, 4] {
                let m = n | bit;
                if m == n || (a < 0.0) == (values[m] < 0.0) {
                    continue;
                }
                let (p, q) = (self.at(corner(n)), self.at(corner(m)));
                sum += p + (q - p) * (a / (a - values[m]));
                count += 1.0;
            }
        }
        Some(sum / count)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_net_of_a_ball_lies_on_the_ball() {
        let solid = Solid::new(vec![SimpleShape::ellipsoid(DVec3::ONE, DVec3::splat(10.0))], 1.0);
        let mesh = net(&|p| solid.distance(p), solid.bounds(), 1.0);
        assert!(mesh.points.len() > 500);
        for p in &mesh.points {
            assert!((p.distance(DVec3::ONE) - 10.0).abs() < 0.12, "{p}");
        }
        assert_eq!(mesh.clone().outward(), mesh, "its triangles run counter-clockwise");
    }

    #[test]
    fn a_bar_has_its_sections() {
        let bar = SimpleShape::bar(DVec3::ZERO, DVec3::X * 20.0, DVec3::Z, [(6.0, 3.0), (4.0, 2.0)]);
        for (p, expected) in [
            (DVec3::new(0.0, 0.0, 6.0), 0.0),
            (DVec3::new(10.0, 0.0, 5.0), 0.0),
            (DVec3::new(10.0, 2.5, 0.0), 0.0),
            (DVec3::new(22.0, 0.0, 0.0), 0.0),
        ] {
            assert!((bar.distance(p) - expected).abs() < 1e-9, "{p}");
        }
        assert!(bar.distance(DVec3::new(10.0, 0.0, 0.0)) < -2.0);
    }

    #[test]
    fn unions_hold_their_shapes() {
        let shapes = [0.0, 8.0].map(|x| SimpleShape::ellipsoid(DVec3::new(x, 0.0, 0.0), DVec3::splat(5.0)));
        let solid = Solid::new(shapes.to_vec(), 2.0);
        assert!(solid.distance(DVec3::new(4.0, 0.0, 3.0)) < 0.0, "they flow together");
        assert!(solid.distance(DVec3::new(0.0, 5.5, 0.0)) > 0.0);
    }
}
