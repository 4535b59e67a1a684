//! What is typed into a field, as a change of the case, or as a sentence that says why it cannot be one.

use crate::app::marking::guide::capital;
use crate::case::document::edit::{Description, Edit};
use crate::case::document::{Case, Shot};
use crate::measure::calibration::Calibration;
use crate::measure::mark::Stage;
use crate::measure::settings::{Band, Rule, Settings};
use crate::scene::format;

/// Something that is typed.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum TypedField {
    /// The case's title.
    Title,
    /// Who operated, as a code.
    Operator,
    /// The date of the case.
    Date,
    /// Standard deviation of a bone mark.
    BoneSd,
    /// Standard deviation of a mark on metal.
    MetalSd,
    /// Half-width of the view's turn.
    ViewHalfWidth,
    /// The smallest change that matters.
    ChangeThatMatters,
    /// A band of a stage's target.
    Band(Stage, Rule),
    /// The shown shot's name.
    ShotName,
    /// The shown shot's scale.
    ShotScale,
}

impl TypedField {
    /// What it is called.
    #[must_use]
    pub fn label(self) -> String {
        match self {
            Self::Title => "Title".to_owned(),
            Self::Operator => "Operator".to_owned(),
            Self::Date => "Date".to_owned(),
            Self::BoneSd => "Marks on bone, mm".to_owned(),
            Self::MetalSd => "Marks on metal, mm".to_owned(),
            Self::ViewHalfWidth => "Undetected rotation, ± °".to_owned(),
            Self::ChangeThatMatters => "Smallest relevant change, %".to_owned(),
            Self::Band(stage, rule) => {
                let rule = match rule {
                    Rule::Depth => "Depth",
                    Rule::Height => "Height",
                    Rule::Midline => "Offset from the midline",
                };
                format!("{rule}, {}", format::stage(stage))
            }
            Self::ShotName => "name".to_owned(),
            Self::ShotScale => "mm/pixel".to_owned(),
        }
    }

    /// What it means, in a sentence or two.
    #[must_use]
    pub const fn tip(self) -> &'static str {
        match self {
            Self::Title => "Your name for the case; it appears in figures.",
            Self::Operator => "A code such as R1 rather than a name.",
            Self::Date => "Year, month and day: 2026-02-03.",
            Self::BoneSd => "Marking error on bone borders: 1 SD along each axis, at the plane of the body.",
            Self::MetalSd => "The same for marks on the tip, electrodes and cannula.",
            Self::ViewHalfWidth => {
                "How far the view may be rotated without showing a double contour; every angle up to this is taken as equally likely."
            }
            Self::ChangeThatMatters => {
                "The smallest change between two shots that is relevant; a change that lies entirely below it counts as no movement."
            }
            Self::Band(..) => "Target range in percent, such as 30–50. Empty: no target, no verdict.",
            Self::ShotName => "Name of the shot, unique within the case.",
            Self::ShotScale => {
                "Millimeters per image pixel at the plane of the body. Without it the size of a typical body is assumed, and the reading says so."
            }
        }
    }

    /// The text that stands for the value now; empty where there is none.
    #[must_use]
    pub fn shown(self, case: &Case, shot: Option<&Shot>) -> String {
        let settings = &case.settings;
        match self {
            Self::Title => case.title.clone().unwrap_or_default(),
            Self::Operator => case.operator.clone().unwrap_or_default(),
            Self::Date => case.date.clone().unwrap_or_default(),
            Self::BoneSd => format::as_typed(settings.bone_sd_mm),
            Self::MetalSd => format::as_typed(settings.metal_sd_mm),
            Self::ViewHalfWidth => format::as_typed(settings.view_half_width_deg),
            Self::ChangeThatMatters => format::percent_as_typed(settings.change_that_matters),
            Self::Band(stage, rule) => {
                settings.targets.band(Some(stage), rule).map_or_else(String::new, |band| {
                    let [low, high] = [band.low, band.high].map(format::percent_as_typed);
                    if band.low < 0.0 { format!("{low} to {high}") } else { format!("{low}–{high}") }
                })
            }
            Self::ShotName => shot.map(|shot| shot.id.clone()).unwrap_or_default(),
            Self::ShotScale => shot.and_then(|shot| shot.mm_per_px).map(format::as_typed).unwrap_or_default(),
        }
    }

    /// The change that the typed text stands for.
    ///
    /// # Errors
    /// One sentence that says what is wrong with it and what to type.
    pub fn change(self, case: &Case, shot: Option<&Shot>, text: &str) -> Result<Edit, String> {
        let text = text.trim();
        let words = || Some(text.to_owned()).filter(|text| !text.is_empty());
        match self {
            Self::Title => Ok(Edit::SetTitle(words())),
            Self::Operator => Ok(Edit::SetOperator(words())),
            Self::Date if text.is_empty() || is_date(text) => Ok(Edit::SetDate(words())),
            Self::Date => {
                Err(format!("“{text}” is not a date; type year, month and day such as 2026-02-03."))
            }
            Self::BoneSd => setting(case, number(text, "millimeters such as 0.5")?, |s, x| s.bone_sd_mm = x),
            Self::MetalSd => {
                setting(case, number(text, "millimeters such as 0.25")?, |s, x| s.metal_sd_mm = x)
            }
            Self::ViewHalfWidth => {
                setting(case, number(text, "degrees such as 1.4")?, |s, x| s.view_half_width_deg = x)
            }
            Self::ChangeThatMatters => {
                let percent = number(text.trim_end_matches('%').trim_end(), "percent such as 8")?;
                setting(case, percent / 100.0, |s, x| s.change_that_matters = x)
            }
            Self::Band(stage, rule) => band(case, stage, rule, text),
            Self::ShotName => name(case, shot, text),
            Self::ShotScale => scale(shot, text),
        }
    }
}

