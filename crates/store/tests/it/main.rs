//! The store from outside: what it promises, under faults and kills.

// Here the whole crate is tests; the setting for tests reaches only functions marked as such.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

mod care;
mod faults;
mod index;
mod journal;
mod kill;
mod support;
mod writer;
