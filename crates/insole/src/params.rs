use base::{ParamSpec, Params};

/// The insole's parameters: bearing surface, underside and edge. What is missing has its default; a missing
/// `arch_height_mm` is computed from the landmarks and a missing `arch_fill` taken from the weight-bearing state (see
/// [`crate::ArchSupport`]); a missing least thickness of an area is the general one, a missing arch length that of the
/// foot.
pub const PARAMS: &[ParamSpec] = &[
    ARCH_HEIGHT,
    ARCH_FILL,
    ARCH_ROOM,
    ARCH_FORWARD,
    ARCH_LENGTH,
    ARCH_REACH,
    LATERAL_ARCH,
    TRANSVERSE_ARCH,
    CUP_DEPTH,
    CUP_LENGTH,
    CUP_FLARE,
    HEEL_EXPANSION,
    LATERAL_HEIGHT,
    FOREFOOT_EDGE,
    FOREFOOT_BLEND,
    FOREFOOT_RIM,
    TOE_LINE,
    TOE_PLATFORM,
    CONFORM_HEEL,
    CONFORM_MEDIAL,
    CONFORM_LATERAL,
    CONFORM_FOREFOOT,
    CONFORM_TOES,
    SMOOTHING,
    BASE_THICKNESS,
    COVER,
    BUILD,
    SHELL_HEEL,
    SHELL_ARCH,
    SHELL_FOREFOOT,
    MIN_THICKNESS,
    MIN_HEEL,
    MIN_ARCH,
    MIN_FOREFOOT,
    FOLLOW_LAST,
    RIM_ROUNDING,
    BEVEL_HEIGHT,
    BEVEL_ANGLE,
    STEEPEST,
];

/// Headings under which a form shows [`PARAMS`], each with the id of its first.
pub const GROUPS: &[(&str, &str)] = &[
    ("arch_height_mm", "Arch"),
    ("cup_depth_mm", "Heel cup and edges"),
    ("forefoot_edge_mm", "Forefoot and toes"),
    ("conform_heel", "Conformity to the skin"),
    ("base_thickness_mm", "Thickness and build"),
    ("rim_rounding_mm", "Edge finish"),
];

/// Names of the values of a parameter that is a choice; empty for a number.
#[must_use]
pub fn words(param: &str) -> &'static [&'static str] {
    if param == BUILD.id { &["Full-contact block", "Shell"] } else { &[] }
}

pub(crate) const BASE_THICKNESS: ParamSpec = ParamSpec::mm(
    "base_thickness_mm",
    "Base thickness",
    (1.0, 25.0),
    4.0,
    0.5,
    "From the lowest part of the bearing surface, under heel and forefoot, down to the bottom of a block.",
);

pub(crate) const COVER: ParamSpec = ParamSpec::mm(
    "cover_mm",
    "Top cover",
    (0.0, 12.0),
    0.0,
    0.5,
    "Thickness of the cover glued on. The insole is made that much lower, so that the foot lies where it was designed.",
);

pub(crate) const BUILD: ParamSpec = ParamSpec::choice(
    "build",
    "Build",
    2,
    "A block stands on the shoe with its whole underside; a shell has the same thickness all over and is hollow under the \
     arch.",
);

const fn shell(id: &'static str, label: &'static str) -> ParamSpec {
    ParamSpec::mm(
        id,
        label,
        (1.0, 12.0),
        3.0,
        0.5,
        "Thickness of a shell there, square to it, without what elements add. Polypropylene 3 to 5 mm, printed nylon 2 mm or more: \
         from memory, no published value found.",
    )
}

pub(crate) const SHELL_HEEL: ParamSpec = shell("shell_heel_mm", "Shell under the heel");
pub(crate) const SHELL_ARCH: ParamSpec = shell("shell_arch_mm", "Shell under the arch");
pub(crate) const SHELL_FOREFOOT: ParamSpec = shell("shell_forefoot_mm", "Shell under the forefoot");

pub(crate) const MIN_THICKNESS: ParamSpec = ParamSpec::mm(
    "min_thickness_mm",
    "Least thickness",
    (0.5, 10.0),
    2.0,
    0.5,
    "Where the insole is thinner than this, a finding says so; the surface is not changed. 2 mm is common practice for \
     printed shells, no published value found.",
);

const fn least(id: &'static str, label: &'static str) -> ParamSpec {
    ParamSpec::mm(
        id,
        label,
        (0.5, 10.0),
        2.0,
        0.5,
        "The least thickness of this area, where it differs from the general one.",
    )
}

pub(crate) const MIN_HEEL: ParamSpec = least("min_heel_mm", "Least under the heel");
pub(crate) const MIN_ARCH: ParamSpec = least("min_arch_mm", "Least under the arch");
pub(crate) const MIN_FOREFOOT: ParamSpec = least("min_forefoot_mm", "Least under the forefoot");

