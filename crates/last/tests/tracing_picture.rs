//! Pictures rendered from a known outline, traced back: noise, uneven light, prints, other things beside the insole.

#![allow(clippy::unwrap_used, reason = "a test may stop at what it did not expect")]

use glam::DVec2;
use last::tracing::picture::{Picture, scale_from_clicks, trace};
use last::{FootPlan, Outline, fit};
use mesh::Grid;

/// Numbers that look random (Steele, Lea and Flood 2014, SplitMix64).
struct Draw(u64);

impl Draw {
    /// 0…1.
    fn unit(&mut self) -> f64 {
        self.0 = self.0.wrapping_add(0x9E37_79B9_7F4A_7C15);
        let mixed = (self.0 ^ self.0 >> 30).wrapping_mul(0xBF58_476D_1CE4_E5B9);
        let mixed = (mixed ^ mixed >> 27).wrapping_mul(0x94D0_49BB_1331_11EB);
        (mixed ^ mixed >> 31) as f64 / 2f64.powi(64)
    }

    fn between(&mut self, low: f64, high: f64) -> f64 {
        low + (high - low) * self.unit()
    }

    /// Of a normal distribution with deviation 1, nearly: the sum of four.
    fn normal(&mut self) -> f64 {
        ((0..4).map(|_| self.unit()).sum::<f64>() - 2.0) * 3f64.sqrt()
    }
}

/// What to render.
#[derive(Clone)]
struct Scene {
    dots_per_inch: f64,
    insole: f64,
    ground: f64,
    /// How much darker the dark end is than the bright one, and the corners than the middle.
    uneven: f64,
    vignetting: f64,
    noise: f64,
    print: bool,
    ruler: bool,
    /// How much darker the ground is right beside the insole on one side.
    shadow: f64,
    turn: f64,
}

const PLAIN: Scene = Scene {
    dots_per_inch: 150.0,
    insole: 70.0,
    ground: 220.0,
    uneven: 0.0,
    vignetting: 0.0,
    noise: 0.0,
    print: false,
    ruler: false,
    shadow: 0.0,
    turn: 0.2,
};

const WIDTH_MM: f64 = 190.0;
const HEIGHT_MM: f64 = 310.0;

impl Scene {
    fn mm_per_pixel(&self) -> f64 {
        25.4 / self.dots_per_inch
    }

    /// The outline on the picture, x right, y up, mm from the lower left corner.
    fn truth(&self) -> Outline {
        let landmarks = foot::Landmarks::new();
        let foot = FootPlan { silhouette: &[], landmarks: &landmarks };
        let knots: Vec<DVec2> = fit(&foot, 262.0, &base::Params::new()).unwrap().outline.knots().to_vec();
        let direction = DVec2::from_angle(std::f64::consts::FRAC_PI_2 + self.turn);
        let centre = DVec2::new(WIDTH_MM, HEIGHT_MM) / 2.0;
        let moved: Vec<DVec2> = knots.iter().map(|k| centre + direction.rotate(*k - DVec2::new(130.0, 0.0))).collect();
        Outline::through(&moved).unwrap()
    }

    fn render(&self, truth: &Outline, draw: &mut Draw) -> Picture {
        let step = self.mm_per_pixel();
        let (width, height) = ((WIDTH_MM / step) as usize, (HEIGHT_MM / step) as usize);
        let origin = DVec2::splat(step / 2.0);
        let mut distances =
            Grid { origin_mm: origin, step_mm: step, columns: width, rows: height, values: vec![0.0; width * height] };
        truth.distance_onto(&mut distances);
        let mut luma = Vec::with_capacity(width * height);
        let centre = DVec2::new(WIDTH_MM, HEIGHT_MM) / 2.0;
        for row in 0..height {
            for column in 0..width {
                let up = height - 1 - row;
                let p = distances.at(column, up);
                let distance = f64::from(distances.get(column, up));
                // A pixel half covered by the edge has half of both levels.
                let share = (0.5 - distance / step).clamp(0.0, 1.0);
                let is_print = self.print && (p - centre).abs().cmplt(DVec2::new(14.0, 30.0)).all();
                let own = if is_print { self.ground } else { self.insole };
                let is_shadow = p.x > centre.x && distance > 0.0;
                let shadow = if is_shadow { self.shadow * libm::exp(-distance / 6.0) } else { 0.0 };
                let mut level = share * own + (1.0 - share) * self.ground * (1.0 - shadow);
                if self.ruler && p.x < 22.0 && p.x > 6.0 {
                    level = if ((p.y / 5.0) as usize).is_multiple_of(2) { 20.0 } else { 130.0 };
                }
                let q = (p - centre) / centre;
                let light = 1.0 - self.uneven * (q.x + q.y + 2.0) / 4.0 - self.vignetting * q.length_squared() / 2.0;
                luma.push((level * light + self.noise * draw.normal()).round().clamp(0.0, 255.0) as u8);
            }
        }
        Picture { width, height, luma }
    }

