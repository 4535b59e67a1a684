//! Pictures on the graphics card: in tiles that fit it, rendered anew only when grey levels or the picture change.

use std::collections::BTreeMap;
use std::sync::Arc;

use egui::epaint::{Mesh, Vertex};
use egui::{Color32, ColorImage, Context, Painter, Shape, TextureFilter, TextureHandle, TextureOptions};

use crate::app::state::{PictureKey, State};
use crate::app::viewport::Transform;
use crate::case::frame::Frame;
use crate::geom::point::{Point, Vec2};
use crate::scene::window_level::{GreyTile, Region, WindowLevel, render};
use crate::ui::look::pt;
use crate::ui::paint::pos;

/// Largest side of a tile in pixels.
const TILE: u32 = 2048;
/// Pixels beyond a tile's own that it carries, so that no seam is seen between tiles.
const MARGIN: u32 = 2;

/// What the tiles show.
#[derive(Clone, Debug, PartialEq)]
struct Shown {
    key: PictureKey,
    /// The file may change under the same key.
    digest: String,
    greys: WindowLevel,
    tile: u32,
}

/// One tile.
struct Tile {
    /// The part of the frame it stands for.
    own: Region,
    /// The part it carries.
    carried: Region,
    texture: TextureHandle,
}

/// The textures of the shown picture, and the small ones of the list.
#[derive(Default)]
pub struct Textures {
    shown: Option<Shown>,
    tiles: Vec<Tile>,
    small: BTreeMap<PictureKey, (Arc<GreyTile>, TextureHandle)>,
}

impl Textures {
    /// Makes the tiles those of the shown picture with its present grey levels.
    pub fn prepare(&mut self, ctx: &Context, state: &State) {
        let (Some(key), Some(picture), Some(greys)) = (state.shown_key(), state.shown_frame(), state.greys())
        else {
            self.shown = None;
            self.tiles.clear();
            return;
        };
        let largest = u32::try_from(ctx.input(|input| input.max_texture_side)).unwrap_or(TILE);
        let digest = picture.frame.digest.clone();
        let wanted = Shown { key, digest, greys, tile: TILE.min(largest.saturating_sub(2 * MARGIN).max(64)) };
        if self.shown.as_ref() == Some(&wanted) {
            return;
        }
        let same = self
            .shown
            .as_ref()
            .is_some_and(|s| s.key == wanted.key && s.digest == wanted.digest && s.tile == wanted.tile);
        if same {
            for tile in &mut self.tiles {
                tile.texture.set(image(&render(&picture.frame, greys, tile.carried, 1)), options());
            }
        } else {
            self.tiles = regions(&picture.frame, wanted.tile)
                .into_iter()
                .map(|(own, carried)| {
                    let image = image(&render(&picture.frame, greys, carried, 1));
                    let texture = ctx.load_texture(format!("frame {} {}", own.x, own.y), image, options());
                    Tile { own, carried, texture }
                })
                .collect();
        }
        self.shown = Some(wanted);
    }

    /// Draws the picture; `origin` is the canvas's top-left corner on the screen.
    pub fn paint(&self, painter: &Painter, transform: Transform, origin: Vec2) {
        let place =
            |x: u32, y: u32| pos(transform.to_canvas(Point::new(f64::from(x), f64::from(y))) + origin);
        for tile in &self.tiles {
            let (own, carried) = (tile.own, tile.carried);
            let mut mesh = Mesh::with_texture(tile.texture.id());
            for (x, y) in [
                (own.x, own.y),
                (own.x + own.width, own.y),
                (own.x, own.y + own.height),
                (own.x + own.width, own.y + own.height),
            ] {
                let share = |at: u32, from: u32, side: u32| pt(f64::from(at - from) / f64::from(side.max(1)));
                let uv = egui::pos2(share(x, carried.x, carried.width), share(y, carried.y, carried.height));
                mesh.vertices.push(Vertex { pos: place(x, y), uv, color: Color32::WHITE });
            }
            mesh.add_triangle(0, 1, 2);
            mesh.add_triangle(1, 2, 3);
            painter.add(Shape::mesh(mesh));
        }
    }

    /// The small picture of a shot, if it is known.
    pub fn small(&mut self, ctx: &Context, state: &State, key: &PictureKey) -> Option<TextureHandle> {
        let known = state.known.get(key);
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
    pub fn sweep(&mut self, state: &State) {
        if self.small.len() > state.known.len() {
            self.small.retain(|key, _| state.known.contains_key(key));
        }
    }
}

const fn options() -> TextureOptions {
    TextureOptions { mipmap_mode: Some(TextureFilter::Linear), ..TextureOptions::LINEAR }
}

fn image(tile: &GreyTile) -> ColorImage {
    ColorImage::from_gray([tile.width as usize, tile.height as usize], &tile.greys)
}

/// The tiles of a frame: what each stands for and what it carries.
fn regions(frame: &Frame, side: u32) -> Vec<(Region, Region)> {
    let starts = |length: u32| (0..length).step_by(side as usize).collect::<Vec<_>>();
    let mut all = Vec::new();
    for &y in &starts(frame.height) {
        for &x in &starts(frame.width) {
            let own = Region { x, y, width: side.min(frame.width - x), height: side.min(frame.height - y) };
            let (cx, cy) = (x.saturating_sub(MARGIN), y.saturating_sub(MARGIN));
            let carried = Region {
                x: cx,
                y: cy,
                width: (x + own.width + MARGIN).min(frame.width) - cx,
                height: (y + own.height + MARGIN).min(frame.height) - cy,
            };
            all.push((own, carried));
        }
    }
    all
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::case::frame::Samples;

    #[test]
    fn tiles_cover_the_frame_once_and_fit_the_card() {
        let frame = Frame {
            width: 150,
            height: 70,
            samples: Samples::Gray8(vec![0; 150 * 70]),
            was_colour: false,
            digest: String::new(),
            warnings: Vec::new(),
            taken: None,
            facts: Default::default(),
        };
        let tiles = regions(&frame, 64);
        assert_eq!(tiles.len(), 6);
        let area: u32 = tiles.iter().map(|(own, _)| own.width * own.height).sum();
        assert_eq!(area, 150 * 70);
        assert!(tiles.iter().all(|(_, carried)| carried.width <= 64 + 2 * MARGIN));
        assert!(tiles.iter().all(|(own, carried)| carried.x <= own.x && carried.y <= own.y));
    }
}
