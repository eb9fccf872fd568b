//! The formats in which a finished pair and the measures of the feet leave the bench, one a file.
//!
//! A new format is a file here and a line in [`ALL`]; menu, command line and docs read the rest from the member.

mod job_sheet;
mod paired;
mod report_csv;
mod report_json;
mod report_page;
mod sheet;
mod solid_stl;
mod template;
mod template_dxf;
mod template_pdf;
mod template_svg;

pub use job_sheet::JobSheet;
pub use report_csv::ReportCsv;
pub use report_json::ReportJson;
pub use report_page::ReportPage;
pub use solid_stl::{SPACING, SolidStl};
pub use template_dxf::TemplateDxf;
pub use template_pdf::TemplatePdf;
pub use template_svg::TemplateSvg;

use crate::{FootModel, MakeModel, SideModel};
use base::{ParamSpec, Params, Report, Side};
use std::io::{self, Write};
use thiserror::Error;

/// Every format, in the order in which they are offered.
pub const ALL: &[&dyn Format] =
    &[&SolidStl, &JobSheet, &ReportPage, &ReportCsv, &ReportJson, &TemplateSvg, &TemplateDxf, &TemplatePdf];

/// The format with this id.
#[must_use]
pub fn by_id(id: &str) -> Option<&'static dyn Format> {
    ALL.iter().copied().find(|format| format.id() == id)
}

/// What one file of a format covers.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Part {
    /// One insole.
    Foot(Side),
    /// All insoles there are, or all feet.
    Pair,
}

/// Why a file could not be written.
#[derive(Debug, Error)]
pub enum WriteError {
    /// The model has no insole for this part.
    #[error("there is no {} insole to write: choose a side that has one", .0.word())]
    NoSide(Side),
    /// The model has no insole at all.
    #[error("there is no insole to write: design one first")]
    Empty,
    /// The model has no foot at all.
    #[error("there is no foot to report on: bring in a scan first")]
    NoFeet,
    /// The format writes one file for each side, or one for the pair.
    #[error("the format {format} cannot write that part alone: ask it for its parts")]
    WrongPart {
        /// Id of the format.
        format: &'static str,
    },
    /// An option is out of its range.
    #[error("{} cannot be {value} {}: it goes from {} to {}", .spec.label, .spec.unit, .spec.min, .spec.max)]
    Option {
        /// The option.
        spec: ParamSpec,
        /// The value given.
        value: f64,
    },
    /// The destination failed.
    #[error("could not write: {0}")]
    Io(#[from] io::Error),
}

/// One way to write a finished pair.
///
/// The same model and options give the same bytes everywhere.
pub trait Format: Sync {
    /// Stable id, snake_case.
    fn id(&self) -> &'static str;

    /// Name as shown.
    fn label(&self) -> &'static str;

    /// One sentence on what it is for.
    fn help(&self) -> &'static str;

    /// File extension without the dot.
    fn extension(&self) -> &'static str;

    /// Media type.
    fn media_type(&self) -> &'static str;

    /// What can be chosen.
    fn options(&self) -> &'static [ParamSpec] {
        &[]
    }

    /// Whether it is about the insole: of a format that is not, the solids need not be built.
    fn needs_solid(&self) -> bool {
        true
    }

    /// The files it makes of `model`, left first: one for the pair, where there is any of what it is about.
    fn parts(&self, model: &MakeModel) -> Vec<Part> {
        let any = if self.needs_solid() { sides(model).next().is_some() } else { feet(model).next().is_some() };
        any.then_some(Part::Pair).into_iter().collect()
    }

    /// Writes one file.
    ///
    /// # Errors
    /// If the model lacks the part, or `out` fails.
    fn write(
        &self,
        model: &MakeModel,
        part: Part,
        options: &Params,
        out: &mut dyn Write,
        report: &mut Report,
    ) -> Result<(), WriteError>;

    /// Name of the file for `part`: title, side and format, of letters every file system takes.
    fn file_name(&self, model: &MakeModel, part: Part) -> String {
        let side = match part {
            Part::Foot(side) => format!("{}-", side.word()),
            Part::Pair => String::new(),
        };
        format!("{}-{side}{}.{}", slug(&model.title), self.id().replace('_', "-"), self.extension())
    }
}

/// The sides that have an insole, left first.
fn sides(model: &MakeModel) -> impl Iterator<Item = (Side, &SideModel)> {
    model.sides.iter().filter_map(|(side, insole)| Some((side, insole.as_ref()?)))
}

/// The sides that have a foot, left first.
fn feet(model: &MakeModel) -> impl Iterator<Item = (Side, &FootModel)> {
    model.feet.iter().filter_map(|(side, foot)| Some((side, foot.as_ref()?)))
}

/// Refuses what a format that writes one file for the pair cannot write.
fn check_pair(format: &dyn Format, model: &MakeModel, part: Part) -> Result<(), WriteError> {
    if part != Part::Pair {
        return Err(WriteError::WrongPart { format: format.id() });
    }
    match (format.parts(model).is_empty(), format.needs_solid()) {
        (false, _) => Ok(()),
        (true, true) => Err(WriteError::Empty),
        (true, false) => Err(WriteError::NoFeet),
    }
}

/// Stem of a file name: `title` in lower-case ASCII letters, digits and single hyphens; `insole` if nothing is left of it.
#[must_use]
pub fn slug(title: &str) -> String {
    const LONGEST: usize = 40;
    let mut out = String::new();
    for c in title.chars() {
        if c.is_ascii_alphanumeric() {
            out.push(c.to_ascii_lowercase());
        } else if !out.is_empty() && !out.ends_with('-') {
            out.push('-');
        }
        if out.len() >= LONGEST {
            break;
        }
    }
    let out = out.trim_end_matches('-');
    if out.is_empty() { "insole".to_owned() } else { out.to_owned() }
}

#[cfg(test)]
mod report_tests;
#[cfg(test)]
mod tests;
