//! Figures of many kinds and widths with whatever may be on them, measured: how much of a page is image, the least type,
//! words that are clipped or lie on others, their contrast, and a legend that names what is there and nothing else.
//!
//! Five hundred figures are made of invented bodies and annotations, the same ones every time. The shares and type sizes
//! are those that the figures are made for (common practice, no source).

use std::collections::BTreeSet;

use stillmark::case::document::figure_spec::{FigureKind, FigureWidth};
use stillmark::case::readings::{Picture, read_case};
use stillmark::geom::point::Point;
use stillmark::measure::reading::Field;
use stillmark::scene::drawing::primitive::Primitive;
use stillmark::scene::drawing::set_line::SetLine;
use stillmark::scene::drawing::shape::{Rect, Role, Shape, Space};
use stillmark::scene::drawing::theme::{Colour, Ground, Theme};
use stillmark::scene::figure::asked::is_slide;
use stillmark::scene::figure::{FigureOptions, FigureShot, figure};
use stillmark::scene::page::Page;
use stillmark::scene::words::caution;

use crate::made_figures::{Made, frame, made, page};

const FIGURES: u64 = 500;

/// A line of words as it is drawn.
struct Line {
    words: String,
    size: f64,
    ink: Rect,
    colour: Colour,
    plate: Option<Colour>,
    cut: Option<Rect>,
    /// Whether it stands on a plate of several lines.
    on_image: bool,
}

fn lines(page: &Page, theme: &Theme) -> Vec<Line> {
    let mut lines = Vec::new();
    for (part, drawn) in page.parts.iter().zip(page.drawn(theme)) {
        for primitive in drawn.primitives {
            if let Primitive::Words { at, align, words, size, colour, plate } = primitive {
                let ink = SetLine::of(&words, size, at, align).ink();
                let on_image = part.ground == Ground::Picture;
                let cut =
                    drawn.cut.or((on_image && part.room.width() < page.size.0 - 1.0).then_some(part.room));
                lines.push(Line { words, size, ink, colour, plate, cut, on_image });
            }
        }
    }
    lines
}

fn touch(a: Rect, b: Rect) -> bool {
    let apart = 0.2;
    a.min.x + apart < b.max.x
        && b.min.x + apart < a.max.x
        && a.min.y + apart < b.max.y
        && b.min.y + apart < a.max.y
}

fn inside(ink: Rect, room: Rect) -> bool {
    room.grown(0.1).contains(ink.min) && room.grown(0.1).contains(ink.max)
}

/// The share of the page that images take.
fn image_share(page: &Page) -> f64 {
    let first = |part: &&stillmark::scene::page::PagePart| {
        matches!(part.scene.shapes.first(), Some(Shape::Picture { .. })) && part.scene.shapes.len() == 1
    };
    let area: f64 = page.parts.iter().filter(first).map(|part| part.room.width() * part.room.height()).sum();
    area / (page.size.0 * page.size.1)
}

/// Where the tips are drawn on the images.
fn tips(page: &Page) -> Vec<Point> {
    let on_images = page.parts.iter().filter(|part| part.scene.space == Space::Image);
    let of = |part: &stillmark::scene::page::PagePart| {
        let bounds = part.scene.bounds;
        let scale = (part.room.width() / bounds.width()).min(part.room.height() / bounds.height());
        // A scene of an image lies in the middle of its room.
        let middle = |low: f64, high: f64| 0.5 * (low + high);
        let on_page = |at: Point| {
            Point::new(
                middle(part.room.min.x, part.room.max.x)
                    + scale * (at.x - middle(bounds.min.x, bounds.max.x)),
                middle(part.room.min.y, part.room.max.y)
                    + scale * (at.y - middle(bounds.min.y, bounds.max.y)),
            )
        };
        let tip = |shape: &Shape| match shape {
            Shape::Marker { at, role: Role::Tip, .. } => Some(on_page(*at)),
            _ => None,
        };
        part.scene.shapes.iter().filter_map(tip).collect::<Vec<_>>()
    };
    on_images.flat_map(of).collect()
}

/// Half the size of the tip's sign, in points.
const TIP: f64 = 3.0;

/// Lines and signs that need no legend: they are words' own, or belong to an annotation.
const WITHOUT: [Role; 4] = [Role::Leader, Role::Label, Role::Tip, Role::Accent];

fn legend_faults(page: &Page) -> Vec<String> {
    let of = |shape: &Shape| match shape {
        Shape::Line { role, .. } | Shape::Marker { role, .. } => Some(*role),
        _ => None,
    };
    let whole = |room: Rect| room.width() >= page.size.0 - 1.0 && room.height() >= page.size.1 - 1.0;
    let (mut on_images, mut said) = (BTreeSet::new(), BTreeSet::new());
    for part in page.parts.iter().filter(|part| part.ground == Ground::Picture) {
        let roles = part.scene.shapes.iter().filter_map(of).filter(|role| !WITHOUT.contains(role));
        if part.scene.space == Space::Points && whole(part.room) {
            said.extend(roles)
        } else {
            on_images.extend(roles)
        }
    }
    let missing = on_images.difference(&said).map(|role| format!("{role:?} is drawn and not in the legend"));
    let surplus = said.difference(&on_images).map(|role| format!("{role:?} is in the legend and not drawn"));
    missing.chain(surplus).collect()
}

