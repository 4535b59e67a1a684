//! JSON values that know where they stand in the file, so that whoever refuses one can name its place.

use std::collections::BTreeSet;
use std::fmt;

use serde::de::{Deserialize, Deserializer, MapAccess, Visitor};
use serde_json::value::RawValue;

use crate::case::document::extra::Extra;
use crate::geom::point::Point;
use crate::measure::mark::MAX_COORDINATE_PX;

/// How deep lists and objects may stand in each other; a case needs seven.
const MAX_NESTING: usize = 64;

/// What kind of trouble a fault is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum FaultKind {
    /// Not a case file at all.
    Foreign,
    /// A newer version of the format.
    Newer,
    /// Something in it is wrong.
    Wrong,
}

/// Why a text is not a case: where, and what is wrong.
#[derive(Clone, Debug)]
pub(super) struct Fault {
    /// What kind of trouble it is.
    pub(super) kind: FaultKind,
    /// The place in the file, such as `shots[2].marks.tip[0]`; empty for the file as a whole.
    place: String,
    /// What is wrong and what to do.
    text: String,
}

/// One value of the file.
#[derive(Clone, Debug)]
pub(super) struct JsonField<'a> {
    place: String,
    raw: &'a RawValue,
}

/// The members of an object that have not been taken yet, in the file's order.
#[derive(Debug)]
pub(super) struct Members<'a> {
    place: String,
    left: Vec<(String, &'a RawValue)>,
}

impl Fault {
    /// The file is something else.
    pub(super) fn foreign(text: impl Into<String>) -> Self {
        Self { kind: FaultKind::Foreign, place: String::new(), text: text.into() }
    }

    /// The file is of a newer version.
    pub(super) fn newer(text: impl Into<String>) -> Self {
        Self { kind: FaultKind::Newer, place: String::new(), text: text.into() }
    }

    /// A key that must be there is not.
    pub(super) fn missing(place: &str, remedy: &str) -> Self {
        let text = format!("is missing; {remedy}");
        Self { kind: FaultKind::Wrong, place: place.to_owned(), text }
    }

    /// Place and text in one.
    pub(super) fn sentence(&self) -> String {
        if self.place.is_empty() { self.text.clone() } else { format!("{}: {}", self.place, self.text) }
    }
}

impl<'a> JsonField<'a> {
    /// The value of a whole file.
    pub(super) fn whole(text: &'a str) -> Result<Self, Fault> {
        let raw = serde_json::from_str::<&RawValue>(text).map_err(|e| syntax("", &e))?;
        Ok(Self { place: String::new(), raw })
    }

    /// A fault at this place.
    pub(super) fn fault(&self, text: impl Into<String>) -> Fault {
        let (place, text) = (self.place.clone(), text.into());
        Fault { kind: FaultKind::Wrong, place, text }
    }

