//! Cameras in browsers: pictures of pages on this machine, and of phones through a listener of their own.
//!
//! `docs/cameras.md` describes what a person does, `docs/server.md` the messages.

mod certificate;
mod link;
mod links;
mod message;
mod page_clock;
mod page_session;
mod pass;
mod pass_made;
mod qr;
mod share;
mod shared_pages;
mod socket;

pub use link::CameraSeen;
pub use links::CameraLinks;
pub use page_clock::ClockNote;

pub(crate) use certificate::{Certificate, addresses, names};
pub(crate) use pass::Passes;
pub(crate) use pass_made::PassMade;
pub(crate) use qr::svg as qr_svg;
pub(crate) use share::{Share, tls};
pub(crate) use shared_pages::{not_a_socket, not_open};
pub(crate) use socket::{Showing, camera_socket};
