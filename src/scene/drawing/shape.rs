//! Shapes in one named space, with roles instead of colours.
//!
//! Coordinates are in the scene's [`Space`]. Stroke widths, marker sizes and type sizes never are: they are in
//! points of the screen or the page, given by the theme, and stay what they are at every zoom.

use std::sync::Arc;

use crate::geom::point::Point;

/// The space in which a scene's coordinates are.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Space {
    /// Pixels of the stored frame, from its top-left corner, x to the right, y down.
    Image,
    /// Points of a drawing, from its top-left corner, x to the right, y down.
    Points,
}

/// An upright rectangle, `min` its top-left corner.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Rect {
    /// Top-left corner.
    pub min: Point,
    /// Bottom-right corner.
    pub max: Point,
}

/// What a shape stands for; the theme decides how it looks.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Role {
    /// A marked border of the body.
    Border,
    /// A second contour of a border.
    SecondContour,
    /// The border used where a second contour is marked: the mean of the two.
    MeanBorder,
    /// The lines that bound the target band of the depth.
    DepthBand,
    /// The lines that bound the target band of the height.
    HeightBand,
    /// The line at mid height.
    MidHeight,
    /// The lines that bound the target band about the midline.
    MidlineBand,
    /// The midline that the verdict uses.
    Midline,
    /// A midline found another way.
    OtherMidline,
    /// A pedicle: its borders in an AP view, its outline down the pedicle.
    Pedicle,
    /// The borders of the spinous process.
    SpinousProcess,
    /// The lines between the quarters of a pedicle.
    Quadrants,
    /// The hours about a pedicle.
    Clock,
    /// Where docking aims.
    DockingTarget,
    /// The lines at one third and two thirds of the depth.
    Thirds,
    /// The ruler's ticks and numbers.
    Ruler,
    /// The tip.
    Tip,
    /// The region that holds the tip with 95 % probability.
    TipRegion,
    /// The cannula.
    Cannula,
    /// An electrode of the probe.
    Electrode,
    /// A placed mark, to be grasped.
    Handle,
    /// A placed mark away from the pointer, small, so that it is seen where marks are.
    PlacedHandle,
    /// A border as the next click would make it.
    Preview,
    /// A border of a draft that waits to be confirmed.
    Draft,
    /// A border that the program proposes.
    Proposed,
    /// A border that the program proposes where the image says little.
    ProposedFaint,
    /// The band that holds a proposed border with 95 % probability.
    ProposedBand,
    /// The mark under the pointer or the one that was chosen.
    ChosenHandle,
    /// The outline of a body in a drawing.
    Outline,
    /// The inside of a body in a drawing.
    Bone,
    /// Soft parts and neighbours in a drawing, there only for orientation.
    Neighbour,
    /// A box or frame around something.
    Frame,
    /// Lines that lead from a word to its place.
    Leader,
    /// Ordinary words.
    Text,
    /// Words of less weight.
    WeakText,
    /// Lines of a label.
    Label,
    /// Behind a label's words.
    LabelPlate,
    /// What a line of a legend lies on: a gray as of an image, where the page itself is dark.
    LegendPlate,
    /// What is dimmed, so that a region stands out.
    Dim,
    /// What the next click is about.
    Accent,
    /// Inside the target with confidence.
    Inside,
    /// Outside the target with confidence.
    Outside,
    /// Too close to call.
    Undecided,
    /// Nothing to be said: not shown, no verdict, blocked.
    Nothing,
    /// The first of several lines or intervals in a plot.
    FirstCurve,
    /// The second.
    SecondCurve,
    /// The third.
    ThirdCurve,
    /// A limit in a plot.
    Limit,
    /// Thin lines behind a plot.
    Grid,
    /// One of many in a scatter.
    Dot,
}

/// A small sign of fixed size.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Glyph {
    /// A filled disc: inside, or the tip.
    Disc,
    /// A disc filled on its left half: too close to call.
    HalfDisc,
    /// Two crossing strokes: outside.
    Cross,
    /// A ring: nothing marked yet, or a handle.
    Ring,
    /// A ring with a dot: a draft, or a place to click.
    Target,
    /// A level stroke: cannot be read, or not shown.
    Bar,
    /// A small filled square: an electrode.
    Square,
    /// An upright cross.
    Plus,
    /// A triangle on its base: an issue that speaks.
    Triangle,
}

