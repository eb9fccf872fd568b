use super::*;

#[test]
fn the_default_foot_is_as_long_as_asked() {
    let phantom = Phantom::new(PhantomParams::default()).unwrap();
    assert!((phantom.truth().foot_length_mm - 255.0).abs() < 0.05);
    for (id, at) in &phantom.truth().landmarks {
        assert!(phantom.distance(*at).abs() < 0.02, "{id:?}");
    }
}
