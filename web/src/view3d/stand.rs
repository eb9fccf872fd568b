use base::{BySide, Side};
use glam::{DAffine3, DMat3, DVec3};

/// Room between the two feet's inner sides, mm: as a pair is laid out on a bench.
const GAP_MM: f64 = 36.0;

/// How the pair stands in the world: x to the viewer's right, y away to the toes, z up, mm. The left foot is mirrored
/// back, so that it is a left foot again.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Stand {
    /// Distance of a foot's axis from the middle.
    offset_mm: BySide<f64>,
}

impl Default for Stand {
    fn default() -> Self {
        Stand { offset_mm: BySide { left: 70.0, right: 70.0 } }
    }
}

impl Stand {
    /// Moves a foot so that its innermost point, at `most_medial_mm` in its frame, keeps its distance from the middle.
    pub(super) fn place(&mut self, side: Side, most_medial_mm: f64) {
        self.offset_mm[side] = GAP_MM / 2.0 + most_medial_mm;
    }

    /// Foot frame → world.
    pub(super) fn world_from_foot(&self, side: Side) -> DAffine3 {
        // Medial, +y of the foot frame, is towards the middle: leftwards on the right foot, rightwards on the left.
        let (inwards, offset) = match side {
            Side::Left => (1.0, -self.offset_mm.left),
            Side::Right => (-1.0, self.offset_mm.right),
        };
        DAffine3 { matrix3: DMat3::from_cols(DVec3::Y, DVec3::X * inwards, DVec3::Z), translation: DVec3::X * offset }
    }

    /// World → foot frame.
    pub(super) fn foot_from_world(&self, side: Side) -> DAffine3 {
        self.world_from_foot(side).inverse()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_pair_stands_with_the_big_toes_in_the_middle() {
        let mut stand = Stand::default();
        for side in Side::ALL {
            stand.place(side, 45.0);
        }
        for (side, sign) in [(Side::Left, -1.0), (Side::Right, 1.0)] {
            let inner = stand.world_from_foot(side).transform_point3(DVec3::new(200.0, 45.0, 0.0));
            let outer = stand.world_from_foot(side).transform_point3(DVec3::new(150.0, -50.0, 0.0));
            assert_eq!(inner, DVec3::new(sign * GAP_MM / 2.0, 200.0, 0.0));
            assert!(outer.x * sign > inner.x * sign);
        }
    }

    #[test]
    fn only_the_left_foot_is_mirrored() {
        let stand = Stand::default();
        assert!(stand.world_from_foot(Side::Left).matrix3.determinant() < 0.0);
        assert!(stand.world_from_foot(Side::Right).matrix3.determinant() > 0.0);
        let p = DVec3::new(1.0, 2.0, 3.0);
        for side in Side::ALL {
            let there = stand.world_from_foot(side).transform_point3(p);
            assert!(stand.foot_from_world(side).transform_point3(there).abs_diff_eq(p, 1e-12));
        }
    }
}
