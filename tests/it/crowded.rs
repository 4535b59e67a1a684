//! Where annotations stand on the images of figures: never on the bone, the target or a tip while there is a place beside
//! them, and leaders cross nothing on the way to what they are about.
//!
//! The images are taken from the finished page, the bone from the body's map, and the target's bands and the tips from what
//! is drawn. What a figure of a body looks like to whoever reads it is all that counts here, not how places are found.

use std::collections::BTreeMap;

use stillmark::case::readings::body_map::body_map;
use stillmark::geom::enclosed::encloses;
use stillmark::geom::point::Point;
use stillmark::measure::body::BodyPoint;
use stillmark::scene::drawing::primitive::{Primitive, fit};
use stillmark::scene::drawing::shape::{Glyph, Rect, Role, Shape, Space};
use stillmark::scene::drawing::theme::Theme;
use stillmark::scene::page::{Page, PagePart};

use crate::made_figures::{Made, crowded, frame, page};

/// An image on a page.
#[derive(Default)]
struct OnPage {
    room: Option<Rect>,
    bone: Vec<Point>,
    bands: Vec<Vec<Point>>,
    tips: Vec<Point>,
    insets: Vec<Rect>,
    /// Annotations: their plates with what they say.
    plates: Vec<(Rect, String)>,
    leaders: Vec<[Point; 2]>,
    /// The numbers of the target and the like: their plates.
    numbers: Vec<Rect>,
    /// The lines of scale bars.
    bars: Vec<Rect>,
    /// Headings, letters, scale bars: their plates with what they say.
    corners: Vec<(Rect, String)>,
}

/// The plates of the words of a part as they are drawn on the page.
fn plates(part: &PagePart) -> Vec<(Rect, String)> {
    let (scale, origin) = placing(part);
    let place = |p: Point| origin + p.to_vec() * scale;
    let of = |primitive: Primitive| match primitive {
        Primitive::Words { at, align, words, size, plate: Some(_), .. } => {
            let line = stillmark::scene::drawing::set_line::SetLine::of(&words, size, at, align);
            Some((line.plate(), words))
        }
        _ => None,
    };
    Primitive::on(&part.scene, &Theme::light(), part.ground, place).into_iter().filter_map(of).collect()
}

fn placing(part: &PagePart) -> (f64, Point) {
    match part.scene.space {
        Space::Image => fit(part.scene.bounds, part.room),
        Space::Points => (1.0, part.room.min - part.scene.bounds.min.to_vec()),
    }
}

fn within(inner: Rect, outer: Rect) -> bool {
    outer.grown(0.1).contains(inner.min) && outer.grown(0.1).contains(inner.max)
}

/// The images of a page in their order, the shots'.
fn images(made: &Made, page: &Page) -> Vec<OnPage> {
    let mut images: Vec<OnPage> = Vec::new();
    for part in &page.parts {
        let (scale, origin) = placing(part);
        let place = |p: &Point| origin + p.to_vec() * scale;
        let is_picture = matches!(part.scene.shapes.first(), Some(Shape::Picture { .. }));
        let current = images.last().and_then(|image| image.room);
        if is_picture && !current.is_some_and(|room| within(part.room, room)) {
            let shot = &made.case.shots[images.len()];
            let bone = body_map(&made.case, shot).map(|map| {
                let step = |i: u32| f64::from(i) / 20.0;
                let at = |along, height| place(&map.to_image(BodyPoint { along, height }));
                let top = (0..20).map(|i| at(step(i), 0.0));
                let end = (0..20).map(|i| at(1.0, step(i)));
                let bottom = (0..20).map(|i| at(1.0 - step(i), 1.0));
                let start = (0..20).map(|i| at(0.0, 1.0 - step(i)));
                top.chain(end).chain(bottom).chain(start).collect()
            });
            images.push(OnPage {
                room: Some(part.room),
                bone: bone.unwrap_or_default(),
                ..OnPage::default()
            });
            continue;
        }
        let Some(image) = images.last_mut() else { continue };
        let Some(room) = image.room.filter(|room| within(part.room, *room)) else { continue };
        if part.room != room {
            image.insets.push(part.room);
            continue;
        }
        let of_annotations = part.scene.space == Space::Points && part.scene.bounds == part.room;
        for shape in &part.scene.shapes {
            match shape {
                Shape::Strip { a, b, role: Role::LabelPlate } => {
                    let around = Rect::around(a.iter().chain(b).map(place)).expect("four corners");
                    image.plates.push((around, String::new()));
                }
                Shape::Strip {
                    a,
                    b,
                    role: Role::DepthBand | Role::HeightBand | Role::MidlineBand | Role::DockingTarget,
                } => image.bands.push(a.iter().chain(b.iter().rev()).map(place).collect()),
                Shape::Marker { at, role: Role::Tip, .. }
                | Shape::Marker { at, role: Role::Leader, glyph: Glyph::Ring } => image.tips.push(place(at)),
                Shape::Line { points, role: Role::Leader, .. } if of_annotations => {
                    image.leaders.push([place(&points[0]), place(&points[1])]);
                }
                Shape::Text(text) if of_annotations => {
                    let at = place(&text.at);
                    let plate = image.plates.iter_mut().find(|(plate, _)| plate.contains(at));
                    plate.expect("words on a plate").1 += &text.words;
                }
                Shape::Line { points, role: Role::Frame, .. } if part.scene.space == Space::Points => {
                    image.bars.extend(Rect::around(points.iter().map(place)));
                }
                _ => {}
            }
        }
        match part.scene.space {
            Space::Image => image.numbers.extend(plates(part).into_iter().map(|(plate, _)| plate)),
            Space::Points if !of_annotations => image.corners.extend(plates(part)),
            Space::Points => {}
        }
    }
    images
}

