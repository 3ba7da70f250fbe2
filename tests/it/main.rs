//! Tests from outside: the command and the library as a user meets them, on whole scenarios.
//!
//! `generator` makes scenarios, `laws` holds what must be true of every one of them; `published` compares with figures from outside,
//! `schedules`, `baths`, `plates`, `buylist`, `look_again` and `hand` with figures worked by hand, `practice` with what is common in the
//! trade; `runs` is what killed writers and full disks leave; `commands`, `budget`, `flips`, `changes`, `prices`, `without`, `explain`,
//! `report_files` and `views` are what a user types and sees; `schema` and `setup` what an editor, a shell and `man` get.
#![allow(clippy::cast_possible_truncation, reason = "counts in answers are small")]
#![allow(clippy::panic, reason = "a helper of a test says what is wrong by panicking")]

mod answers;
mod bad;
mod baths;
mod budget;
mod buylist;
mod changes;
mod commands;
mod demo;
mod dip;
mod doubts;
mod explain;
mod flips;
mod fuzzed;
mod generator;
mod hand;
mod help;
mod house;
mod laws;
mod licences;
mod limits;
mod look_again;
mod measure;
mod mesh_files;
mod page;
mod plates;
mod practice;
mod prices;
mod published;
mod readme;
mod record;
mod report_files;
mod rerun;
mod rough;
mod runs;
mod sampled;
mod samples;
mod schedules;
mod schema;
mod seeds;
mod setup;
mod sheets;
mod sweep;
mod two_ways;
mod unproven;
mod variants;
mod views;
mod without;
