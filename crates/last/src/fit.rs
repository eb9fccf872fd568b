use crate::family::{BALL_WIDTH, HEEL_MARGIN, HEEL_WIDTH, PARAMS, SWING, TOE_ALLOWANCE, WAIST_WIDTH};
use crate::outline::{Outline, OutlineError};
use base::{Params, Report, value_of};
use foot::{LandmarkId, Landmarks};
use glam::DVec2;

/// What of a foot an outline is fitted to, in the foot frame, mm.
#[derive(Clone, Copy, Debug)]
pub struct FootPlan<'a> {
    /// Plan outline of the foot, closed without a repeated point; empty if there is none.
    pub silhouette: &'a [DVec2],
    /// The landmarks found or placed.
    pub landmarks: &'a Landmarks,
}

/// An outline fitted to a foot.
#[derive(Clone, Debug, PartialEq)]
pub struct Fitted {
    /// Every number of [`PARAMS`], decided or fitted.
    pub params: Params,
    /// The outline.
    pub outline: Outline,
    /// Greatest and mean distance between the foot's outline and the fitted one where they are compared: heel, waist and
    /// ball, not the toes; `None` without a silhouette.
    pub residual_mm: Option<(f64, f64)>,
    /// Length of the insole, mm.
    pub length_mm: f64,
    /// What was assumed or limited.
    pub report: Report,
}

/// Why no outline could be fitted.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum FitError {
    /// A number of the outline is not finite or out of its range.
    #[error("`{id}` cannot be {value}: it goes from {min} to {max}")]
    OutOfRange {
        /// Id of the parameter.
        id: &'static str,
        /// The value given.
        value: f64,
        /// Least value.
        min: f64,
        /// Greatest value.
        max: f64,
    },
    /// The length of the last is none.
    #[error("a last of {length_mm} mm is none: choose a size")]
    Length {
        /// The length given, mm.
        length_mm: f64,
    },
    /// The numbers together give no outline.
    #[error("these widths give no outline: {0}")]
    Outline(#[from] OutlineError),
}

/// Fits a last outline to a foot: what is in `params` stays, what is missing is fitted where the foot tells it and has
/// its default otherwise. The insole is as long as the foot and its toe allowance, at most `size_length_mm`.
///
/// # Errors
/// A number out of its range, or numbers that together give no outline.
pub fn fit(foot: &FootPlan, size_length_mm: f64, params: &Params) -> Result<Fitted, FitError> {
    for spec in PARAMS {
        let value = value_of(params, spec);
        if !spec.accepts(value) {
            return Err(FitError::OutOfRange { id: spec.id, value, min: spec.min, max: spec.max });
        }
    }
    if !(size_length_mm.is_finite() && size_length_mm > 50.0) {
        return Err(FitError::Length { length_mm: size_length_mm });
    }
    let mut all = base::defaults(PARAMS);
    all.extend(params.iter().map(|(id, value)| (id.clone(), *value)));
    let heel = value_of(&all, &HEEL_MARGIN);
    let toe = value_of(&all, &TOE_ALLOWANCE);
    let foot_length = foot.landmarks.get(&LandmarkId::Akropodion).map_or(size_length_mm - toe, |tip| tip.at.x);
    let length_mm = (foot_length + toe + heel).min(size_length_mm);
    for (spec, share) in [(&BALL_WIDTH, 0.376), (&HEEL_WIDTH, 0.268), (&WAIST_WIDTH, 0.268)] {
        if !params.contains_key(spec.id) {
            all.insert(spec.id.to_owned(), (share * foot_length).clamp(spec.min, spec.max));
        }
    }
    let [ball, waist, wide] = [&BALL_WIDTH, &WAIST_WIDTH, &HEEL_WIDTH].map(|spec| value_of(&all, spec) / 2.0);
    let turn = value_of(&all, &SWING).to_radians();
    let at = |x: f64, y: f64| {
        let bend = (x - 0.5).max(0.0) * length_mm * libm::tan(turn);
        DVec2::new(x * length_mm - heel, y + bend)
    };
    let knots = [
        at(0.0, 0.0),
        at(0.04, -0.7 * wide),
        at(0.14, -wide),
        at(0.42, -waist),
        at(0.62, -ball),
        at(0.84, -0.8 * ball),
        at(0.96, -0.3 * ball),
        at(1.0, 0.15 * ball),
        at(0.96, 0.6 * ball),
        at(0.84, 0.95 * ball),
        at(0.72, ball),
        at(0.42, 0.8 * waist),
        at(0.14, wide),
        at(0.04, 0.7 * wide),
    ];
    Ok(Fitted {
        params: all,
        outline: Outline::through(&knots)?,
        residual_mm: None,
        length_mm,
        report: Report::default(),
    })
}
