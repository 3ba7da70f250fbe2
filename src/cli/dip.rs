//! `dip`: what to pour into each dye bath, with a drawing.

use std::collections::BTreeSet;
use std::path::{Path, PathBuf};

use super::args::Which;
use super::{Failure, NO_PLAN, ask, out};
use crate::analysis::{DipPlan, dip_plans};
use crate::model::Overrides;
use crate::plan::{Shop, Values};
use crate::report::{dip_stem, dip_svg, dip_view, no_dip, terminal};

#[derive(Debug, clap::Args)]
pub(super) struct Args {
    #[command(flatten)]
    pub which: Which,
    /// Folder for the drawings, one SVG file for each bath and part
    #[arg(short, long, value_name = "DIR")]
    pub out: Option<PathBuf>,
    /// Replace files that are there
    #[arg(long, requires = "out")]
    pub force: bool,
}

/// Says what to pour on standard output, and writes the drawings where asked.
pub(super) fn dip(args: &Args) -> Result<(), Failure> {
    let asked = ask::loaded(&args.which.path()?, &Overrides::default())?;
    ask::warn(&asked.log);
    let scenario = &asked.scenario;
    let values = Values::planning(&scenario.slots);
    let shop = Shop::new(scenario, &values);
    let plans = dip_plans(&shop);
    if plans.is_empty() {
        return Err(Failure { code: NO_PLAN, message: no_dip(scenario).to_owned() });
    }
    let drawings = drawings(&shop, &plans);
    if let Some(folder) = &args.out {
        write(folder, &drawings, args.force)?;
    }
    out::text(&terminal(&dip_view(&shop, &plans), out::width()))?;
    if drawings.is_empty() { Err(Failure::said(NO_PLAN)) } else { Ok(()) }
}

/// The drawing of every plan that can be carried out, with its file's name. Names that come out alike are numbered.
fn drawings(shop: &Shop, plans: &[DipPlan]) -> Vec<(String, String)> {
    let mut used = BTreeSet::new();
    plans
        .iter()
        .filter_map(|plan| {
            let stem = dip_stem(shop, plan);
            let numbered = (2u32..).map(|n| format!("{stem}-{n}"));
            let name = std::iter::once(stem.clone()).chain(numbered).find(|s| !used.contains(s))?;
            let text = dip_svg(shop, plan, &name)?;
            used.insert(name.clone());
            Some((format!("{name}.svg"), text))
        })
        .collect()
}

/// All drawings or none.
fn write(folder: &Path, drawings: &[(String, String)], force: bool) -> Result<(), Failure> {
    if drawings.is_empty() {
        return Ok(());
    }
    out::folder(folder)?;
    let place = |(name, _): &(String, String)| out::target(&folder.join(name), force);
    let places: Vec<PathBuf> = drawings.iter().map(place).collect::<Result<_, Failure>>()?;
    let texts = drawings.iter().map(|(_, text)| text.as_bytes().to_vec());
    let files: Vec<(PathBuf, Vec<u8>)> = places.into_iter().zip(texts).collect();
    out::put_all(folder, &files, force)?;
    let count = match drawings.len() {
        1 => "1 drawing".to_owned(),
        many => format!("{many} drawings"),
    };
    out::aside(&format!("{count} to {}\n", folder.display()));
    Ok(())
}
