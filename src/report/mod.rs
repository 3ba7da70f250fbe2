//! Reports: what is said, and then how it looks.
//!
//! Enters: a [`Subject`], the scenario with its answer. [`View`] says what is to be said, as sentences and tables without formatting;
//! [`terminal`] lays it out. [`json`] is the whole answer as one document, [`Budget`] the ledger of one plan as rows, with its month
//! summary, as CSV and Parquet; [`dip_view`] and [`dip_svg`] are about dye baths, [`measure_view`] and [`measure_json`] about mesh
//! files, [`flips_view`] and [`map_view`] about what changes the answer,
//! [`explain_text`] about where a figure comes from; [`SweepCsv`] and [`SweepParquet`] grow the table of a sweep, [`Pivot`] counts its
//! verdicts. [`page`] is all of it as one file for a browser, [`workbook`] and
//! [`markdown`] are its companions. Nothing here decides or computes a result.

mod address;
mod assumed;
mod budget;
mod buy_list;
mod changes;
mod chart;
mod csv;
mod dip;
mod dip_section;
mod dip_svg;
mod explain;
mod explain_what;
mod filled;
mod flips;
#[cfg(feature = "frame")]
mod frame;
#[cfg(feature = "frame")]
mod frame_sweep;
mod html;
mod json;
mod json_sampled;
mod json_types;
mod json_unproven;
mod look_again;
mod markdown;
mod measure;
mod months;
mod notes;
mod parquet;
mod prices;
mod progress;
mod subject;
mod sweep;
mod taught;
mod terminal;
mod units;
mod view;
mod without;
mod words;
mod workbook;

pub use address::*;
pub use assumed::*;
pub use budget::*;
pub use buy_list::*;
pub use changes::*;
pub use csv::*;
pub use dip::*;
pub use dip_svg::*;
pub use explain::*;
pub use explain_what::*;
pub use filled::*;
pub use flips::*;
pub use html::*;
pub use json::*;
pub use markdown::*;
pub use measure::*;
pub use months::*;
pub use notes::*;
pub use parquet::*;
pub use prices::*;
pub use progress::*;
pub use subject::*;
pub use sweep::*;
pub use taught::*;
pub use terminal::*;
pub use view::*;
pub use words::*;
pub use workbook::*;
