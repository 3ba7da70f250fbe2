//! Tests from outside: the command and the library as a user meets them, on whole scenarios.
//!
//! `generator` makes scenarios, `laws` holds what must be true of every one of them; `published` compares with figures from outside,
//! `schedules`, `baths`, `plates`, `buylist`, `look_again` and `hand` with figures worked by hand, `practice` with what is common in the trade; `bad` shows what bad input gets; `commands`, `budget`, `flips`, `explain`, `report_files` and
//! `views` are what a user types and sees.
#![allow(clippy::cast_possible_truncation, reason = "counts in answers are small")]
#![allow(clippy::panic, reason = "a helper of a test says what is wrong by panicking")]

mod answers;
mod bad;
mod baths;
mod budget;
mod buylist;
mod commands;
mod demo;
mod dip;
mod doubts;
mod explain;
mod flips;
mod generator;
mod hand;
mod help;
mod house;
mod laws;
mod look_again;
mod measure;
mod mesh_files;
mod page;
mod plates;
mod practice;
mod published;
mod readme;
mod report_files;
mod sampled;
mod samples;
mod schedules;
mod sheets;
mod sweep;
mod two_ways;
mod unproven;
mod variants;
mod views;
