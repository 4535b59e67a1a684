//! The columns of the table of keypoints.

use crate::io::export::dictionary::TableColumn;

/// The columns, in their order.
pub const COLUMNS: [TableColumn; 18] = [
    TableColumn::new(
        "case",
        "",
        "case file that the shot comes from: its name without folders, with a number where two have the same; its path where paths are asked for",
    ),
    TableColumn::new("image", "", "image file, as the case names it: relative to the case file"),
    TableColumn::new("frame", "", "frame of the image file, from 0"),
    TableColumn::new("columns", "px", "width of the image; empty where it could not be opened"),
    TableColumn::new("rows", "px", "height of the image"),
    TableColumn::new("shot", "", "id of the shot in its case"),
    TableColumn::new("level", "", "vertebra, such as L4"),
    TableColumn::new("side", "", "entry side of the patient: left or right"),
    TableColumn::new("view", "", "lateral, ap or pedicle"),
    TableColumn::new("stage", "", "docking, pedicle, posterior_wall, stylet or final"),
    TableColumn::new(
        "patient_right",
        "",
        "where the patient's right is in the image: image_left or image_right",
    ),
    TableColumn::new(
        "mm_per_px",
        "mm/px",
        "scale at the plane of the body; empty where the shot is not calibrated",
    ),
    TableColumn::new("mm_per_px_sd", "mm/px", "standard uncertainty of the scale"),
    TableColumn::new("point", "", "mark and number of the point in it from 1, in the order of the case file"),
    TableColumn::new("x", "px", "from the left edge of the image; the center of the first pixel is 0.5"),
    TableColumn::new("y", "px", "from the upper edge of the image"),
    TableColumn::new(
        "sd_mm",
        "mm",
        "standard deviation of the mark across its border, as the reading takes it",
    ),
    TableColumn::new("origin", "", "by_hand, proposed (as the program proposed it) or moved"),
];
