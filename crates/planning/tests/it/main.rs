//! Session plans against a checker and an exhaustive search of their own.

mod checker;
mod exhaustive;
mod orders;
mod sessions;
