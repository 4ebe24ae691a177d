//! What a server tells those who run it: whether it is well, how much it does, who asked for what.
//!
//! Numbers and health come from a listener of their own, which tells nothing of the book's content; requests are
//! told in the log. `docs/operations.md` lists them.

mod health;
mod listener;
mod meters;
mod requests;

pub(crate) use listener::Observer;
pub(crate) use meters::Meters;
pub(crate) use requests::{ByWhom, tell};
