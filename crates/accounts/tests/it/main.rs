//! Accounts in a file and in a real PostgreSQL: the same assertions for both.

mod cluster;
mod coming_in;
mod failing;
mod forms;
mod groups;
mod kept;
mod outside;
mod places;
mod tokens;
