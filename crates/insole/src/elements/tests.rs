use super::*;
use base::{defaults, value_of};
use foot::{Landmark, LandmarkId};
use glam::DVec3;

fn landmarks() -> Landmarks {
    [
        (LandmarkId::HeelCentre, DVec3::new(38.0, -2.0, 0.0)),
        (LandmarkId::ArchApex, DVec3::new(108.0, 20.0, 18.0)),
        (LandmarkId::MetatarsaleTibiale, DVec3::new(192.0, 43.0, 12.0)),
        (LandmarkId::MetatarsaleFibulare, DVec3::new(168.0, -50.0, 10.0)),
    ]
    .into_iter()
    .map(|(id, at)| (id, Landmark { at, confidence: 1.0, by_hand: false }))
    .collect()
}

/// A drawn outline with a corner and a hollow.
const CURVE: [[f64; 2]; 6] = [[170.0, 10.0], [185.0, 8.0], [192.0, 24.0], [181.0, 20.0], [176.0, 32.0], [166.0, 22.0]];

fn edge() -> Arc<Edge> {
    crate::test_foot::edge()
}

/// Every element as placed, as its defaults say, turned, so that nothing hangs on the axes, with every choice, and drawn.
fn cases() -> Vec<(&'static dyn Element, ElementItem)> {
    let mut cases = Vec::new();
    for &element in ALL {
        let item = |params: Params| ElementItem::new(element.id(), params);
        let placed = element.place(&Site { landmarks: &landmarks(), edge: &edge() });
        let mut turned = placed.clone();
        for spec in element.params().iter().filter(|spec| spec.unit == "°" && spec.id != element.strength()) {
            turned.insert(spec.id.to_owned(), spec.min + 0.7 * (spec.max - spec.min));
        }
        for spec in element.params() {
            for choice in 1..element.words(spec.id).len() {
                let mut chosen = placed.clone();
                chosen.insert(spec.id.to_owned(), choice as f64);
                cases.push((element, item(chosen)));
            }
        }
        if element.is_drawn() {
            cases.push((element, ElementItem { curve: CURVE.to_vec(), ..item(placed.clone()) }));
        }
        if element.has_text() {
            cases.push((element, ElementItem { text: "K-7 b".to_owned(), ..item(placed.clone()) }));
        }
        cases.extend([placed, turned, defaults(element.params())].map(|params| (element, item(params))));
    }
    cases
}

/// A grid over the bounds and 5 mm round them.
fn around(element: &dyn Element, item: &ElementItem, step: f64) -> Vec<DVec2> {
    let ((lo, hi), (least, most)) = (element.bounds(item, &edge()), edge().bounds());
    // What reaches far beyond the insole is looked at on the insole.
    let grid = mesh::Grid::over(lo.max(least) - 5.0, hi.min(most) + 5.0, step);
    (0..grid.values.len()).map(|i| grid.at(i % grid.columns, i / grid.columns)).collect()
}

#[test]
fn ids_are_unique_and_everything_is_said() {
    for (index, element) in ALL.iter().enumerate() {
        assert!(ALL[..index].iter().all(|other| other.id() != element.id()));
        assert_eq!(by_id(element.id()).map(Element::id), Some(element.id()));
        assert!(
            !element.label().is_empty()
                && element.help().len() > 40
                && !element.strength().is_empty()
                && !element.source().text.is_empty()
        );
        let params = element.params();
        for (index, spec) in params.iter().enumerate() {
            assert!(params[..index].iter().all(|other| other.id != spec.id), "{} twice", spec.id);
            assert!(spec.accepts(spec.default) && spec.min < spec.max && spec.step > 0.0, "{}", spec.id);
            assert!(!spec.label.is_empty() && !spec.help.is_empty(), "{}", spec.id);
        }
    }
    assert!(by_id("no_such_element").is_none());
}

#[test]
fn places_are_complete_and_in_range_whatever_the_landmarks() {
    for &element in ALL {
        for marks in [landmarks(), Landmarks::new()] {
            let params = element.place(&Site { landmarks: &marks, edge: &edge() });
            for spec in element.params() {
                assert!(params.get(spec.id).is_some_and(|&value| spec.accepts(value)), "{} {}", element.id(), spec.id);
            }
            assert_eq!(params.len(), element.params().len());
        }
    }
}

