//! What is read off an image's pixels and its file's header, apart from the case: stored samples ([`frame`]) with the file's
//! [`digest`], which frames of a film are meant ([`frame_choice`]), what the file says of them ([`facts`], [`offered_scale`],
//! [`scale_fault`], [`taken`]), the round field ([`field`]) burned-in text
//! ([`burned_in`]), and a photo of a screen made straight ([`straighten`]).

pub mod burned_in;
pub mod digest;
pub mod facts;
pub mod field;
pub mod frame;
pub mod frame_choice;
pub mod offered_scale;
pub mod scale_fault;
pub mod straighten;
pub mod taken;
