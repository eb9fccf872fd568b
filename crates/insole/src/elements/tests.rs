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

/// Every element as placed, and turned, so that nothing hangs on the axes.
fn cases() -> Vec<(&'static dyn Element, Params)> {
    let mut cases = Vec::new();
    for &element in ALL {
        let placed = element.place(&landmarks());
        let mut turned = placed.clone();
        for spec in element.params().iter().filter(|spec| spec.unit == "°") {
            turned.insert(spec.id.to_owned(), spec.min + 0.7 * (spec.max - spec.min));
        }
        cases.extend([(element, placed), (element, turned), (element, defaults(element.params()))]);
    }
    cases
}

/// A grid over the bounds and 5 mm round them.
fn around(element: &dyn Element, params: &Params, step: f64) -> Vec<DVec2> {
    let (lo, hi) = element.bounds(params);
    let grid = mesh::Grid::over(lo - 5.0, hi + 5.0, step);
    (0..grid.values.len()).map(|i| grid.at(i % grid.columns, i / grid.columns)).collect()
}

#[test]
fn ids_are_unique_and_everything_is_said() {
    for (index, element) in ALL.iter().enumerate() {
        assert!(ALL[..index].iter().all(|other| other.id() != element.id()));
        assert_eq!(by_id(element.id()).map(Element::id), Some(element.id()));
        assert!(!element.label().is_empty() && element.help().len() > 40 && !element.source().text.is_empty());
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
            let params = element.place(&marks);
            for spec in element.params() {
                assert!(params.get(spec.id).is_some_and(|&value| spec.accepts(value)), "{} {}", element.id(), spec.id);
            }
            assert_eq!(params.len(), element.params().len());
        }
    }
}

#[test]
fn shapes_are_finite_bounded_and_not_nothing() {
    for (element, params) in cases() {
        let shape = element.shape(&params);
        let (lo, hi) = element.bounds(&params);
        let mut most: f64 = 0.0;
        for p in around(element, &params, 1.0) {
            let height = shape(p);
            assert!(height.is_finite());
            assert!((height - element.height(&params, p)).abs() < 1e-15);
            if p.cmplt(lo).any() || p.cmpgt(hi).any() {
                assert!(height == 0.0, "{} has {height} at {p} outside its bounds", element.id());
            }
            most = most.max(height.abs());
        }
        assert!(most > 1.0, "{} is nowhere higher or deeper than {most}", element.id());
    }
}

#[test]
fn without_height_an_element_is_nothing() {
    for (element, mut params) in cases() {
        for id in ["height_mm", "depth_mm"] {
            if element.params().iter().any(|spec| spec.id == id) {
                params.insert(id.to_owned(), 0.0);
            }
        }
        let shape = element.shape(&params);
        assert!(around(element, &params, 2.0).into_iter().all(|p| shape(p) == 0.0), "{}", element.id());
    }
}

/// The gradient by differences does not jump over a short way, least of all across the edge.
#[test]
fn shapes_have_no_crease() {
    let h = 1e-4;
    for (element, params) in cases() {
        let shape = element.shape(&params);
        let gradient = |p: DVec2| {
            DVec2::new(
                shape(p + DVec2::X * h) - shape(p - DVec2::X * h),
                shape(p + DVec2::Y * h) - shape(p - DVec2::Y * h),
            ) / (2.0 * h)
        };
        let way = DVec2::new(0.013, 0.008);
        for p in around(element, &params, 0.73) {
            let jump = gradient(p).distance(gradient(p + way));
            assert!(jump < 0.03, "{}: the slope jumps by {jump} at {p}", element.id());
        }
    }
}

/// Mirrored parameters give the mirrored shape: nothing asks for the side.
#[test]
fn shapes_are_mirror_symmetric() {
    let flip = DVec2::new(1.0, -1.0);
    for (element, params) in cases() {
        let mut mirrored = params.clone();
        for id in ["y_mm", "angle_deg"] {
            if let Some(value) = mirrored.get_mut(id) {
                *value = -*value;
            }
        }
        for p in around(element, &params, 2.3) {
            let (here, there) = (element.height(&params, p), element.height(&mirrored, p * flip));
            assert!((here - there).abs() < 1e-9, "{}: {here} and {there} at {p}", element.id());
        }
    }
}

#[test]
fn a_handle_goes_where_it_is_dragged() {
    for (element, params) in cases() {
        for handle in element.handles(&params) {
            let at =
                |params: &Params| element.handles(params).into_iter().find(|other| other.id == handle.id).unwrap().at;
            let still = element.drag(&params, handle.id, handle.at);
            assert!(at(&still).distance(handle.at) < 1e-9, "{} {} does not rest", element.id(), handle.id);
            for by in [DVec2::new(2.0, 1.5), DVec2::new(-1.5, 2.0), DVec2::new(-2.5, -1.0)] {
                let target = match handle.kind {
                    HandleKind::Point => handle.at + by,
                    HandleKind::Along(direction) => handle.at + direction * by.dot(direction),
                };
                let dragged = element.drag(&params, handle.id, handle.at + by);
                assert!(
                    at(&dragged).distance(target) < 1e-9,
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
                assert_eq!(element.drag(&params, handle.id, nowhere), params);
            }
            let far = element.drag(&params, handle.id, DVec2::new(1e6, -1e6));
            assert!(element.params().iter().all(|spec| spec.accepts(value_of(&far, spec))));
        }
        assert_eq!(element.drag(&params, "no_such_handle", DVec2::ZERO), params);
    }
}

#[test]
fn nonsense_in_a_file_gives_a_finite_shape() {
    for &element in ALL {
        for value in [f64::NAN, f64::INFINITY, -1e300, 1e300, 0.0] {
            let params: Params = element.params().iter().map(|spec| (spec.id.to_owned(), value)).collect();
            let (lo, hi) = element.bounds(&params);
            assert!(lo.is_finite() && hi.is_finite());
            for p in [lo, hi, (lo + hi) / 2.0, DVec2::ZERO] {
                assert!(element.height(&params, p).is_finite());
            }
            assert!(element.handles(&params).iter().all(|handle| handle.at.is_finite()));
        }
    }
}

#[test]
fn an_item_keeps_a_kind_it_does_not_know() {
    let item = ElementItem {
        id: 7,
        kind: "of_a_later_version".to_owned(),
        on: true,
        params: [("curl_mm".to_owned(), 3.25)].into_iter().collect(),
    };
    let text = serde_json::to_string(&item).unwrap();
    assert_eq!(serde_json::from_str::<ElementItem>(&text).unwrap(), item);
}
