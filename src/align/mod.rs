//! Laying one shot on another by their pictures: where every place of the first picture lies in the second, the first
//! picture drawn in the second one's frame, grey levels matched, and a small correction found from the pictures.
//!
//! Reading order: [`laying`], [`warp`], [`greys`]; `patch`, `metal`, `estimate`, [`refine`], [`change`]; [`softness`] says how
//! sharp a picture is at each mark.
//!
//! ```text
//! let laying = Laying::of_shots(&case, [from, to])?;         // from the marks of both shots
//! let warp = Warp::new(&laying, (to.width, to.height));      // once for each pair
//! let laid = warp.picture(&from);                            // the first frame in the second one's frame
//! let greys = Matching::of(&laid, &to, &laying);             // the first one's levels as the second one's
//! let picture = greys.difference(&laid, &to);                // middle grey where both agree
//! let found = refine(&laying, shots, frames, bone_sd_mm);    // the pictures' own say; found.trusted() is a Laying
//! ```

pub mod change;
pub(crate) mod coarse;
pub(crate) mod estimate;
pub mod greys;
pub mod laying;
mod metal;
mod patch;
pub(crate) mod plane;
pub mod refine;
pub(crate) mod region;
pub mod softness;
pub mod warp;
