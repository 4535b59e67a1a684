//! All tests that use the library from outside, in one binary.

#[cfg(feature = "window")]
mod actions;
mod alignment;
mod architecture;
mod broken;
mod by_hand;
mod case_files;
mod change;
mod circles;
mod columns;
mod command_line;
mod commands;
mod comparison;
mod contrast;
mod coverage;
mod coverage_angle;
mod crowded;
mod curve;
mod dicom;
mod dicom_bytes;
mod dicom_out;
mod drawings;
mod durability;
mod figures;
mod films;
mod flips;
mod hostile_page;
mod house_style;
mod import;
mod interference;
#[cfg(feature = "window")]
mod journey;
mod keeping;
mod keypoints;
mod labels;
mod layouts;
#[cfg(feature = "window")]
mod made_figures;
mod many_files;
mod mark_errors;
mod millimetres;
mod mutants;
mod odd_inputs;
mod outside_images;
mod phantom;
mod plan;
mod privacy;
mod properties;
mod proposals;
#[cfg(feature = "window")]
mod raster;
mod readme;
mod reference;
mod reference_cases;
mod reference_true_view;
mod reference_views;
mod refinement;
mod reliability;
mod repeat;
mod report;
mod samples;
mod save_faults;
mod scale_faults;
mod second_contours;
mod series;
mod series_plots;
mod straighten;
mod strings;
mod support;
mod type_names;
mod uncertainty;
mod unmoved;
#[cfg(feature = "window")]
mod view_not_set;
mod views;
#[cfg(feature = "window")]
mod window;
#[cfg(feature = "window")]
mod window_angle;
#[cfg(feature = "window")]
mod window_archive;
#[cfg(feature = "window")]
mod window_case;
#[cfg(feature = "window")]
mod window_compare;
#[cfg(feature = "window")]
mod window_figure;
mod window_first;
#[cfg(feature = "window")]
mod window_frames;
#[cfg(feature = "window")]
mod window_keyboard;
#[cfg(feature = "window")]
mod window_labels;
#[cfg(feature = "window")]
mod window_overview;
#[cfg(feature = "window")]
mod window_pictures;
#[cfg(feature = "window")]
mod window_practice;
mod window_present;
#[cfg(feature = "window")]
mod window_proposals;
#[cfg(feature = "window")]
mod window_rereading;
#[cfg(feature = "window")]
mod window_series;
#[cfg(feature = "window")]
mod window_third_click;
#[cfg(feature = "window")]
mod window_views;
mod work_failures;
mod work_lanes;
