//! The cautions: they stand wherever a number is shown.

/// One line for footers of figures and reports.
pub const SHORT: &str = "Reads saved stills after the procedure, for teaching, documentation and audit. Not a medical device; it does not guide a needle. A single still can mislead.";

/// What the sign behind an image's heading says on a slide, before [`SHORT`].
pub const SIGN_ON_SLIDE: &str = "▲: a caution about this image stands in the report.";

/// The whole caution, sentence by sentence, for the first view and the first page.
pub const FULL: [&str; 5] = [
    "Stillmark reads saved frames after the procedure, for teaching, documentation and audit.",
    "It does not guide a needle and is not a medical device.",
    "A single still can mislead: both views, a licensed clinician's judgment and local protocols come first.",
    "It cannot verify the level (transitional anatomy) or the side.",
    "With probes on both sides, the two overlap in the lateral view.",
];