    /// The value's own text.
    pub(super) fn raw(&self) -> &'a str {
        self.raw.get()
    }

    /// Whether it is `null`.
    pub(super) fn is_null(&self) -> bool {
        self.raw() == "null"
    }

    /// Whether it is an object.
    pub(super) fn is_object(&self) -> bool {
        self.raw().starts_with('{')
    }

    /// The members of an object. A key that stands twice is refused, since one of the two would be lost.
    pub(super) fn members(&self) -> Result<Members<'a>, Fault> {
        if !self.is_object() {
            return Err(self.wrong_type("an object in braces"));
        }
        let Pairs(left) = serde_json::from_str(self.raw()).map_err(|e| syntax(&self.place, &e))?;
        let mut seen = BTreeSet::new();
        for (key, _) in &left {
            if !seen.insert(key) {
                return Err(
                    self.fault(format!("the key “{}” is given twice; keep one of them", shortened(key)))
                );
            }
        }
        Ok(Members { place: self.place.clone(), left })
    }

    /// The elements of a list.
    pub(super) fn elements(&self, of_what: &str) -> Result<Vec<Self>, Fault> {
        if !self.raw().starts_with('[') {
            return Err(self.wrong_type(&format!("a list of {of_what}")));
        }
        let list: Vec<&'a RawValue> =
            serde_json::from_str(self.raw()).map_err(|e| syntax(&self.place, &e))?;
        let named = |(i, raw)| Self { place: format!("{}[{i}]", self.place), raw };
        Ok(list.into_iter().enumerate().map(named).collect())
    }

    /// A text.
    pub(super) fn text(&self) -> Result<String, Fault> {
        if !self.raw().starts_with('"') {
            return Err(self.wrong_type("a text in quotation marks"));
        }
        serde_json::from_str(self.raw()).map_err(|e| syntax(&self.place, &e))
    }

    /// A finite number, exactly as written.
    pub(super) fn number(&self) -> Result<f64, Fault> {
        let text = self.raw();
        if !text.starts_with(|c: char| c == '-' || c.is_ascii_digit()) {
            return Err(self.wrong_type("a number"));
        }
        match text.parse::<f64>() {
            Ok(number) if number.is_finite() => Ok(number),
            _ => Err(self.fault(format!("the number {} is too large", shortened(text)))),
        }
    }

    /// A whole number from 0.
    pub(super) fn whole_number(&self) -> Result<u64, Fault> {
        self.raw().parse().ok().ok_or_else(|| self.wrong_type("a whole number from 0"))
    }

    /// Yes or no.
    pub(super) fn truth(&self) -> Result<bool, Fault> {
        match self.raw() {
            "true" => Ok(true),
            "false" => Ok(false),
            _ => Err(self.wrong_type("true or false")),
        }
    }

    /// A place in the picture.
    pub(super) fn point(&self) -> Result<Point, Fault> {
        let pair = || self.wrong_type("a point [x, y] of two numbers");
        if !self.raw().starts_with('[') {
            return Err(pair());
        }
        let [x, y] = <[Self; 2]>::try_from(self.elements("two numbers")?).ok().ok_or_else(pair)?;
        Ok(Point::new(x.coordinate()?, y.coordinate()?))
    }

    fn coordinate(&self) -> Result<f64, Fault> {
        let number = self.number()?;
        if number.abs() > MAX_COORDINATE_PX {
            let text = format!("the coordinate {} lies outside any image; correct it", shortened(self.raw()));
            return Err(self.fault(text));
        }
        Ok(number)
    }

    /// The value of a list of keys that a text names.
    pub(super) fn one_of<T: Copy, const N: usize>(
        &self,
        all: [T; N],
        key: impl Fn(T) -> &'static str,
    ) -> Result<T, Fault> {
        let text = self.text()?;
        all.into_iter().find(|&one| key(one) == text).ok_or_else(|| {
            let known = all.map(&key).join(", ");
            self.fault(format!("“{}” is not known; it must be one of {known}", shortened(&text)))
        })
    }

    /// A fault that says what is needed and what stands there.
    pub(super) fn wrong_type(&self, needed: &str) -> Fault {
        self.fault(format!("must be {needed}, but is {}", shortened(self.raw())))
    }
}

impl<'a> Members<'a> {
    /// The place of one of the members.
    pub(super) fn place_of(&self, key: &str) -> String {
        if self.place.is_empty() { key.to_owned() } else { format!("{}.{key}", self.place) }
    }

    /// Takes the value of a key out; `null` counts as missing.
    pub(super) fn take(&mut self, key: &str) -> Option<JsonField<'a>> {
        self.take_even_null(key).filter(|field| !field.is_null())
    }

    /// Takes the value of a key out, `null` included.
    pub(super) fn take_even_null(&mut self, key: &str) -> Option<JsonField<'a>> {
        let index = self.left.iter().position(|(k, _)| k == key)?;
        let (_, raw) = self.left.remove(index);
        Some(JsonField { place: self.place_of(key), raw })
    }

    /// Takes the value of a key out, which must be there.
    pub(super) fn need(&mut self, key: &str, remedy: &str) -> Result<JsonField<'a>, Fault> {
        self.take(key).ok_or_else(|| Fault::missing(&self.place_of(key), remedy))
    }

    /// Takes a text out, if it is there.
    pub(super) fn take_text(&mut self, key: &str) -> Result<Option<String>, Fault> {
        self.take(key).map(|field| field.text()).transpose()
    }

    /// What is left is unknown here, and is kept word for word.
    pub(super) fn into_extra(self) -> Extra {
        Extra(self.left.into_iter().map(|(key, raw)| (key, raw.get().to_owned())).collect())
    }
}

