//! Pictures on the graphics card: of the shown picture only what is seen, at the screen's own resolution, and the
//! small ones of the list.
//!
//! What is seen is sampled when the picture moves, and only looked up in a table when greys change. Beside the
//! canvas the magnifier has a piece of its own, since it shows every stored pixel.

use std::cell::RefCell;
use std::collections::BTreeMap;
use std::sync::Arc;

use egui::epaint::{Mesh, Vertex};
use egui::{Color32, ColorImage, Context, Painter, Shape, TextureFilter, TextureHandle, TextureOptions};

use crate::app::display::viewport::{Canvas, Transform};
use crate::app::session::editor::Editor;
use crate::app::work::picture_store::{DecodedPicture, PictureKey};
use crate::case::image::digest::FileDigest;
use crate::case::image::frame::Frame;
use crate::geom::point::{Point, Vec2};
use crate::measure::reading::Field;
use crate::scene::comparison::layers::{Blend, Layers, SeenLayers};
use crate::scene::window_level::local_contrast::LocalContrast;
use crate::scene::window_level::look::Look;
use crate::scene::window_level::{GreyTile, Region, Sampled, sample};
use crate::ui::look::pt;
use crate::ui::paint::pos;

/// Share of the seen part that is sampled beyond it on every side, so that small moves need no new sampling.
const SPARE: f64 = 0.15;

/// What greys follow from.
#[derive(Clone, Debug, PartialEq)]
struct Shown {
    key: PictureKey,
    /// The file may change under the same key.
    digest: FileDigest,
    look: Look,
}

/// A piece of the picture on the card.
struct TexturePiece {
    sampled: Sampled,
    texture: TextureHandle,
}

/// A picture to be shown in a canvas.
#[derive(Clone, Debug)]
pub struct Wanted<'a> {
    /// What it is known by.
    pub key: PictureKey,
    /// The picture.
    pub picture: &'a DecodedPicture,
    /// The part of its frame in which there is a picture.
    pub field: Field,
    /// Its greys.
    pub look: Look,
    /// The canvas that shows it.
    pub canvas: Canvas,
    /// From the picture to the canvas.
    pub transform: Transform,
}

/// One picture in one canvas.
#[derive(Default)]
pub struct Sight {
    shown: Option<Shown>,
    table: Vec<u8>,
    local: Option<LocalContrast>,
    canvas: Option<TexturePiece>,
}

/// The magnifier, and close-ups of four corners.
const LENSES: usize = 5;

/// The textures of the shown picture, and the small ones of the list.
#[derive(Default)]
pub struct Textures {
    sight: Sight,
    lenses: RefCell<[Option<TexturePiece>; LENSES]>,
    small: BTreeMap<PictureKey, (Arc<GreyTile>, TextureHandle)>,
}

impl std::fmt::Debug for Sight {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.debug_struct("Sight").field("shown", &self.shown).finish_non_exhaustive()
    }
}

impl Sight {
    /// Puts on the card what the canvas shows of the picture, with its present greys; nothing without a picture.
    /// Tells whether the greys are others than before.
    pub fn prepare(&mut self, ctx: &Context, wanted: Option<&Wanted<'_>>) -> bool {
        let Some(wanted) = wanted else {
            *self = Self::default();
            return true;
        };
        let picture = wanted.picture;
        let digest = picture.frame.digest.clone();
        let now = Shown { key: wanted.key.clone(), digest, look: wanted.look };
        let same_picture = self.shown.as_ref().is_some_and(|s| s.key == now.key && s.digest == now.digest);
        let same_local = same_picture && self.shown.as_ref().is_some_and(|s| s.look.local == now.look.local);
        let same_greys = self.shown.as_ref() == Some(&now);
        if !same_local {
            self.canvas = None;
            self.local =
                now.look.local.then(|| LocalContrast::of(&picture.frame, wanted.field, picture.greys));
        }
        if !same_greys {
            self.table = now.look.table(&picture.frame, picture.greys);
        }
        self.shown = Some(now);
        let Wanted { canvas, transform, .. } = *wanted;
        let needed = Needed::of(ctx, canvas, transform, &picture.frame);
        let kept = self.canvas.as_ref().is_some_and(|piece| needed.is_in(&piece.sampled));
        if kept && same_greys {
            return false;
        }
        if !kept {
            let sampled = self.sampled(picture, needed.region, needed.step);
            self.put(ctx, sampled);
        } else if let Some(piece) = &mut self.canvas {
            piece.texture.set(image(&piece.sampled.greys(&self.table)), options());
        }
        !same_greys
    }

