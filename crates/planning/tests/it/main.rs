//! Session plans against a checker and an exhaustive search of their own.

mod checker;
mod drafts;
mod exhaustive;
mod large;
mod more_or_less;
mod orders;
mod replanned;
mod sessions;
mod words;
