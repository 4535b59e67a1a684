//! What stands on an image beside the drawing of its marks: letter, heading, scale bar; each in the corner that hides
//! least of the body.

use crate::geom::point::Point;
use crate::scene::annotation::WithoutRoom;
use crate::scene::drawing::set_line::SetLine;
use crate::scene::drawing::shape::{AlignX, AlignY, Rect, Role, Scene, Space, Text, TextSize};
use crate::scene::drawing::theme::{Theme, space};
use crate::scene::format;

/// Lengths of scale bars in millimetres.
const BARS_MM: [f64; 7] = [100.0, 50.0, 20.0, 10.0, 5.0, 2.0, 1.0];
/// The longest part of a picture's width that a scale bar takes.
const LONGEST_BAR: f64 = 0.3;
/// The shortest part of it that is still read as a length.
const SHORTEST_BAR: f64 = 0.05;
/// How much more a letter, which is looked for at the top, and a heading have to hide there to stand below: as much as a corner
/// of the body, and a number.
const BELOW: (f64, f64) = (10.0, 3.5);
/// Places along each edge, beside the corners.
const ALONG: u32 = 4;
/// A bar with its words above it is at least so high.
const STACKED: f64 = 22.0;
/// Half the height of a bar's ends.
const END: f64 = 3.0;

/// The letter of a picture: a, b, … z; none beyond.
#[must_use]
pub fn letter(index: usize) -> Option<char> {
    ('a'..='z').nth(index)
}

/// A scale bar: its length, and the width of the image it stands on, both in millimetres.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct ScaleBar {
    pub(super) mm: f64,
    pub(super) of: f64,
}

impl ScaleBar {
    /// The longest that suits an image this many millimetres wide.
    pub(super) fn of(wide_mm: f64) -> Option<Self> {
        let mm = BARS_MM.into_iter().find(|bar| *bar <= LONGEST_BAR * wide_mm)?;
        Some(Self { mm, of: wide_mm })
    }

    /// The length that suits the narrowest of several images, where it is long enough to be read on the widest, too.
    pub(super) fn common(wide_mm: impl Iterator<Item = f64>) -> Option<f64> {
        let (least, most) = wide_mm.fold((f64::INFINITY, 0.0_f64), |(a, b), mm| (a.min(mm), b.max(mm)));
        // Of no image at all the narrowest is endless.
        let of_narrowest = Self::of(least).filter(|_| least.is_finite());
        of_narrowest.map(|bar| bar.mm).filter(|mm| *mm >= SHORTEST_BAR * most)
    }
}

/// What is to stand on an image.
#[derive(Clone, Debug, Default, PartialEq)]
pub(super) struct Furniture {
    /// Lines of words in a corner, at the top if that hides nothing: a letter, a heading.
    pub(super) heading: Vec<String>,
    /// Their size.
    pub(super) large: bool,
    /// Its scale bar, if it is to have one.
    pub(super) bar: Option<ScaleBar>,
    /// Whether lines that only refine others are left out.
    pub(super) plain: bool,
    /// What becomes of labels for which there is no room.
    pub(super) labels: WithoutRoom,
}

/// What stands on an image already: its shapes in the room's own points, and their boxes on the page.
#[derive(Clone, Debug)]
pub(super) struct Furnished {
    pub(super) scene: Scene,
    pub(super) boxes: Vec<Rect>,
}

