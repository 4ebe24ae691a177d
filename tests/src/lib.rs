//! Shared pieces of the workspace-wide checks; the checks themselves are the test files beside this crate.
