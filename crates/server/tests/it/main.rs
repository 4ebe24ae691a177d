//! The router against a real book in a temporary folder.

mod description;
