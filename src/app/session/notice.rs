//! Sentences that tell the user something, and how grave each is.

/// How grave a notice is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Weight {
    /// Good to know.
    Note,
    /// Something did not work.
    Trouble,
}

/// A sentence that stays until it is put away.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Notice {
    /// How grave.
    pub weight: Weight,
    /// What to say.
    pub text: String,
}
