//! Small DICOM files, written byte by byte as PS3.5 and PS3.10 say, and the coders that no library here has.

use std::io::Write as _;

/// Group and element.
pub(crate) type Tag = (u16, u16);

/// A transfer syntax's identifier behind `1.2.840.10008.1.2`.
pub(crate) const IMPLICIT: &str = "";
pub(crate) const EXPLICIT: &str = ".1";
pub(crate) const DEFLATED: &str = ".1.99";
pub(crate) const BIG: &str = ".2";

/// A file in the making.
#[derive(Clone, Debug)]
pub(crate) struct File {
    pub(crate) syntax: &'static str,
    pub(crate) preamble: bool,
    pub(crate) meta: bool,
    pub(crate) class: &'static str,
    pub(crate) elements: Vec<(Tag, [u8; 2], Value)>,
    pub(crate) pixels: Pixels,
}

/// A value, put into bytes in the order that the syntax asks for.
#[derive(Clone, Debug)]
pub(crate) enum Value {
    Text(String),
    Shorts(Vec<u16>),
    Bytes(Vec<u8>),
    Items(Vec<Vec<(Tag, [u8; 2], Value)>>),
}

/// The pixels.
#[derive(Clone, Debug)]
pub(crate) enum Pixels {
    None,
    Bytes(Vec<u8>),
    Words(Vec<u16>),
    Fragments { table: Vec<u32>, pieces: Vec<Vec<u8>> },
}

impl File {
    /// A grey picture of 16 bits, `stored` of them used.
    pub(crate) fn grey(columns: u16, rows: u16, stored: u16, signed: bool) -> Self {
        let mut file = Self {
            syntax: EXPLICIT,
            preamble: true,
            meta: true,
            class: "1.2.840.10008.5.1.4.1.1.1",
            elements: Vec::new(),
            pixels: Pixels::None,
        };
        file.text((8, 5), b"CS", "ISO_IR 100");
        file.text((0x10, 0x10), b"PN", "NOBODY^AT ALL");
        file.short((0x28, 2), 1);
        file.text((0x28, 4), b"CS", "MONOCHROME2");
        file.short((0x28, 0x10), rows);
        file.short((0x28, 0x11), columns);
        file.short((0x28, 0x100), if stored <= 8 { 8 } else { 16 });
        file.short((0x28, 0x101), stored);
        file.short((0x28, 0x102), stored - 1);
        file.short((0x28, 0x103), u16::from(signed));
        file
    }

    /// The same in this transfer syntax.
    pub(crate) fn written(mut self, syntax: &'static str) -> Self {
        self.syntax = syntax;
        self
    }

    pub(crate) fn with_pixels(mut self, pixels: Pixels) -> Self {
        self.pixels = pixels;
        self
    }

    pub(crate) fn put(&mut self, tag: Tag, vr: &[u8; 2], value: Value) {
        self.elements.retain(|(other, ..)| *other != tag);
        self.elements.push((tag, *vr, value));
        self.elements.sort_by_key(|(tag, ..)| *tag);
    }

    pub(crate) fn text(&mut self, tag: Tag, vr: &[u8; 2], text: &str) {
        self.put(tag, vr, Value::Text(text.to_owned()));
    }

    pub(crate) fn short(&mut self, tag: Tag, value: u16) {
        self.put(tag, b"US", Value::Shorts(vec![value]));
    }

    /// The file's bytes.
    pub(crate) fn bytes(&self) -> Vec<u8> {
        let how = Writing { implicit: self.syntax == IMPLICIT, big: self.syntax == BIG };
        let mut set = Vec::new();
        for (tag, vr, value) in &self.elements {
            how.element(&mut set, *tag, *vr, value);
        }
        self.pixels_of(how, &mut set);
        let mut out = Vec::new();
        if self.preamble {
            out.resize(128, 0);
            out.extend(b"DICM");
        }
        if self.meta {
            let meta = Writing { implicit: false, big: false };
            meta.element(&mut out, (2, 2), *b"UI", &Value::Text(self.class.to_owned()));
            let uid = format!("1.2.840.10008.1.2{}", self.syntax);
            meta.element(&mut out, (2, 0x10), *b"UI", &Value::Text(uid));
        }
        if self.syntax == DEFLATED {
            out.extend(deflated(&set));
        } else {
            out.extend(set);
        }
        out
    }

