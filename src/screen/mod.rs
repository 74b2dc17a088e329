//! The terminal: state, keys, update and view; `sitting` and `begin` alone do file work, `run` is the loop.

pub mod begin;
pub mod choice;
mod choosing;
pub mod field;
mod keeping;
pub mod keys;
pub mod map;
pub mod record;
pub mod run;
pub mod sheet;
pub mod sitting;
pub mod state;
mod update;
pub mod view;

pub use state::{State, View};
