//! Settles a body that a JSON file describes and prints pressures and compressions as JSON, for the checks by a finite-element
//! library in `tests/outside/test_contact.py`: `contact FILE`. Exit code 2 with a message if it cannot be settled.

#![allow(clippy::print_stdout, reason = "its output is what it is for")]

use contact::{Bonded, Columns, Curve, Indenter, Layer, LoadCase, Plane, Settled, Workspace, settle, two_parameters};
use glam::DVec2;
use serde::Deserialize;
use std::error::Error;
use std::process::ExitCode;

/// What the file holds; arrays have a value for each node, row by row.
#[derive(Deserialize)]
struct Case {
    origin_mm: [f64; 2],
    step_mm: f64,
    columns: usize,
    rows: usize,
    /// Bonded layers from the top down: springs and shear layer follow by the rule of two parameters.
    layers: Vec<Material>,
    /// Whether the columns are tied.
    tied: bool,
    /// Null where there is no body.
    profile_mm: Vec<Option<f64>>,
    force_n: f64,
    at_mm: [f64; 2],
}

#[derive(Deserialize)]
struct Material {
    thickness_mm: f64,
    modulus_mpa: Vec<f64>,
    poisson: f64,
}

fn main() -> ExitCode {
    let words: Vec<String> = std::env::args().skip(1).collect();
    match run(&words) {
        Ok(text) => {
            println!("{text}");
            ExitCode::SUCCESS
        }
        Err(error) => {
            println!("{error}");
            ExitCode::from(2)
        }
    }
}

fn run(words: &[String]) -> Result<String, Box<dyn Error>> {
    let [file] = words else { return Err("contact FILE".into()) };
    let case: Case = serde_json::from_str(&std::fs::read_to_string(file)?)?;
    let settled = solved(&case)?;
    Ok(serde_json::to_string(&serde_json::json!({
        "sink_mm": settled.pose.sink_mm,
        "slope": settled.pose.slope.to_array(),
        "pressure_kpa": settled.pressure_kpa,
        "compression_mm": settled.compression_mm,
        "iterations": settled.iterations,
        "left_over_n": settled.residuals.force_n,
    }))?)
}

fn solved(case: &Case) -> Result<Settled, Box<dyn Error>> {
    let origin_mm = DVec2::from(case.origin_mm);
    let plane = Plane { origin_mm, step_mm: case.step_mm, columns: case.columns, rows: case.rows };
    let mut strength = vec![0.0; plane.len()];
    for (node, strength) in strength.iter_mut().enumerate() {
        let bonded: Option<Vec<Bonded>> = case.layers.iter().map(|layer| layer.at(node)).collect();
        *strength = two_parameters(&bonded.ok_or("a modulus is missing")?)?.1;
    }
    let layers: Result<Vec<Layer>, Box<dyn Error>> = case.layers.iter().map(|layer| layer.spring(&plane)).collect();
    let columns = Columns::new(plane, vec![true; plane.len()], layers?)?;
    let columns = if case.tied { columns.with_shear(&strength)? } else { columns };
    let profile = case.profile_mm.iter().map(|z| z.unwrap_or(f64::NAN));
    let load = LoadCase::at(case.force_n, DVec2::from(case.at_mm));
    Ok(settle(&columns, &Indenter::rigid(profile.collect()), &load, None, &mut Workspace::default())?)
}

impl Material {
    fn at(&self, node: usize) -> Option<Bonded> {
        let &modulus_mpa = self.modulus_mpa.get(node)?;
        Some(Bonded { thickness_mm: self.thickness_mm, modulus_mpa, poisson: self.poisson })
    }

    fn spring(&self, plane: &Plane) -> Result<Layer, Box<dyn Error>> {
        let ratio = contact::confinement(self.poisson)?;
        let modulus_mpa = self.modulus_mpa.iter().map(|modulus| modulus * ratio).collect();
        Ok(Layer { thickness_mm: vec![self.thickness_mm; plane.len()], modulus_mpa, curve: Curve::Linear })
    }
}
