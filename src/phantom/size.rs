//! How large a vertebra is: typical sizes and their spread.
//!
//! Where each figure comes from:
//! - heights, depths and their spread: Cook and Baker 2021 (CT, L5). No population means of L1–L4 could be
//!   confirmed, so these levels take L5's mean height, and L5's depths times level ratios recalled from Panjabi
//!   1992 (from memory: plausible inputs only);
//! - wedging of L1–L4, height of the spinous process: Masharawi 2010 (means only);
//! - width over depth: Panjabi 1992 (from memory);
//! - pedicles and canal of L1–L4: one cadaver (Lavecchia 2018); of L5: Cook and Baker 2021;
//! - concavity of the end plates: Wang 2012, 1.5 mm inferior and 0.7 mm superior; its spread: no source;
//! - hollow of the posterior wall: 1–3 mm where it is hollow, L1–L3 (Larsen 1985 says where, not how much);
//! - waists of the walls, and everything else about the arch: no source, plausible only.

use crate::measure::mark::Level;
use crate::phantom::draw::Draw;

/// The sample whose means are taken.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Sample {
    /// Both sexes together.
    All,
    /// Females.
    Female,
    /// Males.
    Male,
}

/// The shape of the posterior wall in a horizontal section (Larsen 1985).
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum PosteriorWall {
    /// The middle lies this many millimetres in front of the two margins; 0 for a flat wall.
    Hollow(f64),
    /// Bulging backward in the middle, without margins.
    Convex,
}

/// Sizes of a vertebra in millimetres.
#[derive(Clone, Debug, PartialEq)]
pub struct Size {
    /// Height at the anterior wall, rim to rim.
    pub anterior_height: f64,
    /// Height at the posterior wall, rim to rim.
    pub posterior_height: f64,
    /// Depth of the superior end plate, posterior to anterior.
    pub superior_depth: f64,
    /// Depth of the inferior end plate.
    pub inferior_depth: f64,
    /// Width of the superior end plate.
    pub superior_width: f64,
    /// Width of the inferior end plate.
    pub inferior_width: f64,
    /// How far the floor of the superior end plate lies under its rim.
    pub superior_concavity: f64,
    /// How far the floor of the inferior end plate lies over its rim.
    pub inferior_concavity: f64,
    /// How far the posterior wall curves forward at mid height.
    pub posterior_waist: f64,
    /// How far the anterior wall curves backward at mid height.
    pub anterior_waist: f64,
    /// How far each lateral wall curves inward at mid height.
    pub side_waist: f64,
    /// How much further back the superior end plate sits than the inferior one.
    pub lean: f64,
    /// The posterior wall in a horizontal section.
    pub wall: PosteriorWall,
    /// Width of a pedicle.
    pub pedicle_width: f64,
    /// Height of a pedicle.
    pub pedicle_height: f64,
    /// Width of the canal between the pedicles.
    pub canal_width: f64,
    /// Depth of the canal behind the body.
    pub canal_depth: f64,
    /// Height of the spinous process.
    pub spinous_height: f64,
    /// Thickness of the spinous process at its tip, side to side.
    pub spinous_thickness: f64,
    /// How far the tip of the spinous process deviates to the patient's left.
    pub spinous_deviation: f64,
}

/// Cook and Baker 2021, L5: females, males, all.
const ANTERIOR_HEIGHT: [f64; 3] = [29.6, 30.7, 30.3];
const POSTERIOR_HEIGHT: [f64; 3] = [25.5, 26.8, 26.3];
const SUPERIOR_DEPTH: [f64; 3] = [33.3, 37.1, 35.7];
const INFERIOR_DEPTH: [f64; 3] = [32.8, 36.7, 35.3];
const L5_PEDICLE_WIDTH: [f64; 3] = [15.1, 16.6, 16.1];
const L5_CANAL_WIDTH: [f64; 3] = [27.6, 28.5, 28.2];
const L5_PEDICLE_HEIGHT: f64 = 12.9;
const L5_CANAL_DEPTH: f64 = 15.6;
/// Masharawi 2010, L1 to L5: wedging in degrees, positive where the body is lower in front.
const WEDGING_F: [f64; 5] = [2.6, 0.7, -1.1, -3.1, -7.8];
const WEDGING_M: [f64; 5] = [4.1, 2.6, 1.3, -0.7, -4.6];
/// The same: height of the spinous process over the body's.
const SPINOUS_F: [f64; 5] = [0.79, 0.82, 0.79, 0.67, 0.57];
const SPINOUS_M: [f64; 5] = [0.87, 0.92, 0.91, 0.80, 0.67];
/// Lavecchia 2018, one cadaver, L1 to L4.
const PEDICLE_WIDTH: [f64; 4] = [8.189, 9.288, 13.597, 14.963];
const PEDICLE_HEIGHT: [f64; 4] = [15.719, 16.278, 17.416, 18.045];
const CANAL_WIDTH: [f64; 4] = [22.265, 22.244, 22.564, 24.0];
const CANAL_DEPTH: [f64; 4] = [18.0, 16.903, 16.035, 17.0];
/// Depth over that of L5, and width over depth, from memory (Panjabi 1992): plausible inputs only.
const SUPERIOR_DEPTH_RATIO: [f64; 5] = [0.983, 0.997, 1.014, 1.023, 1.0];
const INFERIOR_DEPTH_RATIO: [f64; 5] = [1.063, 1.051, 1.048, 1.021, 1.0];
const SUPERIOR_WIDTH_RATIO: [f64; 5] = [1.208, 1.231, 1.253, 1.313, 1.363];
const INFERIOR_WIDTH_RATIO: [f64; 5] = [1.227, 1.304, 1.379, 1.460, 1.488];