impl Furniture {
    /// The heading. `hidden` says how much of what matters a box on the page would hide.
    pub(super) fn headed(&self, room: Rect, hidden: &dyn Fn(Rect) -> f64) -> Furnished {
        let scene = Scene::new(Space::Points, Rect::new(0.0, 0.0, room.width(), room.height()));
        let mut standing = Furnished { scene, boxes: Vec::new() };
        let below = if self.large { BELOW.0 } else { BELOW.1 };
        let low = |at: Rect| if at.min.y > room.centre().y { below } else { 0.0 };
        let cost = |at: Rect| hidden(at) + off_corner(at, room) + low(at);
        if let Some(at) = standing.cheapest(self.heading_boxes(room), &cost) {
            let size = self.size();
            for (line, words) in (0_u32..).zip(&self.heading) {
                let y = at.min.y + space::S1 + (f64::from(line) + 0.5) * line_height(size);
                let place = Point::new(at.min.x + space::S2, y);
                let text = Text::new(place - room.min.to_vec(), words.as_str(), Role::Text).sized(size);
                standing.scene.text(text.aligned(AlignX::Left, AlignY::Middle).on_plate());
            }
            standing.boxes.push(at);
        }
        standing
    }

    /// Adds the scale bar, likewise; whether there was a place for it that costs less than `most`.
    pub(super) fn add_bar(
        &self,
        standing: &mut Furnished,
        room: Rect,
        (hidden, most): (&dyn Fn(Rect) -> f64, f64),
    ) -> bool {
        let Some((bar_mm, length)) = self.bar(room) else { return false };
        // Words beside the bar rather than above it only where that hides less.
        let stacked = bar_boxes(room, bar_size(bar_mm, length, false));
        let in_line = bar_boxes(room, bar_size(bar_mm, length, true));
        let is_stacked = |at: Rect| stacked.contains(&at);
        let all: Vec<Rect> = stacked.iter().copied().chain(in_line).collect();
        let cost = |at: Rect| hidden(at) + off_corner(at, room) + if is_stacked(at) { 0.0 } else { 1.0 };
        let found = standing.cheapest(all, &cost).filter(|at| cost(*at) < most);
        if let Some(at) = found {
            draw_bar(&mut standing.scene, at, (bar_mm, length, !is_stacked(at)), room);
            standing.boxes.push(at);
        }
        found.is_some()
    }

    /// Both, where nothing moves between the one and the other.
    #[cfg(test)]
    fn placed(&self, room: Rect, hidden: &dyn Fn(Rect) -> f64) -> (Scene, Vec<Rect>) {
        let mut standing = self.headed(room, hidden);
        self.add_bar(&mut standing, room, (hidden, f64::INFINITY));
        (standing.scene, standing.boxes)
    }

    fn size(&self) -> TextSize {
        if self.large { TextSize::Body } else { TextSize::Small }
    }

    /// The height of its heading with its plate.
    pub(super) fn height(&self) -> f64 {
        #[expect(clippy::cast_precision_loss, reason = "a few lines")]
        let lines = self.heading.len() as f64 * line_height(self.size());
        if self.heading.is_empty() { 0.0 } else { lines + 2.0 * space::S1 }
    }

    fn heading_boxes(&self, room: Rect) -> Vec<Rect> {
        let size = self.size();
        let wide = self.heading.iter().map(|words| width(words, size)).fold(0.0, f64::max) + 2.0 * space::S2;
        let high = self.height();
        if self.heading.is_empty() || wide > room.width() || high > room.height() {
            return Vec::new();
        }
        let (left, right) = (room.min.x + space::S1, room.max.x - space::S1 - wide);
        let (top, bottom) = (room.min.y + space::S1, room.max.y - space::S1 - high);
        let corners = [(left, top), (right, top), (left, bottom), (right, bottom)];
        let between = (1..ALONG).map(|i| f64::from(i) / f64::from(ALONG)).flat_map(|t| {
            let (x, y) = (left + t * (right - left), top + t * (bottom - top));
            [(x, top), (x, bottom), (left, y), (right, y)]
        });
        // A letter is looked for in a corner.
        let places = corners.into_iter().chain(between.filter(|_| !self.large));
        places.map(|(x, y)| Rect::new(x, y, x + wide, y + high)).collect()
    }

    /// A bar's length in millimetres and in points.
    fn bar(&self, room: Rect) -> Option<(f64, f64)> {
        let ScaleBar { mm, of } = self.bar?;
        Some((mm, mm / of * room.width()))
    }
}

