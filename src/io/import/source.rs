//! A picture's file, read once, and its frames, decoded one at a time.

use std::path::{Path, PathBuf};
use std::sync::Arc;

use image::ImageFormat;

use crate::case::image::digest::FileDigest;
use crate::case::image::frame::Frame;
use crate::io::error::{Error, ErrorKind};
use crate::io::files;
use crate::io::import::content::{Content, recognise};
use crate::io::import::dicom::{OpenedDicom, early};
use crate::io::import::film::Film;
use crate::io::import::format::{extension_lies, format_name};
use crate::io::import::size::{BEGINNING, MAX_FILE_BYTES, MAX_RASTER_BYTES};
use crate::io::import::{guarded, raster};

/// An open picture.
#[derive(Debug)]
pub struct Source {
    path: PathBuf,
    digest: FileDigest,
    /// Whether the digest is made once a frame is decoded.
    digest_waits: bool,
    kind: SourceKind,
}

#[derive(Debug)]
enum SourceKind {
    Raster { bytes: Arc<Vec<u8>>, format: ImageFormat },
    Dicom(Box<OpenedDicom>),
    Film { bytes: Arc<Vec<u8>>, film: Film },
}

/// Files up to this many bytes are hashed at once, larger ones beside what is done with them.
const HASHED_AT_ONCE: usize = 1 << 15;

/// The digest of a file's bytes, of larger ones made by whoever asks first; and whether it is still to be made.
fn digest_of(bytes: &Arc<Vec<u8>>) -> (FileDigest, bool) {
    if bytes.len() <= HASHED_AT_ONCE {
        return (files::digest(bytes).into(), false);
    }
    let bytes = Arc::clone(bytes);
    (FileDigest::made_by(move || files::digest(&bytes)), true)
}

/// Makes a digest beside whoever will ask for it.
fn make_aside(digest: &FileDigest) {
    let asked = digest.clone();
    guarded::aside(move || {
        let _ = asked.as_str();
    });
}

/// Whether a file is decoded on all cores, so that its digest had better wait until that is done.
const fn takes_all_cores(content: Content) -> bool {
    matches!(content, Content::Picture(ImageFormat::Tiff))
}

impl Source {
    /// Reads a file; nothing is decoded yet.
    ///
    /// # Errors
    /// One sentence that names the file and says why it cannot be opened. It never panics on a file's content.
    pub fn open(path: &Path) -> Result<Self, Error> {
        // What a file is is asked before it is read as a whole.
        let limit = match recognise(&files::beginning(path, BEGINNING)?) {
            Content::Picture(_) | Content::Avi => MAX_RASTER_BYTES,
            Content::Dicom => {
                refused_early(path)?;
                MAX_FILE_BYTES
            }
            other @ (Content::Other(_) | Content::Unknown) => {
                let empty = std::fs::metadata(path).is_ok_and(|about| about.len() == 0);
                return Err(not_a_picture(path, other, empty));
            }
        };
        Self::read(path, files::read(path, limit)?)
    }

    /// The same for bytes that are already in memory; `path` is for sentences only.
    ///
    /// # Errors
    /// As [`Source::open`].
    pub fn read(path: &Path, bytes: Vec<u8>) -> Result<Self, Error> {
        let content = recognise(&bytes);
        let bytes = Arc::new(bytes);
        let (digest, is_due) = match content {
            Content::Picture(_) | Content::Dicom | Content::Avi => digest_of(&bytes),
            Content::Other(_) | Content::Unknown => (FileDigest::default(), false),
        };
        let digest_waits = is_due && takes_all_cores(content);
        if is_due && !digest_waits {
            make_aside(&digest);
        }
        let kind = match content {
            Content::Picture(ImageFormat::Gif) => match Film::of_gif(path, &bytes)? {
                Some(film) => SourceKind::Film { bytes, film },
                None => SourceKind::Raster { bytes, format: ImageFormat::Gif },
            },
            Content::Picture(format) => SourceKind::Raster { bytes, format },
            Content::Avi => {
                let film = Film::of_avi(path, &bytes)?;
                SourceKind::Film { bytes, film }
            }
            Content::Dicom => {
                let opened =
                    guarded::run(|| OpenedDicom::read(path, bytes)).unwrap_or_else(|| Err(beaten(path)))?;
                SourceKind::Dicom(Box::new(opened))
            }
            Content::Other(_) | Content::Unknown => {
                return Err(not_a_picture(path, content, bytes.is_empty()));
            }
        };
        Ok(Self { path: path.to_path_buf(), digest, digest_waits, kind })
    }

    /// How many frames there are, at least 1.
    #[must_use]
    pub fn frames(&self) -> u32 {
        match &self.kind {
            SourceKind::Raster { .. } => 1,
            SourceKind::Film { film, .. } => film.frames(),
            SourceKind::Dicom(opened) => opened.frames(),
        }
    }

    /// How many bytes of memory the file takes while it is open.
    #[must_use]
    pub fn bytes(&self) -> usize {
        match &self.kind {
            SourceKind::Raster { bytes, .. } | SourceKind::Film { bytes, .. } => bytes.len(),
            SourceKind::Dicom(opened) => opened.bytes(),
        }
    }

