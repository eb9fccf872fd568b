//! What holds for any case: columns, bodies and loads at random.
#![allow(clippy::unwrap_used, reason = "helpers of tests: a failure is the test's failure")]

mod common;

use common::{greatest, of_place, sound};
use contact::{
    Bend, Columns, ContactError, Curve, Hinge, Indenter, Layer, LoadCase, Plane, Settled, Table, Workspace, settle,
};
use glam::DVec2;
use proptest::prelude::*;

/// A case at random: an oval of 60 by 36 mm with some nodes missing.
#[derive(Clone, Debug)]
struct Case {
    layers: Vec<(f64, f64, u8, f64)>,
    waves: [f64; 4],
    hills: Vec<[f64; 4]>,
    force_n: f64,
    at: [f64; 2],
    strength: f64,
    holes: u8,
}

fn case(strength: impl Strategy<Value = f64>) -> impl Strategy<Value = Case> {
    let layers = prop::collection::vec((1.0..15.0, 0.05..3.0, 0..3_u8, 0.3..1.0), 1..4);
    let hills = prop::collection::vec([-25.0..25.0, -14.0..14.0, 8.0..120.0, 0.0..3.0], 1..5);
    let waves = [-0.6..0.6, -0.6..0.6, 5.0..30.0, 5.0..30.0];
    (layers, waves, hills, 1.0..900.0, [-0.7..0.7, -0.7..0.7], strength, any::<u8>()).prop_map(
        |(layers, waves, hills, force_n, at, strength, holes)| Case {
            layers,
            waves,
            hills,
            force_n,
            at,
            strength,
            holes,
        },
    )
}

impl Case {
    fn plane(&self) -> Plane {
        Plane { origin_mm: DVec2::new(-30.0, -18.0), step_mm: 1.5, columns: 41, rows: 25 }
    }

    fn columns(&self) -> Columns {
        let plane = self.plane();
        let [a, b, long, wide] = self.waves;
        let wave = |p: DVec2| (1.0 + a * libm::sin(p.x / long) + b * libm::sin(p.y / wide) / 2.0).max(0.1);
        let layers = self.layers.iter().map(|&(thickness, modulus, kind, lock)| Layer {
            thickness_mm: of_place(&plane, |p| thickness * (1.0 + 0.4 * a * libm::cos(p.y / wide))),
            modulus_mpa: of_place(&plane, |p| modulus * wave(p)),
            curve: match kind {
                0 => Curve::Linear,
                1 => Curve::Locking { strain: lock },
                _ => Curve::Table(Table::new(&[[0.1, 0.1], [0.3, 0.2], [0.5, 0.8], [0.6, 2.5]]).unwrap()),
            },
        });
        let is_hole = |node: usize| node.wrapping_mul(7919) % 97 == usize::from(self.holes) % 97;
        let bears =
            (0..plane.len()).map(|node| (plane.at(node) / DVec2::new(30.0, 18.0)).length() <= 1.0 && !is_hole(node));
        let columns = Columns::new(plane, bears.collect(), layers.collect()).unwrap();
        let strength = of_place(&plane, |p| self.strength * wave(p));
        columns.with_shear(&strength).unwrap()
    }

    fn body(&self) -> Indenter {
        let hill = |p: DVec2, &[x, y, radius, height]: &[f64; 4]| {
            height + (p - DVec2::new(x, y)).length_squared() / (2.0 * radius)
        };
        Indenter::rigid(of_place(&self.plane(), |p| {
            self.hills.iter().map(|one| hill(p, one)).fold(f64::INFINITY, f64::min)
        }))
    }

    fn load(&self) -> LoadCase {
        LoadCase::at(self.force_n, DVec2::from(self.at) * DVec2::new(20.0, 12.0))
    }

    fn settle(&self) -> Settled {
        settle(&self.columns(), &self.body(), &self.load(), None, &mut Workspace::default()).unwrap()
    }
}