    fn sampled(&self, picture: &DecodedPicture, region: Region, step: u32) -> Sampled {
        let mut sampled = sample(&picture.frame, region, step);
        if let Some(local) = &self.local {
            local.apply(&mut sampled);
        }
        sampled
    }

    fn put(&mut self, ctx: &Context, sampled: Sampled) {
        let greys = sampled.greys(&self.table);
        TexturePiece::put(&mut self.canvas, ctx, sampled, &greys);
    }

    /// Draws the picture; `origin` is the canvas's top-left corner on the screen.
    pub fn paint(&self, painter: &Painter, transform: Transform, origin: Vec2) {
        if let Some(piece) = &self.canvas {
            mesh(painter, piece, transform, origin);
        }
    }
}

impl Textures {
    /// Puts on the card what the canvas shows of the shown picture, with its present greys.
    pub fn prepare(&mut self, ctx: &Context, editor: &Editor) {
        let wanted = match (editor.shown_key(), editor.shown_frame(), &editor.document) {
            (Some(key), Some(picture), Some(document)) => Some(Wanted {
                field: editor.pictures.known.get(&key).map_or(Field::Whole, |known| known.extent.field),
                key,
                picture,
                look: document.aspect().look,
                canvas: editor.canvas,
                transform: editor.transform(),
            }),
            _ => None,
        };
        if self.sight.prepare(ctx, wanted.as_ref()) {
            *self.lenses.borrow_mut() = Default::default();
        }
    }

    /// Draws the picture; `origin` is the canvas's top-left corner on the screen.
    pub fn paint(&self, painter: &Painter, transform: Transform, origin: Vec2) {
        self.sight.paint(painter, transform, origin);
    }

    /// Draws every stored pixel about a place, for the magnifier: `size` in points of its square.
    pub fn paint_lens(
        &self,
        painter: &Painter,
        editor: &Editor,
        transform: Transform,
        (origin, size): (Vec2, f64),
        which: usize,
    ) {
        let Some(picture) = editor.shown_frame() else { return };
        if self.sight.canvas.is_none() {
            return;
        }
        let region = seen(size, size, transform, &picture.frame);
        let mut lenses = self.lenses.borrow_mut();
        let Some(lens) = lenses.get_mut(which) else { return };
        if !lens.as_ref().is_some_and(|piece| piece.sampled.region == region) {
            let sampled = self.sight.sampled(picture, region, 1);
            let greys = sampled.greys(&self.sight.table);
            TexturePiece::put(lens, painter.ctx(), sampled, &greys);
        }
        if let Some(piece) = lens.as_ref() {
            mesh(painter, piece, transform, origin);
        }
    }

    /// The small picture of a shot, if it is known.
    pub fn small(&mut self, ctx: &Context, editor: &Editor, key: &PictureKey) -> Option<TextureHandle> {
        let known = editor.pictures.known.get(key);
        if let Some((tile, texture)) = self.small.get(key)
            && known.is_none_or(|known| Arc::ptr_eq(&known.small, tile))
        {
            return Some(texture.clone());
        }
        let known = known?;
        let texture = ctx.load_texture(
            format!("small {}", self.small.len()),
            image(&known.small),
            TextureOptions::LINEAR,
        );
        self.small.insert(key.clone(), (Arc::clone(&known.small), texture.clone()));
        Some(texture)
    }

    /// Lets small pictures go that no shot needs any more.
    pub fn sweep(&mut self, editor: &Editor) {
        if self.small.len() > editor.pictures.known.len() {
            self.small.retain(|key, _| editor.pictures.known.contains_key(key));
        }
    }
}

