use base::ParamSpec;

/// Room before the longest toe.
pub const TOE_ALLOWANCE: ParamSpec = ParamSpec {
    id: "toe_allowance_mm",
    label: "Toe allowance",
    unit: "mm",
    min: 0.0,
    max: 30.0,
    default: 12.0,
    step: 0.5,
    help: "Room between the longest toe and the front edge of the insole. Fit studies of diabetic footwear ask for at least 10 to 16 mm.",
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
    help: "How far the rear edge of the insole lies behind the pternion; negative where the heel overhangs it.",
};

/// Breadth across the ball, square to the foot axis.
pub const BALL_WIDTH: ParamSpec = ParamSpec {
    id: "ball_width_mm",
    label: "Ball width",
    unit: "mm",
    min: 45.0,
    max: 150.0,
    default: 95.0,
    step: 0.5,
    help: "Breadth from the inner to the outer ball, square to the foot axis. Fitted to the foot unless set.",
};

/// Breadth of the waist, square to the foot axis.
pub const WAIST_WIDTH: ParamSpec = ParamSpec {
    id: "waist_width_mm",
    label: "Waist width",
    unit: "mm",
    min: 25.0,
    max: 130.0,
    default: 65.0,
    step: 0.5,
    help: "Breadth of the waist between heel and ball, square to the foot axis. Fitted to the foot unless set.",
};

/// Breadth of the heel, square to the foot axis.
pub const HEEL_WIDTH: ParamSpec = ParamSpec {
    id: "heel_width_mm",
    label: "Heel width",
    unit: "mm",
    min: 25.0,
    max: 110.0,
    default: 63.0,
    step: 0.5,
    help: "Greatest breadth of the heel, square to the foot axis. Fitted to the foot unless set.",
};

/// Angle between forefoot and heel in plan.
pub const SWING: ParamSpec = ParamSpec {
    id: "swing_deg",
    label: "Swing",
    unit: "°",
    min: -12.0,
    max: 12.0,
    default: 0.0,
    step: 0.5,
    help: "How far the forefoot is turned to the medial side of the foot axis. Fitted to the foot unless set.",
};

/// Shape of the toe.
pub const TOE_SHAPE: ParamSpec = ParamSpec {
    id: "toe_shape",
    label: "Toe shape",
    unit: "",
    min: 0.0,
    max: 1.0,
    default: 0.5,
    step: 0.05,
    help: "0 pointed, 0.5 round, 1 square.",
};

/// The numbers of a last outline, as a form lists them. A missing width or swing is fitted to the foot.
pub const PARAMS: &[ParamSpec] = &[TOE_ALLOWANCE, HEEL_MARGIN, BALL_WIDTH, WAIST_WIDTH, HEEL_WIDTH, SWING, TOE_SHAPE];