/// Balance at every node, from the definition: w is the depth of the body where it presses and no less anywhere; springs and shear
/// layer carry the pressure there, and nothing elsewhere. With the balance of the body this is the lowest energy, which is convex.
fn at_rest(case: &Case, body: &Indenter, settled: &Settled) -> Result<(), TestCaseError> {
    let (plane, columns) = (case.plane(), case.columns());
    let most = greatest(&settled.pressure_kpa);
    let [a, b, long, wide] = case.waves;
    let strength = |node: usize| {
        let p = plane.at(node);
        case.strength * (1.0 + a * libm::sin(p.x / long) + b * libm::sin(p.y / wide) / 2.0).max(0.1)
    };
    for node in (0..plane.len()).filter(|&node| columns.bears()[node]) {
        let (column, row) = (node % plane.columns, node / plane.columns);
        let reach = body.hinge.map_or(0.0, |hinge| hinge.reach_mm(plane.at(node)));
        let depth = settled.pose.depth_mm(plane.at(node)) - settled.pose.bend * reach - body.profile_mm[node];
        let (w, p) = (settled.compression_mm[node], settled.pressure_kpa[node]);
        let slack = 1e-9 * (1.0 + depth.abs());
        prop_assert!(w >= depth - slack && w >= -1e-4, "{} {}", w, depth);
        if p > 0.0 {
            prop_assert!((w - depth).abs() <= slack);
        }
        let beside = [(column > 0, node.wrapping_sub(1)), (column + 1 < plane.columns, node + 1)].into_iter();
        let beside =
            beside.chain([(row > 0, node.wrapping_sub(plane.columns)), (row + 1 < plane.rows, node + plane.columns)]);
        let pulled: f64 = beside
            .filter(|&(inside, other)| inside && columns.bears()[other])
            .map(|(_, other)| 0.5 * (strength(node) + strength(other)) * (w - settled.compression_mm[other]))
            .sum();
        let carried = columns.pressure_kpa(node, w).unwrap() + 1000.0 * pulled / (plane.step_mm * plane.step_mm);
        prop_assert!((carried - p).abs() <= 1e-5 * most, "{carried} {p} of {most}");
    }
    Ok(())
}