/// The edit that brings the reference values back to the method's own.
#[must_use]
pub fn defaults() -> Edit {
    Edit::SetSettings(Box::default())
}

fn number(text: &str, such_as: &str) -> Result<f64, String> {
    let plain = text.replace(',', ".").replace('−', "-");
    let found = plain.parse::<f64>().ok().filter(|x| x.is_finite());
    found.ok_or_else(|| format!("“{text}” is not a number; type {such_as}."))
}

fn setting(case: &Case, value: f64, set: impl FnOnce(&mut Settings, f64)) -> Result<Edit, String> {
    let mut settings = case.settings.clone();
    set(&mut settings, value);
    checked(settings)
}

fn checked(settings: Settings) -> Result<Edit, String> {
    match settings.fault() {
        Some(why) => Err(capital(&format!("{why}."))),
        None => Ok(Edit::SetSettings(Box::new(settings))),
    }
}

fn band(case: &Case, stage: Stage, rule: Rule, text: &str) -> Result<Edit, String> {
    let mut settings = case.settings.clone();
    let stages = &mut settings.targets.stages;
    if text.is_empty() {
        if let Some(bands) = stages.get_mut(&stage) {
            bands.remove(&rule);
            if bands.is_empty() {
                stages.remove(&stage);
            }
        }
        return checked(settings);
    }
    let Some((low, high)) = two_numbers(text) else {
        return Err(format!(
            "“{text}” is not a range; type two numbers in percent such as 30–50, or leave it empty."
        ));
    };
    if low > high {
        return Err("Type the lower end first.".to_owned());
    }
    // A band of less than one percent was meant as fractions.
    if low.abs() <= 1.0 && high.abs() <= 1.0 && high > low {
        return Err("Type the range in percent, such as 30–50, not as fractions.".to_owned());
    }
    stages.entry(stage).or_default().insert(rule, Band::new(low / 100.0, high / 100.0));
    checked(settings)
}

/// `30–50`, `30 - 50`, `−10 to +10 %`.
fn two_numbers(text: &str) -> Option<(f64, f64)> {
    let plain = text.replace('%', " ").replace(',', ".").replace('−', "-");
    let (low, rest) = leading_number(plain.trim())?;
    let rest = rest.trim_start();
    let rest = ["to", "–", "-", ";"].into_iter().find_map(|sign| rest.strip_prefix(sign))?;
    let (high, rest) = leading_number(rest.trim_start())?;
    rest.trim().is_empty().then_some((low, high))
}

fn leading_number(text: &str) -> Option<(f64, &str)> {
    let signed = usize::from(text.starts_with(['-', '+']));
    let end =
        text[signed..].find(|c: char| !c.is_ascii_digit() && c != '.').map_or(text.len(), |at| at + signed);
    let value: f64 = text[..end].parse().ok()?;
    value.is_finite().then_some((value, &text[end..]))
}

fn is_date(text: &str) -> bool {
    let shaped = text.len() == 10
        && text
            .bytes()
            .enumerate()
            .all(|(i, b)| if i == 4 || i == 7 { b == b'-' } else { b.is_ascii_digit() });
    if !shaped {
        return false;
    }
    let part = |from: usize, to: usize| text[from..to].parse::<u32>().unwrap_or(0);
    let (year, month, day) = (part(0, 4), part(5, 7), part(8, 10));
    let leap = (year % 4 == 0 && year % 100 != 0) || year % 400 == 0;
    let days = match month {
        1 | 3 | 5 | 7 | 8 | 10 | 12 => 31,
        4 | 6 | 9 | 11 => 30,
        2 => 28 + u32::from(leap),
        _ => 0,
    };
    (1..=days).contains(&day)
}

