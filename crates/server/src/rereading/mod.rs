//! Many recordings of a shared book read again by workers, and what they found taken into the book.

mod accepting;
mod worker;

pub use accepting::accept_all;
pub(crate) use accepting::go_on_accepting;
pub use worker::{RereadOrders, RereadStep, reread};