fn faults(made: &Made, page: &Page) -> Vec<String> {
    let mut faults = legend_faults(page);
    let Made { case, spec } = made;
    let slide = is_slide(spec.width);
    let share = image_share(page);
    let tips = tips(page);
    let wanted = if case.shots.len() <= 3 { 0.55 } else { 0.45 };
    if slide && share < wanted {
        faults.push(format!("images take {share:.3} of a slide of {} shots", case.shots.len()));
    }
    for theme in [Theme::light(), Theme::dark()] {
        let lines = lines(page, &theme);
        let whole = Rect::new(0.0, 0.0, page.size.0, page.size.1);
        for (i, line) in lines.iter().enumerate() {
            let said = format!("{} {}", caution::SIGN_ON_SLIDE, caution::SHORT);
            let of_caution = said.contains(line.words.as_str());
            let least = if slide && !of_caution { 18.0 } else { 7.0 };
            if line.size * page.scale < least - 1e-9 {
                faults.push(format!("“{}” in {} points", line.words, line.size * page.scale));
            }
            if !inside(line.ink, whole) || line.cut.is_some_and(|cut| !inside(line.ink, cut)) {
                faults.push(format!("“{}” is clipped: {:?} {:?}", line.words, line.ink, line.cut));
            }
            if line.on_image && tips.iter().any(|tip| line.ink.grown(TIP).contains(*tip)) {
                faults.push(format!("“{}” lies on the tip", line.words));
            }
            for other in &lines[i + 1..] {
                if touch(line.ink, other.ink) {
                    faults.push(format!("“{}” lies on “{}”", line.words, other.words));
                }
            }
            let ground = line.plate.unwrap_or(theme.panel);
            // A plate on an image is seen over white at worst.
            let over_white = |c: Colour| {
                let share = f64::from(c.a) / 255.0;
                #[expect(
                    clippy::cast_possible_truncation,
                    clippy::cast_sign_loss,
                    reason = "between 0 and 255"
                )]
                let mix = |v: u8| (f64::from(v) * share + 255.0 * (1.0 - share)).round() as u8;
                Colour::opaque(mix(c.r), mix(c.g), mix(c.b))
            };
            let ground = if line.on_image { over_white(ground) } else { ground };
            let plate_of_label = line.on_image && line.plate.is_none();
            if !plate_of_label && line.colour.contrast(ground) < 4.5 {
                faults.push(format!(
                    "“{}” has a contrast of {:.2}",
                    line.words,
                    line.colour.contrast(ground)
                ));
            }
        }
    }
    faults.sort();
    faults.dedup();
    faults
}

#[test]
fn five_hundred_figures_are_readable() {
    let frame = frame();
    let mut wrong = Vec::new();
    for seed in 0..FIGURES {
        let made = made(seed);
        let page = page(&made, &frame);
        let mut found = faults(&made, &page);
        found.extend(crate::crowded::faults_of(&made, &page));
        if !found.is_empty() {
            let what =
                format!("{seed}: {:?} {:?} {} shots", made.spec.kind, made.spec.width, made.case.shots.len());
            wrong.push(format!("{what}\n  {}", found.join("\n  ")));
        }
    }
    let first: Vec<_> = wrong.iter().take(25).cloned().collect();
    assert!(wrong.is_empty(), "{} of {FIGURES} figures:\n{}", wrong.len(), first.join("\n"));
}

/// The whole of a journal's column is image, edge to edge but for the margin.
#[test]
fn images_fill_a_journals_width() {
    let frame = frame();
    for seed in 0..60 {
        let made = made(seed);
        if is_slide(made.spec.width) {
            continue;
        }
        let page = page(&made, &frame);
        let picture = |part: &&stillmark::scene::page::PagePart| {
            matches!(part.scene.shapes.first(), Some(Shape::Picture { .. })) && part.scene.shapes.len() == 1
        };
        let rooms: Vec<Rect> = page.parts.iter().filter(picture).map(|part| part.room).collect();
        let top = rooms.iter().map(|room| room.min.y).fold(f64::INFINITY, f64::min);
        let row: f64 =
            rooms.iter().filter(|room| (room.min.y - top).abs() < 1.0).map(|room| room.width()).sum();
        assert!(row > 0.9 * page.size.0, "{seed}: {row} of {}", page.size.0);
    }
}

/// What is refused is still laid out in a time that grows with its length alone.
#[test]
fn what_is_refused_still_ends() {
    let frame = frame();
    let mut made = made(3);
    made.spec.width = FigureWidth::Double;
    made.spec.kind = FigureKind::Sequence;
    made.spec.title = Some("x".repeat(100_000));
    made.spec.caption = Some("caption ".repeat(10_000));
    while made.case.shots.len() < 60 {
        let mut again = made.case.shots[0].clone();
        again.id = format!("again-{}", made.case.shots.len());
        made.case.shots.push(again);
    }
    let read = read_case(&made.case, |_| Picture::NotLookedAt, None);
    let shots: Vec<FigureShot<'_>> = made
        .case
        .shots
        .iter()
        .zip(&read.shots)
        .map(|(shot, reading)| FigureShot { shot, reading, frame: Some(&frame), field: Field::Whole })
        .collect();
    let options = FigureOptions::of_spec(&made.spec, None);
    assert!(options.refusal(60).is_some());
    let page = figure(&made.case, &shots, &[], &options);
    assert!(lines(&page, &Theme::light()).iter().all(|line| line.ink.max.x <= page.size.0));
}