/// The lumbar levels from above.
pub const LUMBAR: [Level; 5] = [Level::L1, Level::L2, Level::L3, Level::L4, Level::L5];

impl Size {
    /// Typical sizes of a lumbar level; any other level takes the sizes of the nearest.
    #[must_use]
    pub fn typical(level: Level, sample: Sample) -> Self {
        let n = index(level);
        let of = |list: [f64; 3]| match sample {
            Sample::Female => list[0],
            Sample::Male => list[1],
            Sample::All => list[2],
        };
        let by_sex = |f: f64, m: f64| match sample {
            Sample::Female => f,
            Sample::Male => m,
            Sample::All => 0.5 * (f + m),
        };
        let superior_depth = of(SUPERIOR_DEPTH) * SUPERIOR_DEPTH_RATIO[n];
        let inferior_depth = of(INFERIOR_DEPTH) * INFERIOR_DEPTH_RATIO[n];
        let (mut anterior_height, mut posterior_height) = (of(ANTERIOR_HEIGHT), of(POSTERIOR_HEIGHT));
        let mean_height = 0.5 * (anterior_height + posterior_height);
        if n < 4 {
            let wedging = by_sex(WEDGING_F[n], WEDGING_M[n]);
            let half = half_difference(wedging, superior_depth, inferior_depth);
            (anterior_height, posterior_height) = (mean_height - half, mean_height + half);
        }
        Self {
            anterior_height,
            posterior_height,
            superior_depth,
            inferior_depth,
            superior_width: superior_depth * SUPERIOR_WIDTH_RATIO[n],
            inferior_width: inferior_depth * INFERIOR_WIDTH_RATIO[n],
            superior_concavity: 0.7,
            inferior_concavity: 1.5,
            posterior_waist: 1.5,
            anterior_waist: 2.0,
            side_waist: 3.0,
            lean: 0.0,
            wall: match n {
                0..=2 => PosteriorWall::Hollow(2.0),
                3 => PosteriorWall::Hollow(0.0),
                _ => PosteriorWall::Convex,
            },
            pedicle_width: if n < 4 { PEDICLE_WIDTH[n] } else { of(L5_PEDICLE_WIDTH) },
            pedicle_height: if n < 4 { PEDICLE_HEIGHT[n] } else { L5_PEDICLE_HEIGHT },
            canal_width: if n < 4 { CANAL_WIDTH[n] } else { of(L5_CANAL_WIDTH) },
            canal_depth: if n < 4 { CANAL_DEPTH[n] } else { L5_CANAL_DEPTH },
            spinous_height: mean_height * by_sex(SPINOUS_F[n], SPINOUS_M[n]),
            spinous_thickness: 8.0,
            spinous_deviation: 0.0,
        }
    }