    fn pixels_of(&self, how: Writing, set: &mut Vec<u8>) {
        const PIXELS: Tag = (0x7fe0, 0x10);
        match &self.pixels {
            Pixels::None => {}
            Pixels::Bytes(bytes) => how.element(set, PIXELS, *b"OB", &Value::Bytes(bytes.clone())),
            Pixels::Words(words) => how.element(set, PIXELS, *b"OW", &Value::Shorts(words.clone())),
            Pixels::Fragments { table, pieces } => {
                how.tag(set, PIXELS);
                set.extend(b"OB\0\0\xff\xff\xff\xff");
                let table: Vec<u8> = table.iter().flat_map(|offset| offset.to_le_bytes()).collect();
                for piece in std::iter::once(&table).chain(pieces) {
                    how.tag(set, (0xfffe, 0xe000));
                    let odd = piece.len() % 2;
                    set.extend(length32(piece.len() + odd).to_le_bytes());
                    set.extend(piece);
                    set.extend(std::iter::repeat_n(0, odd));
                }
                set.extend(b"\xfe\xff\xdd\xe0\0\0\0\0");
            }
        }
    }
}

#[derive(Clone, Copy)]
struct Writing {
    implicit: bool,
    big: bool,
}

impl Writing {
    fn tag(self, out: &mut Vec<u8>, tag: Tag) {
        for half in [tag.0, tag.1] {
            out.extend(if self.big { half.to_be_bytes() } else { half.to_le_bytes() });
        }
    }

    fn element(self, out: &mut Vec<u8>, tag: Tag, vr: [u8; 2], value: &Value) {
        let mut bytes = match value {
            Value::Text(text) => text.as_bytes().to_vec(),
            Value::Bytes(bytes) => bytes.clone(),
            Value::Shorts(words) if self.big => words.iter().flat_map(|word| word.to_be_bytes()).collect(),
            Value::Shorts(words) => words.iter().flat_map(|word| word.to_le_bytes()).collect(),
            Value::Items(items) => {
                let mut bytes = Vec::new();
                for item in items {
                    let mut inner = Vec::new();
                    item.iter().for_each(|(tag, vr, value)| self.element(&mut inner, *tag, *vr, value));
                    self.tag(&mut bytes, (0xfffe, 0xe000));
                    self.length(&mut bytes, inner.len());
                    bytes.extend(inner);
                }
                bytes
            }
        };
        if bytes.len() % 2 == 1 {
            bytes.push(if vr == *b"UI" || vr == *b"OB" { 0 } else { b' ' });
        }
        self.tag(out, tag);
        if !self.implicit {
            out.extend(vr);
            if [b"OB", b"OW", b"SQ", b"UN", b"UT"].contains(&&vr) {
                out.extend([0, 0]);
                self.length(out, bytes.len());
            } else {
                let length = u16::try_from(bytes.len()).expect("a short value");
                out.extend(if self.big { length.to_be_bytes() } else { length.to_le_bytes() });
            }
        } else {
            self.length(out, bytes.len());
        }
        out.extend(bytes);
    }

    fn length(self, out: &mut Vec<u8>, length: usize) {
        let length = length32(length);
        out.extend(if self.big { length.to_be_bytes() } else { length.to_le_bytes() });
    }
}

fn length32(length: usize) -> u32 {
    u32::try_from(length).expect("a small value")
}