    /// Greatest and mean distance between the traced contour and the truth, either way, mm.
    fn off(&self, draw: &mut Draw, seed: Option<[f64; 2]>) -> (f64, f64) {
        let truth = self.truth();
        let contour = trace(&self.render(&truth, draw), self.mm_per_pixel(), seed).unwrap();
        let off: Vec<f64> = contour.iter().map(|p| truth.signed_distance_mm(*p).abs()).collect();
        let mean = off.iter().sum::<f64>() / off.len() as f64;
        let from_contour = off.into_iter().fold(0.0, f64::max);
        let back = |p: DVec2| contour.iter().map(|q| q.distance_squared(p)).fold(f64::INFINITY, f64::min).sqrt();
        let from_truth = truth.polygon(4.0).into_iter().map(back).fold(0.0, f64::max);
        // Contour points stand up to a pixel apart.
        (from_contour.max(from_truth - self.mm_per_pixel()), mean)
    }
}

#[track_caller]
fn check(scene: &Scene, seed: u64) {
    let (greatest, mean) = scene.off(&mut Draw(seed), None);
    assert!(greatest <= 0.5 && mean <= 0.15, "greatest {greatest:.3} mm, mean {mean:.3} mm");
}

#[test]
fn an_even_scan_is_traced_to_a_tenth_of_a_millimetre() {
    for (insole, ground) in [(70.0, 220.0), (230.0, 40.0), (120.0, 160.0)] {
        let (greatest, mean) = Scene { insole, ground, ..PLAIN }.off(&mut Draw(1), None);
        assert!(greatest < 0.1 && mean < 0.03, "{greatest} {mean}");
    }
}

#[test]
fn noise_and_uneven_light_cost_less_than_half_a_millimetre() {
    let mut draw = Draw(7);
    for dots_per_inch in [100.0, 150.0, 200.0] {
        for (insole, ground) in [(70.0, 220.0), (215.0, 60.0), (90.0, 150.0)] {
            let turn = draw.between(-0.2, 0.2);
            let scene = Scene { dots_per_inch, insole, ground, uneven: 0.3, noise: 8.0, turn, ..PLAIN };
            check(&scene, dots_per_inch as u64);
        }
    }
}

#[test]
fn darker_corners_are_light_and_no_insole() {
    check(&Scene { vignetting: 0.3, noise: 8.0, ..PLAIN }, 3);
    check(&Scene { vignetting: 0.15, uneven: 0.2, insole: 200.0, ground: 90.0, noise: 4.0, ..PLAIN }, 4);
}

#[test]
fn a_soft_shadow_moves_the_edge_little() {
    check(&Scene { shadow: 0.3, noise: 4.0, ..PLAIN }, 5);
    check(&Scene { shadow: 0.3, noise: 4.0, insole: 240.0, ground: 150.0, ..PLAIN }, 5);
}

#[test]
fn prints_are_filled_and_a_ruler_is_left_out() {
    check(&Scene { print: true, noise: 6.0, ..PLAIN }, 5);
    check(&Scene { print: true, ruler: true, turn: 0.0, noise: 6.0, uneven: 0.2, ..PLAIN }, 6);
}

#[test]
fn a_seed_chooses_and_fine_pictures_are_averaged() {
    let scene = Scene { print: true, turn: 0.0, ruler: true, dots_per_inch: 100.0, noise: 5.0, ..PLAIN };
    let pixel = |x: f64, y: f64| [x / scene.mm_per_pixel(), (HEIGHT_MM - y) / scene.mm_per_pixel()];
    // In the print, in the insole, and beside both.
    for (x, y) in [(WIDTH_MM / 2.0, HEIGHT_MM / 2.0), (WIDTH_MM / 2.0, HEIGHT_MM / 2.0 + 80.0)] {
        let (greatest, _) = scene.off(&mut Draw(2), Some(pixel(x, y)));
        assert!(greatest <= 0.5, "{greatest}");
    }
    let picture = scene.render(&scene.truth(), &mut Draw(2));
    let refused = trace(&picture, scene.mm_per_pixel(), Some(pixel(40.0, 20.0))).unwrap_err().to_string();
    assert!(refused.starts_with("at the place clicked nothing"), "{refused}");
    let refused = trace(&picture, scene.mm_per_pixel(), Some(pixel(14.0, 20.0))).unwrap_err().to_string();
    assert!(refused.starts_with("what stands out reaches the border"), "{refused}");
    check(&Scene { dots_per_inch: 300.0, noise: 8.0, ..PLAIN }, 9);
}