#[test]
fn choices_have_words_and_strengths_are_parameters() {
    for &element in ALL {
        let specs = element.params();
        assert!(specs.iter().any(|spec| spec.id == element.strength() && spec.min <= 0.0), "{}", element.id());
        for spec in specs {
            let words = element.words(spec.id);
            assert!(
                words.is_empty()
                    || (spec.min.total_cmp(&0.0).is_eq() && spec.max.total_cmp(&((words.len() - 1) as f64)).is_eq()),
                "{}",
                spec.id
            );
            if let Some((least, most)) = element.usual(spec.id) {
                assert!(least < most && spec.min <= least && spec.max >= most, "{} {}", element.id(), spec.id);
            }
        }
    }
}

#[test]
fn shapes_are_finite_bounded_and_not_nothing() {
    let edge = edge();
    for (element, item) in cases() {
        let shape = element.shape(&item, &edge);
        let (lo, hi) = element.bounds(&item, &edge);
        let mut most: f64 = 0.0;
        for p in around(element, &item, 0.7) {
            let height = shape(p);
            assert!(height.is_finite());
            if p.cmplt(lo).any() || p.cmpgt(hi).any() {
                assert!(height == 0.0, "{} has {height} at {p} outside its bounds", element.id());
            }
            most = most.max(height.abs());
        }
        // A text that says nothing is nothing.
        let is_said = element.id() != "engraved_text" || !item.text.is_empty();
        assert!((most > 0.3) == is_said, "{} is nowhere higher or deeper than {most}", element.id());
    }
}

#[test]
fn without_strength_an_element_is_nothing() {
    let edge = edge();
    for (element, mut item) in cases() {
        item.params.insert(element.strength().to_owned(), 0.0);
        let shape = element.shape(&item, &edge);
        assert!(around(element, &item, 2.0).into_iter().all(|p| shape(p) == 0.0), "{}", element.id());
    }
}

/// Every element as placed is taken hold of on the insole, where it is at least half as high or deep as anywhere.
#[test]
fn crests_lie_on_the_insole_near_the_greatest_height() {
    let edge = edge();
    for &element in ALL {
        let item = ElementItem::new(element.id(), element.place(&Site { landmarks: &landmarks(), edge: &edge }));
        let (shape, crest) = (element.shape(&item, &edge), element.crest(&item, &edge));
        let on_insole = around(element, &item, 1.0).into_iter().filter(|&p| edge.inside_mm(p) > 0.0);
        let most = on_insole.map(|p| shape(p).abs()).fold(0.0, f64::max);
        assert!(edge.inside_mm(crest) > 0.0, "{}: {crest}", element.id());
        assert!(shape(crest).abs() >= 0.5 * most, "{}: {} at {crest} for {most}", element.id(), shape(crest));
    }
}

/// The gradient by differences does not jump over a short way, least of all across the edge.
#[test]
fn shapes_have_no_crease() {
    let (h, edge) = (1e-4, edge());
    for (element, item) in cases() {
        let shape = element.shape(&item, &edge);
        let gradient = |p: DVec2| {
            DVec2::new(
                shape(p + DVec2::X * h) - shape(p - DVec2::X * h),
                shape(p + DVec2::Y * h) - shape(p - DVec2::Y * h),
            ) / (2.0 * h)
        };
        let way = DVec2::new(0.013, 0.008);
        // The bend of the roundest edges that can be made, 1.5 mm high over 0.7 mm, is 6 per mm, and so is that of a
        // pocket's wall, 2.5 mm high over 1.5 mm (10/√3 times height over length squared).
        let is_steep = element.has_text() || element.id() == "pocket";
        let most = if is_steep { 0.12 } else { 0.05 };
        for p in around(element, &item, 0.73) {
            let jump = gradient(p).distance(gradient(p + way));
            assert!(jump < most, "{}: the slope jumps by {jump} at {p}", element.id());
        }
    }
}