fn name(case: &Case, shot: Option<&Shot>, text: &str) -> Result<Edit, String> {
    let Some(shot) = shot else { return Err("No shot is shown.".to_owned()) };
    if text.is_empty() {
        return Err("Type a name that no other shot of this case has.".to_owned());
    }
    if case.shots.iter().any(|other| other.id == text && other.id != shot.id) {
        return Err(format!("This case already has a shot “{text}”; type another name."));
    }
    Ok(Edit::Describe { shot: shot.id.clone(), what: Description::Id(text.to_owned()) })
}

fn scale(shot: Option<&Shot>, text: &str) -> Result<Edit, String> {
    let Some(shot) = shot else { return Err("No shot is shown.".to_owned()) };
    let set = |scale| Edit::Describe { shot: shot.id.clone(), what: Description::Scale(scale) };
    if text.is_empty() {
        return Ok(set(None));
    }
    let scale = Calibration::typed(number(text, "millimeters per pixel such as 0.31, or nothing")?, None);
    match scale.fault() {
        Some(why) => Err(capital(&format!("{why}."))),
        None => Ok(set(Some(scale))),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::measure::mark::View;

    fn case() -> Case {
        Case {
            shots: ["a", "b"].map(|id| Shot::new(id, "x.png", View::Lateral)).to_vec().into(),
            ..Case::default()
        }
    }

    /// Types the text and gives what then stands in the field, or the sentence.
    fn typed(field: TypedField, text: &str) -> Result<String, String> {
        let mut case = case();
        let edit = field.change(&case, case.shots.first(), text)?;
        case.apply(&edit).unwrap();
        Ok(field.shown(&case, case.shots.first()))
    }

    #[test]
    fn what_stands_in_a_field_means_itself() {
        let case = case();
        let mut fields = vec![
            TypedField::BoneSd,
            TypedField::MetalSd,
            TypedField::ViewHalfWidth,
            TypedField::ChangeThatMatters,
        ];
        fields.extend(
            Stage::ALL.into_iter().flat_map(|s| Rule::ALL.into_iter().map(move |r| TypedField::Band(s, r))),
        );
        for field in fields {
            let text = field.shown(&case, None);
            let mut same = case.clone();
            same.apply(&field.change(&case, None, &text).unwrap()).unwrap();
            assert_eq!(field.shown(&same, None), text, "{field:?}");
            assert_eq!(same.settings.targets.stages.len(), case.settings.targets.stages.len(), "{field:?}");
        }
    }

    #[test]
    fn bands_are_typed_in_percent_and_in_many_ways() {
        let field = TypedField::Band(Stage::Final, Rule::Depth);
        for text in ["25–45", "25-45", " 25 - 45 % ", "25 to 45", "25 %; 45"] {
            assert_eq!(typed(field, text).as_deref(), Ok("25–45"), "{text}");
        }
        for text in ["-10 to +10", "−10–10", "-10-10"] {
            assert_eq!(typed(field, text).as_deref(), Ok("−10 to 10"), "{text}");
        }
        assert_eq!(typed(field, "12,5–30").as_deref(), Ok("12.5–30"));
        assert_eq!(typed(field, "").as_deref(), Ok(""));
        for (text, said) in [
            ("thirty", "not a range"),
            ("30", "not a range"),
            ("50–30", "end first"),
            ("0.3–0.5", "in percent"),
        ] {
            assert!(typed(field, text).unwrap_err().contains(said), "{text}");
        }
    }

    #[test]
    fn bad_values_get_one_sentence_that_says_what_to_type() {
        let bad = [
            (TypedField::BoneSd, "half"),
            (TypedField::BoneSd, "-1"),
            (TypedField::BoneSd, "1e9"),
            (TypedField::MetalSd, "nan"),
            (TypedField::ViewHalfWidth, "90"),
            (TypedField::ChangeThatMatters, "much"),
            (TypedField::Date, "3.2.2026"),
            (TypedField::Date, "2026-02-30"),
            (TypedField::ShotName, " "),
            (TypedField::ShotName, "b"),
            (TypedField::ShotScale, "0"),
            (TypedField::ShotScale, "wide"),
        ];
        for (field, text) in bad {
            let sentence = typed(field, text).unwrap_err();
            assert!(sentence.ends_with('.') && !sentence.contains('!'), "{sentence}");
            assert!(sentence.starts_with(|c: char| c.is_uppercase() || c == '“'), "{sentence}");
        }
    }

    #[test]
    fn good_values_go_in_with_comma_or_point() {
        assert_eq!(typed(TypedField::BoneSd, "0,7").as_deref(), Ok("0.7"));
        assert_eq!(typed(TypedField::ChangeThatMatters, "10 %").as_deref(), Ok("10"));
        assert_eq!(typed(TypedField::Date, "2024-02-29").as_deref(), Ok("2024-02-29"));
        assert_eq!(typed(TypedField::ShotScale, "0,31").as_deref(), Ok("0.31"));
        assert_eq!(typed(TypedField::ShotScale, "").as_deref(), Ok(""));
        assert_eq!(typed(TypedField::Title, "  ").as_deref(), Ok(""));
    }
}