/// Where a text stands to its place, level.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum AlignX {
    /// The place is the text's left end.
    Left,
    /// The place is its middle.
    Middle,
    /// The place is its right end.
    Right,
}

/// Where a text stands to its place, upright.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum AlignY {
    /// The place is the top of its line.
    Top,
    /// The place is the middle of its line.
    Middle,
    /// The place is the bottom of its line.
    Bottom,
}

/// The type sizes.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum TextSize {
    /// The caution on a slide, whose small type is large.
    Fine,
    /// Labels on pictures, footers.
    Small,
    /// Everything to be read.
    Body,
    /// Numbers that are read from afar, titles of figures.
    Large,
}

/// A line of text.
#[derive(Clone, Debug, PartialEq)]
pub struct Text {
    /// Its place.
    pub at: Point,
    /// How it stands to its place, level and upright.
    pub align: (AlignX, AlignY),
    /// A displacement of the place: its direction is the scene's, x to the right, y down, its length is in points
    /// of the screen, so that a label keeps its distance and its side at every zoom and turn.
    pub offset: (f64, f64),
    /// The words.
    pub words: String,
    /// Size.
    pub size: TextSize,
    /// Role.
    pub role: Role,
    /// Whether it stands on a plate of its own, to be readable on a picture.
    pub plate: bool,
}

/// Display greys of a picture, row by row.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Greys {
    /// 8 bits a pixel.
    Eight(Vec<u8>),
    /// 16 bits a pixel.
    Sixteen(Vec<u16>),
}

/// A grey picture, ready to be shown.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Picture {
    /// Columns.
    pub width: u32,
    /// Rows.
    pub height: u32,
    /// `width × height` greys, 0 black.
    pub greys: Greys,
}

impl Picture {
    /// Whether it has as many greys as pixels, and at least one.
    #[must_use]
    pub fn is_whole(&self) -> bool {
        let count = match &self.greys {
            Greys::Eight(greys) => greys.len(),
            Greys::Sixteen(greys) => greys.len(),
        };
        count > 0 && count as u64 == u64::from(self.width) * u64::from(self.height)
    }
}

/// One thing to draw.
#[derive(Clone, Debug, PartialEq)]
pub enum Shape {
    /// A line through points.
    Line {
        /// The points, at least two.
        points: Vec<Point>,
        /// Whether the last point is joined to the first.
        closed: bool,
        /// Role.
        role: Role,
    },
    /// The area between two curves with the same number of points: filled strip by strip, so that it need not
    /// be convex.
    Strip {
        /// One edge.
        a: Vec<Point>,
        /// The other, in the same direction.
        b: Vec<Point>,
        /// Role.
        role: Role,
    },
    /// The area of a rectangle but for holes, each inside a closed line.
    Shade {
        /// The rectangle.
        around: Rect,
        /// What is left free.
        holes: Vec<Vec<Point>>,
        /// Role.
        role: Role,
    },
    /// A small sign.
    Marker {
        /// Its middle.
        at: Point,
        /// Which sign.
        glyph: Glyph,
        /// Role.
        role: Role,
    },
    /// Words.
    Text(Text),
    /// A picture laid over a rectangle.
    Picture {
        /// Where.
        rect: Rect,
        /// What.
        picture: Arc<Picture>,
    },
}

/// Shapes in drawing order, later ones on top.
#[derive(Clone, Debug, PartialEq)]
pub struct Scene {
    /// The space of all coordinates.
    pub space: Space,
    /// The part of the space that is to be seen.
    pub bounds: Rect,
    /// The shapes.
    pub shapes: Vec<Shape>,
}

impl Rect {
    /// The rectangle between two corners.
    #[must_use]
    pub const fn new(x0: f64, y0: f64, x1: f64, y1: f64) -> Self {
        Self { min: Point::new(x0, y0), max: Point::new(x1, y1) }
    }

    /// Its width.
    #[must_use]
    pub fn width(self) -> f64 {
        self.max.x - self.min.x
    }

    /// Its height.
    #[must_use]
    pub fn height(self) -> f64 {
        self.max.y - self.min.y
    }

    /// Its centre.
    #[must_use]
    pub fn centre(self) -> Point {
        self.min.midpoint(self.max)
    }

    /// Whether the point lies in it, its edge included.
    #[must_use]
    pub fn contains(self, p: Point) -> bool {
        (self.min.x..=self.max.x).contains(&p.x) && (self.min.y..=self.max.y).contains(&p.y)
    }

