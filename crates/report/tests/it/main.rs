//! The evidence page and the curves as text, from an invented reading.

mod contrast;
mod made_up;
mod page;
