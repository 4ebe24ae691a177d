//! Accounts in a file and in a real PostgreSQL: the same assertions for both.

mod cluster;
mod coming_in;
mod kept;
mod places;
mod tokens;
