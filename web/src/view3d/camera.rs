use super::Preset;
use base::Side;
use glam::{DMat4, DVec2, DVec3, DVec4};

/// Vertical angle of view: narrow, so that lengths near and far compare and nothing bulges.
const FOV_RAD: f64 = 0.42;
/// Turning speed: a drag across 800 px turns once round.
const RAD_PER_PX: f64 = std::f64::consts::TAU / 800.0;
/// Nearest and farthest standpoint, mm.
const DISTANCE_MM: (f64, f64) = (90.0, 6000.0);
/// Share of the picture that what is fitted may fill.
const FILL: f64 = 0.86;

/// Where the viewer stands and looks. The horizon stays level.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Camera {
    /// What is looked at, world, mm.
    pub(super) target: DVec3,
    /// Turn about the vertical: 0 looks to the toes, a quarter turn looks at the pair's right side.
    pub(super) yaw_rad: f64,
    /// Height of the standpoint: 0 level, a quarter turn straight above.
    pub(super) pitch_rad: f64,
    /// From the target, mm.
    pub(super) distance_mm: f64,
    /// Width and height of the picture, css px.
    pub(super) size_px: DVec2,
}

/// Half a line in the world.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Ray {
    /// Start.
    pub(super) origin: DVec3,
    /// Unit direction.
    pub(super) direction: DVec3,
}

impl Default for Camera {
    fn default() -> Self {
        let (yaw_rad, pitch_rad) = Preset::ThreeQuarter.angles(None);
        Camera {
            target: DVec3::new(0.0, 120.0, 20.0),
            yaw_rad,
            pitch_rad,
            distance_mm: 900.0,
            size_px: DVec2::new(800.0, 600.0),
        }
    }
}

impl Preset {
    /// Turn and height, rad.
    pub(super) fn angles(self, focus: Option<Side>) -> (f64, f64) {
        use std::f64::consts::{FRAC_PI_2, PI};
        // Seen from the pair's right: the right foot's outer side, the left foot's inner side.
        let from_right = |right: bool| if right { FRAC_PI_2 } else { -FRAC_PI_2 };
        let right_foot = focus.unwrap_or(Side::Right) == Side::Right;
        match self {
            Preset::ThreeQuarter => (-0.5, 0.62),
            Preset::Top => (0.0, FRAC_PI_2),
            Preset::Sole => (PI, -FRAC_PI_2),
            Preset::Medial => (from_right(!right_foot), 0.06),
            Preset::Lateral => (from_right(right_foot), 0.06),
            Preset::Heel => (0.0, 0.06),
            Preset::Toes => (PI, 0.06),
        }
    }
}

impl Camera {
    /// Rightwards in the picture, world.
    pub(super) fn right(&self) -> DVec3 {
        DVec3::new(libm::cos(self.yaw_rad), libm::sin(self.yaw_rad), 0.0)
    }

    /// Upwards in the picture, world.
    pub(super) fn up(&self) -> DVec3 {
        self.ahead() * libm::sin(self.pitch_rad) + DVec3::Z * libm::cos(self.pitch_rad)
    }

    /// Out of the picture to the viewer, world.
    pub(super) fn towards(&self) -> DVec3 {
        DVec3::Z * libm::sin(self.pitch_rad) - self.ahead() * libm::cos(self.pitch_rad)
    }

    /// Where the viewer stands, world.
    pub(super) fn eye(&self) -> DVec3 {
        self.target + self.towards() * self.distance_mm
    }

    /// Level direction of view.
    fn ahead(&self) -> DVec3 {
        DVec3::new(-libm::sin(self.yaw_rad), libm::cos(self.yaw_rad), 0.0)
    }

    /// One pixel at the target, mm.
    pub(super) fn mm_per_px(&self) -> f64 {
        2.0 * self.distance_mm * libm::tan(FOV_RAD / 2.0) / self.size_px.y.max(1.0)
    }