/// Refuses a text whose lists and objects stand deeper in each other than any case needs; the readers behind it
/// can then recurse without care.
pub(super) fn check_nesting(text: &str) -> Result<(), Fault> {
    let (mut depth, mut in_text, mut escaped) = (0_usize, false, false);
    for byte in text.bytes() {
        if in_text {
            in_text = escaped || byte != b'"';
            escaped = !escaped && byte == b'\\';
            continue;
        }
        match byte {
            b'"' => in_text = true,
            b'[' | b'{' => {
                depth += 1;
                if depth > MAX_NESTING {
                    let text = format!(
                        "lists and objects are nested more than {MAX_NESTING} deep, which no case file needs; open another or an earlier copy"
                    );
                    return Err(Fault { kind: FaultKind::Wrong, place: String::new(), text });
                }
            }
            b']' | b'}' => depth = depth.saturating_sub(1),
            _ => {}
        }
    }
    Ok(())
}

/// A parser's error as a sentence.
fn syntax(place: &str, error: &serde_json::Error) -> Fault {
    let (line, column) = (error.line(), error.column());
    let text = if error.is_eof() {
        "the file ends early and is incomplete; open an earlier copy".to_owned()
    } else if place.is_empty() {
        format!(
            "it is not valid JSON at line {line}, column {column}; correct it there or open an earlier copy"
        )
    } else {
        "is not valid JSON; correct it or open an earlier copy".to_owned()
    };
    Fault { kind: FaultKind::Wrong, place: place.to_owned(), text }
}

/// The beginning of a text, for quoting in a sentence.
fn shortened(text: &str) -> String {
    const MOST: usize = 40;
    if text.chars().count() <= MOST {
        return text.to_owned();
    }
    text.chars().take(MOST).chain(std::iter::once('…')).collect()
}

/// An object's members with their keys, in the file's order, twice-named ones included.
struct Pairs<'a>(Vec<(String, &'a RawValue)>);

impl<'de> Deserialize<'de> for Pairs<'de> {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        struct Collect;
        impl<'de> Visitor<'de> for Collect {
            type Value = Pairs<'de>;
            fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
                f.write_str("an object")
            }
            fn visit_map<A: MapAccess<'de>>(self, mut map: A) -> Result<Self::Value, A::Error> {
                let mut pairs = Vec::new();
                while let Some(pair) = map.next_entry()? {
                    pairs.push(pair);
                }
                Ok(Pairs(pairs))
            }
        }
        deserializer.deserialize_map(Collect)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_come_through_exactly() {
        for text in ["0.1", "-0.0", "1e-7", "123456789.123456789", "4.9e-324"] {
            let field = JsonField::whole(text).unwrap();
            assert_eq!(field.number().unwrap().to_bits(), text.parse::<f64>().unwrap().to_bits(), "{text}");
        }
        assert!(JsonField::whole("1e400").and_then(|f| f.number()).is_err());
        assert!(JsonField::whole("NaN").is_err());
    }

    #[test]
    fn nesting_is_counted_outside_texts() {
        assert!(check_nesting(&format!("\"{}\"", "[".repeat(100))).is_ok());
        assert!(check_nesting(&format!(r#""\"{}"#, "[".repeat(100))).is_ok());
        assert!(check_nesting(&"[".repeat(65)).is_err());
        assert!(check_nesting(&"[]".repeat(100)).is_ok());
    }

    #[test]
    fn a_key_that_stands_twice_is_refused() {
        let fault = JsonField::whole(r#"{"a": 1, "a": 2}"#).unwrap().members().unwrap_err();
        assert!(fault.sentence().contains("“a” is given twice"));
    }
}
