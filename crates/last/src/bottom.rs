use crate::family::{BALL_OFFSET, BALL_WIDTH, Extent, HEEL_MARGIN, HEEL_OFFSET, HEEL_WIDTH, INNER_BALL, OUTER_BALL};
use crate::family::{heel_x, scale_mm, waist_x};
use crate::fit::Fitted;
use crate::profile::{BOTTOM_RADIUS, HEEL_PITCH, ProfileError, SEAT_DEPTH, TOE_SPRING, check_profile};
use base::{ParamSpec, Params, value_of};
use glam::DVec2;

/// Where the parts of a last's bottom lie in plan, foot frame, mm.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct BottomPlan {
    /// Rear edge.
    pub rear_x: f64,
    /// Centre of the seat.
    pub heel: DVec2,
    /// Half the breadth of the seat.
    pub half_heel: f64,
    /// Breast line: the front of the seat, where the shank begins.
    pub breast_x: f64,
    /// Middle of the waist.
    pub waist_x: f64,
    /// Rear and front of the flat tread: the x of outer and inner ball.
    pub tread_x: (f64, f64),
    /// Middle of the ball across the foot.
    pub ball_y: f64,
    /// Half the breadth of the ball.
    pub half_ball: f64,
    /// Front edge.
    pub tip_x: f64,
}

/// The breast line's place, share of the foot length. A trade text (oneandawl.org, Last Measurements) gives the heel a quarter
/// of the last's length.
const BREAST_SHARE: f64 = 0.25;

impl BottomPlan {
    /// The plan of the last that was fitted.
    #[must_use]
    pub fn of(fitted: &Fitted) -> BottomPlan {
        let value = |spec: &ParamSpec| value_of(&fitted.params, spec);
        let rear_x = -value(&HEEL_MARGIN);
        let tip_x = rear_x + fitted.length_mm;
        let extent = Extent { rear_x, tip_x, foot_mm: tip_x - fitted.toe_room_mm };
        let scale_mm = scale_mm(extent);
        let [inner, outer] = [&INNER_BALL, &OUTER_BALL].map(|spec| value(spec) / 100.0 * scale_mm);
        BottomPlan {
            rear_x,
            heel: DVec2::new(heel_x(extent), value(&HEEL_OFFSET)),
            half_heel: value(&HEEL_WIDTH) / 2.0,
            breast_x: BREAST_SHARE * scale_mm,
            waist_x: waist_x(extent),
            tread_x: (outer.min(inner), outer.max(inner)),
            ball_y: value(&BALL_OFFSET),
            half_ball: value(&BALL_WIDTH) / 2.0,
            tip_x,
        }
    }

    /// The tread point: the middle of the flat tread, where the bottom's height is 0.
    #[must_use]
    pub fn tread_point(&self) -> DVec2 {
        DVec2::new((self.tread_x.0 + self.tread_x.1) / 2.0, self.ball_y)
    }
}

/// The form of a last's bottom: the height z(x, y) over its tread point, foot frame, mm, z **up**, as the shoe stands on level
/// ground. The insole lies on it, so that its underside follows z and, its thickness unchanged, so does its top.
///
/// Guarantees: with heel pitch, toe spring, bottom radius and seat depth all 0 it is exactly 0 everywhere, so that an insole made
/// without them does not change; z and its gradient are continuous and finite everywhere. From rear to front: a level
/// seat at the heel pitch back of the breast line; an S through the shank, at half the pitch midway; a flat tread between
/// outer and inner ball; a parabola up to the toe spring at the tip. Across: a circular arc of the bottom radius from the
/// tread on forward, fading out to the waist; a dished seat, its centre at the pitch and its edge by the depth higher.
///
/// Not promised: the form of any maker's last. Such a bottom is a plain model (common practice, no source).
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct LastBottom {
    plan: BottomPlan,
    pitch: f64,
    spring: f64,
    radius: f64,
    seat_depth: f64,
}

impl LastBottom {
    /// The bottom of a last with these numbers of [`crate::PROFILE`].
    ///
    /// # Errors
    /// A number out of its range.
    pub fn new(plan: BottomPlan, profile: &Params) -> Result<LastBottom, ProfileError> {
        check_profile(profile)?;
        let value = |spec: &ParamSpec| value_of(profile, spec);
        Ok(LastBottom {
            plan,
            pitch: value(&HEEL_PITCH),
            spring: value(&TOE_SPRING),
            radius: value(&BOTTOM_RADIUS),
            seat_depth: value(&SEAT_DEPTH),
        })
    }

