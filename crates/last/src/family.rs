//! The family of last outlines: a few numbers of the trade, and the closed curve they give.
//!
//! Guarantee: every set of numbers within the ranges of [`PARAMS`], for every foot length and every size, gives a curve
//! that does not cross itself and that passes through its heel, waist and ball points exactly.
//! Not promised: that it looks like a last for numbers no last has.

use crate::outline::{Outline, OutlineError};
use crate::toe::{Arc, TOE_ASYMMETRY, TOE_BOX, TOE_POINT, TOE_SHAPE, arcs};
use base::{ParamSpec, Params, value_of};
use glam::DVec2;

/// Room before the longest toe.
pub const TOE_ALLOWANCE: ParamSpec = ParamSpec {
    id: "toe_allowance_mm",
    label: "Toe allowance",
    unit: "mm",
    min: 0.0,
    max: 30.0,
    default: 12.0,
    step: 0.5,
    help: "Room between the longest toe and the front edge. Fit studies in diabetes ask for at least 10 to 16 mm.",
};

/// How far the rear edge lies behind the pternion.
pub const HEEL_MARGIN: ParamSpec = ParamSpec {
    id: "heel_margin_mm",
    label: "Heel margin",
    unit: "mm",
    min: -10.0,
    max: 10.0,
    default: 0.0,
    step: 0.5,
    help: "How far the rear edge lies behind the pternion; negative where the heel overhangs it.",
};

/// Breadth across the ball.
pub const BALL_WIDTH: ParamSpec = ParamSpec {
    id: "ball_width_mm",
    label: "Ball width",
    unit: "mm",
    min: 45.0,
    max: 150.0,
    default: 95.0,
    step: 0.5,
    help: "Breadth between inner and outer ball, square to the foot axis. Fitted to the foot unless set.",
};

/// Breadth of the waist.
pub const WAIST_WIDTH: ParamSpec = ParamSpec {
    id: "waist_width_mm",
    label: "Waist width",
    unit: "mm",
    min: 30.0,
    max: 120.0,
    default: 62.0,
    step: 0.5,
    help: "Breadth of the waist between heel and ball, square to the foot axis. Fitted to the foot unless set.",
};

/// Breadth of the heel.
pub const HEEL_WIDTH: ParamSpec = ParamSpec {
    id: "heel_width_mm",
    label: "Heel width",
    unit: "mm",
    min: 30.0,
    max: 110.0,
    default: 63.0,
    step: 0.5,
    help: "Breadth of the heel over its centre, square to the foot axis. Fitted to the foot unless set.",
};

/// Place of the inner ball along the foot.
pub const INNER_BALL: ParamSpec = ParamSpec {
    id: "inner_ball_percent",
    label: "Inner ball",
    unit: "%",
    min: 66.0,
    max: 80.0,
    default: 74.0,
    step: 0.5,
    help: "Where the first metatarsal head lies, in percent of the foot length. From the landmark unless set.",
};

/// Place of the outer ball along the foot.
pub const OUTER_BALL: ParamSpec = ParamSpec {
    id: "outer_ball_percent",
    label: "Outer ball",
    unit: "%",
    min: 55.0,
    max: 72.0,
    default: 63.0,
    step: 0.5,
    help: "Where the fifth metatarsal head lies, in percent of the foot length. From the landmark unless set.",
};

/// Turn of the forefoot in plan.
pub const SWING: ParamSpec = ParamSpec {
    id: "swing_deg",
    label: "Swing",
    unit: "°",
    min: -15.0,
    max: 15.0,
    default: 7.0,
    step: 0.5,
    help: "Turn of the forefoot line, from the middle of the waist to the front, to the medial side. Fitted unless set.",
};

/// Side shift of the heel.
pub const HEEL_OFFSET: ParamSpec = offset("heel_offset_mm", "Heel offset", 0.0);

/// Side shift of the waist.
pub const WAIST_OFFSET: ParamSpec = offset("waist_offset_mm", "Waist offset", -4.0);

/// Side shift of the ball.
pub const BALL_OFFSET: ParamSpec = offset("ball_offset_mm", "Ball offset", -4.0);

/// The numbers of a last outline, as a form lists them. Those that are missing are fitted to the foot, except toe
/// allowance, heel margin and the four of the toe's shape, which have their defaults.
pub const PARAMS: &[ParamSpec] = &[
    TOE_ALLOWANCE,
    HEEL_MARGIN,
    TOE_SHAPE,
    TOE_POINT,
    TOE_BOX,
    TOE_ASYMMETRY,
    BALL_WIDTH,
    WAIST_WIDTH,
    HEEL_WIDTH,
    SWING,
    INNER_BALL,
    OUTER_BALL,
    BALL_OFFSET,
    WAIST_OFFSET,
    HEEL_OFFSET,
];

const fn offset(id: &'static str, label: &'static str, default: f64) -> ParamSpec {
    ParamSpec {
        id,
        label,
        unit: "mm",
        min: -20.0,
        max: 20.0,
        default,
        step: 0.5,
        help: "How far its middle lies to the medial side of the foot axis. Fitted to the foot unless set.",
    }
}

/// Where an outline begins and ends along the foot axis, mm.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Extent {
    /// Rear edge; the pternion is at 0.
    pub rear_x: f64,
    /// Front edge.
    pub tip_x: f64,
    /// Length of the foot, by which heel, waist and ball are placed.
    pub foot_mm: f64,
}

/// Centre of the heel, share of the foot length (common practice).
const HEEL_SHARE: f64 = 0.17;

/// Middle of the waist, share of the foot length (common practice).
const WAIST_SHARE: f64 = 0.43;

