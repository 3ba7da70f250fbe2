//! Keys of baths and tubs.

use super::Takes::{Any, Lengths, Number, Table, Text, Word};
use super::number::NumberKind as N;
use super::words::{BATH_WORDS, FULL, SHAPES};
use super::{Key, key, words};

/// Keys of a `[[bath]]`: those of both kinds, of a wash bath, of a dye bath.
pub const BATH: &[Key] = &[
    key("name", Text, "name of the bath").needed(),
    key("kind", Word(const { &words(&BATH_WORDS) }), "a wash bath collects resin; in a dye bath pieces are dipped").needed(),
    key("solvent", Text, "a row of supplies.csv of kind solvent").needed(),
    key("reuse_limit", Number(&[N::Count]), "uses after which it is emptied and filled anew; absent: assumed for a wash bath, none for a dye bath"),
    key("solvent_film", Number(&[N::Film]), "thickness of the liquid that leaves on the pieces; absent: assumed"),
    key("evaporates", Number(&[N::Evaporation]), "what is lost while the step lasts; absent: assumed"),
    key("fill", Number(&[N::Volume]), "solvent it is filled, and before each use topped up, to").needed().only("wash"),
    key("retire_share", Number(&[N::Share]), "emptied before resin / (resin + fill) would exceed this; absent: assumed").only("wash"),
    key("resin_film", Number(&[N::Film]), "thickness of the resin that pieces and supports carry into their first wash; absent: assumed")
        .only("wash"),
    key("platform_carry", Number(&[N::Loss]), "resin that the platform carries into it with each build; absent: assumed").only("wash"),
    key("carry_over", Number(&[N::Share]), "of what a build carried into its first wash, the share that comes along into this one; absent: assumed")
        .only("wash"),
    key("resin_now", Number(&[N::Loss]), "resin in it at the start; it then starts full and paid").only("wash"),
    key("uses_now", Number(&[N::Uses]), "uses behind it at the start; it then starts full and paid").only("wash"),
    key("dye", Text, "a row of supplies.csv of kind dye").needed().only("dye"),
    key("dye_share", Number(&[N::Accept]), "mL of dye for each mL of solvent: 0.03 is 3 mL in 100 mL").needed().only("dye"),
    key("tub", Table(TUB), "inside of the tub").needed().only("dye"),
    key("displacers", Number(&[N::Loss]), "volume of what stands in the tub beside the pieces to save liquid").only("dye"),
    key("displacer_height", Number(&[N::Level]), "height of the tallest of them; it must stay below the level").only("dye"),
    key("raise", Number(&[N::Level]), "height of the pieces' lowest points above the floor; absent: 0").only("dye"),
    key("depth", Any(&[Word(&[FULL]), Number(&[N::Dip])]), "how deep the pieces go in, from their lowest point; absent: full").only("dye"),
    key("cover", Number(&[N::Level]), "liquid above the tallest piece; only where `depth` is full; absent: 0").only("dye"),
    key("freeboard", Number(&[N::Level]), "kept free under the rim; absent: 0").only("dye"),
    key("stir_room", Number(&[N::Loss]), "least liquid in which you can still stir").only("dye"),
    key("keeps", Number(&[N::Time]), "how long a fill lasts: a use that begins later empties it first; absent: for good").only("dye"),
];

/// What a round or a box tub has at its floor and rim.
const SIDES: &[super::Takes] = &[Lengths(2), Number(&[N::TubSide])];

/// Keys of a tub.
pub const TUB: &[Key] = &[
    key("shape", Word(const { &words(&SHAPES) }), "shape of the tub").needed(),
    key("bottom", Any(SIDES), "length x width at the floor, or the diameter of a round one")
        .needed(),
    key("top", Any(SIDES), "length x width at the rim, or the diameter of a round one").needed(),
    key("depth", Number(&[N::TubSide]), "how far the rim is above the floor").needed(),
];
