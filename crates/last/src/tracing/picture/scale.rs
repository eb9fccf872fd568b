use crate::tracing::{PictureFault, TracingError};
use base::{Note, Severity};

/// How large a picture's pixels are.
#[derive(Clone, Debug, PartialEq)]
pub struct PictureScale {
    /// Side of a pixel, mm.
    pub mm_per_pixel: f64,
    /// What one pixel of error in a click changes.
    pub accuracy: Note,
}

/// Clicks nearer to each other are refused, pixels: one pixel of error would be more than 1 %, 3 mm on an insole.
const LEAST_PIXELS: f64 = 100.0;
/// Lengths that can be entered, mm.
const LENGTHS_MM: (f64, f64) = (10.0, 2000.0);
/// Error on an insole of [`INSOLE_MM`] from which the clicks ought to be looked at, mm.
const CHECK_MM: f64 = 1.0;
/// Length for which the error is told, mm.
const INSOLE_MM: f64 = 270.0;

/// The scale of a picture from two clicks on a ruler, in pixels, and the length between them.
///
/// # Errors
/// Clicks too near to each other or not finite, a length out of its range, or both together a pixel that no picture of an
/// insole has.
pub fn scale_from_clicks(a: [f64; 2], b: [f64; 2], length_mm: f64) -> Result<PictureScale, TracingError> {
    let (x, y) = (b[0] - a[0], b[1] - a[1]);
    let pixels = (x * x + y * y).sqrt();
    if !pixels.is_finite() || pixels < LEAST_PIXELS {
        return Err(PictureFault::ClicksTooNear { pixels, least: LEAST_PIXELS }.into());
    }
    let (least, most) = LENGTHS_MM;
    if !(least..=most).contains(&length_mm) {
        return Err(PictureFault::Length { length_mm, least, most }.into());
    }
    let mm_per_pixel = length_mm / pixels;
    check(mm_per_pixel)?;
    let off_mm = INSOLE_MM / pixels;
    let accuracy = Note {
        code: "picture_scale_accuracy".to_owned(),
        severity: if off_mm > CHECK_MM { Severity::Check } else { Severity::Info },
        text: format!(
            "A pixel is {mm_per_pixel:.4} mm. One pixel of error in a click makes an insole of {INSOLE_MM:.0} mm \
             {off_mm:.1} mm longer or shorter."
        ),
        advice: if off_mm > CHECK_MM { "Click two marks farther apart, enlarged." } else { "" }.to_owned(),
    };
    Ok(PictureScale { mm_per_pixel, accuracy })
}

/// Sides of a pixel that can be traced, mm: coarser, the edge is not found to half a millimetre; finer, no insole fits.
const PIXELS_MM: (f64, f64) = (0.005, 1.0);

pub(super) fn check(mm_per_pixel: f64) -> Result<(), PictureFault> {
    let (least, most) = PIXELS_MM;
    if (least..=most).contains(&mm_per_pixel) {
        Ok(())
    } else {
        Err(PictureFault::PixelSize { mm_per_pixel, least, most })
    }
}
