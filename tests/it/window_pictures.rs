//! Pictures of the window in thirteen states, dark and light, at two sizes: each must be what the window shows now.
//!
//! The pictures are kept at a third of their size as JPEG files. They are compared by the mean of each block of 8 × 8
//! of their pixels (24 × 24 points of the window), in each channel: a block that is off by more than [`TOLERANCE`]
//! levels of 255 fails. A button that moves by its own margin, a word that is another, or a color of another theme is
//! seen by that; the last bit of a graphics card, of which there is none here, would not be.
//!
//! To make them anew after a change that is seen: `STILLMARK_UPDATE=1 cargo test --test it window_pictures`; then look
//! at each of them.
#![expect(clippy::unwrap_used, reason = "a helper that fails ends its journey")]

use std::fs;
use std::path::{Path, PathBuf};
use std::time::{Duration, SystemTime};

use eframe::egui::{Color32, ColorImage, Key, Modifiers, Vec2, vec2};
use image::{ExtendedColorType, ImageEncoder as _};
use stillmark::io::store::save::{Over, open_case, save_case};
use stillmark::measure::mark::MarkKind;
use stillmark::scene::drawing::theme::Mode;

use crate::journey::{Journey, one_picture, samples};

/// By how many levels of 255 the mean of a block may differ.
const TOLERANCE: f64 = 6.0;
/// By how much the pictures are made smaller.
const SMALLER: usize = 3;
/// Side of a block that is compared, in pixels of the smaller picture.
const BLOCK: usize = 8;
/// Quality of the JPEG files.
const QUALITY: u8 = 82;

fn folder() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/it/golden/window")
}

/// A picture of three bytes a pixel.
struct Small {
    width: usize,
    height: usize,
    rgb: Vec<u8>,
}

impl Small {
    /// The window's picture, each pixel the mean of a square of the window's.
    fn of(image: &ColorImage) -> Self {
        let [across, down] = image.size;
        let (width, height) = (across / SMALLER, down / SMALLER);
        let mut rgb = Vec::with_capacity(width * height * 3);
        for y in 0..height {
            for x in 0..width {
                let mut sum = [0_usize; 3];
                for row in 0..SMALLER {
                    for column in 0..SMALLER {
                        let [r, g, b, _] =
                            image.pixels[(y * SMALLER + row) * across + x * SMALLER + column].to_array();
                        for (sum, part) in sum.iter_mut().zip([r, g, b]) {
                            *sum += usize::from(part);
                        }
                    }
                }
                rgb.extend(sum.map(|sum| u8::try_from(sum / (SMALLER * SMALLER)).unwrap_or(u8::MAX)));
            }
        }
        Self { width, height, rgb }
    }

    fn read(file: &Path) -> Option<Self> {
        let image = image::open(file).ok()?.into_rgb8();
        let (width, height) = (image.width() as usize, image.height() as usize);
        Some(Self { width, height, rgb: image.into_raw() })
    }

    fn write(&self, file: &Path) {
        fs::create_dir_all(file.parent().unwrap()).unwrap();
        let mut bytes = Vec::new();
        let (width, height) = (u32::try_from(self.width).unwrap(), u32::try_from(self.height).unwrap());
        image::codecs::jpeg::JpegEncoder::new_with_quality(&mut bytes, QUALITY)
            .write_image(&self.rgb, width, height, ExtendedColorType::Rgb8)
            .unwrap();
        fs::write(file, bytes).unwrap();
    }

    /// The mean of each channel of the block that begins here.
    fn mean(&self, left: usize, top: usize) -> [f64; 3] {
        let (right, bottom) = ((left + BLOCK).min(self.width), (top + BLOCK).min(self.height));
        let mut sum = [0.0; 3];
        for y in top..bottom {
            for x in left..right {
                let at = (y * self.width + x) * 3;
                for (sum, part) in sum.iter_mut().zip(&self.rgb[at..at + 3]) {
                    *sum += f64::from(*part);
                }
            }
        }
        #[expect(clippy::cast_precision_loss, reason = "at most 64 pixels")]
        let count = ((right - left) * (bottom - top)) as f64;
        sum.map(|sum| sum / count)
    }

