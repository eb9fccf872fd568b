use super::*;
use crate::test_model;

#[test]
fn medial_sides_face_each_other_and_toes_are_up() {
    let model = test_model::pair();
    for template in templates(&model) {
        let insole = model.sides[template.side].as_ref().unwrap();
        let apex = insole.landmarks[&LandmarkId::ArchApex].at;
        let at = on_sheet(template.side, apex.truncate());
        // The wearer's right is +x: that is medial of a left foot.
        let medial = if template.side == Side::Left { 1.0 } else { -1.0 };
        assert_eq!((at.x, at.y), (medial * apex.y, apex.x));
        assert!(
            template.lines.iter().any(|line| line.kind == LineKind::Landmark && line.points[0].distance(at) < 2.01)
        );
    }
}

#[test]
fn every_kind_is_drawn_and_in_the_legend_and_none_is_thinned() {
    let model = test_model::pair();
    let template = templates(&model).swap_remove(0);
    for kind in LineKind::ALL {
        let drawn = template.lines.iter().filter(|line| line.kind == kind).count();
        let shown = template.samples.iter().filter(|line| line.kind == kind).count().min(1);
        let expected = usize::from(kind != LineKind::CheckBar);
        assert_eq!((drawn.min(1), shown), (expected, expected), "{kind:?}");
    }
    let outline = &model.sides.left.as_ref().unwrap().outline;
    assert_eq!(template.lines.iter().find(|line| line.kind == LineKind::Insole).unwrap().points.len(), outline.len());
}

#[test]
fn all_that_is_drawn_lies_within_the_corners() {
    let mut model = test_model::pair();
    model.title = "word ".repeat(200);
    for template in templates(&model) {
        let points = template.lines.iter().chain(&template.samples).flat_map(|line| line.points.iter().copied());
        let rooms = template.texts.iter().flat_map(|text| <[DVec2; 2]>::from(text.room()));
        for p in points.chain(rooms) {
            assert!(p.cmpge(template.lo).all() && p.cmple(template.hi).all(), "{p}");
        }
    }
}

#[test]
fn no_two_kinds_look_alike() {
    let kinds = LineKind::ALL.into_iter().filter(|kind| *kind != LineKind::CheckBar);
    let looks: Vec<_> = kinds.map(|kind| (kind, kind.look())).collect();
    for (index, (kind, look)) in looks.iter().enumerate() {
        for (other, like) in &looks[..index] {
            // Crosses of landmarks are told from the foot's outline by their form.
            let crosses = *kind == LineKind::Landmark || *other == LineKind::Landmark;
            assert!(look != like || crosses, "{kind:?} {other:?}");
        }
    }
}

#[test]
fn a_side_that_lacks_everything_but_its_outline_is_drawn() {
    let mut model = test_model::pair();
    let side = model.sides.left.as_mut().unwrap();
    side.landmarks.clear();
    side.elements.clear();
    side.measures.clear();
    (side.silhouette, side.print, side.trim) = (Vec::new(), Vec::new(), None);
    (side.last_outline, side.shoe_outline) = (vec![DVec2::NAN; 5], vec![DVec2::ZERO]);
    let template = templates(&model).swap_remove(0);
    let kinds: Vec<LineKind> = template.lines.iter().map(|line| line.kind).collect();
    assert_eq!(kinds, [LineKind::Insole, LineKind::Centre]);
    model.sides.left.as_mut().unwrap().outline.clear();
    assert_eq!(templates(&model).len(), 1);
}

#[test]
fn a_text_that_is_too_long_shrinks_and_then_ends_in_an_ellipsis() {
    assert_eq!(fitted("LEFT", 6.0, 100.0), ("LEFT".into(), 6.0));
    let (text, height) = fitted(&"x".repeat(40), 6.0, 100.0);
    assert!(text.len() == 40 && height < 6.0 && about_width(&text, height) <= 100.001);
    let (text, height) = fitted(&"x".repeat(400), 6.0, 100.0);
    assert!(text.ends_with('…') && about_width(&text, height) <= 100.001);
}