/// What it costs to stand elsewhere than in a corner: as much as some bone.
fn off_corner(at: Rect, room: Rect) -> f64 {
    const ELSEWHERE: f64 = 3.0;
    let near = |a: f64, b: f64| (a - b).abs() < space::S3;
    let level = near(at.min.x, room.min.x) || near(at.max.x, room.max.x);
    let upright = near(at.min.y, room.min.y) || near(at.max.y, room.max.y);
    if level && upright { 0.0 } else { ELSEWHERE }
}

fn width(words: &str, size: TextSize) -> f64 {
    SetLine::of(words, Theme::points(size), Point::new(0.0, 0.0), (AlignX::Left, AlignY::Middle)).width
}

fn line_height(size: TextSize) -> f64 {
    (Theme::points(size) * 1.3).round()
}

fn said(bar_mm: f64) -> String {
    format!("{} mm", format::as_typed(bar_mm))
}

/// The size of a bar with its words above or beside it.
fn bar_size(bar_mm: f64, length: f64, in_line: bool) -> (f64, f64) {
    let words = width(&said(bar_mm), TextSize::Small) + 2.0 * space::S1;
    if in_line {
        (length + words + 3.0 * space::S1, line_height(TextSize::Small) + 2.0)
    } else {
        let high = line_height(TextSize::Small) + 2.0 * END + space::S2;
        (length.max(words) + 2.0 * space::S1, high)
    }
}

/// Where a bar of this size can stand: the corners at the bottom first, then those at the top, then along the edges.
fn bar_boxes(room: Rect, (wide, high): (f64, f64)) -> Vec<Rect> {
    let edge = if high < STACKED { space::S1 } else { space::S2 };
    let (left, right) = (room.min.x + edge, room.max.x - edge - wide);
    let (bottom, top) = (room.max.y - edge - high, room.min.y + edge);
    if right < left || bottom < top {
        return Vec::new();
    }
    let corners = [(left, bottom), (right, bottom), (right, top), (left, top)];
    let along = (1..ALONG).map(|i| f64::from(i) / f64::from(ALONG)).flat_map(|t| {
        let (x, y) = (left + t * (right - left), bottom + t * (top - bottom));
        [(left, y), (right, y), (x, bottom), (x, top)]
    });
    corners.into_iter().chain(along).map(|(x, y)| Rect::new(x, y, x + wide, y + high)).collect()
}

fn draw_bar(scene: &mut Scene, at: Rect, (bar_mm, length, in_line): (f64, f64, bool), room: Rect) {
    let own = |p: Point| p - room.min.to_vec();
    let (middle, y) = if in_line {
        (at.min.x + space::S1 + 0.5 * length, at.centre().y)
    } else {
        (at.centre().x, at.max.y - END)
    };
    let ends = [middle - 0.5 * length, middle + 0.5 * length];
    scene.line(ends.map(|x| own(Point::new(x, y))).to_vec(), Role::Frame);
    for x in ends {
        scene.line([y - END, y + END].map(|y| own(Point::new(x, y))).to_vec(), Role::Frame);
    }
    let words = if in_line {
        Point::new(0.5 * (ends[1] + space::S1 + at.max.x), y)
    } else {
        Point::new(middle, at.min.y + 0.5 * line_height(TextSize::Small))
    };
    let text = Text::new(own(words), said(bar_mm), Role::Text);
    scene.text(text.aligned(AlignX::Middle, AlignY::Middle).on_plate());
}

