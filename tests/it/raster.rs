//! The window as pixels, without a graphics card: what egui has tessellated is filled triangle by triangle, so that a
//! picture of the window is the same on every machine.

use std::cell::RefCell;
use std::collections::HashMap;
use std::rc::Rc;

use eframe::egui::epaint::textures::TextureFilter;
use eframe::egui::epaint::{ImageData, ImageDelta, Primitive, Vertex};
use eframe::egui::{Color32, ColorImage, Context, FullOutput, Mesh, Pos2, Rect, TextureId, TexturesDelta};
use egui_kittest::TestRenderer;

/// A texture as it was handed over, and whether it is smoothed.
struct Texture {
    image: ColorImage,
    smooth: bool,
}

/// Keeps the textures that a window hands over; a copy of it draws the window.
#[derive(Clone, Default)]
pub(crate) struct Raster {
    textures: Rc<RefCell<HashMap<TextureId, Texture>>>,
}

impl TestRenderer for Raster {
    fn handle_delta(&mut self, delta: &mut TexturesDelta) {
        let mut textures = self.textures.borrow_mut();
        #[expect(clippy::iter_over_hash_type, reason = "each texture stands for itself")]
        for (id, changes) in delta.set.drain() {
            for change in changes {
                put(&mut textures, id, &change);
            }
        }
        textures.retain(|id, _| !delta.free.contains(id));
        delta.free.clear();
    }
}

fn put(textures: &mut HashMap<TextureId, Texture>, id: TextureId, change: &ImageDelta) {
    let ImageData::Color(image) = &change.image;
    let smooth = change.options.magnification == TextureFilter::Linear;
    match (change.pos, textures.get_mut(&id)) {
        (Some([left, top]), Some(texture)) => {
            let [width, height] = image.size;
            for y in 0..height {
                let from = &image.pixels[y * width..(y + 1) * width];
                let start = (top + y) * texture.image.size[0] + left;
                texture.image.pixels[start..start + width].copy_from_slice(from);
            }
        }
        _ => {
            textures.insert(id, Texture { image: image.as_ref().clone(), smooth });
        }
    }
}

impl Raster {
    /// The window as it was drawn last, at one pixel to a point.
    pub(crate) fn draw(&self, ctx: &Context, output: &FullOutput, size: (usize, usize)) -> ColorImage {
        let mut onto = ColorImage::filled([size.0, size.1], Color32::BLACK);
        let textures = self.textures.borrow();
        for clipped in ctx.tessellate(output.shapes.clone(), 1.0) {
            if let Primitive::Mesh(mesh) = &clipped.primitive
                && let Some(texture) = textures.get(&mesh.texture_id)
            {
                fill(&mut onto, clipped.clip_rect, mesh, texture);
            }
        }
        onto
    }
}

fn fill(onto: &mut ColorImage, clip: Rect, mesh: &Mesh, texture: &Texture) {
    for corners in mesh.indices.chunks_exact(3) {
        let corner = |k: usize| mesh.vertices[corners[k] as usize];
        triangle(onto, clip, [corner(0), corner(1), corner(2)], texture);
    }
}

/// Twice the signed area of a triangle.
fn area(a: Pos2, b: Pos2, c: Pos2) -> f32 {
    (b.x - a.x) * (c.y - a.y) - (b.y - a.y) * (c.x - a.x)
}

/// Whether a pixel's middle upon this edge belongs to the triangle: so that of two triangles with a common edge just
/// one has it.
fn owns(a: Pos2, b: Pos2) -> bool {
    (a.y - b.y).abs() < f32::EPSILON && b.x > a.x || b.y < a.y
}

