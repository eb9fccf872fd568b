use super::*;
use crate::view3d::MarkerShape;
use crate::view3d::camera::Camera;
use crate::view3d::quads;

/// A level plate over the plan box x 0…200, y −40…40, facing up.
fn plate(z: f32) -> Mesh {
    let corners = [[0.0, -40.0, z], [200.0, -40.0, z], [200.0, 40.0, z], [0.0, 40.0, z]];
    Mesh {
        positions: Rc::new(corners.into_iter().flatten().collect()),
        normals: Rc::new([[0.0, 0.0, 1.0]; 4].into_iter().flatten().collect()),
        indices: Rc::new(vec![0, 1, 2, 0, 2, 3]),
    }
}

/// A pair, skin 30 mm over the insoles.
fn pair() -> Scene {
    let mut scene = Scene::default();
    for side in Side::ALL {
        scene.set_mesh(side, What::Insole, Some(&plate(5.0)));
        scene.set_mesh(side, What::Foot, Some(&plate(35.0)));
    }
    scene
}

fn from_above(scene: &Scene, side: Side, x: f64, y: f64) -> Ray {
    let origin = scene.stand.world_from_foot(side).transform_point3(DVec3::new(x, y, 500.0));
    Ray { origin, direction: -DVec3::Z }
}

#[test]
fn a_pick_names_side_mesh_and_place_in_the_foot_frame() {
    let mut scene = pair();
    for side in Side::ALL {
        let ray = from_above(&scene, side, 120.0, 25.0);
        let mut at = |skin| {
            scene.skin = skin;
            scene.pick(ray).map(|hit| (hit.side, hit.what, hit.at.map(|n| (n * 1e6).round() / 1e6)))
        };
        assert_eq!(at(SkinShow::Solid), Some((side, What::Foot, [120.0, 25.0, 35.0])));
        assert_eq!(at(SkinShow::Ghost), Some((side, What::Insole, [120.0, 25.0, 5.0])), "through the ghost");
        assert_eq!(at(SkinShow::Hidden), Some((side, What::Insole, [120.0, 25.0, 5.0])));
    }
    assert_eq!(scene.pick(from_above(&scene, Side::Left, 120.0, 200.0)), None);
}

#[test]
fn a_side_out_of_focus_is_neither_met_nor_fitted_nor_marked() {
    let mut scene = pair();
    let whole = scene.bounds().unwrap();
    scene.markers = Side::ALL
        .map(|side| Marker {
            side,
            at: [10.0, 0.0, 5.0],
            color: [1.0; 3],
            shape: MarkerShape::Disc,
            radius_px: 5.0,
            ringed: false,
        })
        .to_vec();
    assert_eq!(quads::of_markers(&scene, &Camera::default()).place.len(), 12);
    scene.focus = Some(Side::Right);
    assert_eq!(scene.pick(from_above(&scene, Side::Left, 120.0, 0.0)), None);
    let one = scene.bounds().unwrap();
    assert!(one.0.x > whole.0.x && one.0.x > 0.0);
    assert_eq!(quads::of_markers(&scene, &Camera::default()).place.len(), 6);
}

#[test]
fn only_what_cannot_be_looked_through_hides() {
    let mut scene = pair();
    let eye = DVec3::new(0.0, 100.0, 800.0);
    let at =
        |scene: &Scene, z: f64| scene.stand.world_from_foot(Side::Right).transform_point3(DVec3::new(100.0, 0.0, z));
    scene.skin = SkinShow::Solid;
    assert!(!scene.sees(eye, at(&scene, 5.0)), "the skin hides the insole");
    assert!(scene.sees(eye, at(&scene, 35.0)), "a point on the skin is seen");
    scene.skin = SkinShow::Ghost;
    assert!(scene.sees(eye, at(&scene, 5.0)));
    assert!(!scene.sees(eye, at(&scene, -10.0)), "the insole hides what is under it");
    scene.insole_hidden = true;
    assert!(scene.sees(eye, at(&scene, -10.0)));
}