/// Raw deflate.
pub(crate) fn deflated(bytes: &[u8]) -> Vec<u8> {
    let mut writer = flate2::write::DeflateEncoder::new(Vec::new(), flate2::Compression::fast());
    writer.write_all(bytes).expect("memory");
    writer.finish().expect("memory")
}

/// A run-length coded frame (PS3.5, Annex G) of byte planes, the highest byte first.
pub(crate) fn rle(planes: &[Vec<u8>]) -> Vec<u8> {
    let mut segments: Vec<Vec<u8>> = Vec::new();
    for plane in planes {
        let mut segment = Vec::new();
        for chunk in plane.chunks(100) {
            let run = chunk.iter().all(|byte| *byte == chunk[0]) && chunk.len() > 1;
            if run {
                segment.push(u8::try_from(257 - chunk.len()).expect("a run of 2 to 128"));
                segment.push(chunk[0]);
            } else {
                segment.push(u8::try_from(chunk.len() - 1).expect("a literal of 1 to 128"));
                segment.extend(chunk);
            }
        }
        if segment.len() % 2 == 1 {
            segment.push(128);
        }
        segments.push(segment);
    }
    let mut head = vec![length32(segments.len())];
    let mut offset = 64;
    for segment in &segments {
        head.push(offset);
        offset += length32(segment.len());
    }
    head.resize(16, 0);
    head.iter().flat_map(|n| n.to_le_bytes()).chain(segments.into_iter().flatten()).collect()
}

/// The two byte planes of words.
pub(crate) fn planes_of(words: &[u16]) -> Vec<Vec<u8>> {
    let high = words.iter().map(|word| word.to_be_bytes()[0]).collect();
    let low = words.iter().map(|word| word.to_be_bytes()[1]).collect();
    vec![high, low]
}

/// A lossless JPEG stream of one component (ITU-T T.81, process 14, first predictor), every difference's category
/// in a code of five bits.
pub(crate) fn jpeg_lossless(values: &[u16], columns: u16, rows: u16, bits: u8) -> Vec<u8> {
    let mut out = vec![0xff, 0xd8, 0xff, 0xc3, 0, 11, bits];
    out.extend(rows.to_be_bytes());
    out.extend(columns.to_be_bytes());
    out.extend([1, 1, 0x11, 0]);
    // Seventeen codes of length 5, for the categories 0 to 16.
    out.extend([0xff, 0xc4, 0, 2 + 1 + 16 + 17, 0]);
    out.extend([0, 0, 0, 0, 17, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0]);
    out.extend(0..17);
    out.extend([0xff, 0xda, 0, 8, 1, 1, 0, 1, 0, 0]);
    let mut writer = Bits { out, kept: 0, count: 0 };
    let width = usize::from(columns);
    for (i, &value) in values.iter().enumerate() {
        let before = match (i % width, i / width) {
            (0, 0) => 1 << (bits - 1),
            (0, _) => values[i - width],
            _ => values[i - 1],
        };
        let difference = i32::from(value) - i32::from(before);
        let category = 32 - difference.unsigned_abs().leading_zeros();
        writer.put(category, 5);
        if category > 0 {
            let low = if difference < 0 { difference - 1 } else { difference };
            writer.put(low.cast_unsigned() & ((1 << category) - 1), category);
        }
    }
    while writer.count != 0 {
        writer.put(1, 1);
    }
    writer.out.extend([0xff, 0xd9]);
    writer.out
}

struct Bits {
    out: Vec<u8>,
    kept: u8,
    count: u32,
}

impl Bits {
    fn put(&mut self, value: u32, bits: u32) {
        for bit in (0..bits).rev() {
            self.kept = (self.kept << 1) | u8::from((value >> bit) & 1 == 1);
            self.count += 1;
            if self.count == 8 {
                self.out.push(self.kept);
                if self.kept == 0xff {
                    self.out.push(0);
                }
                (self.kept, self.count) = (0, 0);
            }
        }
    }
}
