//! One shot laid on another as greys: blended, on either side of a line, or their difference.
//!
//! All is in the later picture's frame. The earlier one is drawn there once; showing a part of it in any way then only
//! takes what is seen of both.

use std::sync::Arc;

use crate::align::greys::Matching;
use crate::align::matched::Matched;
use crate::align::reach::ReachedPixels;
use crate::align::registration::Registration;
use crate::align::warp::Warp;
use crate::case::document::redaction::{Cover, covered};
use crate::case::image::frame::Frame;
use crate::geom::point::{Point, Vec2};
use crate::scene::window_level::{GreyTile, Region, Sampled, sample};

/// How two layers become one picture.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Blend {
    /// The later one with this share, the earlier one with the rest: 0 shows the earlier alone, 1 the later alone.
    Share(f64),
    /// The earlier one behind a line through a place of the picture, the later one before it, where the direction leads.
    Divided {
        /// A place on the line.
        at: Point,
        /// Away from the earlier one's part.
        toward: Vec2,
    },
    /// Earlier less later, middle grey where both agree.
    Difference,
}

/// Two shots in one frame.
#[derive(Clone, Debug)]
pub struct Layers {
    /// The later picture, its covers in its pixels.
    later: Arc<Frame>,
    /// The earlier picture in the later one's frame, its levels matched.
    earlier: Frame,
    /// Where the earlier picture reaches.
    reach: ReachedPixels,
    difference: Frame,
    inverted: bool,
}

/// What is seen of both layers: the same region, the same step.
#[derive(Clone, Debug)]
pub struct SeenLayers {
    /// Of the later picture.
    pub later: Sampled,
    earlier: Sampled,
    /// How much of each pixel the earlier picture reaches, of 255.
    reach: Vec<u16>,
    difference: Sampled,
}

impl Layers {
    /// The earlier picture laid on the later one. Both get their covers first, so that nothing of what lies beneath them
    /// gets into what is shown.
    ///
    /// # Errors
    /// One sentence, where the two show too little in common.
    pub fn of(
        registration: &Registration,
        frames: [&Arc<Frame>; 2],
        covers: [&[Cover]; 2],
    ) -> Result<Self, String> {
        let [first, second] = frames;
        let later = if covers[1].is_empty() {
            Arc::clone(second)
        } else {
            Arc::new(covered(second, covers[1]).into_owned())
        };
        let laid = Warp::new(registration, (later.width, later.height)).picture(&covered(first, covers[0]));
        let apart = || "The two images share too little of the body to be registered.".to_owned();
        let matching = Matching::of(&laid, &later, registration).ok_or_else(apart)?;
        let matched = matching.laid_on(laid, &later).ok_or_else(apart)?;
        let Matched { picture: earlier, difference, reach } = matched;
        Ok(Self { later, earlier, reach, difference, inverted: matching.inverted() })
    }

    /// The later picture.
    #[must_use]
    pub const fn later(&self) -> &Arc<Frame> {
        &self.later
    }

    /// Whether bone is dark in one of the two and bright in the other as stored; the earlier one is then shown turned.
    #[must_use]
    pub const fn inverted(&self) -> bool {
        self.inverted
    }

    /// What is seen of a region, `step` stored pixels to one shown.
    #[must_use]
    pub fn seen(&self, region: Region, step: u32) -> SeenLayers {
        let of = |frame: &Frame| sample(frame, region, step);
        let later = of(&self.later);
        let Region { x, y, width, height } = later.region;
        let reach = self.reach.shares(x..x.saturating_add(width), y..y.saturating_add(height), step);
        SeenLayers { later, earlier: of(&self.earlier), reach, difference: of(&self.difference) }
    }
}

