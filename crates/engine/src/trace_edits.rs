//! The shoe's own insole, out of a drawing or a picture, laid on the foot.

use crate::outline_edits::points;
use crate::{Engine, EngineError};
use base::{Note, Severity, Side};
use case::Edit;
use glam::DVec2;
use last::tracing::{self, picture::Picture};
use last::{Outline, ShoeInsole};

/// The traced outline follows its drawing within this, mm: what a person can cut along.
const WITHIN_MM: f64 = 0.2;

impl Engine {
    /// The edit that lays the shoe's own insole, the largest closed curve of an outline drawing, on a foot.
    ///
    /// # Errors
    /// The drawing cannot be read or has no such curve, or there is no foot.
    pub fn trace_drawing_edit(&mut self, side: Side, name: &str, bytes: &[u8]) -> Result<Edit, EngineError> {
        let refused = |reason: String| EngineError::Tracing { name: name.to_owned(), reason };
        let drawing = tracing::drawing::read(name, bytes).map_err(|error| refused(error.to_string()))?;
        let curve = drawing.curves.into_iter().find(|curve| curve.closed);
        let curve =
            curve.ok_or_else(|| refused("it has no closed curve: close the outline in the drawing".to_owned()))?;
        let notes = std::iter::once(drawing.unit).chain(drawing.report.notes).collect();
        self.laid(side, name, &curve.points, notes)
    }

    /// The edit that lays the shoe's own insole out of a flat picture on a foot. `seed` is a place on it, pixels.
    ///
    /// # Errors
    /// Nothing stands out from the picture's ground, or there is no foot.
    pub fn trace_picture_edit(
        &mut self,
        side: Side,
        name: &str,
        picture: &Picture,
        mm_per_pixel: f64,
        seed: Option<[f64; 2]>,
    ) -> Result<Edit, EngineError> {
        let contour = tracing::picture::trace(picture, mm_per_pixel, seed)
            .map_err(|error| EngineError::Tracing { name: name.to_owned(), reason: error.to_string() })?;
        self.laid(side, name, &contour, Vec::new())
    }

    fn laid(&mut self, side: Side, name: &str, contour: &[DVec2], mut notes: Vec<Note>) -> Result<Edit, EngineError> {
        let refused = |reason: String| EngineError::Tracing { name: name.to_owned(), reason };
        let fitted = self.fitted_outline(side)?;
        let laid = tracing::lay(contour, &fitted).map_err(|error| refused(error.to_string()))?;
        let (outline, off_mm) =
            Outline::following(&laid.points, WITHIN_MM).map_err(|error| refused(error.to_string()))?;
        notes.extend(laid.report.notes);
        if off_mm > 2.0 * WITHIN_MM {
            notes.push(Note {
                code: "shoe_rounded".to_owned(),
                severity: Severity::Check,
                text: format!("The traced line has corners; the smooth one lies up to {off_mm:.1} mm off it."),
                advice: "Check the corners against the shoe.".to_owned(),
            });
        }
        let shoe = ShoeInsole { name: name.to_owned(), points: points(&outline), notes };
        Ok(Edit::SetShoeInsole { side, shoe: Some(shoe) })
    }
}
