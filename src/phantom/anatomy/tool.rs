//! Instruments as surfaces: a hollow cannula with a bevel, a sharp trocar, a curved stylet, a radiolucent straight
//! stylet, a probe with two electrodes. Sizes are plausible only, no source.

use glam::DVec3;

use crate::measure::mark::Stage;
use crate::phantom::anatomy::mesh::Mesh;
use crate::phantom::anatomy::part::{Fill, Part};
use crate::phantom::instrument::PlacedInstrument;

/// What stands out of the cannula.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum CannulaTool {
    /// A sharp solid trocar that fills the cannula to its end.
    Trocar,
    /// A curved stylet of nickel–titanium.
    CurvedStylet,
    /// A straight stylet of plastic, which hardly shows.
    RadiolucentStylet,
    /// A probe with two electrodes.
    Probe,
}

impl CannulaTool {
    /// What is used at a stage.
    #[must_use]
    pub const fn of(stage: Stage) -> Self {
        match stage {
            Stage::Docking | Stage::Pedicle | Stage::PosteriorWall => Self::Trocar,
            Stage::Stylet => Self::CurvedStylet,
            Stage::Final => Self::Probe,
        }
    }
}

/// Sides of a tube.
const AROUND: u32 = 28;
/// Length of the cannula from its handle to its mouth, in millimetres.
const CANNULA_MM: f64 = 110.0;
/// Wall of the cannula in millimetres.
const WALL_MM: f64 = 0.4;
/// Length of the trocar's point and half the length of an electrode.
const POINT_MM: f64 = 4.5;
const ELECTRODE_MM: f64 = 1.5;
/// Slope of the bevel: the tangent of its angle to a straight cut.
const BEVEL: f64 = 0.7;

/// The surfaces of an instrument and what they are filled with.
#[must_use]
pub fn parts(instrument: &PlacedInstrument, tool: CannulaTool) -> Vec<Part> {
    let i = instrument;
    let dir = (i.mouth - i.outside).normalize();
    let across = dir.cross(DVec3::Z).normalize();
    let frame = TubeFrame { across, up: across.cross(dir), dir };
    let mut parts = Vec::new();
    // The handle, outside the patient, where the cannula begins.
    let outside = i.mouth - dir * CANNULA_MM;
    let handle = [2.0, 0.0, -24.0, -27.0].map(|on| outside + dir * on);
    let wide = [4.0, 6.5, 7.5, 5.0];
    let sections: Vec<_> = handle.into_iter().zip(wide).map(|(p, r)| frame.section(p, r)).collect();
    parts.push(Part::new(Mesh::tube(&sections, AROUND), Fill::HANDLE));
    if tool == CannulaTool::Trocar {
        let at = |back: f64| i.tip() - dir * back;
        let (r, inner) = (i.cannula_radius, i.cannula_radius - WALL_MM);
        let shaft = [(CANNULA_MM, r), (POINT_MM + 0.2, r), (POINT_MM, inner), (0.0, 0.12)];
        let sections: Vec<_> = shaft.into_iter().map(|(back, r)| frame.section(at(back), r)).collect();
        parts.push(Part::new(Mesh::tube(&sections, AROUND), Fill::STEEL));
        return parts;
    }
    parts.push(Part::new(frame.bevelled(outside, i.mouth, i.cannula_radius), Fill::STEEL));
    parts.push(Part::new(
        frame.bevelled(outside, i.mouth, i.cannula_radius - WALL_MM),
        Fill::STEEL.taken_away(),
    ));
    let (radius, fill) = match tool {
        CannulaTool::RadiolucentStylet => (1.3 * i.probe_radius, Fill::PLASTIC),
        CannulaTool::CurvedStylet | CannulaTool::Trocar => (i.probe_radius, Fill::NITINOL),
        CannulaTool::Probe => (0.85 * i.probe_radius, Fill::NITINOL),
    };
    let mut course = vec![outside, i.mouth - dir * 2.0];
    if tool == CannulaTool::RadiolucentStylet {
        let steps = (0..=8).map(|n| i.mouth + (i.tip() - i.mouth) * (f64::from(n) / 8.0));
        course.extend(steps);
    } else {
        course.extend(&i.course);
    }
    parts.push(Part::new(wire(&course, radius), fill));
    if let (CannulaTool::Probe, Some(electrodes)) = (tool, i.electrodes) {
        for electrode in electrodes {
            let along = direction_at(&i.course, electrode) * ELECTRODE_MM;
            let ends = [-1.0, -0.8, 0.8, 1.0].map(|t| electrode + along * t);
            let radii = [0.9, 1.35, 1.35, 0.9].map(|r| r * i.probe_radius);
            let frame = TubeFrame::along(along);
            let sections: Vec<_> = ends.into_iter().zip(radii).map(|(p, r)| frame.section(p, r)).collect();
            parts.push(Part::new(Mesh::tube(&sections, AROUND), Fill::STEEL));
        }
    }
    parts
}

/// Directions across and along a tube.
struct TubeFrame {
    across: DVec3,
    up: DVec3,
    dir: DVec3,
}

impl TubeFrame {
    fn along(way: DVec3) -> Self {
        let dir = way.normalize();
        let across = dir.cross(DVec3::Z).normalize();
        Self { across, up: across.cross(dir), dir }
    }

    fn section(&self, middle: DVec3, radius: f64) -> (DVec3, DVec3, DVec3) {
        (middle, self.across * radius, self.up * radius)
    }

    /// A rod whose end is cut slantwise, so that the cut's middle is the mouth.
    fn bevelled(&self, from: DVec3, mouth: DVec3, radius: f64) -> Mesh {
        let slant = self.dir * (BEVEL * radius);
        let sections = [
            (from, self.across * radius, self.up * radius),
            (mouth - self.dir * 6.0, self.across * radius, self.up * radius),
            (mouth, self.across * radius, self.up * radius + slant),
        ];
        Mesh::tube(&sections, AROUND)
    }
}

/// A wire with a round end along a course.
fn wire(course: &[DVec3], radius: f64) -> Mesh {
    let last = course.len() - 1;
    let mut up = DVec3::Z;
    let mut sections = Vec::new();
    for (n, &p) in course.iter().enumerate() {
        let along = (course[(n + 1).min(last)] - course[n.saturating_sub(1)]).normalize();
        up = (up - along * up.dot(along)).normalize();
        let across = along.cross(up);
        if n < last {
            // Points nearer the end than the rounding begins would fold the wire.
            if p.distance(course[last]) > radius {
                sections.push((p, across * radius, up * radius));
            }
            continue;
        }
        for t in [1.0, 0.7, 0.4, 0.15, 0.0] {
            let r = radius * (1.0_f64 - (1.0 - t) * (1.0 - t)).max(0.01).sqrt();
            sections.push((p - along * (radius * t), across * r, up * r));
        }
    }
    Mesh::tube(&sections, AROUND)
}

/// The direction of the course at its piece nearest to a place.
fn direction_at(course: &[DVec3], place: DVec3) -> DVec3 {
    let nearest = course.windows(2).min_by(|a, b| {
        let d = |pair: &[DVec3]| pair[0].midpoint(pair[1]).distance_squared(place);
        d(a).total_cmp(&d(b))
    });
    nearest.map_or(DVec3::X, |pair| (pair[1] - pair[0]).normalize())
}
