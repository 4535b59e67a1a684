//! Closed surfaces of triangles.

use glam::{DMat3, DVec3};

/// A closed surface: its triangles run counter-clockwise seen from outside.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Mesh {
    /// Corners of the triangles.
    pub points: Vec<DVec3>,
    /// Three places in `points` each.
    pub triangles: Vec<[u32; 3]>,
}

impl Mesh {
    /// The surface through closed rings of equally many points, closed at both ends by a fan around the ring's
    /// mean. The rings may run either way round.
    ///
    /// # Panics
    /// If there are fewer than two rings, or rings of different length or of fewer than three points.
    #[must_use]
    pub fn rings(rings: &[Vec<DVec3>]) -> Self {
        let around = rings.first().map_or(0, Vec::len);
        assert!(rings.len() > 1 && around > 2 && rings.iter().all(|ring| ring.len() == around));
        let mut points: Vec<DVec3> = rings.concat();
        let n = index(around);
        let last = index(rings.len() - 1) * n;
        let mut triangles = Vec::with_capacity(2 * points.len());
        for ring in 0..index(rings.len() - 1) {
            for k in 0..n {
                let (a, b) = (ring * n + k, ring * n + (k + 1) % n);
                triangles.push([a, b, a + n]);
                triangles.push([b, b + n, a + n]);
            }
        }
        for (ring, first, turned) in [(&rings[0], 0, true), (&rings[rings.len() - 1], last, false)] {
            let hub = index(points.len());
            points.push(ring.iter().sum::<DVec3>() / f64::from(n));
            for k in 0..n {
                let (a, b) = (first + k, first + (k + 1) % n);
                triangles.push(if turned { [b, a, hub] } else { [a, b, hub] });
            }
        }
        Self { points, triangles }.outward()
    }

    /// A tube with elliptic sections along a path: at each place its middle and the two half axes of its
    /// section.
    #[must_use]
    pub fn tube(path: &[(DVec3, DVec3, DVec3)], around: u32) -> Self {
        let ring = |&(middle, a, b): &(DVec3, DVec3, DVec3)| {
            let at = |k| {
                let angle = std::f64::consts::TAU * f64::from(k) / f64::from(around);
                middle + a * libm::cos(angle) + b * libm::sin(angle)
            };
            (0..around).map(at).collect()
        };
        Self::rings(&path.iter().map(ring).collect::<Vec<_>>())
    }

    /// An ellipsoid by its middle and its half axes.
    #[must_use]
    pub fn ellipsoid(middle: DVec3, axes: DMat3) -> Self {
        const RINGS: u32 = 14;
        let ring = |i| {
            let angle = std::f64::consts::PI * (f64::from(i) + 0.25) / (f64::from(RINGS) + 0.5);
            let out = libm::sin(angle);
            (middle + axes.z_axis * libm::cos(angle), axes.x_axis * out, axes.y_axis * out)
        };
        Self::tube(&(0..=RINGS).map(ring).collect::<Vec<_>>(), 28)
    }

    /// Six times the enclosed volume, positive if the triangles run counter-clockwise.
    fn volume_6(&self) -> f64 {
        let corner = |i: u32| self.points[i as usize];
        self.triangles.iter().map(|&[a, b, c]| corner(a).dot(corner(b).cross(corner(c)))).sum()
    }

    /// The same surface with its triangles counter-clockwise.
    #[must_use]
    pub fn outward(mut self) -> Self {
        if self.volume_6() < 0.0 {
            for triangle in &mut self.triangles {
                triangle.swap(1, 2);
            }
        }
        self
    }

    /// The outward normal at each point, length one.
    #[must_use]
    pub fn normals(&self) -> Vec<DVec3> {
        let mut normals = vec![DVec3::ZERO; self.points.len()];
        for &[a, b, c] in &self.triangles {
            let [a, b, c] = [a as usize, b as usize, c as usize];
            let area = (self.points[b] - self.points[a]).cross(self.points[c] - self.points[a]);
            for corner in [a, b, c] {
                normals[corner] += area;
            }
        }
        normals.into_iter().map(DVec3::normalize_or_zero).collect()
    }

    /// The surface moved inward at each point, by what `depth` says of the point and its normal.
    #[must_use]
    pub fn inset(&self, depth: impl Fn(DVec3, DVec3) -> f64) -> Self {
        let moved = self.points.iter().zip(self.normals()).map(|(&p, n)| p - n * depth(p, n));
        Self { points: moved.collect(), triangles: self.triangles.clone() }
    }

    /// Both surfaces as one; where they overlap the inside counts twice.
    pub fn append(&mut self, other: &Self) {
        let n = index(self.points.len());
        self.points.extend(&other.points);
        self.triangles.extend(other.triangles.iter().map(|t| t.map(|i| i + n)));
    }
}

fn index(n: usize) -> u32 {
    u32::try_from(n).unwrap_or(u32::MAX)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_ellipsoid_has_its_volume_and_inset_takes_some_away() {
        let axes = DMat3::from_diagonal(DVec3::new(3.0, 5.0, 2.0));
        let mesh = Mesh::ellipsoid(DVec3::new(10.0, 0.0, -4.0), axes);
        let expected = 8.0 * std::f64::consts::PI * 30.0;
        assert!((mesh.volume_6() / expected - 1.0).abs() < 0.03, "{}", mesh.volume_6() / expected);
        assert!(mesh.inset(|_, _| 0.5).volume_6() < 0.7 * expected);
    }

    /// Every edge is shared by two triangles that run along it in opposite directions.
    #[test]
    fn surfaces_are_closed() {
        let mesh = Mesh::ellipsoid(DVec3::ZERO, DMat3::IDENTITY);
        let mut edges = std::collections::BTreeMap::new();
        for &[a, b, c] in &mesh.triangles {
            for (from, to) in [(a, b), (b, c), (c, a)] {
                *edges.entry((from, to)).or_insert(0) += 1;
            }
        }
        assert!(edges.iter().all(|(&(from, to), &n)| n == 1 && edges.get(&(to, from)) == Some(&1)));
    }
}