    /// World → clip space of the graphics library, with everything within `radius_mm` of the target kept.
    pub(super) fn clip_from_world(&self, radius_mm: f64) -> DMat4 {
        let near = (self.distance_mm - radius_mm).max(self.distance_mm * 0.02);
        let far = self.distance_mm + radius_mm;
        let aspect = self.size_px.x.max(1.0) / self.size_px.y.max(1.0);
        let (right, up, towards, eye) = (self.right(), self.up(), self.towards(), self.eye());
        let view = DMat4::from_cols(
            DVec4::new(right.x, up.x, towards.x, 0.0),
            DVec4::new(right.y, up.y, towards.y, 0.0),
            DVec4::new(right.z, up.z, towards.z, 0.0),
            DVec4::new(-right.dot(eye), -up.dot(eye), -towards.dot(eye), 1.0),
        );
        // The usual perspective matrix of OpenGL (depth −1 … 1), written out so that its tangent is libm's.
        let f = 1.0 / libm::tan(FOV_RAD / 2.0);
        let projection = DMat4::from_cols(
            DVec4::new(f / aspect, 0.0, 0.0, 0.0),
            DVec4::new(0.0, f, 0.0, 0.0),
            DVec4::new(0.0, 0.0, (far + near) / (near - far), -1.0),
            DVec4::new(0.0, 0.0, 2.0 * far * near / (near - far), 0.0),
        );
        projection * view
    }

    /// Where a point of the world lies in the picture, css px from its upper left; `None` behind the viewer.
    pub(super) fn project(&self, point: DVec3) -> Option<DVec2> {
        let from_eye = point - self.eye();
        let depth = -from_eye.dot(self.towards());
        if depth <= 1e-6 {
            return None;
        }
        let scale = self.size_px.y / (2.0 * libm::tan(FOV_RAD / 2.0)) / depth;
        let (x, y) = (from_eye.dot(self.right()) * scale, from_eye.dot(self.up()) * scale);
        Some(DVec2::new(self.size_px.x / 2.0 + x, self.size_px.y / 2.0 - y))
    }

    /// The ray through a place in the picture, css px.
    pub(super) fn ray(&self, at: DVec2) -> Ray {
        let scale = 2.0 * libm::tan(FOV_RAD / 2.0) / self.size_px.y.max(1.0);
        let offset = (at - self.size_px / 2.0) * scale;
        let direction = (self.right() * offset.x - self.up() * offset.y - self.towards()).normalize_or(-self.towards());
        Ray { origin: self.eye(), direction }
    }

    /// Turns what is looked at with the pointer.
    pub(super) fn orbit(&mut self, by: DVec2) {
        let quarter = std::f64::consts::FRAC_PI_2;
        self.yaw_rad = libm::remainder(self.yaw_rad - by.x * RAD_PER_PX, std::f64::consts::TAU);
        self.pitch_rad = (self.pitch_rad + by.y * RAD_PER_PX).clamp(-quarter, quarter);
    }

    /// Shifts the picture with the pointer.
    pub(super) fn pan(&mut self, by: DVec2) {
        self.target += (self.up() * by.y - self.right() * by.x) * self.mm_per_px();
    }

    /// Goes nearer (`factor` > 1) or farther; the point of the target's plane under `at` stays there.
    pub(super) fn zoom(&mut self, factor: f64, at: DVec2) {
        if !(factor.is_finite() && factor > 0.0) {
            return;
        }
        let before = self.mm_per_px();
        self.distance_mm = (self.distance_mm / factor).clamp(DISTANCE_MM.0, DISTANCE_MM.1);
        let kept = (before - self.mm_per_px()) * (at - self.size_px / 2.0);
        self.target += self.right() * kept.x - self.up() * kept.y;
    }

    /// Turns about the vertical, rad, as two fingers twist; the picture turns with them when seen from above.
    pub(super) fn twist(&mut self, by_rad: f64) {
        let sign = if self.pitch_rad < 0.0 { -1.0 } else { 1.0 };
        self.yaw_rad = libm::remainder(self.yaw_rad + sign * by_rad, std::f64::consts::TAU);
    }