impl SeenLayers {
    /// The greys of both together; `table` holds the greys of the later picture's values.
    #[must_use]
    pub fn greys(&self, blend: Blend, table: &[u8]) -> GreyTile {
        let Sampled { region, step, width, height, .. } = self.later;
        let grey = |value: u16| table.get(usize::from(value)).copied().unwrap_or(u8::MAX);
        let layers = self.later.values.iter().zip(&self.earlier.values).zip(&self.reach);
        let greys: Vec<u8> = match blend {
            Blend::Share(share) => {
                #[expect(
                    clippy::cast_possible_truncation,
                    clippy::cast_sign_loss,
                    reason = "a share of 256 within its bounds"
                )]
                let share = (share.clamp(0.0, 1.0) * 256.0).round() as u32;
                layers
                    .map(|((&later, &earlier), &reach)| {
                        // Where a shown pixel is only half reached, the earlier one counts as it does.
                        let earlier_share = (256 - share) * u32::from(reach) / 255;
                        let sum = u32::from(grey(later)) * (256 - earlier_share)
                            + u32::from(grey(earlier)) * earlier_share;
                        u8::try_from((sum + 128) / 256).unwrap_or(u8::MAX)
                    })
                    .collect()
            }
            Blend::Divided { at, toward } => {
                let place =
                    |index: u32, start: u32| f64::from(start) + (f64::from(index) + 0.5) * f64::from(step);
                let rows = layers.collect::<Vec<_>>();
                rows.chunks(width.max(1) as usize)
                    .zip(0_u32..)
                    .flat_map(|(row, j)| {
                        let down = (place(j, region.y) - at.y) * toward.y;
                        row.iter().zip(0_u32..).map(move |(((later, earlier), reach), i)| {
                            let before = (place(i, region.x) - at.x) * toward.x + down >= 0.0;
                            grey(if before || **reach < 128 { **later } else { **earlier })
                        })
                    })
                    .collect()
            }
            Blend::Difference => {
                // What is shown darker in the earlier one is dark here, also where low values are shown bright.
                let falling = table.first() > table.last();
                let shown = |&value: &u16| {
                    let value = u8::try_from(value).unwrap_or(u8::MAX);
                    if falling { u8::MAX - value } else { value }
                };
                self.difference.values.iter().map(shown).collect()
            }
        };
        GreyTile { width, height, greys }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::case::document::{Case, Shot};
    use crate::case::image::frame::Samples;
    use crate::measure::mark::{MarkKind, View};

    const SIDE: u32 = 300;

    fn frame(value: impl Fn(f64, f64) -> f64) -> Arc<Frame> {
        let values = (0..SIDE).flat_map(|y| {
            let value = &value;
            #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "made so")]
            (0..SIDE).map(move |x| value(f64::from(x) + 0.5, f64::from(y) + 0.5).round() as u8)
        });
        Arc::new(Frame::of_samples(SIDE, SIDE, Samples::Gray8(values.collect())))
    }

    fn texture(x: f64, y: f64) -> f64 {
        120.0 + 60.0 * (x / 9.0).sin() + 50.0 * (y / 11.0).cos()
    }

    /// A body of 140 × 90 px, and the same 40 px further right in the later picture.
    fn registration() -> Registration {
        let shot = |x: f64| {
            let mut shot = Shot::new("a", "a.png", View::Lateral);
            shot.marks = shot
                .marks
                .with(MarkKind::SuperiorEndPlate, &[(x, 100.0), (x + 140.0, 100.0)])
                .with(MarkKind::InferiorEndPlate, &[(x, 190.0), (x + 140.0, 190.0)]);
            shot
        };
        Registration::of_shots(&Case::default(), [&shot(50.0), &shot(90.0)]).unwrap()
    }

    fn identity() -> Vec<u8> {
        (0..=255).collect()
    }

    /// The later picture is the earlier one moved by 40 px: laid on each other they agree everywhere.
    #[test]
    fn what_did_not_change_blends_into_itself() {
        let (first, second) = (frame(texture), frame(|x, y| texture(x - 40.0, y)));
        let layers = Layers::of(&registration(), [&first, &second], [&[], &[]]).unwrap();
        let seen = layers.seen(Region { x: 50, y: 20, width: 200, height: 200 }, 1);
        let alone = seen.later.greys(&identity()).greys;
        for share in [0.0, 0.3, 1.0] {
            let greys = seen.greys(Blend::Share(share), &identity()).greys;
            let worst = greys.iter().zip(&alone).map(|(a, b)| a.abs_diff(*b)).max();
            assert!(worst <= Some(8), "{share}: {worst:?}");
        }
        let difference = seen.greys(Blend::Difference, &identity()).greys;
        assert!(difference.iter().all(|&grey| grey.abs_diff(128) <= 12));
    }

    /// Each side of the line shows its own shot, and where the earlier one does not reach, the later one.
    #[test]
    fn a_line_parts_the_two() {
        let (first, second) = (frame(texture), frame(|x, y| 0.5 * texture(x, y)));
        let layers = Layers::of(&registration(), [&first, &second], [&[], &[]]).unwrap();
        let seen = layers.seen(Region::whole(&second), 1);
        let at = |greys: &[u8], x: usize, y: usize| greys[y * SIDE as usize + x];
        let (later, earlier) = (
            seen.greys(Blend::Share(1.0), &identity()).greys,
            seen.greys(Blend::Share(0.0), &identity()).greys,
        );
        let line = Blend::Divided { at: Point::new(160.0, 0.0), toward: Vec2::new(1.0, 0.0) };
        let parted = seen.greys(line, &identity()).greys;
        for (x, y) in [(159, 40), (100, 250), (160, 140), (299, 3), (10, 140)] {
            let expected = if (40..160).contains(&x) { at(&earlier, x, y) } else { at(&later, x, y) };
            assert_eq!(at(&parted, x, y), expected, "{x} {y}");
        }
        assert_eq!(at(&earlier, 10, 140), at(&later, 10, 140), "not reached");
    }

    /// The words under a cover of either shot are in no pixel that is shown.
    #[test]
    fn covers_hide_what_lies_beneath_in_every_way() {
        let words = |x: f64, y: f64| (80.0..120.0).contains(&x) && (40.0..60.0).contains(&y);
        let secret =
            |mark: f64| frame(move |x, y| if words(x, y) { mark * (x % 2.0).floor() } else { texture(x, y) });
        let cover = Cover::between(Point::new(80.0, 40.0), Point::new(120.0, 60.0)).unwrap();
        let covers: [&[Cover]; 2] = [&[cover], &[cover]];
        let shown = |mark: f64| {
            let (first, second) = (secret(mark), secret(mark));
            let layers = Layers::of(&registration(), [&first, &second], covers).unwrap();
            let seen = layers.seen(Region::whole(&second), 1);
            let line = Blend::Divided { at: Point::new(100.0, 50.0), toward: Vec2::new(0.0, 1.0) };
            [Blend::Share(0.0), Blend::Share(0.5), Blend::Share(1.0), line, Blend::Difference]
                .map(|blend| seen.greys(blend, &identity()).greys)
        };
        assert_eq!(shown(250.0), shown(10.0));
    }
}