/// The front-most point keeps at least this share of the ball width from either side of the ball: nearer, the toe would
/// have a corner there.
const TIP_INSET_SHARE: f64 = 0.2;

/// Roundness of the heel's rear edge: the exponent of its superellipse. Below 1.9 the heel comes to a point, from 2.3 on it
/// shows corners.
const HEEL: Arc = Arc::even(2.05);

/// A last shorter than the foot has its waist and ball further back, so that they stay behind its front.
pub(crate) fn scale_mm(extent: Extent) -> f64 {
    extent.foot_mm.min(extent.tip_x)
}

/// Where the centre of the heel lies along the foot axis, mm.
pub(crate) fn heel_x(extent: Extent) -> f64 {
    HEEL_SHARE * scale_mm(extent)
}

/// Where the middle of the waist lies along the foot axis, mm.
pub(crate) fn waist_x(extent: Extent) -> f64 {
    WAIST_SHARE * scale_mm(extent)
}

/// Rounds of bringing the ends of the curve to the ends asked for. The curve bulges a little beyond a knot where its two
/// sides differ; moving the knot back by as much leaves a tenth of the error each round, and up to a half where widths leap.
const END_ROUNDS: usize = 10;

/// How near the ends of the outline come to the ends asked for, mm.
const END_MM: f64 = 0.01;

/// The outline of these numbers: from `extent.rear_x` to `extent.tip_x` within a few hundredths of a millimetre.
pub(crate) fn outline(params: &Params, extent: Extent) -> Result<Outline, OutlineError> {
    let mut aim = extent;
    let mut outline = simple(knots(params, aim))?;
    for _ in 1..END_ROUNDS {
        let (lo, hi) = outline.bounds();
        let (rear, front) = (extent.rear_x - lo.x, extent.tip_x - hi.x);
        if rear.abs().max(front.abs()) <= END_MM {
            break;
        }
        aim.rear_x += rear;
        aim.tip_x += front;
        outline = simple(knots(params, aim))?;
    }
    Ok(outline)
}

/// Times that the knots are doubled before the curve is given up. Widths that leap between heel, waist and ball let it
/// swing into loops; the polygon of the knots has none, and each doubling brings the curve nearer to it.
const DOUBLINGS: usize = 4;

/// The outline through `knots`, and through points midway between them as long as it crosses itself.
fn simple(mut knots: Vec<DVec2>) -> Result<Outline, OutlineError> {
    for _ in 0..DOUBLINGS {
        match Outline::through(&knots) {
            Err(OutlineError::CrossesItself { .. }) => {
                let next = knots.iter().cycle().skip(1);
                knots = knots.iter().zip(next).flat_map(|(&a, &b)| [a, a.midpoint(b)]).collect();
            }
            done => return done,
        }
    }
    Outline::through(&knots)
}

/// The knots of the outline, counter-clockwise from the rearmost point.
pub(crate) fn knots(params: &Params, extent: Extent) -> Vec<DVec2> {
    let value = |spec: &ParamSpec| value_of(params, spec);
    let scale_mm = scale_mm(extent);
    let heel = DVec2::new(heel_x(extent), value(&HEEL_OFFSET));
    let waist = DVec2::new(waist_x(extent), value(&WAIST_OFFSET));
    let ball_y = value(&BALL_OFFSET);
    let (inner_x, outer_x) = (value(&INNER_BALL) / 100.0 * scale_mm, value(&OUTER_BALL) / 100.0 * scale_mm);
    let [half_heel, half_waist, half_ball] = [&HEEL_WIDTH, &WAIST_WIDTH, &BALL_WIDTH].map(|spec| value(spec) / 2.0);

    let rear = DVec2::new(extent.rear_x, heel.y);
    let inner = DVec2::new(inner_x, ball_y + half_ball);
    let outer = DVec2::new(outer_x, ball_y - half_ball);
    let inset = 2.0 * half_ball * TIP_INSET_SHARE;
    let swung_y = waist.y + libm::tan(value(&SWING).to_radians()) * (extent.tip_x - waist.x);
    let tip = DVec2::new(extent.tip_x, swung_y.clamp(outer.y + inset, inner.y - inset));

    let outer_heel = heel - DVec2::Y * half_heel;
    let inner_heel = heel + DVec2::Y * half_heel;
    let (outer_toe, inner_toe) = arcs(params);
    let mut knots = vec![rear];
    knots.extend(corner(rear, outer_heel, HEEL, &[0.5]));
    knots.extend([outer_heel, waist - DVec2::Y * half_waist, outer]);
    knots.extend(corner(tip, outer, outer_toe, &TOE_KNOTS).into_iter().rev());
    knots.push(tip);
    knots.extend(corner(tip, inner, inner_toe, &TOE_KNOTS));
    knots.extend([inner, waist + DVec2::Y * half_waist, inner_heel]);
    knots.extend(corner(rear, inner_heel, HEEL, &[0.5]).into_iter().rev());
    knots
}

/// Where on the quarter arcs of the toe knots stand, as shares of the right angle from the tip.
const TOE_KNOTS: [f64; 3] = [0.16, 0.42, 0.68];

/// Points on the quarter of a superellipse from `end`, where it runs across the foot, to `side`, where it runs along it.
fn corner(end: DVec2, side: DVec2, arc: Arc, shares: &[f64]) -> Vec<DVec2> {
    shares
        .iter()
        .map(|share| {
            let (sin, cos) = libm::sincos(share * std::f64::consts::FRAC_PI_2);
            let (across, along) = (libm::pow(sin, 2.0 / arc.across), libm::pow(cos, 2.0 / arc.along));
            DVec2::new(side.x + (end.x - side.x) * along, end.y + (side.y - end.y) * across)
        })
        .collect()
}
