//! The numbers that are read first: depth and height, and in an AP the offset from the midline, each once. Where the
//! shot belongs to a matched pair, a number is the pair's, and its source is named.

use crate::app::display::final_shot::stage_note;
use crate::app::display::reading_details::HeightFrom;
use crate::app::marking::guide::capital;
use crate::app::session::document::Document;
use crate::app::shots::shot_summary::{Number, ShortName, ShotSummary};
use crate::case::document::Shot;
use crate::case::plan::standing::{Standing, standing_so_far, together};
use crate::case::readings::{ReadPairOf, ShotReading};
use crate::measure::mark::View;
use crate::measure::quantity::Quantity;
use crate::measure::settings::Rule;
use crate::measure::true_view::choice::used;
use crate::measure::verdict::{State, Verdict, VerdictRule};
use crate::scene::format;
use crate::scene::words::reading::midline_by;

/// One number with its verdict and where it comes from.
#[derive(Clone, Debug, PartialEq)]
pub struct FirstNumber<'a> {
    /// What it is.
    pub named: ShortName,
    /// Value and uncertainty, as fractions: what the verdict goes by.
    pub quantity: &'a Quantity,
    /// The direct reading, where the quantity is what a true view would show and rounds to another number.
    pub direct: Option<&'a Quantity>,
    /// The verdict, if the stage has a target for it.
    pub verdict: Option<&'a Verdict>,
    /// Where it comes from; empty where it can only come from this shot.
    pub source: String,
}

impl FirstNumber<'_> {
    /// What stands before the size of the number: `Depth`, and where it lies on the other side `Short of the midline`.
    #[must_use]
    pub fn name(&self) -> &'static str {
        let by_side = |rule| format::coordinate_name(rule, self.quantity.value);
        self.named.coordinate().map_or_else(|| self.named.word(), by_side)
    }

    /// The number behind [`FirstNumber::name`], which says the side: `22 % ± 3`.
    #[must_use]
    pub fn size(&self) -> String {
        format::size_of(self.quantity)
    }

    /// The direct reading, where it rounds to another number.
    #[must_use]
    pub fn direct_reading(&self) -> Option<String> {
        Some(worded(self.named, self.direct?))
    }

    /// The 95 % interval.
    #[must_use]
    pub fn interval(&self) -> String {
        let by_side = |rule| format::coordinate_interval(rule, self.quantity);
        self.named.coordinate().map_or_else(|| format::interval(self.quantity), by_side)
    }

    /// The same in fewest words, for a caption: `22 % ± 3 short`.
    #[must_use]
    pub fn brief(&self) -> String {
        match self.named.coordinate() {
            Some(rule) if format::coordinate(rule, self.quantity) != self.size() => {
                format::coordinate_brief(rule, self.quantity)
            }
            _ => self.phrase(),
        }
    }

    /// Name and number in one phrase: `depth 38 % ± 3`, `22 % ± 3 short of the midline`.
    #[must_use]
    pub fn phrase(&self) -> String {
        match self.named {
            ShortName::Midline => worded(self.named, self.quantity),
            other => format!("{} {}", other.short(), worded(other, self.quantity)),
        }
    }
}

/// A number that says on which side it lies.
fn worded(named: ShortName, quantity: &Quantity) -> String {
    let by_side = |rule| format::coordinate(rule, quantity);
    named.coordinate().map_or_else(|| format::percent_of(quantity), by_side)
}

/// The numbers of a shot that are read first, in their order.
#[must_use]
pub fn first_numbers<'a>(
    document: &'a Document,
    shot: &Shot,
    looked: &'a ShotSummary,
) -> Vec<FirstNumber<'a>> {
    let own = |number: Number<'a>| FirstNumber {
        named: number.named,
        quantity: number.used(),
        direct: other(number.direct, number.corrected),
        verdict: looked.verdict(number.named),
        source: own_source(&looked.reading, number.named),
    };
    let shown = looked.numbers().into_iter().filter(|number| number.named != ShortName::Across);
    let mut numbers: Vec<FirstNumber<'a>> = shown.map(own).collect();
    if let Some(pair) = document.pair_with(&shot.id).filter(|_| shot.view != View::Pedicle) {
        better_height(document, pair, &mut numbers);
    }
    numbers
}

