use crate::MakeModel;
use crate::formats::{self, Format};
use base::{Params, Report};
use serde::{Deserialize, Serialize};

/// A file made for somebody else.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct MadeFile {
    /// File name.
    pub name: String,
    /// Media type.
    pub media_type: String,
    /// Its bytes.
    #[serde(with = "serde_bytes")]
    pub bytes: Vec<u8>,
}

/// Why an output was not made.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error, Serialize, Deserialize)]
#[error("{name}: {reason}")]
pub struct MakeError {
    /// The output.
    pub name: String,
    /// Why, and what to do.
    pub reason: String,
}

/// Whether any of the families named is about the insole, so that its solid has to be built; `only` as in [`make`].
///
/// # Errors
/// There is no such family.
pub fn need_solids(only: &[String]) -> Result<bool, MakeError> {
    Ok(wanted(only)?.iter().any(|format| format.needs_solid()))
}

/// The files of the families named; all when none is named. A family is a format's id or any word in it: `solid`,
/// `sheet`. A format takes those of the options that it has.
///
/// # Errors
/// There is no such family, an option is out of its range, or the model lacks what a format writes.
pub fn make(model: &MakeModel, only: &[String], options: &Params) -> Result<Vec<MadeFile>, MakeError> {
    let mut files = Vec::new();
    for format in wanted(only)? {
        let chosen = chosen(format, options)?;
        for part in format.parts(model) {
            let name = format.file_name(model, part);
            let mut bytes = Vec::new();
            format
                .write(model, part, &chosen, &mut bytes, &mut Report::default())
                .map_err(|error| MakeError { name: name.clone(), reason: error.to_string() })?;
            files.push(MadeFile { name, media_type: format.media_type().to_owned(), bytes });
        }
    }
    Ok(files)
}

/// The options that a format has, each in its range.
fn chosen(format: &dyn Format, options: &Params) -> Result<Params, MakeError> {
    let mut chosen = Params::new();
    for spec in format.options() {
        let Some(&value) = options.get(spec.id) else { continue };
        if !spec.accepts(value) {
            let reason = format!("{} is {value}, outside {} to {} {}", spec.label, spec.min, spec.max, spec.unit);
            return Err(MakeError { name: format.label().to_owned(), reason });
        }
        chosen.insert(spec.id.to_owned(), value);
    }
    Ok(chosen)
}

/// The formats named, by id or by family: `solid` means every format with that word in its id.
fn wanted(only: &[String]) -> Result<Vec<&'static dyn Format>, MakeError> {
    let is =
        |format: &dyn Format, family: &str| format.id() == family || format.id().split('_').any(|word| word == family);
    for family in only {
        if !formats::ALL.iter().any(|format| is(*format, family)) {
            let known: Vec<&str> = formats::ALL.iter().map(|format| format.id()).collect();
            let reason = format!("there is no such output; there are: {}", known.join(", "));
            return Err(MakeError { name: family.clone(), reason });
        }
    }
    let all = formats::ALL.iter().copied();
    Ok(all.filter(|format| only.is_empty() || only.iter().any(|family| is(*format, family))).collect())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::test_model::pair;
    use mesh::ClosedMesh;

    #[test]
    fn a_model_that_crossed_to_another_program_makes_the_same_files() {
        let model = pair();
        let crossed = postcard::to_stdvec(&model).unwrap();
        let crossed: MakeModel = postcard::from_bytes(&crossed).unwrap();
        let made = make(&model, &[], &Params::new()).unwrap();
        assert!(made.len() > formats::ALL.len());
        assert_eq!(make(&crossed, &[], &Params::new()).unwrap(), made);
    }

    #[test]
    fn a_solid_that_is_not_closed_does_not_cross() {
        let model = pair();
        let mut parts = model.sides.left.unwrap().solid.into_mesh();
        let (positions, mut triangles) = (parts.positions().to_vec(), parts.triangles().to_vec());
        triangles.pop();
        parts = mesh::TriMesh::new(positions, triangles).unwrap();
        let open = postcard::to_stdvec(&parts).unwrap();
        assert!(postcard::from_bytes::<ClosedMesh>(&open).is_err());
        let nowhere = postcard::to_stdvec(&(vec![[0.0_f64; 3]; 2], vec![[0_u32, 1, 2]])).unwrap();
        assert!(postcard::from_bytes::<mesh::TriMesh>(&nowhere).is_err());
    }

    #[test]
    fn families_say_whether_they_need_solids() {
        let need = |family: &str| need_solids(&[family.to_owned()]);
        assert_eq!((need("solid"), need("report"), need_solids(&[])), (Ok(true), Ok(false), Ok(true)));
        assert!(need("cast").unwrap_err().to_string().contains("cast"));
    }
}