/// Mirrored parameters give the mirrored shape: nothing asks for the side.
#[test]
fn shapes_are_mirror_symmetric() {
    let flip = DVec2::new(1.0, -1.0);
    // An edge that is its own mirror image.
    let outline: Vec<DVec2> = (0..400)
        .map(|i| {
            let (sin, cos) = libm::sincos(std::f64::consts::TAU * f64::from(i) / 400.0);
            DVec2::new(130.0 + 135.0 * cos, 45.0 * sin)
        })
        .collect();
    let edge = Arc::new(Edge::new(&outline).unwrap());
    for (element, item) in cases() {
        let has_side = ["raised_side", "on_side"].iter().any(|id| element.words(id).len() > 1);
        if element.has_text() || has_side || element.id() == "medial_heel_skive" {
            // Text reads one way only, and a side has its own name or is medial always: see their files.
            continue;
        }
        let mut mirrored = item.clone();
        for id in ["y_mm", "angle_deg", "slant_deg"] {
            if let Some(value) = mirrored.params.get_mut(id)
                && id != element.strength()
            {
                *value = -*value;
            }
        }
        mirrored.curve.iter_mut().for_each(|point| point[1] = -point[1]);
        let (here, there) = (element.shape(&item, &edge), element.shape(&mirrored, &edge));
        for p in around(element, &item, 2.3) {
            let (here, there) = (here(p), there(p * flip));
            // A drawn curve is sampled from another of its points, and so is the edge where a groove follows it.
            let is_sampled = !item.curve.is_empty() || element.id() == "cover_groove";
            let most = if is_sampled { 0.02 } else { 1e-9 };
            assert!((here - there).abs() < most, "{}: {here} and {there} at {p}", element.id());
        }
    }
}

#[test]
fn a_handle_goes_where_it_is_dragged() {
    let edge = edge();
    for (element, item) in cases() {
        for handle in element.handles(&item, &edge) {
            let with = |params: Params| ElementItem { params, ..item.clone() };
            let at = |params: &Params| {
                let handles = element.handles(&with(params.clone()), &edge);
                handles.into_iter().find(|other| other.id == handle.id).unwrap().at
            };
            let drag = |to: DVec2| element.drag(&item, &edge, handle.id, to);
            let still = drag(handle.at);
            assert!(at(&still).distance(handle.at) < 1e-6, "{} {} does not rest", element.id(), handle.id);
            for by in [DVec2::new(2.0, 1.5), DVec2::new(-1.5, 2.0), DVec2::new(-2.5, -1.0)] {
                let target = match handle.kind {
                    HandleKind::Point => handle.at + by,
                    HandleKind::Along(direction) => handle.at + direction * by.dot(direction),
                };
                let dragged = drag(handle.at + by);
                assert!(
                    at(&dragged).distance(target) < 1e-6,
                    "{} {}: {} instead of {target}",
                    element.id(),
                    handle.id,
                    at(&dragged)
                );
                for spec in element.params() {
                    assert!(spec.accepts(value_of(&dragged, spec)));
                }
            }
            for nowhere in [DVec2::NAN, DVec2::splat(f64::INFINITY)] {
                assert_eq!(drag(nowhere), item.params);
            }
            let far = drag(DVec2::new(1e6, -1e6));
            assert!(element.params().iter().all(|spec| spec.accepts(value_of(&far, spec))));
        }
        assert_eq!(element.drag(&item, &edge, "no_such_handle", DVec2::ZERO), item.params);
    }
}

#[test]
fn nonsense_in_a_file_gives_a_finite_shape() {
    let edge = edge();
    for &element in ALL {
        for value in [f64::NAN, f64::INFINITY, -1e300, 1e300, 0.0] {
            let params = element.params().iter().map(|spec| (spec.id.to_owned(), value)).collect();
            let curve = vec![[value, 1.0], [2.0, value], [3.0, 30.0]];
            let item = ElementItem { curve, text: "\u{1F9B6}".to_owned(), ..ElementItem::new(element.id(), params) };
            let (lo, hi) = element.bounds(&item, &edge);
            assert!(lo.is_finite() && hi.is_finite());
            for p in [lo, hi, (lo + hi) / 2.0, DVec2::ZERO] {
                assert!(element.height(&item, &edge, p).is_finite());
            }
            assert!(element.handles(&item, &edge).iter().all(|handle| handle.at.is_finite()));
            assert!(element.crest(&item, &edge).is_finite());
        }
    }
}

#[test]
fn an_item_keeps_a_kind_it_does_not_know() {
    let item = ElementItem {
        id: 7,
        params: [("curl_mm".to_owned(), 3.25)].into_iter().collect(),
        ..ElementItem::new("of_a_later_version", Params::new())
    };
    let text = serde_json::to_string(&item).unwrap();
    assert_eq!(serde_json::from_str::<ElementItem>(&text).unwrap(), item);
}
