//! What is open and how it changes: everything the window knows ([`state`]), images with their marks and how the shown
//! one is seen ([`editor`]), the case that is marked ([`document`], its file `document_file`, its mode `document_mode`),
//! what follows from it (`readings`), what pointer and keys are about ([`mode`]), how commands are
//! carried out on an editor ([`editing`]), changes of a case ([`edits`]), sentences to be read ([`notice`]), what is typed into fields ([`typed_fields`]), where a
//! command goes ([`mod@route`]), the one way from there to changes and file work ([`mod@update`]), and what came of that
//! work ([`outcome`]).

pub mod document;
mod document_file;
mod document_mode;
pub mod editing;
pub mod editor;
pub mod edits;
pub mod mode;
pub mod notice;
pub mod outcome;
pub(crate) mod readings;
pub mod route;
pub mod state;
pub mod typed_fields;
pub mod update;
