//! What is open and how it changes: everything the window knows ([`state`]), the open case ([`document`]), one image
//! marked apart from it ([`editor`]), what is typed into fields ([`typed_fields`]), and the one way from a command to
//! changes and file work ([`mod@update`]).

pub mod document;
pub mod editor;
pub mod state;
pub mod typed_fields;
pub mod update;
