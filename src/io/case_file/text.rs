//! The text of a JSON value as the case file has it: one value a line, points on one line, numbers short and exact.

use crate::case::document::extra::Extra;
use crate::geom::point::Point;

/// The longest line of points, in bytes.
pub(super) const WIDTH: usize = 110;

/// A mark's points on one line, or one a line where there are many.
pub(super) fn points(slots: &[Option<Point>]) -> String {
    let point = |slot: &Option<Point>| {
        slot.map_or_else(|| "null".to_owned(), |p| format!("[{}, {}]", number(p.x), number(p.y)))
    };
    let texts: Vec<_> = slots.iter().map(point).collect();
    let line = format!("[{}]", texts.join(", "));
    if line.len() <= WIDTH { line } else { list(4, texts) }
}

/// The shortest text that is read back as the same number; whole numbers without a decimal point.
pub(super) fn number(value: f64) -> String {
    if value.fract() == 0.0 && value.abs() < 1e15 { format!("{value}") } else { format!("{value:?}") }
}

/// A text in quotation marks, with what JSON needs escaped.
pub(super) fn quoted(text: &str) -> String {
    serde_json::Value::from(text).to_string()
}

/// A list with one element a line.
pub(super) fn list(level: usize, elements: Vec<String>) -> String {
    if elements.is_empty() {
        return "[]".to_owned();
    }
    let (inner, outer) = (indent(level + 1), indent(level));
    let lines: Vec<_> = elements.into_iter().map(|e| format!("{inner}{e}")).collect();
    format!("[\n{}\n{outer}]", lines.join(",\n"))
}

fn indent(level: usize) -> String {
    "  ".repeat(level)
}

/// An object under way: its members with their texts.
pub(super) struct Object {
    level: usize,
    members: Vec<(String, String)>,
}

impl Object {
    pub(super) const fn at(level: usize) -> Self {
        Self { level, members: Vec::new() }
    }

    pub(super) fn put(&mut self, key: &str, text: String) {
        self.members.push((key.to_owned(), text));
    }

    pub(super) fn put_text(&mut self, key: &str, text: Option<&str>) {
        if let Some(text) = text {
            self.put(key, quoted(text));
        }
    }

    /// What was not known on reading, word for word; a key that is known by now stands before it.
    pub(super) fn put_extra(&mut self, extra: &Extra) {
        for (key, text) in &extra.0 {
            if !self.members.iter().any(|(known, _)| known == key) {
                self.put(key, text.clone());
            }
        }
    }

    pub(super) const fn is_empty(&self) -> bool {
        self.members.is_empty()
    }

    pub(super) fn end(self) -> String {
        if self.members.is_empty() {
            return "{}".to_owned();
        }
        let (inner, outer) = (indent(self.level + 1), indent(self.level));
        let line = |(key, text): &(String, String)| format!("{inner}{}: {text}", quoted(key));
        let lines: Vec<_> = self.members.iter().map(line).collect();
        format!("{{\n{}\n{outer}}}", lines.join(",\n"))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_are_short_and_exact() {
        for (value, text) in
            [(412.0, "412"), (365.4, "365.4"), (-0.1, "-0.1"), (1e300, "1e300"), (-0.0, "-0"), (1e-7, "1e-7")]
        {
            assert_eq!(number(value), text);
            assert_eq!(text.parse::<f64>().unwrap().to_bits(), value.to_bits());
        }
    }

    #[test]
    fn points_stand_on_one_line() {
        let slots = [Some(Point::new(1.0, 2.5)), None];
        assert_eq!(points(&slots), "[[1, 2.5], null]");
    }
}
