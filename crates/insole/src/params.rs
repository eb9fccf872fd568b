use base::{ParamSpec, Params};

/// The bearing surface's parameters. What is missing has its default; a missing `arch_height_mm` is computed from the
/// landmarks and a missing `arch_fill` taken from the weight-bearing state (see [`crate::ArchSupport`]).
pub const PARAMS: &[ParamSpec] = &[
    BASE_THICKNESS,
    MIN_THICKNESS,
    ARCH_HEIGHT,
    ARCH_FILL,
    ARCH_ROOM,
    CUP_DEPTH,
    CUP_LENGTH,
    LATERAL_HEIGHT,
    HEEL_EXPANSION,
    FOREFOOT_EDGE,
    FOREFOOT_BLEND,
    SMOOTHING,
];

pub(crate) const BASE_THICKNESS: ParamSpec = ParamSpec {
    id: "base_thickness_mm",
    label: "Base thickness",
    unit: "mm",
    min: 1.0,
    max: 25.0,
    default: 4.0,
    step: 0.5,
    help: "From the lowest part of the bearing surface, under heel and forefoot, down to the bottom.",
};

pub(crate) const MIN_THICKNESS: ParamSpec = ParamSpec {
    id: "min_thickness_mm",
    label: "Minimum thickness",
    unit: "mm",
    min: 0.5,
    max: 10.0,
    default: 2.0,
    step: 0.5,
    help: "Where the insole is thinner than this, a finding says so; the surface is not changed. 2 mm is common \
           practice for printed shells, no published value found.",
};

pub(crate) const ARCH_HEIGHT: ParamSpec = ParamSpec {
    id: "arch_height_mm",
    label: "Arch height",
    unit: "mm",
    min: 0.0,
    max: 45.0,
    default: 15.0,
    step: 0.5,
    help: "Height of the surface at the medial arch apex over the support plane. Left open, it is computed: plantar \
           height at the apex times the fill, within its bounds.",
};

pub(crate) const ARCH_FILL: ParamSpec = ParamSpec {
    id: "arch_fill",
    label: "Arch fill",
    unit: "",
    min: 0.0,
    max: 1.2,
    default: 0.8,
    step: 0.05,
    help: "Share of the plantar height at the medial arch apex that the arch supports. Left open, it follows the \
           weight-bearing state of the scan.",
};

pub(crate) const ARCH_ROOM: ParamSpec = ParamSpec {
    id: "arch_room_mm",
    label: "Room for the arch",
    unit: "mm",
    min: 5.0,
    max: 45.0,
    default: 35.0,
    step: 1.0,
    help: "The computed arch height never exceeds what the shoe has room for.",
};

pub(crate) const CUP_DEPTH: ParamSpec = ParamSpec {
    id: "cup_depth_mm",
    label: "Heel cup depth",
    unit: "mm",
    min: 0.0,
    max: 25.0,
    default: 12.0,
    step: 0.5,
    help: "Height of the rim round the heel over the lowest point of the cup. Usual 8 to 18 mm; at least 14 mm with a \
           medial skive.",
};

pub(crate) const CUP_LENGTH: ParamSpec = ParamSpec {
    id: "cup_length_mm",
    label: "Heel cup length",
    unit: "mm",
    min: 20.0,
    max: 110.0,
    default: 50.0,
    step: 1.0,
    help: "The rim keeps its full height this far forward of the pternion, then falls to the lateral edge and runs \
           over into the arch.",
};

pub(crate) const LATERAL_HEIGHT: ParamSpec = ParamSpec {
    id: "lateral_height_mm",
    label: "Lateral edge height",
    unit: "mm",
    min: 0.0,
    max: 20.0,
    default: 5.0,
    step: 0.5,
    help: "Height of the lateral edge along the midfoot.",
};

pub(crate) const HEEL_EXPANSION: ParamSpec = ParamSpec {
    id: "heel_expansion_mm",
    label: "Heel expansion",
    unit: "mm",
    min: 0.0,
    max: 6.0,
    default: 1.0,
    step: 0.5,
    help: "Room added on each side of the heel in the cup, for tissue that spreads under load.",
};

pub(crate) const FOREFOOT_EDGE: ParamSpec = ParamSpec {
    id: "forefoot_edge_mm",
    label: "Flat forefoot begins",
    unit: "mm",
    min: -10.0,
    max: 40.0,
    default: 8.0,
    step: 1.0,
    help: "The surface is flat from this far behind the line through the metatarsal heads up to the toes.",
};

pub(crate) const FOREFOOT_BLEND: ParamSpec = ParamSpec {
    id: "forefoot_blend_mm",
    label: "Run-out into the forefoot",
    unit: "mm",
    min: 15.0,
    max: 90.0,
    default: 50.0,
    step: 1.0,
    help: "Length over which arch and edges run out into the flat forefoot. It ends at the arch apex at the latest.",
};

pub(crate) const SMOOTHING: ParamSpec = ParamSpec {
    id: "smoothing_mm",
    label: "Smoothing",
    unit: "mm",
    min: 1.0,
    max: 10.0,
    default: 2.5,
    step: 0.5,
    help: "Skin details smaller than this are not copied into the surface.",
};

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
    fn values_are_brought_into_range() {
        let with = |value: f64| [(CUP_DEPTH.id.to_owned(), value)].into_iter().collect::<Params>();
        for (given, used) in [(14.0, 14.0), (-3.0, 0.0), (99.0, 25.0), (f64::NAN, 12.0), (f64::INFINITY, 12.0)] {
            assert!((in_range(&with(given), &CUP_DEPTH) - used).abs() < 1e-15);
        }
        assert!(super::given(&Params::new(), &CUP_DEPTH).is_none());
    }
}
