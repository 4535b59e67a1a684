//! What the user wrote down of treated bodies, in words.

use crate::case::document::Case;
use crate::case::document::record::BodyRecord;
use crate::scene::format;

/// One line for each body that something was written down of: `L4, patient's right: lesion time 900 s; remarks: …`.
#[must_use]
pub fn of_case(case: &Case) -> Vec<String> {
    let line = |record: &BodyRecord| {
        let words = [
            record.lesion_s.map(|seconds| format!("lesion time {}", format::seconds(seconds))),
            record.remarks.as_ref().map(|remarks| format!("remarks: {remarks}")),
        ];
        let words: Vec<String> = words.into_iter().flatten().collect();
        (!words.is_empty())
            .then(|| format!("{}: {}", format::body(record.level, record.side), words.join("; ")))
    };
    case.bodies.iter().filter_map(line).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::measure::mark::{Level, Side};

    #[test]
    fn what_is_written_down_is_said_as_it_is() {
        let mut case = Case::default();
        let mut record = BodyRecord::new(Level::L4, Side::Right);
        record.lesion_s = Some(900.0);
        case.bodies.push(record.clone());
        assert_eq!(of_case(&case), ["L4, patient's right: lesion time 900 s"]);
        record.lesion_s = None;
        record.remarks = Some("calm".to_owned());
        case.bodies[0] = record;
        assert_eq!(of_case(&case), ["L4, patient's right: remarks: calm"]);
    }
}
