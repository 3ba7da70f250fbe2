//! Baths: containers with solvent. A wash bath collects resin; a dye bath holds solvent and dye, and a piece is dipped into it.

use super::{ItemId, Slot, SourceId};

/// An index into [`super::Scenario::baths`]; baths are in the order of their names.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug)]
pub struct BathId(pub u16);
super::index_id!(BathId);

/// A container with solvent; one build at a time.
#[derive(Clone, Debug)]
pub struct Bath {
    /// Its name.
    pub name: String,
    /// Where it is written.
    pub source: SourceId,
    /// The solvent.
    pub solvent: ItemId,
    /// Thickness of the solvent that leaves on a piece, in mm.
    pub solvent_film: Slot,
    /// What evaporates while it is open, in mL per hour ([`super::Dim::Ratio`]).
    pub evaporates: Slot,
    /// Uses after which it is emptied; absent: a dye bath without such a limit.
    pub reuse_limit: Option<Slot>,
    /// Wash or dye.
    pub kind: BathKind,
}

/// What a bath is for.
#[derive(Clone, Debug)]
pub enum BathKind {
    /// Washes resin off.
    Wash(Wash),
    /// Dyes.
    Dye(Box<Dye>),
}

/// A wash bath's numbers.
#[derive(Clone, Debug)]
pub struct Wash {
    /// Solvent it is filled and topped up to.
    pub fill: Slot,
    /// Share of resin at which it is retired.
    pub retire_share: Slot,
    /// Thickness of the resin a piece and its supports carry in, in mm.
    pub resin_film: Slot,
    /// Resin the platform carries in with each build.
    pub platform_carry: Slot,
    /// Share of what a build carried into its first wash that it carries on into this one.
    pub carry_over: Slot,
    /// Resin in it at the start; with it or `uses_now` the bath starts full and paid.
    pub resin_now: Option<Slot>,
    /// Uses it has behind it.
    pub uses_now: Option<Slot>,
}

/// A dye bath's numbers.
#[derive(Clone, Debug)]
pub struct Dye {
    /// The dye.
    pub dye: ItemId,
    /// mL of dye per mL of solvent: a ratio to the solvent, not to the mix.
    pub dye_share: Slot,
    /// The container.
    pub tub: Tub,
    /// Volume of what stands in the tub beside the piece, below the level.
    pub displacers: Option<Slot>,
    /// Height of the tallest of it above the floor.
    pub displacer_height: Option<Slot>,
    /// Height of the piece's lowest point above the floor.
    pub raise: Option<Slot>,
    /// How deep the piece is immersed.
    pub depth: Depth,
    /// Liquid above the tallest piece where it is immersed in full.
    pub cover: Option<Slot>,
    /// Free height under the rim.
    pub freeboard: Option<Slot>,
    /// Least liquid in which one can still stir.
    pub stir_room: Option<Slot>,
    /// How long a fill keeps.
    pub keeps: Option<Slot>,
}

/// A container's inside, in mm.
#[derive(Clone, Copy, Debug)]
pub enum Tub {
    /// Straight walls with a draft: length x width at the floor and at the rim.
    Box {
        /// At the floor.
        bottom: [Slot; 2],
        /// At the rim.
        top: [Slot; 2],
        /// Floor to rim.
        depth: Slot,
    },
    /// Round: diameter at the floor and at the rim.
    Round {
        /// At the floor.
        bottom: Slot,
        /// At the rim.
        top: Slot,
        /// Floor to rim.
        depth: Slot,
    },
}

/// How deep a piece is immersed.
#[derive(Clone, Copy, Debug)]
pub enum Depth {
    /// Wholly, with the cover above it.
    Full,
    /// So deep, from its lowest point.
    To(Slot),
}

/// Which axis of the part points up.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Up {
    /// One of the axes 0, 1, 2 (x, y, z); `down` where it points down instead.
    Axis {
        /// 0 is x, 1 is y, 2 is z.
        axis: usize,
        /// True where the negative axis points up.
        down: bool,
    },
    /// The axis along which the part is shortest; ties go to z, then y.
    Shortest,
}

impl Up {
    /// What holds where nothing is stated: z.
    pub const Z: Up = Up::Axis { axis: 2, down: false };

    /// The box of a part as it stands: length, width, height.
    pub fn stand(self, size: [i64; 3]) -> [i64; 3] {
        match self.axis(size) {
            0 => [size[1], size[2], size[0]],
            1 => [size[2], size[0], size[1]],
            _ => size,
        }
    }

    /// The axis that points up.
    pub fn axis(self, size: [i64; 3]) -> usize {
        match self {
            Up::Axis { axis, .. } => axis,
            Up::Shortest => {
                let least = size.into_iter().min().unwrap_or(0);
                (0..3).rev().find(|&a| size[a] == least).unwrap_or(2)
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_part_stands_on_the_axis_that_points_up() {
        let size = [80, 76, 34];
        assert_eq!(Up::Z.stand(size), [80, 76, 34]);
        assert_eq!(Up::Axis { axis: 0, down: true }.stand(size), [76, 34, 80]);
        assert_eq!(Up::Shortest.stand([34, 76, 80]), [76, 80, 34]);
        assert_eq!(Up::Shortest.axis([5, 5, 5]), 2);
        assert_eq!(Up::Shortest.axis([5, 5, 9]), 1);
    }
}