fn mesh(painter: &Painter, piece: &TexturePiece, transform: Transform, origin: Vec2) {
    let Sampled { region, step, width, height, .. } = &piece.sampled;
    // The last sampled column and row may stand for fewer stored ones.
    let (right, bottom) = (f64::from(width * step), f64::from(height * step));
    let (x, y) = (f64::from(region.x), f64::from(region.y));
    let share = |side: u32, all: f64| pt(f64::from(side) / all.max(1.0));
    let far = egui::pos2(share(region.width, right), share(region.height, bottom));
    let place = |x: f64, y: f64| pos(transform.to_canvas(Point::new(x, y)) + origin);
    let mut mesh = Mesh::with_texture(piece.texture.id());
    for (u, v) in [(0.0, 0.0), (1.0, 0.0), (0.0, 1.0), (1.0, 1.0)] {
        let at =
            place(x + f64::from(u) * f64::from(region.width), y + f64::from(v) * f64::from(region.height));
        mesh.vertices.push(Vertex { pos: at, uv: egui::pos2(u * far.x, v * far.y), color: Color32::WHITE });
    }
    mesh.add_triangle(0, 1, 2);
    mesh.add_triangle(1, 2, 3);
    painter.add(Shape::mesh(mesh));
}

impl TexturePiece {
    /// Puts greys on the card; the texture stays the same one, whatever it shows.
    fn put(place: &mut Option<Self>, ctx: &Context, sampled: Sampled, greys: &GreyTile) {
        let image = image(greys);
        match place {
            Some(piece) => {
                piece.texture.set(image, options());
                piece.sampled = sampled;
            }
            None => {
                let texture = ctx.load_texture("picture", image, options());
                *place = Some(Self { sampled, texture });
            }
        }
    }
}

/// What of a frame a canvas needs.
struct Needed {
    /// What is seen.
    seen: Region,
    /// The same with some room about it, where the card takes that.
    region: Region,
    /// Stored pixels to one on the card.
    step: u32,
}

impl Needed {
    fn of(ctx: &Context, canvas: Canvas, transform: Transform, frame: &Frame) -> Self {
        let largest = ctx.input(|input| input.max_texture_side);
        let seen = seen(canvas.width, canvas.height, transform, frame);
        let step = step(transform.zoom * canvas.pixels_per_point, seen, largest);
        let region = spared(seen, frame);
        let region = if fits(region, step, largest) { region } else { seen };
        Self { seen, region: aligned(region, step), step }
    }

    fn is_in(&self, sampled: &Sampled) -> bool {
        sampled.step == self.step && holds(sampled.region, self.seen)
    }
}

/// Two layers in one canvas.
#[derive(Default)]
pub struct LayeredSight {
    layers: Option<Arc<Layers>>,
    sampled: Option<SeenLayers>,
    greys: Option<(Blend, Vec<u8>)>,
    piece: Option<TexturePiece>,
}

impl std::fmt::Debug for LayeredSight {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.debug_struct("LayeredSight")
            .field("greys", &self.greys.as_ref().map(|g| g.0))
            .finish_non_exhaustive()
    }
}

impl LayeredSight {
    /// Puts on the card what the canvas shows of both layers together. What is seen of each is kept, so that another
    /// share or line takes no sampling.
    pub fn prepare(
        &mut self,
        ctx: &Context,
        layers: &Arc<Layers>,
        (canvas, transform): (Canvas, Transform),
        blend: Blend,
        table: &[u8],
    ) {
        if !self.layers.as_ref().is_some_and(|now| Arc::ptr_eq(now, layers)) {
            (self.sampled, self.greys) = (None, None);
            self.layers = Some(Arc::clone(layers));
        }
        let needed = Needed::of(ctx, canvas, transform, layers.later());
        let kept = self.sampled.as_ref().is_some_and(|seen| needed.is_in(&seen.later));
        if !kept {
            self.sampled = Some(layers.seen(needed.region, needed.step));
        } else if self.greys.as_ref().is_some_and(|(now, of)| *now == blend && of == table) {
            return;
        }
        if let Some(seen) = &self.sampled {
            let greys = seen.greys(blend, table);
            TexturePiece::put(&mut self.piece, ctx, seen.later.clone(), &greys);
            self.greys = Some((blend, table.to_vec()));
        }
    }

    /// Draws them; `origin` is the canvas's top-left corner on the screen.
    pub fn paint(&self, painter: &Painter, transform: Transform, origin: Vec2) {
        if let Some(piece) = &self.piece {
            mesh(painter, piece, transform, origin);
        }
    }
}

