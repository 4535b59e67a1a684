//! The marks that several benchmarks read, and `reading.py` with them.

use stillmark::measure::mark::{MarkKind, Marks};

/// Four corners and the tip.
pub(crate) fn straight() -> Marks {
    Marks::new()
        .with(MarkKind::SuperiorEndPlate, &[(412.0, 305.0), (268.0, 318.0)])
        .with(MarkKind::InferiorEndPlate, &[(405.0, 398.0), (262.0, 421.0)])
        .with(MarkKind::Tip, &[(365.4, 356.9)])
}

/// Fourteen marks: every border curved.
pub(crate) fn curved() -> Marks {
    Marks::new()
        .with(MarkKind::SuperiorEndPlate, &[(412.0, 305.0), (364.0, 313.0), (316.0, 317.0), (268.0, 318.0)])
        .with(MarkKind::InferiorEndPlate, &[(405.0, 398.0), (357.0, 401.0), (309.0, 409.0), (262.0, 421.0)])
        .with(MarkKind::PosteriorWall, &[(405.0, 336.0), (402.0, 367.0)])
        .with(MarkKind::AnteriorWall, &[(272.0, 344.0), (273.0, 370.0), (269.0, 396.0)])
        .with(MarkKind::Tip, &[(365.4, 356.9)])
}