#[test]
fn where_nothing_can_be_traced_it_is_said() {
    let mut draw = Draw(3);
    let refuses = |picture: &Picture, mm_per_pixel: f64, start: &str| {
        let error = trace(picture, mm_per_pixel, None).unwrap_err();
        assert!(error.to_string().starts_with(start) && !error.advice().is_empty(), "{error}");
    };
    let same = Scene { insole: 150.0, ground: 150.0, noise: 8.0, uneven: 0.3, dots_per_inch: 60.0, ..PLAIN };
    refuses(&same.render(&same.truth(), &mut draw), same.mm_per_pixel(), "nothing of an insole's size");
    let plain = Scene { dots_per_inch: 60.0, ..PLAIN };
    let picture = plain.render(&plain.truth(), &mut draw);
    refuses(&picture, 0.02, "nothing of an insole's size");
    refuses(&picture, 5.0, "a pixel cannot be 5 mm");
    refuses(&picture, f64::NAN, "a pixel cannot be NaN mm");
    let cut_off = Picture {
        height: picture.height / 2,
        luma: picture.luma[..picture.width * (picture.height / 2)].to_vec(),
        ..picture
    };
    refuses(&cut_off, plain.mm_per_pixel(), "what stands out reaches the border");
    refuses(&Picture { luma: vec![0; 9], ..cut_off.clone() }, 0.4, "the picture has 9 levels");
    refuses(&Picture { width: 3, height: 3, luma: vec![0; 9] }, 0.4, "a side of the picture");
    refuses(&Picture { width: usize::MAX, height: 3, luma: vec![0; 9] }, 0.4, "the picture has more than");
    let noise = Picture { width: 300, height: 300, luma: (0..90_000).map(|_| (draw.unit() * 256.0) as u8).collect() };
    refuses(&noise, 0.5, "nothing of an insole's size");
    refuses(&Picture { width: 41, height: 4000, luma: vec![7; 164_000] }, 0.005, "nothing of an insole's size");
}

#[test]
fn two_clicks_and_a_length_give_the_scale_and_its_accuracy() {
    let scale = scale_from_clicks([100.0, 50.0], [700.0, 850.0], 200.0).unwrap();
    assert!((scale.mm_per_pixel - 0.2).abs() < 1e-12);
    assert!(scale.accuracy.text.ends_with("0.3 mm longer or shorter."), "{}", scale.accuracy.text);
    assert!(scale_from_clicks([0.0, 0.0], [120.0, 0.0], 20.0).unwrap().accuracy.severity == base::Severity::Check);
    let refuses = |b: [f64; 2], mm: f64| scale_from_clicks([0.0, 0.0], b, mm).unwrap_err().to_string();
    assert!(
        refuses([60.0, 70.0], 50.0).starts_with("the two clicks are 92 pixels apart, and at least 100 are needed.")
    );
    assert!(refuses([f64::NAN, 0.0], 50.0).starts_with("the two clicks are NaN"));
    assert!(refuses([600.0, 0.0], 5.0).starts_with("the length between the clicks cannot be 5 mm"));
    assert!(refuses([150.0, 0.0], 500.0).starts_with("a pixel cannot be"));
}

#[test]
fn a_png_becomes_its_greys() {
    let encode = |colour: png::ColorType, data: &[u8]| {
        let mut bytes = Vec::new();
        let mut encoder = png::Encoder::new(&mut bytes, 2, 1);
        encoder.set_color(colour);
        encoder.write_header().unwrap().write_image_data(data).unwrap();
        bytes
    };
    let luma = |bytes: &[u8]| Picture::from_png(bytes).unwrap().luma;
    assert_eq!(luma(&encode(png::ColorType::Grayscale, &[7, 200])), [7, 200]);
    assert_eq!(luma(&encode(png::ColorType::GrayscaleAlpha, &[7, 1, 200, 2])), [7, 200]);
    assert_eq!(luma(&encode(png::ColorType::Rgb, &[255, 0, 0, 90, 90, 90])), [76, 90]);
    assert_eq!(luma(&encode(png::ColorType::Rgba, &[0, 255, 0, 9, 0, 0, 255, 9])), [150, 29]);
    let whole = encode(png::ColorType::Rgb, &[255, 0, 0, 90, 90, 90]);
    for length in 0..whole.len() - 12 {
        assert!(Picture::from_png(&whole[..length]).is_err(), "{length}");
    }
}
