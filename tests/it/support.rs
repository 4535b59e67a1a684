//! What tests share: the built command line, small pictures, and cases that read.

use std::ffi::OsStr;
use std::io;
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};

use stillmark::case::document::{Case, Shot};
use stillmark::measure::mark::{Level, MarkKind, Side, Stage, View};

/// What a run of a program left.
#[derive(Debug)]
pub(crate) struct Run {
    pub(crate) status: Option<i32>,
    pub(crate) out: String,
    pub(crate) err: String,
}

/// A folder that goes with the test.
pub(crate) fn folder() -> tempfile::TempDir {
    tempfile::tempdir().expect("a temporary folder")
}

/// Runs the built command line. The application's own folder is kept away from the user's.
pub(crate) fn stillmark_cli<S: AsRef<OsStr>>(arguments: impl IntoIterator<Item = S>) -> io::Result<Run> {
    let home = tempfile::tempdir()?;
    let output = Command::new(env!("CARGO_BIN_EXE_stillmark-cli"))
        .args(arguments)
        .env("STILLMARK_DATA_DIR", home.path())
        .stdin(Stdio::null())
        .output()?;
    Ok(Run {
        status: output.status.code(),
        out: String::from_utf8_lossy(&output.stdout).into_owned(),
        err: String::from_utf8_lossy(&output.stderr).into_owned(),
    })
}

/// Runs one test of this binary in a process of its own, with these variables set; for what belongs to a whole
/// process: its environment, its death.
pub(crate) fn in_own_process(test: &str, variables: &[(&str, &OsStr)]) -> Command {
    let mut command = Command::new(std::env::current_exe().expect("this test binary"));
    command.args(["--exact", test, "--nocapture", "--test-threads=1"]).stdin(Stdio::null());
    command.envs(variables.iter().copied());
    command
}

/// A lateral shot that reads: a body of 143 × 98 px with its tip a little behind the middle.
pub(crate) fn lateral_shot(id: &str, image: &str) -> Shot {
    let mut shot = Shot::new(id, image, View::Lateral);
    shot.level = Some(Level::L4);
    shot.side = Some(Side::Right);
    shot.stage = Some(Stage::Final);
    shot.mm_per_px = Some(0.31);
    shot.marks = shot
        .marks
        .with(MarkKind::SuperiorEndPlate, &[(412.0, 305.0), (340.0, 316.0), (268.0, 318.0)])
        .with(MarkKind::InferiorEndPlate, &[(405.0, 398.0), (262.0, 421.0)])
        .with(MarkKind::PosteriorWall, &[(407.0, 352.0)])
        .with(MarkKind::Tip, &[(350.4, 360.9)]);
    shot
}

/// A case of these shots.
pub(crate) fn case_of(title: &str, shots: Vec<Shot>) -> Case {
    Case { title: Some(title.to_owned()), shots: shots.into(), ..Case::default() }
}

/// Writes a grey picture of this size, with a grey ramp, in the format its name says.
pub(crate) fn write_picture(path: &Path, width: u32, height: u32) -> image::ImageResult<()> {
    let ramp = |x: u32, y: u32| image::Luma([(x * 3 + y * 5).to_le_bytes()[0]]);
    image::GrayImage::from_fn(width, height, ramp).save(path)
}

/// Every file in a folder, sorted, by name.
pub(crate) fn names_in(folder: &Path) -> io::Result<Vec<String>> {
    let mut names: Vec<String> = std::fs::read_dir(folder)?
        .map(|entry| Ok(entry?.file_name().to_string_lossy().into_owned()))
        .collect::<io::Result<_>>()?;
    names.sort();
    Ok(names)
}

/// Asserts that a text is what a user should see of an error: one line, a file's name in it, no word of a
/// programmer's.
pub(crate) fn assert_one_sentence(text: &str, file: &Path) {
    let name = file.file_name().unwrap_or_default().to_string_lossy().into_owned();
    let text = text.trim_end_matches('\n');
    assert_eq!(text.lines().count(), 1, "one line: {text:?}");
    assert!(text.contains(&name), "names {name}: {text:?}");
    assert!(text.len() < 400, "short: {text:?}");
    for word in ["panicked", "unwrap", "Err(", "Some(", "os error", "serde", "Error {", "!"] {
        assert!(!text.contains(word), "no {word:?}: {text:?}");
    }
}

/// A TIFF of one page, written tag by tag so that kinds of samples can be made that no encoder writes. Little
/// endian; one strip (TIFF 6.0, sections 2 and 8).
pub(crate) struct Tiff<'a> {
    pub(crate) width: u32,
    pub(crate) height: u32,
    pub(crate) bits: u16,
    /// 1 unsigned, 2 signed, 3 floating point.
    pub(crate) sample_format: u16,
    /// 0 white is zero, 1 black is zero, 3 palette.
    pub(crate) photometric: u16,
    pub(crate) compression: u16,
    pub(crate) orientation: u16,
    pub(crate) data: &'a [u8],
}

impl<'a> Tiff<'a> {
    /// One of unsigned gray samples of 8 bits, 0 black, not compressed.
    pub(crate) const fn plain(width: u32, height: u32, data: &'a [u8]) -> Self {
        let (bits, sample_format, photometric, compression, orientation) = (8, 1, 1, 1, 1);
        Self { width, height, bits, sample_format, photometric, compression, orientation, data }
    }

    /// The file's bytes.
    pub(crate) fn bytes(&self) -> Vec<u8> {
        let palette: Vec<u8> = if self.photometric == 3 { vec![0x80; 3 * 2 * 256] } else { Vec::new() };
        let data_at = 8_u32;
        let palette_at = data_at + u32::try_from(self.data.len()).expect("a small picture");
        let ifd_at = palette_at + u32::try_from(palette.len()).expect("a small palette");
        let length = u32::try_from(self.data.len()).expect("a small picture");
        let mut tags: Vec<(u16, u16, u32, u32)> = vec![
            (256, 4, 1, self.width),
            (257, 4, 1, self.height),
            (258, 3, 1, u32::from(self.bits)),
            (259, 3, 1, u32::from(self.compression)),
            (262, 3, 1, u32::from(self.photometric)),
            (273, 4, 1, data_at),
            (274, 3, 1, u32::from(self.orientation)),
            (277, 3, 1, 1),
            (278, 4, 1, self.height),
            (279, 4, 1, length),
            (339, 3, 1, u32::from(self.sample_format)),
        ];
        if self.photometric == 3 {
            tags.insert(10, (320, 3, 768, palette_at));
        }
        let mut bytes = b"II*\0".to_vec();
        bytes.extend(ifd_at.to_le_bytes());
        bytes.extend(self.data);
        bytes.extend(palette);
        bytes.extend(u16::try_from(tags.len()).expect("few tags").to_le_bytes());
        for (tag, kind, count, value) in tags {
            bytes.extend(tag.to_le_bytes());
            bytes.extend(kind.to_le_bytes());
            bytes.extend(count.to_le_bytes());
            bytes.extend(value.to_le_bytes());
        }
        bytes.extend(0_u32.to_le_bytes());
        bytes
    }
}

/// Writes bytes into a file of a folder and returns its path.
pub(crate) fn put(folder: &Path, name: &str, bytes: impl AsRef<[u8]>) -> PathBuf {
    let path = folder.join(name);
    std::fs::write(&path, bytes).expect("a file in a temporary folder");
    path
}