    /// Keeps the target within a box: nobody gets lost.
    pub(super) fn stay_near(&mut self, lo: DVec3, hi: DVec3) {
        self.target = self.target.clamp(lo.min(hi), hi.max(lo));
    }

    /// Stands so that all `points` are in the picture and fill it, looking from where it looks.
    pub(super) fn fit(&mut self, points: &[DVec3]) {
        let Some(&first) = points.first() else { return };
        let (lo, hi) = points.iter().fold((first, first), |(lo, hi), &p| (lo.min(p), hi.max(p)));
        self.target = (lo + hi) / 2.0;
        let tangent = libm::tan(FOV_RAD / 2.0) * FILL;
        let aspect = self.size_px.x.max(1.0) / self.size_px.y.max(1.0);
        // Perspective shifts the middle of what is seen; a few rounds settle it to well under a pixel.
        for _ in 0..4 {
            let (right, up, towards) = (self.right(), self.up(), self.towards());
            let seen = |&p: &DVec3| {
                let q = p - self.target;
                DVec3::new(q.dot(right), q.dot(up), q.dot(towards))
            };
            let need = points.iter().map(seen).map(|q| q.z + (q.x.abs() / aspect).max(q.y.abs()) / tangent);
            let distance_mm = need.fold(DISTANCE_MM.0, f64::max).min(DISTANCE_MM.1);
            let slopes = points.iter().map(seen).map(|q| DVec2::new(q.x, q.y) / (distance_mm - q.z).max(1.0));
            let none = (DVec2::INFINITY, DVec2::NEG_INFINITY);
            let (least, most) = slopes.fold(none, |(lo, hi), s| (lo.min(s), hi.max(s)));
            let middle = (least + most) / 2.0 * distance_mm;
            self.distance_mm = distance_mm;
            self.target += right * middle.x + up * middle.y;
        }
    }