proptest! {
    #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::with_cases(80) })]

    #[test]
    fn every_body_comes_to_rest(case in case(prop_oneof![Just(0.0), 0.01..20.0])) {
        let settled = case.settle();
        sound(&case.plane(), &settled, case.force_n, case.load().at_mm);
        at_rest(&case, &case.body(), &settled)?;
    }

    #[test]
    fn more_load_sinks_deeper(case in case(prop_oneof![Just(0.0), 0.01..20.0]), more in 1.01..3.0) {
        let heavier = Case { force_n: more * case.force_n, ..case.clone() };
        prop_assert!(heavier.settle().pose.sink_mm > case.settle().pose.sink_mm);
    }

    /// Where a solve starts changes the way, not the answer; and the same solve gives the same bits.
    #[test]
    fn the_start_is_of_no_account(one in case(prop_oneof![Just(0.0), 0.01..20.0]), other in case(Just(0.0))) {
        let mut workspace = Workspace::default();
        let start = other.settle();
        let (columns, body, load) = (one.columns(), one.body(), one.load());
        let warm = settle(&columns, &body, &load, Some(&start), &mut workspace).unwrap();
        let cold = settle(&columns, &body, &load, None, &mut workspace).unwrap();
        prop_assert_eq!(&cold, &one.settle());
        let most = greatest(&cold.pressure_kpa);
        for (a, b) in warm.pressure_kpa.iter().zip(&cold.pressure_kpa) {
            prop_assert!((a - b).abs() <= 1e-4 * most, "{a} {b} of {most}");
        }
        let again = settle(&columns, &body, &load, Some(&cold), &mut workspace).unwrap();
        prop_assert!(again.iterations <= 1);
    }

    /// A hinge that is held bends the profile; one at zero is no hinge. The moment that a held bend needs gives the bend back.
    #[test]
    fn a_hinge_bends_the_body(case in case(prop_oneof![Just(0.0), 0.01..20.0]), bend in -0.05..0.3, across in -0.4..0.4, x in -5.0..10.0) {
        let (columns, plane, mut workspace) = (case.columns(), case.plane(), Workspace::default());
        let mut solve = |body: &Indenter, bend| settle(&columns, body, &LoadCase { bend, ..case.load() }, None, &mut workspace);
        let hinge = Hinge { on_mm: DVec2::new(x, 2.0), to_far: DVec2::new(3.0, across) };
        let hinged = Indenter { hinge: Some(hinge), ..case.body() };
        let unbent = solve(&hinged, Bend::Held(0.0)).unwrap();
        let rigid = solve(&case.body(), Bend::Held(0.0)).unwrap();
        let most = greatest(&rigid.pressure_kpa);
        for (a, b) in unbent.pressure_kpa.iter().zip(&rigid.pressure_kpa) {
            prop_assert!((a - b).abs() <= 1e-9 * most);
        }
        let held = solve(&hinged, Bend::Held(bend)).unwrap();
        sound(&plane, &held, case.force_n, case.load().at_mm);
        at_rest(&case, &hinged, &held)?;
        let profile = hinged.profile_mm.iter().enumerate().map(|(node, z)| z + bend * hinge.reach_mm(plane.at(node)));
        let bent = solve(&Indenter::rigid(profile.collect()), Bend::Held(0.0)).unwrap();
        let most = greatest(&bent.pressure_kpa);
        for (a, b) in held.pressure_kpa.iter().zip(&bent.pressure_kpa) {
            prop_assert!((a - b).abs() <= 1e-4 * most, "{a} {b} of {most}");
        }
        let about = held.pressure_kpa.iter().enumerate().map(|(node, p)| p * hinge.reach_mm(plane.at(node)));
        let moment = about.sum::<f64>() * plane.cell_mm2() / 1000.0;
        let near = held.pressure_kpa.iter().enumerate().filter(|(node, _)| hinge.reach_mm(plane.at(*node)) <= 0.0);
        let carried_near: f64 = near.map(|(_, p)| p * plane.cell_mm2() / 1000.0).sum();
        let touched_far = held.pressure_kpa.iter().enumerate().filter(|(node, p)| **p > 0.0 && hinge.reach_mm(plane.at(*node)) > 0.0);
        // With both bodies well down the bend is determined.
        if carried_near > 0.1 * case.force_n && touched_far.count() > 20 && moment > 0.02 * case.force_n {
            let given = solve(&hinged, Bend::MomentNmm(moment));
            match given {
                Ok(given) => {
                    prop_assert!(given.residuals.hinge_n_mm.abs() <= 1e-4 * case.force_n);
                    prop_assert!((given.pose.bend - bend).abs() < 1e-3 * (0.1 + bend.abs()), "{} {bend}", given.pose.bend);
                }
                Err(error) => prop_assert!(false, "{error}"),
            }
        }
    }

    /// Numbers that no case has are refused with their place, and nothing panics.
    #[test]
    fn bad_numbers_are_refused(case in case(Just(1.0)), node in 0..1025_usize, bad in prop::sample::select(vec![f64::NAN, f64::INFINITY, -1.0, 0.0])) {
        let plane = case.plane();
        let mut modulus = common::everywhere(&plane, 1.0);
        modulus[node] = bad;
        let layer = Layer { thickness_mm: common::everywhere(&plane, 5.0), modulus_mpa: modulus, curve: Curve::Linear };
        let refused = Columns::new(plane, vec![true; plane.len()], vec![layer]).unwrap_err();
        let is_placed = matches!(refused, ContactError::BadValue { column, row, .. } if row * 41 + column == node);
        prop_assert!(is_placed, "{refused}");
        if bad <= 0.0 || !bad.is_finite() {
            let mut load = case.load();
            load.force_n = bad;
            prop_assert!(settle(&case.columns(), &case.body(), &load, None, &mut Workspace::default()).is_err());
        }
    }
}
