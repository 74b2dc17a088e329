//! The terminal: state, keys, update, view, and the loop that alone does file work.

pub mod begin;
pub mod choice;
mod choosing;
pub mod field;
mod keeping;
pub mod keys;
pub mod run;
pub mod sheet;
pub mod sitting;
pub mod state;
mod update;
pub mod view;

pub use state::{State, View};
