use super::*;
use crate::test_model;

fn written(model: &MakeModel, options: &[(&str, f64)]) -> Result<Vec<u8>, WriteError> {
    let options = options.iter().map(|(id, value)| ((*id).to_owned(), *value)).collect();
    let mut out = Vec::new();
    TemplatePdf.write(model, Part::Pair, &options, &mut out, &mut Report::default()).map(|()| out)
}

#[test]
fn an_option_out_of_range_is_refused_with_its_range() {
    let model = test_model::pair();
    for (id, value) in [("paper", 3.0), ("paper", 0.5), ("overlap_mm", 0.0), ("margin_mm", f64::NAN)] {
        let refused = written(&model, &[(id, value)]).unwrap_err().to_string();
        assert!(refused.contains(" to "), "{refused}");
    }
    assert!(written(&model, &[("paper", 2.0), ("overlap_mm", 20.0), ("margin_mm", 5.0)]).is_ok());
}

#[test]
fn a_foot_of_usual_size_takes_one_sheet_and_a_long_one_two() {
    let sheets = |length: f64| -> Vec<u32> {
        let mut model = test_model::pair();
        let mut side = test_model::side(length);
        (side.last_outline, side.shoe_outline) = (Vec::new(), Vec::new());
        model.sides = base::BySide { left: Some(side.clone()), right: Some(side) };
        jobs(templates(&model), 0, 10.0, 10.0).iter().map(|job| job.tiling.count()).collect()
    };
    assert_eq!(sheets(270.0), [1, 1]);
    assert_eq!(sheets(300.0), [2, 2]);
}

#[test]
fn a3_takes_both_feet_where_they_fit() {
    let model = test_model::pair();
    let both = jobs(templates(&model), A3, 10.0, 10.0);
    assert_eq!(both.len(), 1);
    assert_eq!((both[0].page, both[0].tiling.count()), (DVec2::new(420.0, 297.0), 1));
    let mut long = model;
    long.sides.left = Some(test_model::side(320.0));
    let each = jobs(templates(&long), A3, 10.0, 10.0);
    assert_eq!(each.len(), 2);
    assert!(each.iter().all(|job| job.page == DVec2::new(297.0, 420.0) && job.tiling.count() == 1));
}

#[test]
fn letters_the_font_lacks_are_reported() {
    let mut model = test_model::pair();
    let mut report = Report::default();
    TemplatePdf.write(&model, Part::Pair, &Params::new(), &mut Vec::new(), &mut report).unwrap();
    assert!(report.notes.is_empty());
    model.title = "足".into();
    TemplatePdf.write(&model, Part::Pair, &Params::new(), &mut Vec::new(), &mut report).unwrap();
    assert_eq!(report.notes.len(), 1);
}

#[test]
fn a_bar_is_not_laid_over_what_is_drawn() {
    use crate::formats::template::{Line, LineKind};
    let template = templates(&test_model::pair()).swap_remove(0);
    let mut sheet = side_by_side(vec![template]);
    sheet.placed[0].1.lines.clear();
    sheet.placed[0].1.texts.clear();
    let tile = Tile { column: 0, row: 0, lo: DVec2::ZERO, hi: DVec2::new(179.0, 277.0) };
    assert!(footer_is_free(&sheet, &tile));
    // Passes through without a corner in it.
    let through = Line::open(LineKind::Centre, [DVec2::new(120.0, -50.0), DVec2::new(121.0, 300.0)]);
    sheet.placed[0].1.lines = vec![through.moved(-sheet.placed[0].0)];
    assert!(!footer_is_free(&sheet, &tile));
}
