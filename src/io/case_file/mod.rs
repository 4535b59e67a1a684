//! The case file: reads any version, writes the newest.
//!
//! Reading order: [`fields`] (JSON with the place of every value, so that an error can name it), [`v1`] (version 1
//! to a case), [`records`] (what the user wrote down), [`figures`] (templates of figures), [`rereadings`] (rounds of blind readings in it),
//! [`labels`] (what is drawn on a shot for teaching, both ways), [`marks`] (marks, both ways), [`proposed`] (their origin, both ways), [`text`] (how values
//! are written), [`mod@write`] (a case to version 1).
//!
//! The mirror of the format is written out by hand instead of derived: errors then name the field in the user's
//! terms, numbers come through exactly, and what this version does not know is kept word for word.

mod fields;
mod figures;
mod labels;
mod marks;
mod proposed;
mod records;
mod rereadings;
mod text;
mod v1;
mod write;

use std::path::Path;

use crate::case::document::Case;
use crate::io::case_file::fields::{Fault, JsonField};
use crate::io::error::{Error, ErrorKind};

/// What the key `format` says in every version.
pub const FORMAT: &str = "stillmark case";
/// The newest version, which is the one written.
pub const VERSION: u64 = 1;
/// The largest case file that is opened, in bytes.
pub const MAX_BYTES: u64 = 64_000_000;

/// The case in the bytes of a case file of any version; `path` is for sentences only.
///
/// # Errors
/// One sentence that names the file, the field and the remedy.
pub fn from_bytes(path: &Path, bytes: &[u8]) -> Result<Case, Error> {
    parse(bytes).map_err(|fault| {
        let kind = match fault.kind {
            fields::FaultKind::Foreign => ErrorKind::Unsupported,
            fields::FaultKind::Newer => ErrorKind::Newer,
            fields::FaultKind::Wrong => ErrorKind::Damaged,
        };
        Error::new(kind, path, fault.sentence())
    })
}

/// The text of a case file of the newest version, ending in a line break; `path` is for sentences only.
///
/// The text is read back before it is returned, so that nothing is ever saved that could not be opened.
///
/// # Errors
/// Says which value a case file cannot hold, such as a number that is not finite.
pub fn to_text(path: &Path, case: &Case) -> Result<String, Error> {
    let text = write::case_text(case);
    parse(text.as_bytes()).map_err(|fault| {
        let text = format!(
            "not saved, because the case contains something a case file cannot hold: {}",
            fault.sentence()
        );
        Error::new(ErrorKind::Other, path, text)
    })?;
    Ok(text)
}

fn parse(bytes: &[u8]) -> Result<Case, Fault> {
    let bytes = bytes.strip_prefix(b"\xef\xbb\xbf").unwrap_or(bytes);
    if bytes.iter().all(u8::is_ascii_whitespace) {
        return Err(Fault::foreign("the file is empty; open another file or an earlier copy"));
    }
    let text = std::str::from_utf8(bytes)
        .map_err(|_not_text| Fault::foreign("it is not a Stillmark case file: it is not UTF-8 text"))?;
    fields::check_nesting(text)?;
    let whole = JsonField::whole(text)?;
    if !whole.is_object() {
        return Err(Fault::foreign("it is not a Stillmark case file: it is not a JSON object in braces"));
    }
    let mut members = whole.members()?;
    let format = members.take("format").map(|f| f.text()).transpose().ok().flatten();
    if format.as_deref() != Some(FORMAT) {
        let text = "it is not a Stillmark case file: its “format” is not “stillmark case”";
        return Err(Fault::foreign(text));
    }
    let version = members.take("version").ok_or_else(|| Fault::missing("version", "write 1"))?;
    match version.whole_number()? {
        1 => v1::case(members),
        newer if newer > VERSION => Err(Fault::newer(format!(
            "the file was written by a newer Stillmark (format version {newer}; this one reads up to {VERSION}); open it with the newer one"
        ))),
        _ => Err(version.fault("must be 1")),
    }
}
