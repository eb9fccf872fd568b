//! The shape of the toe: two arcs from the tip to the outer and inner ball.

use base::{ParamSpec, Params, value_of};

/// Shape of the toe.
pub const TOE_SHAPE: ParamSpec = ParamSpec {
    id: "toe_shape",
    label: "Toe shape",
    unit: "",
    min: 0.0,
    max: 1.0,
    default: 0.5,
    step: 0.05,
    help: "0 slender, 0.5 round, 1 square.",
};

/// How far the toe comes to a point.
pub const TOE_POINT: ParamSpec = share("toe_point_percent", "Toe point", 0.0, "0 rounded off in front, 100 pointed.");

/// How far forward the toe keeps its width.
pub const TOE_BOX: ParamSpec =
    share("toe_box_percent", "Toe box", 0.0, "How far forward the width of the ball is kept: room for bent toes.");

/// How much fuller the toe is on the inner side.
pub const TOE_ASYMMETRY: ParamSpec = share(
    "toe_asymmetry_percent",
    "Toe asymmetry",
    -100.0,
    "Positive: fuller before the great toe, slanting to the little toe; negative: fuller before the little toe.",
);

const fn share(id: &'static str, label: &'static str, min: f64, help: &'static str) -> ParamSpec {
    ParamSpec { id, label, unit: "%", min, max: 100.0, default: 0.0, step: 5.0, help }
}

/// The numbers of a toe's shape.
pub(crate) const TOE_PARAMS: [ParamSpec; 4] = [TOE_SHAPE, TOE_POINT, TOE_BOX, TOE_ASYMMETRY];

/// A toe shape with a name.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct ToeShape {
    /// Stable id: `round`.
    pub id: &'static str,
    /// Label in the trade's words.
    pub label: &'static str,
    /// Values of toe shape, point, box and asymmetry.
    pub values: [f64; 4],
}

/// The toe shapes of the trade as numbers of ours (common practice, no source).
pub const TOE_SHAPES: &[ToeShape] = &[
    ToeShape { id: "round", label: "Round", values: [0.5, 0.0, 0.0, 0.0] },
    ToeShape { id: "square", label: "Square", values: [1.0, 0.0, 30.0, 0.0] },
    ToeShape { id: "almond", label: "Almond", values: [0.3, 45.0, 0.0, 0.0] },
    ToeShape { id: "pointed", label: "Pointed", values: [0.0, 100.0, 0.0, 0.0] },
    ToeShape { id: "oblique", label: "Oblique, along the toes", values: [0.6, 0.0, 20.0, 80.0] },
    ToeShape { id: "deep", label: "Deep, orthopaedic", values: [0.7, 0.0, 70.0, 0.0] },
];

/// The toe shape with this id.
#[must_use]
pub fn toe_shape(id: &str) -> Option<&'static ToeShape> {
    TOE_SHAPES.iter().find(|shape| shape.id == id)
}

impl ToeShape {
    /// Its numbers by id.
    #[must_use]
    pub fn params(&self) -> Params {
        TOE_PARAMS.iter().zip(self.values).map(|(spec, value)| (spec.id.to_owned(), value)).collect()
    }
}

/// A quarter of a superellipse: the higher `along`, the farther its side runs along the foot; the higher `across`, the
/// broader its front. 2 and 2 is an ellipse.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Arc {
    pub(crate) along: f64,
    pub(crate) across: f64,
}

impl Arc {
    pub(crate) const fn even(exponent: f64) -> Arc {
        Arc { along: exponent, across: exponent }
    }
}

/// Exponents of the outer arc, slender and square. Below 1.8 the toe is cut off obliquely; above 3 it shows corners.
const OUTER: (f64, f64) = (1.85, 2.85);

/// As above, of the inner arc: fuller, so that the great toe keeps its place.
const INNER: (f64, f64) = (1.9, 3.1);

/// Exponent across a toe that comes to a point. At 1 its sides meet in a corner, which the curve swings round.
const POINT: f64 = 1.4;

/// What the toe box adds to the exponents along the foot. More bulges before the ball.
const BOX: f64 = 1.2;

/// Share by which the asymmetry raises the inner exponents and lowers the outer ones. At 0.3 a pointed toe hollows out.
const ASYMMETRY: f64 = 0.22;

/// The outer and the inner arc of the toe.
pub(crate) fn arcs(params: &Params) -> (Arc, Arc) {
    let [shape, point, toe_box, asymmetry] = TOE_PARAMS.map(|spec| value_of(params, &spec));
    let [point, toe_box, asymmetry] = [point, toe_box, asymmetry].map(|percent| percent / 100.0);
    let arc = |(slender, square): (f64, f64), side: f64| {
        let exponent = slender + (square - slender) * shape;
        let fuller = 1.0 + ASYMMETRY * asymmetry * side;
        Arc { along: (exponent + BOX * toe_box) * fuller, across: (exponent + (POINT - exponent) * point) * fuller }
    };
    (arc(OUTER, -1.0), arc(INNER, 1.0))
}
