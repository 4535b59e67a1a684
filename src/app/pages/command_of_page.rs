//! What a command of a certain page says of itself.

use crate::app::command::entry::Entry;
use crate::app::command::refusal::Refusal;
use crate::app::session::state::State;

/// Something that a certain page can be asked for.
pub(crate) trait CommandOfPage {
    /// Label, tooltip and keys; `None` for what only the page itself can ask for.
    fn entry(&self) -> Option<Entry>;
    /// Why it would do nothing at present; `None` where it would.
    fn refusal(&self, state: &State) -> Option<Refusal>;
}