    /// Whether the two share an area.
    #[must_use]
    pub fn overlaps(self, other: Self) -> bool {
        self.min.x < other.max.x
            && other.min.x < self.max.x
            && self.min.y < other.max.y
            && other.min.y < self.max.y
    }

    /// The smallest rectangle around points, `None` without any.
    #[must_use]
    pub fn around(points: impl IntoIterator<Item = Point>) -> Option<Self> {
        points.into_iter().fold(None, |rect, p| {
            Some(rect.map_or(Self { min: p, max: p }, |r: Self| Self {
                min: Point::new(r.min.x.min(p.x), r.min.y.min(p.y)),
                max: Point::new(r.max.x.max(p.x), r.max.y.max(p.y)),
            }))
        })
    }

    /// The square about a point whose sides lie `half` off it.
    #[must_use]
    pub fn about(at: Point, half: f64) -> Self {
        Self::new(at.x, at.y, at.x, at.y).grown(half)
    }

    /// The rectangle grown by `by` on every side.
    #[must_use]
    pub fn grown(self, by: f64) -> Self {
        Self::new(self.min.x - by, self.min.y - by, self.max.x + by, self.max.y + by)
    }
}

impl Text {
    /// A small label in words.
    #[must_use]
    pub fn new(at: Point, words: impl Into<String>, role: Role) -> Self {
        Self {
            at,
            align: (AlignX::Left, AlignY::Middle),
            offset: (0.0, 0.0),
            words: words.into(),
            size: TextSize::Small,
            role,
            plate: false,
        }
    }

    /// The same text standing otherwise to its place.
    #[must_use]
    pub const fn aligned(mut self, x: AlignX, y: AlignY) -> Self {
        self.align = (x, y);
        self
    }

    /// The same text this many points to the right and down.
    #[must_use]
    pub const fn shifted(mut self, right: f64, down: f64) -> Self {
        self.offset = (right, down);
        self
    }

    /// The same text in another size.
    #[must_use]
    pub const fn sized(mut self, size: TextSize) -> Self {
        self.size = size;
        self
    }

    /// The same text on a plate.
    #[must_use]
    pub const fn on_plate(mut self) -> Self {
        self.plate = true;
        self
    }
}

impl Scene {
    /// An empty scene.
    #[must_use]
    pub const fn new(space: Space, bounds: Rect) -> Self {
        Self { space, bounds, shapes: Vec::new() }
    }

    /// Adds an open line.
    pub fn line(&mut self, points: Vec<Point>, role: Role) {
        self.shapes.push(Shape::Line { points, closed: false, role });
    }

    /// Adds a closed line.
    pub fn outline(&mut self, points: Vec<Point>, role: Role) {
        self.shapes.push(Shape::Line { points, closed: true, role });
    }

    /// Adds the area between two curves. Surplus points of the longer one are left out.
    pub fn strip(&mut self, mut a: Vec<Point>, mut b: Vec<Point>, role: Role) {
        let n = a.len().min(b.len());
        a.truncate(n);
        b.truncate(n);
        self.shapes.push(Shape::Strip { a, b, role });
    }

    /// Adds a sign.
    pub fn marker(&mut self, at: Point, glyph: Glyph, role: Role) {
        self.shapes.push(Shape::Marker { at, glyph, role });
    }

    /// Adds words.
    pub fn text(&mut self, text: Text) {
        self.shapes.push(Shape::Text(text));
    }

    /// Adds a picture.
    pub fn picture(&mut self, rect: Rect, picture: Arc<Picture>) {
        self.shapes.push(Shape::Picture { rect, picture });
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_rectangle_around_points_holds_them() {
        let points = [Point::new(3.0, -1.0), Point::new(0.0, 5.0), Point::new(2.0, 2.0)];
        let rect = Rect::around(points).unwrap();
        assert!(points.into_iter().all(|p| rect.contains(p)));
        assert_eq!((rect.width(), rect.height()), (3.0, 6.0));
        assert_eq!(Rect::around([]), None);
    }

    #[test]
    fn a_strip_has_two_edges_of_one_length() {
        let mut scene = Scene::new(Space::Points, Rect::new(0.0, 0.0, 9.0, 9.0));
        scene.strip(vec![Point::new(0.0, 0.0); 3], vec![Point::new(1.0, 1.0); 5], Role::Bone);
        let Some(Shape::Strip { a, b, .. }) = scene.shapes.first() else { panic!("not a strip") };
        assert_eq!(a.len(), b.len());
    }
}