/// Whether a box lies on the inside of a closed line: asked at points two points apart.
fn lies_on(at: Rect, around: &[Point]) -> bool {
    samples(at).any(|p| encloses(around, p))
}

fn samples(at: Rect) -> impl Iterator<Item = Point> {
    let steps = |long: f64| (0_u32..).map(move |i| 2.0 * f64::from(i)).take_while(move |x| *x <= long);
    steps(at.height())
        .flat_map(move |y| steps(at.width()).map(move |x| Point::new(at.min.x + x, at.min.y + y)))
}

/// Points along a leader but for its ends.
fn along([from, to]: [Point; 2]) -> impl Iterator<Item = Point> {
    let long = from.distance(to).max(1e-9);
    (0_u32..)
        .map(f64::from)
        .take_while(move |at| *at < long - 4.0)
        .filter(|at| *at > 1.0)
        .map(move |at| from.lerp(to, at / long))
}

fn overlap(a: Rect, b: Rect) -> bool {
    a.min.x < b.max.x && b.min.x < a.max.x && a.min.y < b.max.y && b.min.y < a.max.y
}

fn crossing([a, b]: [Point; 2], [c, d]: [Point; 2]) -> bool {
    let side = |p: Point, q: Point, r: Point| (q - p).cross(r - p);
    side(a, b, c) * side(a, b, d) < 0.0 && side(c, d, a) * side(c, d, b) < 0.0
}

