use super::{Format, Part, WriteError, sides};
use crate::{MakeModel, in_shoe_frame};
use base::{ParamSpec, Params, Report};
use std::io::Write;

/// Distance of the points of a made solid, mm: at the default finer than a printer's line or a miller's step shows; half of it for
/// polished tools, four times the file.
pub const SPACING: ParamSpec = ParamSpec::mm(
    "spacing_mm",
    "Distance of points",
    (0.25, 1.0),
    0.5,
    0.25,
    "Distance of the points of the made solid. 0.5 mm is finer than most printers and mills; 0.25 mm makes files four times \
     as large.",
);

/// The solid as a binary STL, one file a side, in shoe coordinates, mm.
#[derive(Clone, Copy, Debug, Default)]
pub struct SolidStl;

impl Format for SolidStl {
    fn id(&self) -> &'static str {
        "solid_stl"
    }

    fn label(&self) -> &'static str {
        "Solid (STL)"
    }

    fn help(&self) -> &'static str {
        "One closed solid a side for printing or milling, millimetres, x to the toes, y to the wearer's left, z up. STL \
         itself carries no unit: say that it is millimetres when you send it."
    }

    fn extension(&self) -> &'static str {
        "stl"
    }

    fn media_type(&self) -> &'static str {
        "model/stl"
    }

    fn options(&self) -> &'static [ParamSpec] {
        &[SPACING]
    }

    fn parts(&self, model: &MakeModel) -> Vec<Part> {
        sides(model).map(|(side, _)| Part::Foot(side)).collect()
    }

    fn write(
        &self,
        model: &MakeModel,
        part: Part,
        _: &Params,
        out: &mut dyn Write,
        _: &mut Report,
    ) -> Result<(), WriteError> {
        let Part::Foot(side) = part else { return Err(WriteError::WrongPart { format: self.id() }) };
        let insole = model.sides[side].as_ref().ok_or(WriteError::NoSide(side))?;
        let header = format!("{} insole, mm, x to toes, z up; {}", side.word(), model.program);
        let mut out = out;
        mesh::stl::write_stl(&in_shoe_frame(insole.solid.mesh(), side), &header, &mut out)?;
        Ok(())
    }
}