#[test]
fn a_curve_lies_on_the_insole_and_keeps_its_height_beside_it() {
    let scene = pair();
    let laid = scene.lift(Side::Left, &[[-20.0, 0.0], [10.0, 0.0], [10.0, 60.0]]);
    assert_eq!(laid, [[-20.0, 0.0, 5.0], [10.0, 0.0, 5.0], [10.0, 60.0, 5.0]]);
    assert_eq!(Scene::default().lift(Side::Left, &[[1.0, 2.0]]), [[1.0, 2.0, 0.0]]);
}

#[test]
fn colours_that_do_not_fit_the_mesh_are_not_shown() {
    let mut scene = pair();
    let paint = |vertices: usize| Paint { rgb: vec![9; vertices * 3], iso: Some((vec![1.0; vertices], 5.0)) };
    let theme = scene.theme.insole;
    let bytes = |rgb: Rgb| rgb.map(|channel| (channel * 255.0) as u8);
    for (paint, base, step) in [(Some(paint(4)), [1.0; 3], 5.0), (Some(paint(5)), theme, 0.0), (None, theme, 0.0)] {
        scene.set_paint(Side::Left, What::Insole, paint);
        assert_eq!(bytes(scene.base_color(Side::Left, What::Insole)), bytes(base));
        assert!((scene.iso_step(Side::Left, What::Insole) - step).abs() < f32::EPSILON);
        let (tints, values) = scene.tints(Side::Left, What::Insole);
        assert_eq!((tints.len(), values.len()), (4, 4));
    }
}

#[test]
fn only_what_is_new_of_a_mesh_goes_to_the_graphics_card() {
    let mut scene = Scene::default();
    let mesh = plate(5.0);
    let set = |scene: &mut Scene, mesh: Option<&Mesh>| scene.set_mesh(Side::Left, What::Insole, mesh);
    assert_eq!(set(&mut scene, Some(&mesh)), Fresh { shape: true, triangles: true });
    assert_eq!(set(&mut scene, Some(&mesh.clone())), Fresh::default());
    let raised = Mesh { indices: Rc::clone(&mesh.indices), ..plate(6.0) };
    assert_eq!(set(&mut scene, Some(&raised)), Fresh { shape: true, triangles: false });
    assert_eq!(set(&mut scene, None), Fresh { shape: true, triangles: true });
    assert_eq!(set(&mut scene, None), Fresh::default());
}

#[test]
fn a_mesh_that_is_no_mesh_is_left_out() {
    let mut scene = Scene::default();
    let broken =
        Mesh { positions: Rc::new(vec![f32::NAN; 9]), normals: Rc::new(vec![0.0; 9]), indices: Rc::new(vec![0, 1, 2]) };
    scene.set_mesh(Side::Left, What::Foot, Some(&broken));
    assert!(scene.surface(Side::Left, What::Foot).is_none());
    let bare = Mesh { normals: Rc::default(), ..plate(1.0) };
    scene.set_mesh(Side::Left, What::Foot, Some(&bare));
    assert!(scene.surface(Side::Left, What::Foot).is_none());
    assert_eq!(scene.bounds(), None);
    assert!(scene.shade().is_none());
}

#[test]
fn closed_lines_end_where_they_begin() {
    let mut scene = pair();
    let line = |closed| Line {
        side: Side::Right,
        points: vec![[0.0, 0.0, 0.0], [10.0, 0.0, 0.0], [10.0, 10.0, 0.0]],
        closed,
        color: [0.0; 3],
        width_px: 2.0,
    };
    let segments = |scene: &Scene| quads::of_lines(scene).start.len() / 6;
    scene.lines = vec![line(false)];
    assert_eq!(segments(&scene), 2);
    scene.lines = vec![line(true)];
    assert_eq!(segments(&scene), 3);
}