/// The stored pixels that a canvas of this size shows.
fn seen(width: f64, height: f64, transform: Transform, frame: &Frame) -> Region {
    let (low, high) = transform.seen(width, height);
    let within = |x: f64, most: u32| {
        #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "cut to the frame")]
        let within = x.clamp(0.0, f64::from(most)) as u32;
        within
    };
    let (x0, x1) = (within((low.x - 2.0).floor(), frame.width), within((high.x + 2.0).ceil(), frame.width));
    let (y0, y1) = (within((low.y - 2.0).floor(), frame.height), within((high.y + 2.0).ceil(), frame.height));
    Region { x: x0, y: y0, width: x1.saturating_sub(x0), height: y1.saturating_sub(y0) }
}

/// The region with some room on every side.
fn spared(seen: Region, frame: &Frame) -> Region {
    let grown = |start: u32, side: u32, all: u32| {
        #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "a share of a side")]
        let room = (SPARE * f64::from(side)) as u32;
        let from = start.saturating_sub(room);
        (from, (start + side + room).min(all) - from)
    };
    let (x, width) = grown(seen.x, seen.width, frame.width);
    let (y, height) = grown(seen.y, seen.height, frame.height);
    Region { x, y, width, height }
}

/// Stored pixels to one on the card: as many as lie under one of the screen, so that none is computed that would
/// not be seen, and no more than the card takes.
fn step(screen_px_per_px: f64, seen: Region, largest: usize) -> u32 {
    #[expect(
        clippy::cast_possible_truncation,
        clippy::cast_sign_loss,
        reason = "at most the side of a frame"
    )]
    let under_one = (1.0 / screen_px_per_px.max(1e-4)).floor().max(1.0) as u32;
    let largest = u32::try_from(largest).unwrap_or(2048).max(64);
    under_one.max(seen.width.max(seen.height).div_ceil(largest))
}

/// The region begun at a whole number of steps, so that the same stored pixels are taken together wherever the
/// picture is moved.
const fn aligned(region: Region, step: u32) -> Region {
    let (x, y) = (region.x - region.x % step, region.y - region.y % step);
    Region { x, y, width: region.width + region.x - x, height: region.height + region.y - y }
}

fn fits(region: Region, step: u32, largest: usize) -> bool {
    region.width.max(region.height).div_ceil(step) as usize <= largest
}

fn holds(whole: Region, part: Region) -> bool {
    whole.x <= part.x
        && whole.y <= part.y
        && whole.x + whole.width >= part.x + part.width
        && whole.y + whole.height >= part.y + part.height
}

const fn options() -> TextureOptions {
    TextureOptions { mipmap_mode: Some(TextureFilter::Linear), ..TextureOptions::LINEAR }
}

fn image(tile: &GreyTile) -> ColorImage {
    ColorImage::from_gray([tile.width as usize, tile.height as usize], &tile.greys)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::app::display::viewport::Turn;
    use crate::case::image::frame::Samples;
    use crate::scene::window_level::WindowLevel;

    fn picture(width: u32, height: u32) -> DecodedPicture {
        let frame =
            Frame::of_samples(width, height, Samples::Gray8(vec![0; width as usize * height as usize]));
        DecodedPicture { greys: WindowLevel::whole(&frame), frame: Arc::new(frame) }
    }

    #[test]
    fn only_what_is_seen_is_computed_at_the_screens_resolution() {
        let picture = picture(2048, 2048);
        let fitted = Transform { zoom: 0.32, origin: Vec2::new(30.0, 0.0), turn: Turn::default() };
        let whole = seen(720.0, 660.0, fitted, &picture.frame);
        assert_eq!((whole.width, whole.height), (2048, 2048));
        assert_eq!(step(0.32, whole, 16_384), 3);
        let near = Transform { zoom: 4.0, origin: Vec2::new(-4000.0, -4000.0), turn: Turn::default() };
        let part = seen(720.0, 660.0, near, &picture.frame);
        assert!(part.width <= 186 && part.height <= 170, "{part:?}");
        assert_eq!(step(4.0, part, 16_384), 1);
        assert!(holds(spared(part, &picture.frame), part));
        assert_eq!(step(1.0, Region { x: 0, y: 0, width: 5000, height: 10 }, 2048), 3, "the card's limit");
    }
}