/// How much of the last's bottom the insole made is bent to.
pub const FOLLOW_LAST: ParamSpec = ParamSpec::new(
    "follow_last",
    "Bottom follows the last",
    "%",
    (0.0, 100.0),
    100.0,
    10.0,
    "How much of the last's heel pitch, toe spring, bottom radius and seat the insole made is bent to; it is designed flat. \
     0 for a material that bends into the shoe by itself.",
);

pub(crate) const ARCH_HEIGHT: ParamSpec = ParamSpec::mm(
    "arch_height_mm",
    "Arch height",
    (0.0, 45.0),
    15.0,
    0.5,
    "Height of the surface at the medial arch apex over the support plane. Left open, it is computed: plantar height at \
     the apex times the fill, within its bounds.",
);

pub(crate) const ARCH_FILL: ParamSpec = ParamSpec::new(
    "arch_fill",
    "Arch fill",
    "",
    (0.0, 1.2),
    0.8,
    0.05,
    "Share of the plantar height at the medial arch apex that the arch supports. Left open, it follows the weight-bearing \
     state of the scan.",
);

pub(crate) const ARCH_ROOM: ParamSpec = ParamSpec::mm(
    "arch_room_mm",
    "Room for the arch",
    (5.0, 45.0),
    35.0,
    1.0,
    "The computed arch height never exceeds what the shoe has room for.",
);

pub(crate) const ARCH_FORWARD: ParamSpec = ParamSpec::mm(
    "arch_forward_mm",
    "Apex moved forward",
    (-25.0, 25.0),
    0.0,
    1.0,
    "The highest place of the support, from the foot's own arch apex towards the toes.",
);

pub(crate) const ARCH_LENGTH: ParamSpec = ParamSpec::mm(
    "arch_length_mm",
    "Arch length",
    (40.0, 180.0),
    130.0,
    5.0,
    "From where the arch begins to rise behind the apex to where its flank has come down in front. Left open, from the heel \
     cup to the flat forefoot.",
);

pub(crate) const ARCH_REACH: ParamSpec = ParamSpec::mm(
    "arch_reach_mm",
    "Arch reach",
    (12.0, 60.0),
    35.0,
    1.0,
    "How far the support reaches from the apex towards the lateral side, where the skin's own arch does not say.",
);

pub(crate) const LATERAL_ARCH: ParamSpec = ParamSpec::mm(
    "lateral_arch_mm",
    "Lateral arch",
    (0.0, 10.0),
    0.0,
    0.5,
    "Support added under the lateral column, highest midway between heel centre and fifth metatarsal head.",
);

pub(crate) const TRANSVERSE_ARCH: ParamSpec = ParamSpec::mm(
    "transverse_arch_mm",
    "Transverse arch",
    (0.0, 8.0),
    0.0,
    0.5,
    "Support added across behind the metatarsal heads, highest in the middle.",
);

pub(crate) const CUP_DEPTH: ParamSpec = ParamSpec::mm(
    "cup_depth_mm",
    "Heel cup depth",
    (0.0, 25.0),
    12.0,
    0.5,
    "Height of the cup's rim over the lowest part of the heel. 8 to 18 mm is usual (from memory).",
);

pub(crate) const CUP_LENGTH: ParamSpec = ParamSpec::mm(
    "cup_length_mm",
    "Heel cup length",
    (20.0, 110.0),
    50.0,
    1.0,
    "The rim keeps its full height this far forward of the pternion, then falls to the lateral edge and runs over into \
     the arch.",
);

pub(crate) const CUP_FLARE: ParamSpec = ParamSpec::deg(
    "cup_flare_deg",
    "Cup flare",
    (0.0, 45.0),
    0.0,
    "How much the cup's wall leans outwards: 0 follows the heel as far up as the rim allows.",
);

pub(crate) const HEEL_EXPANSION: ParamSpec = ParamSpec::mm(
    "heel_expansion_mm",
    "Heel expansion",
    (0.0, 6.0),
    1.0,
    0.5,
    "Width added on each side of the heel in the cup, for tissue that spreads under load.",
);

pub(crate) const LATERAL_HEIGHT: ParamSpec = ParamSpec::mm(
    "lateral_height_mm",
    "Lateral edge height",
    (0.0, 20.0),
    5.0,
    0.5,
    "Height of the lateral edge along the midfoot.",
);

pub(crate) const FOREFOOT_EDGE: ParamSpec = ParamSpec::mm(
    "forefoot_edge_mm",
    "Flat forefoot begins",
    (-10.0, 40.0),
    8.0,
    1.0,
    "The surface is flat, or as its conformity says, from this far behind the line through the metatarsal heads up to the \
     toes.",
);

pub(crate) const FOREFOOT_BLEND: ParamSpec = ParamSpec::mm(
    "forefoot_blend_mm",
    "Run-out into the forefoot",
    (15.0, 90.0),
    50.0,
    1.0,
    "Length over which arch and edges run out into the forefoot. It ends at the arch apex at the latest.",
);

pub(crate) const FOREFOOT_RIM: ParamSpec = ParamSpec::mm(
    "forefoot_rim_mm",
    "Forefoot edge height",
    (0.0, 12.0),
    4.0,
    0.5,
    "Where the forefoot conforms to the skin, its edge rises no higher than this.",
);

