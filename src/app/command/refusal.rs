//! Why a command can do nothing at present: one sentence that says what is missing, for the hint below the image and
//! for the tooltip of a button that is off.

use std::borrow::Cow;

/// That sentence.
pub type Refusal = Cow<'static, str>;

/// Without an open case.
pub(crate) const NO_CASE: &str = "No case is open. Open one first.";
/// Without a shot.
pub(crate) const NO_SHOT: &str = "No shot is open. Open a case or add images first.";

/// Nothing where it is possible, else the sentence.
pub(crate) const fn unless(possible: bool, why: &'static str) -> Option<Refusal> {
    if possible { None } else { Some(Cow::Borrowed(why)) }
}