    /// Sizes drawn about the typical ones of either sex.
    ///
    /// Height and depth spread as in Cook and Baker's L5 (1.8 mm; 8 % of the depth, most of it shared by both
    /// end plates). Width 5 %, wedging 2°, concavity 0.3 mm: no source.
    #[must_use]
    pub fn drawn(level: Level, draw: &mut Draw) -> Self {
        let sample = if draw.coin() { Sample::Female } else { Sample::Male };
        let typical = Self::typical(level, sample);
        let near = |draw: &mut Draw, mean: f64, sd: f64| draw.normal_within(mean, sd, 2.5);
        let taller = near(draw, 0.0, 1.75);
        let deeper = near(draw, 1.0, 0.08);
        let wider = near(draw, 1.0, 0.05) * deeper;
        let superior_depth = typical.superior_depth * deeper * near(draw, 1.0, 0.02);
        let inferior_depth = typical.inferior_depth * deeper * near(draw, 1.0, 0.02);
        let half = half_difference(near(draw, 0.0, 2.0), superior_depth, inferior_depth);
        let canal_width = typical.canal_width * near(draw, 1.0, 0.11);
        Self {
            anterior_height: typical.anterior_height + taller - half,
            posterior_height: typical.posterior_height + taller + half,
            superior_depth,
            inferior_depth,
            superior_width: typical.superior_width * wider,
            inferior_width: typical.inferior_width * wider,
            superior_concavity: near(draw, typical.superior_concavity, 0.25),
            inferior_concavity: near(draw, typical.inferior_concavity, 0.4),
            posterior_waist: draw.between(0.5, 2.5),
            anterior_waist: draw.between(1.0, 3.0),
            side_waist: draw.between(2.0, 4.0),
            lean: draw.between(-1.5, 1.5),
            wall: match typical.wall {
                PosteriorWall::Hollow(h) if h > 0.0 => PosteriorWall::Hollow(draw.between(1.0, 3.0)),
                other => other,
            },
            pedicle_width: typical.pedicle_width * near(draw, 1.0, 0.14),
            pedicle_height: typical.pedicle_height * near(draw, 1.0, 0.10),
            canal_width,
            canal_depth: typical.canal_depth * near(draw, 1.0, 0.13),
            spinous_height: typical.spinous_height * near(draw, 1.0, 0.08),
            spinous_thickness: draw.between(6.0, 10.0),
            spinous_deviation: near(draw, 0.0, 1.5),
        }
    }

    /// Mean of the heights at the two ends.
    #[must_use]
    pub const fn mean_height(&self) -> f64 {
        0.5 * (self.anterior_height + self.posterior_height)
    }
}

/// Half of posterior minus anterior height for a wedging in degrees.
fn half_difference(wedging_deg: f64, superior_depth: f64, inferior_depth: f64) -> f64 {
    libm::tan(0.5 * wedging_deg.to_radians()) * 2.0 * superior_depth * inferior_depth
        / (superior_depth + inferior_depth)
}

/// Place in the tables.
fn index(level: Level) -> usize {
    LUMBAR.iter().position(|&l| l == level).unwrap_or(if level < Level::L1 { 0 } else { 4 })
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Cook WH, Baker JF. *Int J Spine Surg* 2021;15(6):1072–1081 (CONFIRMED rows).
    #[test]
    fn l5_is_that_of_the_table() {
        for (sample, row) in [
            (Sample::All, [30.3, 26.3, 35.7, 35.3, 16.1, 28.2]),
            (Sample::Female, [29.6, 25.5, 33.3, 32.8, 15.1, 27.6]),
            (Sample::Male, [30.7, 26.8, 37.1, 36.7, 16.6, 28.5]),
        ] {
            let s = Size::typical(Level::L5, sample);
            let ours = [
                s.anterior_height,
                s.posterior_height,
                s.superior_depth,
                s.inferior_depth,
                s.pedicle_width,
                s.canal_width,
            ];
            for (x, y) in ours.into_iter().zip(row) {
                assert!((x - y).abs() < 1e-9, "{sample:?}: {x} for {y}");
            }
        }
        let all = Size::typical(Level::L5, Sample::All);
        assert!((all.pedicle_height - 12.9).abs() < 1e-9 && (all.canal_depth - 15.6).abs() < 1e-9);
    }

    /// Spread of Cook and Baker's L5: anterior height 1.9, superior length 3.5 mm for both sexes together.
    #[test]
    fn drawn_sizes_spread_as_the_table_says() {
        let mut draw = Draw::new(3);
        let n = 4000;
        let sizes: Vec<_> = (0..n).map(|_| Size::drawn(Level::L5, &mut draw)).collect();
        let sd = |of: fn(&Size) -> f64| {
            let mean = sizes.iter().map(of).sum::<f64>() / f64::from(n);
            (mean, (sizes.iter().map(|s| (of(s) - mean).powi(2)).sum::<f64>() / f64::from(n)).sqrt())
        };
        let (mean, spread) = sd(|s| s.anterior_height);
        assert!((mean - 30.15).abs() < 0.3 && (spread - 1.9).abs() < 0.3, "{mean} {spread}");
        let (mean, spread) = sd(|s| s.superior_depth);
        assert!((mean - 35.2).abs() < 0.5 && (spread - 3.5).abs() < 0.4, "{mean} {spread}");
    }
}