    /// A standpoint between two: `share` 0 … 1.
    pub(super) fn between(self, to: Camera, share: f64) -> Camera {
        let turn = libm::remainder(to.yaw_rad - self.yaw_rad, std::f64::consts::TAU);
        let mix = |a: f64, b: f64| a + (b - a) * share;
        Camera {
            target: self.target.lerp(to.target, share),
            yaw_rad: self.yaw_rad + turn * share,
            pitch_rad: mix(self.pitch_rad, to.pitch_rad),
            distance_mm: mix(self.distance_mm, to.distance_mm),
            size_px: to.size_px,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::f64::consts::FRAC_PI_2;

    fn cameras() -> Vec<Camera> {
        let presets = [
            Preset::ThreeQuarter,
            Preset::Top,
            Preset::Sole,
            Preset::Medial,
            Preset::Lateral,
            Preset::Heel,
            Preset::Toes,
        ];
        let camera = |preset: Preset| {
            let (yaw_rad, pitch_rad) = preset.angles(None);
            Camera { yaw_rad, pitch_rad, size_px: DVec2::new(640.0, 480.0), ..Camera::default() }
        };
        presets.into_iter().map(camera).collect()
    }

    #[test]
    fn the_plan_shows_right_on_the_right_and_toes_up() {
        let (yaw_rad, pitch_rad) = Preset::Top.angles(None);
        let camera = Camera { yaw_rad, pitch_rad, ..Camera::default() };
        assert!(camera.right().abs_diff_eq(DVec3::X, 1e-12));
        assert!(camera.up().abs_diff_eq(DVec3::Y, 1e-12));
        assert!(camera.towards().abs_diff_eq(DVec3::Z, 1e-12));
        let (yaw_rad, pitch_rad) = Preset::Sole.angles(None);
        let camera = Camera { yaw_rad, pitch_rad, ..Camera::default() };
        assert!(camera.up().abs_diff_eq(DVec3::Y, 1e-12), "toes up from below too");
    }

    #[test]
    fn medial_and_lateral_look_at_the_foot_from_its_inner_and_outer_side() {
        for (side, outwards) in [(Side::Left, -DVec3::X), (Side::Right, DVec3::X)] {
            for (preset, sign) in [(Preset::Lateral, 1.0), (Preset::Medial, -1.0)] {
                let (yaw_rad, pitch_rad) = preset.angles(Some(side));
                let camera = Camera { yaw_rad, pitch_rad, ..Camera::default() };
                assert!(camera.towards().dot(outwards) * sign > 0.9);
            }
        }
    }

    #[test]
    fn projection_ray_and_matrix_agree() {
        for camera in cameras() {
            for point in [camera.target, DVec3::new(40.0, 200.0, 10.0), DVec3::new(-90.0, -10.0, 60.0)] {
                let at = camera.project(point).unwrap();
                let ray = camera.ray(at);
                let nearest = ray.origin + ray.direction * (point - ray.origin).dot(ray.direction);
                assert!(nearest.distance(point) < 1e-9, "the ray through its picture meets the point");
                let clip = camera.clip_from_world(1000.0) * point.extend(1.0);
                let ndc = clip / clip.w;
                let px = DVec2::new((ndc.x + 1.0) / 2.0, (1.0 - ndc.y) / 2.0) * camera.size_px;
                assert!(px.distance(at) < 1e-9, "the graphics card draws it there");
                assert!(ndc.z > -1.0 && ndc.z < 1.0);
            }
            assert_eq!(camera.project(camera.eye() + camera.towards()), None);
        }
    }

    #[test]
    fn what_is_fitted_fills_the_picture_and_stays_in_it() {
        let corners: Vec<DVec3> = [-100.0, 100.0]
            .iter()
            .flat_map(|&x| [-5.0, 270.0].map(|y| (x, y)))
            .flat_map(|(x, y)| [-4.0, 110.0].map(|z| DVec3::new(x, y, z)))
            .collect();
        for mut camera in cameras() {
            camera.fit(&corners);
            let seen: Vec<DVec2> = corners.iter().map(|&corner| camera.project(corner).unwrap()).collect();
            let lo = seen.iter().fold(DVec2::INFINITY, |lo, p| lo.min(*p));
            let hi = seen.iter().fold(DVec2::NEG_INFINITY, |hi, p| hi.max(*p));
            assert!(lo.min_element() >= 0.0 && hi.x <= 640.0 && hi.y <= 480.0, "{lo} {hi}");
            let share = (hi - lo) / camera.size_px;
            assert!((share.max_element() - FILL).abs() < 0.02, "{share}");
        }
    }

    #[test]
    fn zooming_keeps_what_is_under_the_pointer() {
        for mut camera in cameras() {
            let at = DVec2::new(500.0, 100.0);
            let ray = camera.ray(at);
            let plane = (camera.target - ray.origin).dot(camera.towards()) / ray.direction.dot(camera.towards());
            let point = ray.origin + ray.direction * plane;
            camera.zoom(1.7, at);
            assert!(camera.project(point).unwrap().distance(at) < 1e-9);
            camera.zoom(f64::NAN, at);
            camera.zoom(0.0, at);
            assert!(camera.distance_mm.is_finite());
        }
    }

    #[test]
    fn turning_stops_at_the_poles_and_panning_follows_the_pointer() {
        let mut camera = Camera::default();
        camera.orbit(DVec2::new(3000.0, 5000.0));
        assert!((camera.pitch_rad - FRAC_PI_2).abs() < 1e-12);
        let before = camera.project(camera.target).unwrap();
        let point = camera.target;
        camera.pan(DVec2::new(30.0, -20.0));
        assert!(camera.project(point).unwrap().distance(before + DVec2::new(30.0, -20.0)) < 1e-9);
    }
}