    /// The largest difference of two blocks' means, and where in the window the block begins.
    fn differs(&self, other: &Self) -> (f64, (usize, usize)) {
        if (self.width, self.height) != (other.width, other.height) {
            return (f64::MAX, (0, 0));
        }
        let mut worst = (0.0, (0, 0));
        for top in (0..self.height).step_by(BLOCK) {
            for left in (0..self.width).step_by(BLOCK) {
                let (a, b) = (self.mean(left, top), other.mean(left, top));
                let off = a.iter().zip(b).map(|(a, b)| (a - b).abs()).fold(0.0, f64::max);
                if off > worst.0 {
                    worst = (off, (left * SMALLER, top * SMALLER));
                }
            }
        }
        worst
    }
}

/// Compares pictures with those that are kept, or keeps them.
struct Album {
    suffix: String,
    mode: Mode,
    size: Vec2,
    wrong: Vec<String>,
}

impl Album {
    fn journey(&self, paths: Vec<PathBuf>) -> Journey {
        let mut journey = Journey::sized(paths, self.size);
        journey.window.state_mut().state.display.mode = self.mode;
        journey.window.state_mut().state.notices.clear();
        journey.window.run();
        journey.window.run();
        journey
    }

    fn picture(&mut self, name: &str, journey: &mut Journey) {
        journey.window.run();
        #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "a window's size")]
        let size = (self.size.x as usize, self.size.y as usize);
        let seen = Small::of(&journey.raster.draw(&journey.window.ctx, journey.window.output(), size));
        let file = folder().join(format!("{name}-{}.jpg", self.suffix));
        if std::env::var_os("STILLMARK_UPDATE").is_some() {
            seen.write(&file);
            return;
        }
        let Some(kept) = Small::read(&file) else {
            self.wrong.push(format!("{name}-{}: there is no picture of it", self.suffix));
            return;
        };
        let (off, at) = seen.differs(&kept);
        if off > TOLERANCE {
            self.wrong.push(format!("{name}-{}: off by {off:.1} levels at {at:?}", self.suffix));
        }
    }
}

/// The demonstration with a draft and a blocked shot among its shots.
fn case_with_every_state(folder: &Path) -> PathBuf {
    let mut case = open_case(&samples().join("demonstration.case.json")).unwrap().case;
    let images = folder.join("images");
    fs::create_dir_all(&images).unwrap();
    for shot in &case.shots {
        fs::copy(samples().join(&shot.image), folder.join(&shot.image)).unwrap();
    }
    let marks = case.shot("l4-right-lateral-final").unwrap().marks.clone();
    for shot in &mut case.shots {
        match shot.id.as_str() {
            "l4-right-lateral-stylet" => {
                shot.marks = marks.clone();
                shot.draft = true;
            }
            // A corner upon the other one: there is no body between such borders.
            "l4-right-lateral-posterior_wall" => {
                let inferior = shot.marks.slots(MarkKind::InferiorEndPlate).to_vec();
                let mut superior = shot.marks.slots(MarkKind::SuperiorEndPlate).to_vec();
                superior[0] = *inferior.last().unwrap();
                shot.marks.set(MarkKind::SuperiorEndPlate, superior);
            }
            _ => {}
        }
    }
    let file = folder.join("states.case.json");
    save_case(&file, &case, &Over::Nothing).unwrap();
    file
}

/// Goes to a shot by keys, the short way.
fn show(journey: &mut Journey, id: &str) {
    let places = |journey: &Journey| {
        let document = journey.window.state().state.editor.document.as_ref().unwrap();
        let wanted = document.case().shots.iter().position(|shot| shot.id == id).unwrap();
        (document.index().unwrap(), wanted)
    };
    while let (now, wanted) = places(journey)
        && now != wanted
    {
        journey.key(Modifiers::NONE, if now < wanted { Key::PageDown } else { Key::PageUp });
        assert_ne!(places(journey).0, now, "{id} is not reached");
    }
}

