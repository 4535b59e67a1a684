//! One shot registered to another by their pictures: where every place of the first picture lies in the second, the first
//! picture drawn in the second one's frame, grey levels matched, and a small correction found from the pictures.
//!
//! Reading order: [`registration`], [`warp`] with `cell`, `bilinear` and [`reach`], [`greys`], [`matched`]; `patch`, `metal`, `estimate`, [`refine`], [`refined_change`]; [`softness`] says how
//! sharp a picture is at each mark, by `edge_rise`.
//!
//! ```text
//! let registration = Registration::of_shots(&case, [from, to])?; // from the marks of both shots
//! let warp = Warp::new(&registration, (to.width, to.height)); // once for each pair
//! let laid = warp.picture(&from);                            // the first frame in the second one's frame
//! let greys = Matching::of(&laid, &to, &registration);      // the first one's levels as the second one's
//! let both = greys.laid_on(laid, &to);                       // matched, and the difference: middle grey where both agree
//! let found = refine(&registration, shots, frames, bone_sd_mm); // the pictures' own say; found.trusted() is a Registration
//! ```

mod bilinear;
mod cell;
pub(crate) mod coarse;
mod edge_rise;
pub(crate) mod estimate;
pub mod greys;
pub mod matched;
mod metal;
mod patch;
pub(crate) mod plane;
pub mod reach;
pub mod refine;
pub mod refined_change;
pub(crate) mod region;
pub mod registration;
pub mod softness;
pub mod warp;
