//! Labels on the canvas: those of the shot, laid out once for each state of things, and the one under way.

use egui::{Painter, Rect, Stroke, StrokeKind, pos2};

use crate::app::annotation::label::{self, Grip};
use crate::app::display::viewport::Transform;
use crate::app::pages::active;
use crate::app::session::document::Document;
use crate::app::session::state::State;
use crate::case::document::Shot;
use crate::geom::point::{Point, Vec2};
use crate::measure::mark::PatientRight;
use crate::measure::settings::Settings;
use crate::scene::annotation::PlacedAnnotations;
use crate::scene::drawing::shape::{Glyph, Rect as SceneRect, Role, Scene, Space};
use crate::scene::drawing::theme::{Ground, Theme};
use crate::scene::overlay::LayerSet;
use crate::ui::look::{colour, pt};
use crate::ui::paint;
use crate::ui::textures::Textures;

/// The labels as they were laid out last, and what for.
#[derive(Debug, Default)]
pub(crate) struct LaidOut {
    of: Option<Of>,
    drawn: Option<PlacedAnnotations>,
}

/// What a layout follows from.
#[derive(Clone, Debug, PartialEq)]
struct Of {
    shot: Shot,
    transform: Transform,
    size: (f64, f64),
    layers: LayerSet,
    settings: Settings,
    right: Option<PatientRight>,
}

impl LaidOut {
    /// The labels as they are on the canvas, in its points.
    pub(crate) const fn drawn(&self) -> Option<&PlacedAnnotations> {
        self.drawn.as_ref()
    }

    fn follow(&mut self, state: &State, document: &Document, shot: &Shot) {
        if !label::is_drawn(active(state), &state.display) || shot.labels.is_empty() {
            *self = Self::default();
            return;
        }
        let of = Of {
            shot: shot.clone(),
            transform: active(state).transform(),
            size: active(state).frame_size(),
            layers: active(state).drawn(&state.display),
            settings: document.case().settings.clone(),
            right: document.case().patient_right,
        };
        if self.of.as_ref() != Some(&of) {
            self.drawn = label::drawn(active(state), of.layers);
            self.of = Some(of);
        }
    }
}

/// Draws the labels over picture and overlay, and what is chosen and under way while they are worked on.
pub(crate) fn paint(
    painter: &Painter,
    (canvas, theme): (Rect, &Theme),
    state: &State,
    (document, shot): (&Document, &Shot),
    textures: &Textures,
    laid_out: &mut LaidOut,
) {
    laid_out.follow(state, document, shot);
    let transform = active(state).transform();
    let origin = Vec2::new(f64::from(canvas.left()), f64::from(canvas.top()));
    let screen = |p: Point| transform.to_canvas(p) + origin;
    if let Some(drawn) = laid_out.drawn() {
        paint::scene(painter, &drawn.lines, theme, Ground::Picture, screen);
        for inset in &drawn.insets {
            let room = on_screen(inset.to, origin);
            let painter = painter.with_clip_rect(room.intersect(canvas));
            painter.rect_filled(room, 0.0, colour(theme.ground));
            let middle = inset.to.centre().to_vec();
            let lens = Transform::about(inset.from.centre(), middle, inset.zoom, transform.turn);
            textures.paint(&painter, lens, origin);
        }
        paint::scene(painter, &drawn.words, theme, Ground::Picture, |p| p + origin);
    }
    if label::is_on(active(state)) {
        work(painter, theme, state, (document, shot), screen);
        chosen(painter, theme, document, laid_out.drawn(), origin);
    }
}

fn on_screen(r: SceneRect, origin: Vec2) -> Rect {
    let corner = |p: Point| pos2(pt(p.x + origin.x), pt(p.y + origin.y));
    Rect::from_min_max(corner(r.min), corner(r.max))
}

/// A frame around the words that are chosen.
fn chosen(
    painter: &Painter,
    theme: &Theme,
    document: &Document,
    drawn: Option<&PlacedAnnotations>,
    origin: Vec2,
) {
    let boxes = drawn.map_or(&[][..], |drawn| &drawn.boxes);
    for (_, rect) in boxes.iter().filter(|(index, _)| document.labelling.chosen.contains(index)) {
        let stroke = Stroke::new(2.0, colour(theme.accent));
        painter.rect_stroke(on_screen(*rect, origin), 0.0, stroke, StrokeKind::Outside);
    }
}

/// Handles of the chosen label and the points of the one under way.
fn work(
    painter: &Painter,
    theme: &Theme,
    state: &State,
    (document, shot): (&Document, &Shot),
    screen: impl Fn(Point) -> Point,
) {
    let labelling = &document.labelling;
    let mut scene = Scene::new(Space::Image, SceneRect::new(0.0, 0.0, 1.0, 1.0));
    for (i, label) in shot.labels.iter().enumerate() {
        let is_primary = labelling.primary() == Some(i);
        if !is_primary && !labelling.chosen.contains(&i) {
            continue;
        }
        for (slot, at) in label.points().iter().enumerate() {
            let held = is_primary && matches!(labelling.grip, Grip::Point(of) if of == slot);
            let role = if held { Role::ChosenHandle } else { Role::Handle };
            scene.marker(*at, Glyph::Ring, role);
        }
    }
    for guide in labelling.dragged.iter().flat_map(|dragged| &dragged.guides) {
        scene.line(guide.to_vec(), Role::Preview);
    }
    if labelling.placed.len() > 1 {
        scene.line(labelling.placed.clone(), Role::Preview);
    }
    for at in &labelling.placed {
        scene.marker(*at, Glyph::Ring, Role::ChosenHandle);
    }
    if !state.display.drawing_hidden {
        paint::scene(painter, &scene, theme, Ground::Picture, screen);
    }
}
