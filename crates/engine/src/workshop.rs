//! Work that designing does without, behind one trait: the page has it done by a program of its own, fetched when it
//! is first asked for.

use crate::outline_edits::points;
use base::{Note, Params, Severity};
use glam::DVec2;
use last::tracing::{self, picture::Picture};
use last::{Outline, ShoeInsole};
use making::{MadeFile, MakeError, MakeModel};
use serde::{Deserialize, Serialize};

/// What the shoe's own insole is traced from.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub enum Drawn {
    /// The bytes of an outline drawing.
    Drawing(#[serde(with = "serde_bytes")] Vec<u8>),
    /// A flat picture.
    Picture {
        /// Columns.
        width: usize,
        /// Rows.
        height: usize,
        /// Grey levels, row by row from the top.
        #[serde(with = "serde_bytes")]
        luma: Vec<u8>,
        /// Scale.
        mm_per_pixel: f64,
        /// A place on the insole, pixels; `None`: the largest thing.
        seed: Option<[f64; 2]>,
    },
}

/// Makes files and traces drawings.
///
/// Invariant: the same is made wherever it is done.
pub trait Workshop {
    /// As [`making::need_solids`].
    ///
    /// # Errors
    /// As [`making::need_solids`], or the workshop fails.
    fn need_solids(&self, only: &[String]) -> Result<bool, MakeError>;

    /// As [`making::make`].
    ///
    /// # Errors
    /// As [`making::make`], or the workshop fails.
    fn make(&self, model: &MakeModel, only: &[String], options: &Params) -> Result<Vec<MadeFile>, MakeError>;

    /// The shoe's own insole out of `drawn`, laid on the outline with the knots `onto`, foot frame, mm.
    ///
    /// # Errors
    /// Why not, and what to do.
    fn trace(&self, name: &str, drawn: &Drawn, onto: &[DVec2]) -> Result<ShoeInsole, String>;
}

/// The workshop in this very program.
#[derive(Clone, Copy, Debug, Default)]
pub struct InHouse;

/// The traced outline follows its drawing within this, mm: what a person can cut along.
const WITHIN_MM: f64 = 0.2;

impl Workshop for InHouse {
    fn need_solids(&self, only: &[String]) -> Result<bool, MakeError> {
        making::need_solids(only)
    }

    fn make(&self, model: &MakeModel, only: &[String], options: &Params) -> Result<Vec<MadeFile>, MakeError> {
        making::make(model, only, options)
    }

    fn trace(&self, name: &str, drawn: &Drawn, onto: &[DVec2]) -> Result<ShoeInsole, String> {
        let (contour, mut notes) = contour(name, drawn)?;
        let onto = Outline::through(onto).map_err(|error| error.to_string())?;
        let laid = tracing::lay(&contour, &onto).map_err(|error| error.to_string())?;
        let (outline, off_mm) = Outline::following(&laid.points, WITHIN_MM).map_err(|error| error.to_string())?;
        notes.extend(laid.report.notes);
        if off_mm > 2.0 * WITHIN_MM {
            notes.push(Note {
                code: "shoe_rounded".to_owned(),
                severity: Severity::Check,
                text: format!("The traced line has corners; the smooth one lies up to {off_mm:.1} mm off it."),
                advice: "Check the corners against the shoe.".to_owned(),
            });
        }
        Ok(ShoeInsole { name: name.to_owned(), points: points(&outline), notes })
    }
}

/// The contour in what was drawn, and what was assumed when it was read.
fn contour(name: &str, drawn: &Drawn) -> Result<(Vec<DVec2>, Vec<Note>), String> {
    match drawn {
        Drawn::Drawing(bytes) => {
            let drawing = tracing::drawing::read(name, bytes).map_err(|error| error.to_string())?;
            let curve = drawing.curves.into_iter().find(|curve| curve.closed);
            let curve = curve.ok_or_else(|| "it has no closed curve: close the outline in the drawing".to_owned())?;
            Ok((curve.points, std::iter::once(drawing.unit).chain(drawing.report.notes).collect()))
        }
        Drawn::Picture { width, height, luma, mm_per_pixel, seed } => {
            let picture = Picture { width: *width, height: *height, luma: luma.clone() };
            let contour = tracing::picture::trace(&picture, *mm_per_pixel, *seed).map_err(|error| error.to_string())?;
            Ok((contour, Vec::new()))
        }
    }
}
