use crate::params::{ARCH_FILL, ARCH_HEIGHT, ARCH_ROOM, given, in_range};
use base::{Params, Source};
use foot::WeightBearing;
use serde::{Deserialize, Serialize};

/// How high the insole supports the medial arch, and how that height came about.
///
/// `computed = fill × plantar height at the medial arch apex`, then brought within `bounds_mm`. A height set by hand is
/// used as it is; the bounds are then only for comparison.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct ArchSupport {
    /// Height of the skin at the medial arch apex over the support plane, mm, as scanned.
    pub apex_height_mm: f64,
    /// Share of it that is supported.
    pub fill: f64,
    /// `fill × apex_height_mm`, mm.
    pub computed_mm: f64,
    /// The height the surface has at the apex, mm.
    pub used_mm: f64,
    /// Least and greatest computed height accepted, mm.
    pub bounds_mm: (f64, f64),
    /// The bound that changed the computed height.
    pub bound: Option<ArchBound>,
    /// Whether the height was set by hand.
    pub by_hand: bool,
}

/// A bound of the computed arch height.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum ArchBound {
    /// More than 6 mm below the standing foot's own arch: lower than what was tried.
    TooLow,
    /// Above the arch the foot has without load.
    Unloaded,
    /// More than the shoe has room for.
    Room,
}

/// Mean drop of the arch from sitting to standing, mm.
const MEAN_ARCH_DROP_MM: f64 = 4.1;

/// Arch heights tried in the published model, mm below and above its standard insole.
const TRIED_BELOW_MM: f64 = 6.0;

/// The fill used when none is set.
///
/// | scan | fill | |
/// | --- | --- | --- |
/// | none | 0.75 | the arch still sinks when the person stands |
/// | half | 0.85 | about half of that has happened |
/// | full | 0.95 | the arch is as low as it gets; a little room is left for the skin |
///
/// The steps set off the mean arch drop of 4.1 mm on an apex about 20 mm high: 4.1 / 20 ≈ 0.2 between none and full.
/// That is a default to start from: no published fill was found.
#[must_use]
pub fn arch_fill(state: WeightBearing) -> f64 {
    match state {
        WeightBearing::None => 0.75,
        WeightBearing::Half => 0.85,
        WeightBearing::Full => 0.95,
    }
}

impl ArchSupport {
    /// Where the formula's numbers come from.
    pub const SOURCE: Source = Source::computed(
        "fill × plantar apex height; mean arch drop 4.1 mm from sitting to standing: 2,180 feet, PMC7393860; ±6 mm tried: \
         Sweeney et al. 2015, J Rehabil Res Dev 52:543; the fill itself is common practice, no published value found",
    );

    /// The support for an arch whose skin at the apex lies `apex_height_mm` over the support plane, scanned in `state`.
    ///
    /// Bounds: with `drop` the share of the mean arch drop that has not happened yet in this state (all, half, none),
    /// the standing foot's arch is about `apex − drop`. Accepted is from 6 mm below it up to the arch of the unloaded
    /// foot, `apex − drop + 4.1 mm`, and never more than the shoe has room for.
    #[must_use]
    pub fn new(apex_height_mm: f64, params: &Params, state: WeightBearing) -> ArchSupport {
        let apex_height_mm = apex_height_mm.max(0.0);
        let fill = given(params, &ARCH_FILL).unwrap_or_else(|| arch_fill(state));
        let computed_mm = fill * apex_height_mm;
        let drop_to_come = match state {
            WeightBearing::None => MEAN_ARCH_DROP_MM,
            WeightBearing::Half => MEAN_ARCH_DROP_MM / 2.0,
            WeightBearing::Full => 0.0,
        };
        let standing = (apex_height_mm - drop_to_come).max(0.0);
        let unloaded = apex_height_mm - drop_to_come + MEAN_ARCH_DROP_MM;
        let room = in_range(params, &ARCH_ROOM);
        let greatest = unloaded.min(room);
        let least = (standing - TRIED_BELOW_MM).clamp(0.0, greatest);
        let by_hand = given(params, &ARCH_HEIGHT);
        let bound = if by_hand.is_some() {
            None
        } else if computed_mm > greatest {
            Some(if unloaded <= room { ArchBound::Unloaded } else { ArchBound::Room })
        } else if computed_mm < least {
            Some(ArchBound::TooLow)
        } else {
            None
        };
        ArchSupport {
            apex_height_mm,
            fill,
            computed_mm,
            used_mm: by_hand.unwrap_or_else(|| computed_mm.clamp(least, greatest)),
            bounds_mm: (least, greatest),
            bound,
            by_hand: by_hand.is_some(),
        }
    }
}

#[cfg(test)]
#[allow(clippy::float_cmp, reason = "these values are exact")]
mod tests {
    use super::*;

    fn support(apex: f64, params: &[(&str, f64)], state: WeightBearing) -> ArchSupport {
        let params = params.iter().map(|&(id, value)| (id.to_owned(), value)).collect();
        ArchSupport::new(apex, &params, state)
    }

    #[test]
    fn the_height_is_the_fill_of_the_apex_height() {
        let arch = support(20.0, &[], WeightBearing::None);
        assert_eq!((arch.fill, arch.computed_mm, arch.used_mm), (0.75, 15.0, 15.0));
        // Standing 15.9: from 9.9 up to the scanned 20.
        assert!((arch.bounds_mm.0 - 9.9).abs() < 1e-12 && (arch.bounds_mm.1 - 20.0).abs() < 1e-12);
        assert!(!arch.by_hand && arch.bound.is_none());
        assert_eq!(support(20.0, &[], WeightBearing::Full).used_mm, 19.0);
        assert_eq!(support(20.0, &[("arch_fill", 0.5)], WeightBearing::None).used_mm, 10.0);
    }

    #[test]
    fn a_computed_height_stops_at_its_bounds_and_says_so() {
        let high = support(20.0, &[("arch_fill", 1.2)], WeightBearing::None);
        assert_eq!((high.bound, high.computed_mm), (Some(ArchBound::Unloaded), 24.0));
        assert!((high.used_mm - 20.0).abs() < 1e-12);
        let low = support(20.0, &[("arch_fill", 0.3)], WeightBearing::Full);
        assert_eq!((low.bound, low.used_mm), (Some(ArchBound::TooLow), 14.0));
        let shoe = support(20.0, &[("arch_room_mm", 12.0)], WeightBearing::None);
        assert_eq!((shoe.bound, shoe.used_mm), (Some(ArchBound::Room), 12.0));
    }

    #[test]
    fn a_height_by_hand_is_used_as_it_is() {
        let arch = support(6.0, &[("arch_height_mm", 14.0)], WeightBearing::Full);
        assert!(arch.by_hand && arch.used_mm == 14.0 && arch.bound.is_none());
        assert!((arch.computed_mm - 5.7).abs() < 1e-12);
    }

    #[test]
    fn a_flat_or_impossible_apex_gives_no_support_rather_than_nonsense() {
        for apex in [0.0, -3.0] {
            for state in WeightBearing::ALL {
                assert_eq!(support(apex, &[], state).used_mm, 0.0);
            }
        }
    }
}
