use crate::plane::KPA;
use crate::problem::Problem;
use crate::settle::{LOCAL_BALANCE, MOST_STEPS, residuals};
use crate::{Columns, ContactError, LoadCase, Workspace};

/// A body as a pressure map tells it.
#[derive(Clone, Debug, PartialEq)]
pub struct Plate {
    /// Height of the body's underside over the plane, mm, at each node, its lowest place at 0. Where the map is 0 this is the least
    /// height at which the body does not press; any greater one is as good, and only the body's shape can tell it.
    pub profile_mm: Vec<f64>,
    /// How far each column is compressed, mm.
    pub compression_mm: Vec<f64>,
    /// The map's resultant: under it the body settles level, `sink_mm` below rest.
    pub load: LoadCase,
    /// Depth at rest, mm: the greatest compression.
    pub sink_mm: f64,
}

/// The profile with which a rigid body presses a measured map into columns on a flat plate.
///
/// Each column's compression follows from the map: by its own law where it stands alone, by a solve of springs and shear layer
/// together where columns are tied. The body has to be as low as that. [`crate::settle`] with this profile, these columns and
/// `load` gives the map back.
///
/// # Errors
/// For a map that does not fit the plane, presses nowhere, or presses where there is no column; if no balance is found.
pub fn plate(columns: &Columns, pressure_kpa: &[f64], workspace: &mut Workspace) -> Result<Plate, ContactError> {
    let plane = columns.plane();
    let (force_n, at_mm) = plane.resultant(pressure_kpa)?.ok_or(ContactError::NothingPressed)?;
    let must = "0 kPa where there is no column";
    plane.check_where("pressure", pressure_kpa, must, |node| !columns.bears()[node], |p| p <= 0.0)?;
    let alone = (0..plane.len()).map(|node| columns.compression_mm(node, pressure_kpa[node]).unwrap_or(0.0));
    let mut compression_mm: Vec<f64> = alone.collect();
    if let Some(shear) = columns.shear() {
        let Workspace { setup, web, .. } = workspace;
        let problem = Problem::without_body(columns, setup);
        web.reset(plane.len(), plane.columns);
        let first = plane.columns;
        for (node, w) in compression_mm.iter().enumerate() {
            web.state.w[node + first] = *w;
            web.state.spring[node] = pressure_kpa[node] / KPA;
            web.pushes[node] = pressure_kpa[node] / KPA * plane.cell_mm2();
        }
        let most = web.pushes.iter().copied().fold(0.0, f64::max);
        let mut is_sound = web.state.find_forces(&problem, shear, &web.pushes);
        let mut iterations = 0;
        loop {
            let (amiss, _) = web.state.local();
            if is_sound && amiss <= LOCAL_BALANCE * most {
                break;
            }
            if !is_sound || iterations == MOST_STEPS {
                return Err(ContactError::NotConverged {
                    iterations,
                    residuals: residuals(&problem, &[0.0; 4], amiss),
                });
            }
            is_sound = web.step(&problem, shear).is_some();
            iterations += 1;
        }
        compression_mm.copy_from_slice(&web.state.w[first..first + plane.len()]);
    }
    let sink_mm = compression_mm.iter().copied().fold(0.0, f64::max);
    let profile_mm = compression_mm.iter().map(|w| sink_mm - w).collect();
    Ok(Plate { profile_mm, compression_mm, load: LoadCase::at(force_n, at_mm), sink_mm })
}
