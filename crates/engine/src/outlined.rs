//! From the foot's plan to the insole's edge: fitted or drawn, kept inside the shoe, cut off at the trim line.

use crate::display::InsoleTopology;
use crate::snapshot::floats;
use crate::stages::DISPLAY_MM;
use crate::view_outline::ResidualView;
use base::{Params, Report, Severity, value_of};
use case::FootCase;
use foot::{Foot, Landmarks};
use glam::DVec2;
use last::{Fitted, InsoleLength, Outline, ShoeInsole, Trim};
use making::SolidPlan;
use mesh::Grid;
use std::sync::Arc;

/// The outline polygon that stages after the fit work on, and that is drawn, has this spacing, mm.
const OUTLINE_MM: f64 = 1.0;

/// The insole's edge with what it came from, and the samples inside it.
pub(crate) struct Outlined {
    /// The last outline fitted to the foot.
    pub(crate) fitted: Arc<Fitted>,
    /// The whole edge: drawn by hand or fitted, kept inside the shoe.
    pub(crate) whole: Outline,
    /// The shoe's own insole.
    pub(crate) shoe: Option<Outline>,
    /// The trim line in force, and where it meets the whole edge.
    pub(crate) trim: Option<(Trim, [DVec2; 2])>,
    /// The insole's edge.
    pub(crate) outline: Outline,
    /// What was assumed, limited or found outside.
    pub(crate) report: Report,
    /// What a client draws of it.
    pub(crate) drawn: EdgeLines,
    pub(crate) polygon: Vec<DVec2>,
    /// Distance from the outline, negative inside, [`insole::Edge::samples`].
    pub(crate) distance: Grid,
    pub(crate) topology: InsoleTopology,
    /// What surface and elements need of it.
    pub(crate) edge: Arc<insole::Edge>,
}

/// The edge and what it came from as lines for the screen, made once for all snapshots.
pub(crate) struct EdgeLines {
    pub(crate) last: Vec<[f32; 2]>,
    pub(crate) whole: Vec<[f32; 2]>,
    pub(crate) shoe: Vec<[f32; 2]>,
    pub(crate) residuals: Vec<ResidualView>,
}

impl EdgeLines {
    fn new(fitted: &Fitted, whole: &Outline, shoe: Option<&Outline>) -> EdgeLines {
        let line = |outline: &Outline| floats(&outline.polygon(OUTLINE_MM));
        let residual = |(at, mm): &(DVec2, f64)| ResidualView {
            foot: at.as_vec2().to_array(),
            last: fitted.outline.nearest(*at).at.as_vec2().to_array(),
            mm: *mm as f32,
        };
        EdgeLines {
            last: line(&fitted.outline),
            whole: line(whole),
            shoe: shoe.map(line).unwrap_or_default(),
            residuals: fitted.residuals.iter().map(residual).collect(),
        }
    }
}

/// What the fitted outline depends on.
#[derive(Clone, PartialEq)]
pub(crate) struct FitKey {
    pub(crate) foot: u64,
    pub(crate) landmarks: Landmarks,
    pub(crate) last: Params,
    pub(crate) last_length_mm: f64,
}

impl FitKey {
    /// The last outline fitted to the foot.
    pub(crate) fn fitted(&self, foot: &Foot) -> Result<Fitted, String> {
        let plan = last::FootPlan { silhouette: &foot.silhouette, landmarks: &self.landmarks };
        last::fit(&plan, self.last_length_mm, &self.last).map_err(text)
    }
}

/// What the edge depends on besides.
#[derive(Clone, PartialEq)]
pub(crate) struct EdgeKey {
    fitted: u64,
    drawn: Option<Vec<[f64; 2]>>,
    length: InsoleLength,
    trim: Option<Trim>,
    shoe: Option<ShoeInsole>,
    let_over: bool,
    clearance_mm: f64,
}