pub(crate) const TOE_LINE: ParamSpec = ParamSpec::mm(
    "toe_line_mm",
    "Toes begin",
    (5.0, 60.0),
    25.0,
    1.0,
    "From the line through the metatarsal heads forward to the middle of the step to the toes.",
);

pub(crate) const TOE_PLATFORM: ParamSpec = ParamSpec::mm(
    "toe_platform_mm",
    "Toe platform",
    (-3.0, 8.0),
    0.0,
    0.5,
    "How much higher the surface lies under the toes; lower where negative.",
);

const fn conform(id: &'static str, label: &'static str, default: f64) -> ParamSpec {
    ParamSpec::new(
        id,
        label,
        "%",
        (0.0, 100.0),
        default,
        5.0,
        "100 is total contact with the skin, 0 a plain form that does not copy it: flat, but for the arch and the edges \
         prescribed.",
    )
}

pub(crate) const CONFORM_HEEL: ParamSpec = conform("conform_heel", "Heel", 100.0);
pub(crate) const CONFORM_MEDIAL: ParamSpec = conform("conform_medial", "Medial arch", 100.0);
pub(crate) const CONFORM_LATERAL: ParamSpec = conform("conform_lateral", "Lateral arch", 100.0);
pub(crate) const CONFORM_FOREFOOT: ParamSpec = conform("conform_forefoot", "Forefoot", 0.0);
pub(crate) const CONFORM_TOES: ParamSpec = conform("conform_toes", "Toes", 0.0);

pub(crate) const SMOOTHING: ParamSpec = ParamSpec::mm(
    "smoothing_mm",
    "Smoothing",
    (0.5, 10.0),
    2.5,
    0.5,
    "Skin details smaller than this are not copied into the surface. Edges and elements stay as crisp as they are set.",
);

pub(crate) const RIM_ROUNDING: ParamSpec = ParamSpec::mm(
    "rim_rounding_mm",
    "Upper edge rounded",
    (0.0, 5.0),
    1.0,
    0.5,
    "Radius by which the upper edge is rounded over, so that it is not felt. Heights of edges are told without it.",
);

pub(crate) const BEVEL_HEIGHT: ParamSpec = ParamSpec::mm(
    "bevel_height_mm",
    "Bevel height",
    (0.0, 12.0),
    0.0,
    0.5,
    "How far up the wall the lower edge is bevelled, so that the insole finds room in the curve of the shoe's bottom.",
);

pub(crate) const BEVEL_ANGLE: ParamSpec =
    ParamSpec::deg("bevel_deg", "Trim angle", (5.0, 45.0), 20.0, "The bevel's angle to the upright wall.");

pub(crate) const STEEPEST: ParamSpec = ParamSpec::deg(
    "steepest_deg",
    "Steepest that can be made",
    (30.0, 89.0),
    75.0,
    "A finding names the place where the top is steeper than this, from level: what the shop's mill or printer still makes \
     clean. No source; ask the shop.",
);

/// The value of `spec` in range: the nearest end of the range for one outside it, the default for one that is missing or
/// not a finite number.
pub(crate) fn in_range(params: &Params, spec: &ParamSpec) -> f64 {
    given(params, spec).unwrap_or(spec.default)
}

/// The value of `spec` in range where one is given.
pub(crate) fn given(params: &Params, spec: &ParamSpec) -> Option<f64> {
    params.get(spec.id).copied().filter(|value| value.is_finite()).map(|value| value.clamp(spec.min, spec.max))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn ids_are_unique_and_defaults_in_range() {
        for (index, spec) in PARAMS.iter().enumerate() {
            assert!(PARAMS[..index].iter().all(|other| other.id != spec.id), "{} twice", spec.id);
            assert!(spec.accepts(spec.default) && spec.step > 0.0 && !spec.help.is_empty(), "{}", spec.id);
        }
    }

    #[test]
    fn groups_begin_where_they_say_and_choices_have_words() {
        let place = |id: &str| PARAMS.iter().position(|spec| spec.id == id).unwrap();
        assert!(GROUPS.windows(2).all(|pair| place(pair[0].0) < place(pair[1].0)) && place(GROUPS[0].0) == 0);
        assert!((words("build").len() as f64 - 1.0 - BUILD.max).abs() < 1e-12);
        assert!(words("cover_mm").is_empty());
    }

    #[test]
    fn values_are_brought_into_range() {
        let with = |value: f64| [(CUP_DEPTH.id.to_owned(), value)].into_iter().collect::<Params>();
        for (given, used) in [(14.0, 14.0), (-3.0, 0.0), (99.0, 25.0), (f64::NAN, 12.0), (f64::INFINITY, 12.0)] {
            assert!((in_range(&with(given), &CUP_DEPTH) - used).abs() < 1e-15);
        }
        assert!(super::given(&Params::new(), &CUP_DEPTH).is_none());
    }
}