fn walk(mode: Mode, size: Vec2, folder: &Path) {
    let name = match mode {
        Mode::Dark => "dark",
        Mode::Light => "light",
    };
    let mut album = Album { suffix: format!("{name}-{}", size.x), mode, size, wrong: Vec::new() };
    let mut start = album.journey(Vec::new());
    album.picture("nothing-open", &mut start);
    start.key(Modifiers::NONE, Key::F12);
    album.picture("practice-empty", &mut start);
    drop(start);

    let (still, _) = one_picture(folder);
    // The time of the file stands below its small image.
    let noon = SystemTime::UNIX_EPOCH + Duration::from_secs(12 * 3600);
    fs::File::options().write(true).open(&still).unwrap().set_modified(noon).unwrap();
    let mut first = album.journey(vec![still]);
    album.picture("view-asked", &mut first);
    first.key(Modifiers::NONE, Key::Escape);
    drop(first);

    let mut journey = album.journey(vec![case_with_every_state(folder)]);
    show(&mut journey, "l4-right-lateral-final");
    album.picture("read-pair", &mut journey);
    journey.key(Modifiers::NONE, Key::C);
    album.picture("read-details", &mut journey);
    journey.key(Modifiers::NONE, Key::C);
    journey.press("Tip, placed");
    let canvas = journey.canvas();
    journey.window.hover_at(canvas.min + vec2(0.45 * canvas.width(), 0.4 * canvas.height()));
    album.picture("marking", &mut journey);
    journey.key(Modifiers::NONE, Key::Escape);
    journey.window.hover_at(vec2(2.0, 2.0).to_pos2());
    show(&mut journey, "l4-right-ap-final");
    album.picture("read-ap", &mut journey);
    show(&mut journey, "l4-right-lateral-stylet");
    album.picture("draft", &mut journey);
    show(&mut journey, "l4-right-lateral-posterior_wall");
    album.picture("blocked", &mut journey);
    show(&mut journey, "l4-right-lateral-final");
    for (key, name) in
        [(Key::F5, "overview"), (Key::F6, "compare"), (Key::F7, "tip-path"), (Key::F8, "figure")]
    {
        let held = if key == Key::F5 { Modifiers::SHIFT } else { Modifiers::NONE };
        journey.key(held, key);
        album.picture(name, &mut journey);
        journey.key(Modifiers::NONE, Key::Escape);
    }
    assert!(album.wrong.is_empty(), "not as the window shows it now:\n{}", album.wrong.join("\n"));
}

fn alone(name: &str, journey: impl FnOnce(&Path)) {
    crate::journey::alone("window_pictures", name, journey);
}

#[test]
fn dark_and_small() {
    alone("dark_and_small", |folder| walk(Mode::Dark, vec2(1280.0, 800.0), folder));
}

#[test]
fn light_and_small() {
    alone("light_and_small", |folder| walk(Mode::Light, vec2(1280.0, 800.0), folder));
}

#[test]
fn dark_and_large() {
    alone("dark_and_large", |folder| walk(Mode::Dark, vec2(1920.0, 1080.0), folder));
}

#[test]
fn light_and_large() {
    alone("light_and_large", |folder| walk(Mode::Light, vec2(1920.0, 1080.0), folder));
}

/// By hand: a block of 24 × 24 points in a quarter of which the gray is 40 levels brighter has a mean 10 levels higher.
#[test]
fn a_change_is_told_with_its_place() {
    let plain = ColorImage::filled([96, 96], Color32::from_gray(100));
    let mut changed = plain.clone();
    for y in 24..36 {
        for x in 48..60 {
            changed.pixels[y * 96 + x] = Color32::from_gray(140);
        }
    }
    let (off, at) = Small::of(&plain).differs(&Small::of(&changed));
    assert!((off - 10.0).abs() < 1e-9 && at == (48, 24), "{off} at {at:?}");
}
