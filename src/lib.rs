//! Stillmark reads where a probe's tip sits inside a vertebral body on saved fluoroscopy stills, after the
//! fact, for teaching, documentation and audit. It does not guide a needle and is not a medical device.
//!
//! Modules in reading order: [`geom`] and [`stats`] know nothing else; [`measure`] is the method; [`case`] is
//! the document; [`align`] lays one shot on another by their pictures; [`study`] asks
//! about many readings and cases; [`scene`] says what to draw; [`phantom`] simulates shots with known truth; [`io`] is the edge
//! to files; [`app`] is behaviour without a window; `ui` draws it; [`cli`] is the command line.

pub mod align;
pub mod app;
pub mod case;
pub mod cli;
pub mod geom;
pub mod io;
pub mod measure;
pub mod phantom;
pub mod propose;
pub mod scene;
pub mod stats;
pub mod study;
#[cfg(feature = "window")]
pub mod ui;