/// How far a shot has come, by the numbers that stand beside its image when it is shown, and whether something puts them in
/// doubt: what its sign among the other shots says, too.
#[must_use]
pub fn standing_shown(document: &Document, shot: &Shot) -> (Standing, bool) {
    match document.looked(&shot.id) {
        None => (standing_so_far(shot, None), false),
        Some(looked) if !matches!(looked.standing, Standing::Judged(_)) => (looked.standing, false),
        Some(looked) => {
            let standing = shown_standing(looked.standing, &first_numbers(document, shot, looked));
            (standing, looked.doubted())
        }
    }
}

/// How far the shown shot has come, judged by the numbers that are shown: where the pair tells the height better, by the
/// pair's, so that no verdict stands above a number that says something else.
#[must_use]
pub fn shown_standing(own: Standing, numbers: &[FirstNumber<'_>]) -> Standing {
    let states = numbers.iter().filter_map(|number| number.verdict);
    match own {
        Standing::Judged(own) => {
            Standing::Judged(together(states.map(|verdict| verdict.state)).unwrap_or(own))
        }
        other => other,
    }
}

/// Whether the numbers that are shown leave a verdict open; what is said of an uncertainty that is too large is said only
/// then.
#[must_use]
pub fn leaves_open(numbers: &[FirstNumber<'_>]) -> bool {
    numbers.iter().filter_map(|number| number.verdict).any(|verdict| verdict.state == State::Undecided)
}

/// The direct reading, where what a true view would show rounds to another number.
fn other<'a>(direct: &'a Quantity, corrected: Option<&Quantity>) -> Option<&'a Quantity> {
    let differs = format::percent(direct.value) != format::percent(corrected?.value);
    differs.then_some(direct)
}

/// The verdict and the numbers that are read first, in a sentence for those who cannot see them.
#[must_use]
pub fn spoken(document: &Document, shot: &Shot) -> String {
    let Some(looked) = document.looked(&shot.id) else { return String::new() };
    let shown = first_numbers(document, shot, looked);
    let numbers: Vec<String> = shown.iter().map(FirstNumber::phrase).collect();
    if numbers.is_empty() {
        return String::new();
    }
    let note = stage_note(document.case(), shot).map(|note| format!("{} ", note.words)).unwrap_or_default();
    format!(
        "{}: {}. {note}",
        capital(format::standing(shown_standing(looked.standing, &shown))),
        numbers.join(", ")
    )
}

/// The numbers of a shot that are read first, as `depth 38 % ± 3` and `height 52 % ± 5`, and each in fewest words.
#[must_use]
pub fn numbers_of(document: &Document, shot: &Shot) -> Vec<[String; 2]> {
    let Some(looked) = document.looked(&shot.id) else { return Vec::new() };
    first_numbers(document, shot, looked).iter().map(|number| [number.phrase(), number.brief()]).collect()
}

/// By which midline an offset is measured.
fn own_source(reading: &ShotReading, named: ShortName) -> String {
    match (reading, named) {
        (ShotReading::Ap(ap), ShortName::Midline) => {
            ap.midline_by.best().map_or_else(String::new, |(by, _)| midline_by(by).to_owned())
        }
        _ => String::new(),
    }
}

/// Both views tell the height; their weighted mean is the better one.
fn better_height<'a>(document: &'a Document, pair: &'a ReadPairOf, numbers: &mut [FirstNumber<'a>]) {
    let Some(height) = &pair.reading.height else { return };
    let rule = VerdictRule::Band(Rule::Height);
    let verdict = pair.reading.verdicts.iter().find(|verdict| verdict.rule == rule);
    let both = height_from(document, pair) == HeightFrom::Both;
    for number in numbers.iter_mut().filter(|number| both && number.named == ShortName::Height) {
        let corrected = pair.reading.true_view.height.as_ref();
        number.quantity = used(height, corrected);
        number.direct = other(height, corrected);
        number.verdict = verdict.or(number.verdict);
        number.source = "from both views".to_owned();
    }
}

/// Which shots of a pair gave its height.
#[must_use]
pub fn height_from(document: &Document, pair: &ReadPairOf) -> HeightFrom {
    let gives = |index: usize| {
        let looked = document.looked(&document.case().shots[index].id);
        looked.is_some_and(|looked| looked.reading.is_read() || looked.reading.is_height_only())
    };
    HeightFrom::of(gives(pair.lateral), gives(pair.ap))
}