    /// Digest of the file's bytes, `sha256:` and 64 hexadecimal digits. It is made beside the decoding, or begun once that is done where
    /// it takes all cores; asking for it waits.
    #[must_use]
    pub fn digest(&self) -> &str {
        &self.digest
    }

    /// The time the picture was taken as the file says it, if it does.
    #[must_use]
    pub fn taken(&self) -> Option<String> {
        match &self.kind {
            SourceKind::Raster { bytes, .. } => raster::taken(bytes),
            SourceKind::Film { .. } => None,
            SourceKind::Dicom(opened) => opened.taken(),
        }
    }

    /// How the file's pixels are written, in words.
    #[must_use]
    pub fn coding(&self) -> String {
        match &self.kind {
            SourceKind::Raster { format, .. } => format_name(*format).to_owned(),
            SourceKind::Film { film, .. } => film.coding().to_owned(),
            SourceKind::Dicom(opened) => format!("DICOM, {}", opened.syntax()),
        }
    }

    /// Decodes a frame, counted from 0.
    ///
    /// # Errors
    /// One sentence: there is no such frame, or it is damaged. It never panics on a file's content.
    pub fn frame(&self, frame: u32) -> Result<Frame, Error> {
        self.has(frame)?;
        // The decoders are good, but a panic in one of them must not take unsaved work with it.
        let decode = || self.decode(frame);
        let waits = matches!(&self.kind, SourceKind::Dicom(opened) if opened.is_decoded_apart());
        let decoded = if waits { guarded::wait(decode) } else { guarded::run(decode) };
        if self.digest_waits {
            make_aside(&self.digest);
        }
        decoded.unwrap_or_else(|| Err(beaten(&self.path)))
    }

    /// Decodes these frames, counted from 0 and rising, and hands on each as it comes: as [`Source::frame`] for each of them,
    /// but a film whose frames build on those before is gone through once.
    ///
    /// # Errors
    /// As [`Source::frame`], at the first frame that cannot be had.
    pub fn each_frame(&self, frames: &[u32], with: &mut (dyn FnMut(u32, Frame) + Send)) -> Result<(), Error> {
        frames.iter().try_for_each(|&frame| self.has(frame))?;
        match &self.kind {
            SourceKind::Film { bytes, film } if frames.is_sorted_by(|a, b| a < b) => {
                let all = || film.each_frame(&self.path, bytes, (frames, &self.digest), with);
                guarded::run(all).unwrap_or_else(|| Err(beaten(&self.path)))
            }
            _ => frames.iter().try_for_each(|&frame| {
                with(frame, self.frame(frame)?);
                Ok(())
            }),
        }
    }

    /// Refuses a frame that is not there.
    fn has(&self, frame: u32) -> Result<(), Error> {
        if frame < self.frames() {
            return Ok(());
        }
        let text = match self.frames() {
            1 => format!("it has no frame {frame}; frame 0 is its only one"),
            n => format!("it has no frame {frame}; its frames are 0 to {}", n - 1),
        };
        Err(Error::new(ErrorKind::Missing, &self.path, text))
    }

    fn decode(&self, frame: u32) -> Result<Frame, Error> {
        match &self.kind {
            SourceKind::Raster { bytes, format } => {
                let mut frame = raster::decode(&self.path, bytes, *format, &self.digest)?;
                if let Some(warning) = extension_lies(&self.path, *format) {
                    frame.warnings.insert(0, warning);
                }
                Ok(frame)
            }
            SourceKind::Dicom(opened) => opened.frame(frame, &self.digest),
            SourceKind::Film { bytes, film } => film.frame(&self.path, bytes, frame, &self.digest),
        }
    }
}

/// A large DICOM file that its beginning shows to be of no use is not read as a whole.
fn refused_early(path: &Path) -> Result<(), Error> {
    if std::fs::metadata(path).is_ok_and(|about| about.len() > 2 * early::BEGINNING) {
        let start = files::beginning(path, early::BEGINNING)?;
        let refused = guarded::run(|| early::refused(path, &start)).unwrap_or_else(|| Some(beaten(path)));
        return refused.map_or(Ok(()), Err);
    }
    Ok(())
}

/// Why a file is no picture that is opened.
fn not_a_picture(path: &Path, content: Content, empty: bool) -> Error {
    let text = match content {
        Content::Other(what) => {
            format!("it is {what}, which is not supported; save the image as PNG or TIFF first")
        }
        _ if empty => "the file is empty; copy the image again".to_owned(),
        _ => {
            "it is not a supported image; open PNG, JPEG, TIFF, BMP, WebP, GIF, PNM, AVI or DICOM".to_owned()
        }
    };
    Error::new(ErrorKind::Unsupported, path, text)
}

fn beaten(path: &Path) -> Error {
    let text = "its content is damaged and cannot be decoded; save the image again";
    Error::new(ErrorKind::Damaged, path, text)
}