impl EdgeKey {
    pub(crate) fn new(fitted: u64, foot: &FootCase) -> Self {
        EdgeKey {
            fitted,
            drawn: foot.outline.clone(),
            length: foot.length,
            trim: foot.trim,
            shoe: foot.shoe.insole.clone(),
            let_over: foot.shoe.let_over,
            clearance_mm: value_of(&foot.shoe.params, &last::CLEARANCE),
        }
    }

    /// The edge.
    pub(crate) fn outlined(&self, fitted: Arc<Fitted>, landmarks: &Landmarks) -> Result<Outlined, String> {
        let mut report = fitted.report.clone();
        let shoe = self.shoe.as_ref().map(ShoeInsole::outline).transpose().map_err(text)?;
        let whole = match &self.drawn {
            Some(points) => outline_of(points)?,
            None => self.undrawn(&fitted, shoe.as_ref(), &mut report)?,
        };
        if let Some(shoe) = &shoe {
            note_over(&whole, shoe, &mut report);
        }
        let trim = self.trim.or_else(|| self.length.trim(landmarks, fitted.length_mm - fitted.toe_room_mm));
        let (outline, trim) = match trim {
            Some(trim) => {
                let cut = last::trimmed(&whole, trim).map_err(text)?;
                (cut.outline, Some((trim, cut.ends)))
            }
            None => (whole.clone(), None),
        };
        let polygon = outline.polygon(OUTLINE_MM);
        let edge = Arc::new(insole::Edge::new(&polygon).map_err(text)?);
        let distance = edge.samples();
        let topology =
            SolidPlan::new(&outline.polygon(DISPLAY_MM), DISPLAY_MM).map(InsoleTopology::new).map_err(text)?;
        let drawn = EdgeLines::new(&fitted, &whole, shoe.as_ref());
        Ok(Outlined { fitted, whole, shoe, trim, outline, report, drawn, polygon, distance, topology, edge })
    }

    /// The edge as it is while no hand has drawn it: fitted, and kept inside the shoe.
    pub(crate) fn undrawn(
        &self,
        fitted: &Fitted,
        shoe: Option<&Outline>,
        report: &mut Report,
    ) -> Result<Outline, String> {
        match shoe {
            Some(shoe) if !self.let_over => {
                let limited = last::limited(&fitted.outline, shoe, self.clearance_mm).map_err(text)?;
                note_limit(&limited, report);
                Ok(limited.outline)
            }
            _ => Ok(fitted.outline.clone()),
        }
    }
}

/// An outline out of the knots of a case.
pub(crate) fn outline_of(points: &[[f64; 2]]) -> Result<Outline, String> {
    Outline::through(&points.iter().map(|&point| point.into()).collect::<Vec<_>>()).map_err(text)
}

/// Less than this beyond the shoe's insole is no finding, mm: what a cut holds.
const OVER_MM: f64 = 0.3;

fn note_limit(limited: &last::Limited, report: &mut Report) {
    if limited.moved_mm > OVER_MM {
        let (mm, at) = (limited.moved_mm, limited.at);
        report.add(
            Severity::Info,
            "kept_inside_shoe",
            format!(
                "The fitted edge was kept inside the shoe's own insole: by {mm:.1} mm at ({:.0}, {:.0}) mm.",
                at.x, at.y
            ),
            "Check that the foot does not bear beyond the edge there; if it does, the shoe is too narrow or too short.",
        );
    }
}

fn note_over(whole: &Outline, shoe: &Outline, report: &mut Report) {
    let over = whole.corners().iter().map(|&p| (shoe.signed_distance_mm(p), p)).max_by(|a, b| a.0.total_cmp(&b.0));
    if let Some((mm, at)) = over.filter(|(mm, _)| *mm > OVER_MM) {
        report.add(
            Severity::Check,
            "outside_shoe",
            format!("The edge lies {mm:.1} mm outside the shoe's own insole at ({:.0}, {:.0}) mm.", at.x, at.y),
            "Draw it in there: an insole that is too wide rides up in the shoe.",
        );
    }
}

fn text(error: impl std::fmt::Display) -> String {
    error.to_string()
}
