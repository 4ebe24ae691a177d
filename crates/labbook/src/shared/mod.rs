//! A book that many processes share: its chain in PostgreSQL, its recordings in an object store.
//!
//! Each process keeps a copy of the records in a folder of its own, an ordinary book's database, which it
//! brings up to the chain and answers from. So a shared book gives the same answers as one in a folder, and
//! can be looked at while the database is out of reach. `docs/models/shared-book.md` says what is where.

mod address;
mod backing_up;
mod begun;
mod carrying;
mod central;
mod copying;
mod depot;
mod hearing;
mod keeping_up;
mod opening;
mod outbox;
mod taking_out;
mod verifying;

pub use address::{is_shared, shown_place};
pub use backing_up::back_up_shared;
pub use copying::{Copied, copy_into_shared, copy_out_of_shared, prepare_shared};

pub(crate) use address::Address;
pub(crate) use begun::Begun;
pub(crate) use carrying::Carrying;
pub(crate) use central::{Central, Row};
pub(crate) use hearing::Hearing;
pub(crate) use opening::{LocalCopy, open_copy};
pub(crate) use outbox::Outbox;
pub(crate) use verifying::verify_shared;