    /// Where its parts lie.
    #[must_use]
    pub fn plan(&self) -> &BottomPlan {
        &self.plan
    }

    /// Whether it is flat: its height is 0 everywhere.
    #[must_use]
    pub fn is_flat(&self) -> bool {
        [self.pitch, self.spring, self.radius, self.seat_depth].iter().all(|&number| number <= 0.0)
    }

    /// Height at `p` over the tread point, mm, positive up.
    #[must_use]
    pub fn height(&self, p: DVec2) -> f64 {
        self.at(p).0
    }

    /// Slope at `p`: the derivatives of the height by x and y.
    #[must_use]
    pub fn gradient(&self, p: DVec2) -> DVec2 {
        self.at(p).1
    }

    /// Height and gradient.
    fn at(&self, p: DVec2) -> (f64, DVec2) {
        if self.is_flat() {
            return (0.0, DVec2::ZERO);
        }
        let plan = &self.plan;
        let (shank, shank_dx) = falling(p.x, plan.breast_x, plan.tread_x.0);
        let (toe, toe_dx) = rising(p.x, plan.tread_x.1, plan.tip_x);
        let mut z = self.pitch * shank + self.spring * toe;
        let mut slope = DVec2::new(self.pitch * shank_dx + self.spring * toe_dx, 0.0);

        let (behind, behind_dx) = falling(p.x, plan.waist_x, plan.tread_x.0);
        let (arc, arc_dy) = arc(p.y - plan.ball_y, self.radius);
        z += (1.0 - behind) * arc;
        slope += DVec2::new(-behind_dx * arc, (1.0 - behind) * arc_dy);

        let (seat, seat_dx) = falling(p.x, plan.heel.x, plan.waist_x);
        let (dish, dish_slope) = self.dish(p);
        z += self.seat_depth * seat * dish;
        slope += self.seat_depth * (seat * dish_slope + DVec2::X * (seat_dx * dish));
        (z, slope)
    }

    /// The seat's hollow: 0 at the centre and along the middle in front of it, 1 on the ellipse through rear edge and sides, the
    /// square of the distance between, going on straight beyond.
    fn dish(&self, p: DVec2) -> (f64, DVec2) {
        let BottomPlan { heel, rear_x, half_heel, .. } = self.plan;
        let half = DVec2::new(heel.x - rear_x, half_heel);
        let from = DVec2::new((p.x - heel.x).min(0.0), p.y - heel.y) / half;
        let square = from.length_squared();
        if square <= 1.0 {
            return (square, 2.0 * from / half);
        }
        let distance = square.sqrt();
        (2.0 * distance - 1.0, 2.0 * from / (distance * half))
    }
}

/// From 1 up to `from` to 0 beyond `to` in the S of 3t² − 2t³, and its derivative.
fn falling(x: f64, from: f64, to: f64) -> (f64, f64) {
    let length = to - from;
    let t = ((to - x) / length).clamp(0.0, 1.0);
    (t * t * (3.0 - 2.0 * t), -6.0 * t * (1.0 - t) / length)
}

/// From 0 up to `from` in a parabola to 1 at `to`, straight on beyond, and its derivative.
fn rising(x: f64, from: f64, to: f64) -> (f64, f64) {
    let length = to - from;
    let t = ((x - from) / length).max(0.0);
    if t <= 1.0 { (t * t, 2.0 * t / length) } else { (2.0 * t - 1.0, 2.0 / length) }
}

/// Beyond this share of the radius the arc goes on straight: nearer to the radius it would stand upright.
const ARC_SHARE: f64 = 0.9;

/// Height of a circular arc that opens upward over its lowest point, at `y` beside it, and its derivative. Flat for radius 0.
fn arc(y: f64, radius: f64) -> (f64, f64) {
    if radius <= 0.0 {
        return (0.0, 0.0);
    }
    let on = y.clamp(-ARC_SHARE * radius, ARC_SHARE * radius);
    let root = (radius * radius - on * on).sqrt();
    let slope = on / root;
    (radius - root + slope * (y - on), slope)
}