impl OnPage {
    /// What a leader crosses on its way, of the target, tips, plates and other leaders.
    fn crossed(&self, leader: [Point; 2], own: Option<Rect>) -> Option<&'static str> {
        let to = leader[1];
        let bands = self.bands.iter().filter(|band| !encloses(band, to));
        let on = |around: &Vec<Point>| along(leader).any(|p| encloses(around, p));
        let mut tips = self.tips.iter().filter(|tip| tip.distance(to) > 6.0);
        let plates = self.plates.iter().map(|(plate, _)| plate).filter(|plate| Some(**plate) != own);
        let corners = self.corners.iter().map(|(at, _)| at);
        // A leader may graze the rounded edge of a plate.
        let others = self.numbers.iter().chain(corners).map(|at| at.grown(-2.0));
        let there = self.insets.iter().chain(&self.bars).copied().chain(others);
        // What is named beneath a plate, or right at it, has a leader to there.
        let mut boxes = plates.copied().chain(there).filter(|at| !at.grown(5.0).contains(to));
        if bands.into_iter().any(on) {
            Some("the target")
        } else if tips.any(|tip| along(leader).any(|p| p.distance(*tip) < 4.0)) {
            Some("a tip")
        } else if boxes.any(|at| along(leader).any(|p| at.grown(-0.5).contains(p))) {
            Some("words or an inset")
        } else if self.leaders.iter().any(|other| *other != leader && crossing(*other, leader)) {
            Some("a leader")
        } else {
            None
        }
    }

    fn hides(&self, plate: Rect) -> Option<&'static str> {
        if self.bands.iter().any(|band| lies_on(plate.grown(-0.5), band)) {
            Some("the target")
        } else if self.tips.iter().any(|tip| plate.grown(3.0).contains(*tip)) {
            Some("a tip")
        } else if lies_on(plate.grown(-0.5), &self.bone) {
            Some("bone")
        } else {
            None
        }
    }

    /// Whether a plate of this size could stand somewhere without hiding or crossing anything, with three points to spare.
    fn has_place(&self, size: (f64, f64), to: Point) -> bool {
        const STEP: f64 = 4.0;
        const SPARE: f64 = 3.0;
        let Some(room) = self.room else { return false };
        let room = room.grown(-7.0);
        let others = self.plates.iter().map(|(plate, _)| *plate).chain(self.insets.iter().copied());
        let there: Vec<Rect> = others
            .chain(self.numbers.iter().chain(&self.bars).copied())
            .chain(self.corners.iter().map(|(at, _)| *at))
            .collect();
        let free = |at: Rect| {
            let wide = at.grown(SPARE);
            if there.iter().any(|other| overlap(*other, at.grown(SPARE + 4.0))) || self.hides(wide).is_some()
            {
                return false;
            }
            let leader = [Point::new(to.x.clamp(at.min.x, at.max.x), to.y.clamp(at.min.y, at.max.y)), to];
            let on_leaders = self.leaders.iter().any(|other| {
                let anchor = Rect::about(other[1], 2.0);
                overlap(wide, anchor) || along(*other).any(|p| wide.contains(p))
            });
            let beside = [-SPARE, 0.0, SPARE].into_iter().any(|by| {
                let moved = [Point::new(leader[0].x + by, leader[0].y + by), to];
                self.crossed(moved, None).is_some()
            });
            !on_leaders && !beside
        };
        let steps = |long: f64| (0_u32..).map(|i| STEP * f64::from(i)).take_while(move |x| *x <= long);
        steps(room.height() - size.1).any(|y| {
            steps(room.width() - size.0).any(|x| {
                let at = Point::new(room.min.x + x, room.min.y + y);
                free(Rect::new(at.x, at.y, at.x + size.0, at.y + size.1))
            })
        })
    }

    /// Whether a heading of this size could stand at the upper or lower edge without hiding bone, with room about it.
    fn has_edge_for(&self, heading: Rect) -> bool {
        let Some(room) = self.room else { return false };
        let (wide, high) = (heading.width() + 20.0, heading.height() + 12.0);
        let steps = (0_u32..).map(|i| 4.0 * f64::from(i)).take_while(|x| *x <= room.width() - wide);
        let edges = steps.flat_map(|x| [(room.min.x + x, room.min.y), (room.min.x + x, room.max.y - high)]);
        let mut boxes = edges.map(|(x, y)| Rect::new(x, y, x + wide, y + high));
        boxes.any(|at| self.hides(at).is_none())
    }

    /// How many numbers lie on bone though there is another place for them: of those whose leader tells what they are about.
    fn numbers_with_another_place(&self) -> usize {
        let numbers = self.plates.iter().filter(|(_, said)| is_number(said)).map(|(plate, _)| *plate);
        let led = |plate: &Rect| self.leaders.iter().find(|[from, _]| plate.grown(0.1).contains(*from));
        let on_bone = numbers.filter(|plate| self.hides(*plate) == Some("bone"));
        on_bone
            .filter(|plate| {
                led(plate).is_some_and(|[_, to]| self.has_place((plate.width(), plate.height()), *to))
            })
            .count()
    }

    /// What is wrong with an image.
    fn faults(&self) -> Vec<String> {
        let mut faults = Vec::new();
        for (plate, said) in &self.plates {
            if self.insets.iter().any(|inset| within(*plate, *inset)) {
                continue;
            }
            let is_number = is_number(said);
            match self.hides(*plate) {
                Some("bone") if is_number => {}
                Some(what) => {
                    let which = if is_number { "a number" } else { "words" };
                    faults.push(format!("{which} on {what}"));
                }
                None => {}
            }
        }
        for leader in &self.leaders {
            let own = self
                .plates
                .iter()
                .map(|(plate, _)| *plate)
                .find(|plate| plate.grown(0.1).contains(leader[0]));
            if let Some(what) = self.crossed(*leader, own) {
                faults.push(format!("a leader crosses {what}"));
            }
        }
        for number in &self.numbers {
            if self.hides(number.grown(-1.0)) == Some("bone") {
                faults.push("a number of the target on bone".to_owned());
            }
        }
        for inset in &self.insets {
            // On plain bone where there is no other place.
            if let Some(what @ ("the target" | "a tip")) = self.hides(*inset) {
                faults.push(format!("an inset on {what}"));
            }
        }
        for (at, said) in &self.corners {
            let is_bar = said.ends_with(" mm");
            if self.hides(at.grown(-1.0)).is_some() && (is_bar || self.has_edge_for(*at)) {
                faults.push(format!("{} on bone", if is_bar { "a scale bar" } else { "a heading" }));
            }
        }
        faults
    }
}

fn is_number(said: &str) -> bool {
    said.chars().all(|sign| sign.is_ascii_digit())
}

/// What is wrong with the annotations of a figure.
pub(crate) fn faults_of(made: &Made, page: &Page) -> Vec<String> {
    images(made, page).iter().flat_map(OnPage::faults).collect()
}

/// The same as on any other figure (`layouts.rs`), where room is short. Since one annotation finds its place after the other,
/// one number in a hundred may lie on bone although it would have another place by then.
#[test]
fn annotations_hide_nothing_and_their_leaders_cross_nothing() {
    const FIGURES: u64 = 30;
    let frame = frame();
    let mut found: BTreeMap<String, usize> = BTreeMap::new();
    let [mut words, mut numbers, mut on_bone] = [0; 3];
    for seed in 0..FIGURES {
        let made = crowded(seed);
        let page = page(&made, &frame);
        let images = images(&made, &page);
        assert_eq!(images.len(), made.case.shots.len(), "{seed}");
        for image in &images {
            on_bone += image.numbers_with_another_place();
            numbers += image.plates.iter().filter(|(_, said)| is_number(said)).count();
            words += image.plates.iter().filter(|(_, said)| !is_number(said)).count();
            for fault in image.faults() {
                *found.entry(fault).or_default() += 1;
            }
        }
    }
    assert!(found.is_empty(), "{found:#?}");
    assert!(words > 100 && numbers > 100, "{words} {numbers}");
    assert!(on_bone * 100 <= numbers, "{on_bone} of {numbers} numbers");
}
