//! Poses: which axis of a mesh points up. Names go in, quarter turns come out.
//!
//! A pose only permutes coordinates and changes signs, so it costs no digit. All six are turns, never mirrorings.

use super::{Bounds, Point};

/// The axis of the mesh that points up.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Up {
    /// +x
    PlusX,
    /// -x
    MinusX,
    /// +y
    PlusY,
    /// -y
    MinusY,
    /// +z: as drawn.
    PlusZ,
    /// -z: upside down.
    MinusZ,
}

impl Up {
    /// All six, in the order x, y, z.
    pub const ALL: [Self; 6] =
        [Self::PlusX, Self::MinusX, Self::PlusY, Self::MinusY, Self::PlusZ, Self::MinusZ];

    /// Reads `x`, `+x`, `-x` and so on, in either case.
    pub fn parse(text: &str) -> Option<Self> {
        match text.trim().to_ascii_lowercase().as_str() {
            "x" | "+x" => Some(Self::PlusX),
            "-x" => Some(Self::MinusX),
            "y" | "+y" => Some(Self::PlusY),
            "-y" => Some(Self::MinusY),
            "z" | "+z" => Some(Self::PlusZ),
            "-z" => Some(Self::MinusZ),
            _ => None,
        }
    }

    /// The name as written: `+x`.
    pub const fn as_str(self) -> &'static str {
        match self {
            Self::PlusX => "+x",
            Self::MinusX => "-x",
            Self::PlusY => "+y",
            Self::MinusY => "-y",
            Self::PlusZ => "+z",
            Self::MinusZ => "-z",
        }
    }

    /// The axis along which the box is shortest; of equal ones z, then y, then x.
    pub fn shortest(bounds: &Bounds) -> Self {
        let [x, y, z] = bounds.size();
        if z <= y && z <= x {
            Self::PlusZ
        } else if y <= x {
            Self::PlusY
        } else {
            Self::PlusX
        }
    }

    /// A point of the mesh in the pose: the third coordinate is its height.
    #[inline]
    pub fn turn(self, [x, y, z]: Point) -> Point {
        match self {
            Self::PlusX => [y, z, x],
            Self::MinusX => [z, y, -x],
            Self::PlusY => [z, x, y],
            Self::MinusY => [x, z, -y],
            Self::PlusZ => [x, y, z],
            Self::MinusZ => [x, -y, -z],
        }
    }

    /// The box in the pose.
    pub fn turn_bounds(self, bounds: &Bounds) -> Bounds {
        let mut turned = Bounds::EMPTY;
        turned.take_in(&self.turn(bounds.min));
        turned.take_in(&self.turn(bounds.max));
        turned
    }

    /// Length, width and height of a box of the given size in the pose.
    pub fn turn_size(self, size: Point) -> Point {
        self.turn(size).map(f64::abs)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::mesh::sums::{cross, dot};

    #[test]
    fn every_pose_is_a_turn_that_puts_its_axis_up() {
        for up in Up::ALL {
            let [x, y, z] =
                [[1.0, 0.0, 0.0], [0.0, 1.0, 0.0], [0.0, 0.0, 1.0]].map(|axis| up.turn(axis));
            assert!(dot(&cross(&x, &y), &z) > 0.0, "{up:?} mirrors");
            let (sign, axis) = up.as_str().split_at(1);
            let mut pointing = [0.0; 3];
            pointing["xyz".find(axis).unwrap()] = if sign == "-" { -1.0 } else { 1.0 };
            assert_eq!(
                up.turn(pointing).map(|x| x + 0.0).map(f64::to_bits),
                [0.0, 0.0, 1.0].map(f64::to_bits),
                "{up:?}"
            );
            assert_eq!(Up::parse(up.as_str()), Some(up));
        }
        assert_eq!(Up::parse("up"), None);
        assert_eq!(Up::parse(" X "), Some(Up::PlusX));
    }

    #[test]
    fn shortest_takes_the_least_extent_and_z_before_y_before_x() {
        let up = |size| Up::shortest(&Bounds { min: [0.0; 3], max: size });
        assert_eq!(up([1.0, 2.0, 3.0]), Up::PlusX);
        assert_eq!(up([3.0, 2.0, 2.5]), Up::PlusY);
        assert_eq!(up([2.0, 2.0, 2.0]), Up::PlusZ);
        assert_eq!(up([2.0, 2.0, 3.0]), Up::PlusY);
    }
}