#[expect(
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    clippy::cast_precision_loss,
    reason = "pixels of a window"
)]
fn triangle(onto: &mut ColorImage, clip: Rect, mut corners: [Vertex; 3], texture: &Texture) {
    let mut whole = area(corners[0].pos, corners[1].pos, corners[2].pos);
    if whole < 0.0 {
        corners.swap(1, 2);
        whole = -whole;
    }
    if whole < 1e-9 {
        return;
    }
    let [a, b, c] = corners;
    let [width, height] = onto.size;
    let low = a.pos.min(b.pos).min(c.pos).max(clip.min.round());
    let high = a.pos.max(b.pos).max(c.pos).min(clip.max.round());
    let (x0, y0) = (low.x.floor().max(0.0) as usize, low.y.floor().max(0.0) as usize);
    let (x1, y1) =
        ((high.x.ceil().max(0.0) as usize).min(width), (high.y.ceil().max(0.0) as usize).min(height));
    let edges = [(b.pos, c.pos), (c.pos, a.pos), (a.pos, b.pos)].map(|(p, q)| (p, q, owns(p, q)));
    let plain = (a.uv == b.uv && b.uv == c.uv).then(|| sample(texture, a.uv));
    for y in y0..y1 {
        for x in x0..x1 {
            let middle = Pos2::new(x as f32 + 0.5, y as f32 + 0.5);
            if !clip.contains(middle) {
                continue;
            }
            let parts = edges.map(|(p, q, _)| area(p, q, middle));
            if parts.iter().zip(&edges).any(|(part, edge)| *part < 0.0 || (*part == 0.0 && !edge.2)) {
                continue;
            }
            let [u, v, w] = parts.map(|part| part / whole);
            let texel = plain.unwrap_or_else(|| {
                sample(texture, (a.uv.to_vec2() * u + b.uv.to_vec2() * v + c.uv.to_vec2() * w).to_pos2())
            });
            let mixed = |k: usize| {
                let ink = |vertex: &Vertex| f32::from(vertex.color.to_array()[k]);
                (ink(&a) * u + ink(&b) * v + ink(&c) * w) * texel[k] / 255.0
            };
            let over = [mixed(0), mixed(1), mixed(2), mixed(3)];
            let pixel = &mut onto.pixels[y * width + x];
            *pixel = blended(over, *pixel);
        }
    }
}

/// Premultiplied color over another (CSS Compositing, simple alpha compositing), as the card does it.
#[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "clamped to a byte")]
fn blended(over: [f32; 4], below: Color32) -> Color32 {
    let left = 1.0 - over[3] / 255.0;
    let below = below.to_array();
    let at = |k: usize| (over[k] + f32::from(below[k]) * left).round().clamp(0.0, 255.0) as u8;
    Color32::from_rgb(at(0), at(1), at(2))
}

#[expect(
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    clippy::cast_precision_loss,
    reason = "texels"
)]
fn sample(texture: &Texture, uv: Pos2) -> [f32; 4] {
    let [width, height] = texture.image.size;
    let texel = |x: f32, y: f32| {
        let x = (x.max(0.0) as usize).min(width - 1);
        let y = (y.max(0.0) as usize).min(height - 1);
        texture.image.pixels[y * width + x].to_array().map(f32::from)
    };
    let (x, y) = (uv.x * width as f32, uv.y * height as f32);
    if !texture.smooth {
        return texel(x.floor(), y.floor());
    }
    let (x, y) = (x - 0.5, y - 0.5);
    let (left, top) = (x.floor(), y.floor());
    let (u, v) = (x - left, y - top);
    let corners =
        [texel(left, top), texel(left + 1.0, top), texel(left, top + 1.0), texel(left + 1.0, top + 1.0)];
    let weights = [(1.0 - u) * (1.0 - v), u * (1.0 - v), (1.0 - u) * v, u * v];
    let mut sum = [0.0; 4];
    for (corner, weight) in corners.iter().zip(weights) {
        for (sum, part) in sum.iter_mut().zip(corner) {
            *sum += part * weight;
        }
    }
    sum
}

/// By hand: two triangles of half opacity that make a square cover each pixel once, so white over black gives 128
/// everywhere, on their common edge too; outside nothing is touched.
#[test]
fn a_square_of_two_triangles_covers_each_pixel_once() {
    let texture = Texture { image: ColorImage::filled([1, 1], Color32::WHITE), smooth: true };
    let mut onto = ColorImage::filled([12, 12], Color32::BLACK);
    let mut mesh = Mesh::default();
    let square = Rect::from_min_max(Pos2::new(2.0, 2.0), Pos2::new(10.0, 10.0));
    mesh.add_colored_rect(square, Color32::from_white_alpha(128));
    fill(&mut onto, Rect::EVERYTHING, &mesh, &texture);
    for y in 0..12 {
        for x in 0..12 {
            let inside = (2..10).contains(&x) && (2..10).contains(&y);
            let expected = if inside { Color32::from_gray(128) } else { Color32::BLACK };
            assert_eq!(onto.pixels[y * 12 + x], expected, "{x}, {y}");
        }
    }
}
