//! What is open and how it changes: everything the window knows ([`state`]), the open case ([`document`]), what pointer and
//! keys are about ([`mode`]), one image
//! marked apart from it ([`editor`]), changes of it ([`edits`]), what is typed into fields ([`typed_fields`]), where a
//! command goes ([`mod@route`]), the one way from there to changes and file work ([`mod@update`]), and what came of that
//! work ([`outcome`]).

pub mod document;
pub mod editor;
pub mod edits;
pub mod mode;
pub mod outcome;
pub mod route;
pub mod state;
pub mod typed_fields;
pub mod update;