impl Furnished {
    /// The cheapest of these places on which nothing stands yet.
    fn cheapest(&self, places: Vec<Rect>, cost: &dyn Fn(Rect) -> f64) -> Option<Rect> {
        let free =
            places.into_iter().filter(|at| !self.boxes.iter().any(|other| at.grown(2.0).overlaps(*other)));
        free.map(|at| (cost(at), at)).min_by(|(a, _), (b, _)| a.total_cmp(b)).map(|(_, at)| at)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::scene::drawing::shape::Shape;

    fn words(scene: &Scene) -> Vec<&str> {
        let of = |shape: &'_ Shape| matches!(shape, Shape::Text(_));
        let texts = scene.shapes.iter().filter(|shape| of(shape));
        texts
            .filter_map(|shape| if let Shape::Text(text) = shape { Some(text.words.as_str()) } else { None })
            .collect()
    }

    /// A picture 60 mm wide on 300 points: a third of that is 18 mm, so the bar is 10 mm and 50 points long.
    #[test]
    fn a_scale_bar_is_as_long_as_it_says() {
        let room = Rect::new(10.0, 10.0, 310.0, 210.0);
        let furniture = Furniture {
            heading: vec!["a".to_owned()],
            large: true,
            bar: ScaleBar::of(60.0),
            ..Furniture::default()
        };
        let (scene, boxes) = furniture.placed(room, &|_| 0.0);
        let Some(Shape::Line { points, .. }) =
            scene.shapes.iter().find(|shape| matches!(shape, Shape::Line { .. }))
        else {
            panic!("no bar")
        };
        assert!((points[1].x - points[0].x - 50.0).abs() < 1e-9);
        assert_eq!(words(&scene), ["a", "10 mm"]);
        assert!(boxes.iter().all(|at| room.contains(at.min) && room.contains(at.max)));
        assert!(Furniture::default().placed(room, &|_| 0.0).0.shapes.is_empty());
        assert_eq!((letter(0), letter(25), letter(26)), (Some('a'), Some('z'), None));
    }

    /// By hand: 0.3 of 40 mm is 12, so 10 mm suits the narrower image, and is a sixth of the wider one; of one 400 mm wide
    /// it is a fortieth, which nobody reads.
    #[test]
    fn the_bars_of_a_figure_have_one_length_where_one_fits_all() {
        assert_eq!(ScaleBar::common([60.0, 40.0, 70.0].into_iter()), Some(10.0));
        assert_eq!(ScaleBar::common([40.0, 400.0].into_iter()), None);
        assert_eq!(ScaleBar::common(std::iter::empty()), None);
    }

    #[test]
    fn it_stands_where_it_hides_least() {
        let room = Rect::new(0.0, 0.0, 300.0, 200.0);
        let furniture = Furniture {
            heading: vec!["a".to_owned()],
            large: true,
            bar: ScaleBar::of(60.0),
            ..Furniture::default()
        };
        // The left half matters.
        let (_, boxes) = furniture.placed(room, &|at| (150.0 - at.min.x).max(0.0));
        assert!(boxes.len() == 2 && boxes.iter().all(|at| at.min.x > 150.0), "{boxes:?}");
        assert!(!boxes[0].overlaps(boxes[1]));
    }

    /// On a low slide a heading lay on the corner of the body and pushed away the numbers of the target.
    #[test]
    fn a_heading_stands_below_rather_than_on_a_corner_of_the_body() {
        let room = Rect::new(0.0, 0.0, 300.0, 100.0);
        let furniture = Furniture { heading: vec!["lateral, final".to_owned()], ..Furniture::default() };
        let at = |above: f64| {
            let hidden = |at: Rect| if at.min.y < 50.0 { above } else { 0.0 };
            furniture.placed(room, &hidden).1[0]
        };
        assert!(at(4.0).min.y > 50.0 && at(3.0).min.y < 50.0);
    }

    #[test]
    fn what_has_no_room_is_left_out() {
        let furniture = Furniture {
            heading: vec!["a long heading".to_owned()],
            large: true,
            bar: ScaleBar::of(60.0),
            ..Furniture::default()
        };
        let (scene, boxes) = furniture.placed(Rect::new(0.0, 0.0, 20.0, 20.0), &|_| 0.0);
        assert!(scene.shapes.is_empty() && boxes.is_empty());
    }
}
