//! Writes the sample scans: `cargo run --release -p solewright-foot --example sample_scans -- sample-scans`.
//!
//! Three invented people, left and right foot, as binary STL in millimetres in a scanner's own coordinates. The same
//! bytes every time: every number and seed is below.

use base::{BySide, Side};
use foot::phantom::{Phantom, PhantomFault, PhantomParams, ScanSwitches};
use glam::{DAffine3, DQuat, DVec3, dvec3};
use mesh::stl::write_stl;
use std::path::PathBuf;
use std::{fs, io};

/// One invented person.
pub struct Person {
    /// Name in the file names.
    pub name: &'static str,
    /// Both feet.
    pub feet: BySide<PhantomParams>,
    /// How the foot frame lies in the scanner for each foot.
    pub poses: BySide<DAffine3>,
    /// Seed of the scanner's noise; the right foot has the next one.
    pub seed: u64,
}

/// Everyone there are sample scans of.
#[must_use]
pub fn people() -> [Person; 3] {
    let left = PhantomParams { side: Side::Left, leg_height_mm: 122.0, ..PhantomParams::default() };
    let ordinary = PhantomParams {
        foot_length_mm: 258.0,
        ball_breadth_mm: 97.0,
        heel_breadth_mm: 69.0,
        arch_height_mm: 17.0,
        instep_height_mm: 66.0,
        ankle_width_mm: 71.0,
        midfoot_width_mm: 27.0,
        hallux_valgus_deg: 10.0,
        ..left.clone()
    };
    let flat = PhantomParams {
        foot_length_mm: 246.0,
        ball_breadth_mm: 97.0,
        heel_breadth_mm: 68.0,
        arch_height_mm: 8.5,
        ball_length_ratio: 0.735,
        instep_height_mm: 58.0,
        ankle_width_mm: 70.0,
        midfoot_width_mm: 47.0,
        hallux_valgus_deg: 19.0,
        forefoot_splay: 0.7,
        toe_length: [1.0, 0.95, 0.95, 0.95, 0.97],
        ..left.clone()
    };
    let high_arched = PhantomParams {
        foot_length_mm: 265.0,
        ball_breadth_mm: 96.0,
        heel_breadth_mm: 68.0,
        arch_height_mm: 26.0,
        ball_length_ratio: 0.745,
        instep_height_mm: 73.0,
        ankle_width_mm: 71.0,
        midfoot_width_mm: 15.0,
        hallux_valgus_deg: 7.0,
        toe_length: [1.0, 1.08, 1.03, 1.0, 1.0],
        toe_claw: [0.1, 0.85, 0.35, 0.3, 0.2],
        ..left
    };
    [
        Person {
            name: "ordinary",
            feet: BySide {
                right: PhantomParams {
                    side: Side::Right,
                    foot_length_mm: 260.0,
                    ball_breadth_mm: 97.5,
                    arch_height_mm: 16.5,
                    midfoot_width_mm: 28.0,
                    ..ordinary.clone()
                },
                left: ordinary,
            },
            // Upright along the scanner's y, toes a little outward.
            poses: BySide {
                left: pose(upright(97.0), [1.2, -0.8], dvec3(-112.0, -121.0, 14.5)),
                right: pose(upright(84.0), [-0.7, 1.5], dvec3(104.0, -126.0, 14.5)),
            },
            seed: 11,
        },
        Person {
            name: "flat",
            feet: BySide {
                right: PhantomParams {
                    side: Side::Right,
                    foot_length_mm: 244.5,
                    arch_height_mm: 9.5,
                    midfoot_width_mm: 45.0,
                    hallux_valgus_deg: 23.0,
                    ..flat.clone()
                },
                left: flat,
            },
            // The scanner's y points up.
            poses: BySide {
                left: pose(y_up(12.0), [0.6, 1.1], dvec3(38.0, 210.0, -64.0)),
                right: pose(y_up(-9.0), [-1.0, 0.4], dvec3(41.0, 210.0, 71.0)),
            },
            seed: 21,
        },
        Person {
            name: "high-arched",
            feet: BySide {
                right: PhantomParams {
                    side: Side::Right,
                    foot_length_mm: 266.5,
                    arch_height_mm: 25.0,
                    midfoot_width_mm: 16.5,
                    toe_claw: [0.1, 0.7, 0.3, 0.25, 0.2],
                    ..high_arched.clone()
                },
                left: high_arched,
            },
            // Toes towards the scanner's -x, foot held at a slant.
            poses: BySide {
                left: pose(upright(174.0), [4.0, -6.0], dvec3(402.0, 188.0, 95.0)),
                right: pose(upright(-171.0), [-3.0, 5.0], dvec3(395.0, 176.0, 92.0)),
            },
            seed: 31,
        },
    ]
}

/// A motion: `turn`, then tilted about the scanner's x and y by degrees, then shifted by mm.
fn pose(turn: DQuat, tilt_deg: [f64; 2], shift_mm: DVec3) -> DAffine3 {
    let tilt = DQuat::from_rotation_x(tilt_deg[0].to_radians()) * DQuat::from_rotation_y(tilt_deg[1].to_radians());
    DAffine3::from_rotation_translation(tilt * turn, shift_mm)
}

fn upright(turn_deg: f64) -> DQuat {
    DQuat::from_rotation_z(turn_deg.to_radians())
}

fn y_up(turn_deg: f64) -> DQuat {
    DQuat::from_rotation_x(-core::f64::consts::FRAC_PI_2) * upright(turn_deg)
}

/// The scan of one foot as the bytes of its file, with the phantom.
///
/// # Errors
/// If there is no such foot.
pub fn file(person: &Person, side: Side) -> Result<(Vec<u8>, Phantom), PhantomFault> {
    let phantom = Phantom::new(person.feet[side].clone())?;
    let scan = phantom.scan(&ScanSwitches {
        // Six files of less than 1.5 MB: 50 bytes a triangle.
        triangle_mm: 2.7,
        noise_sigma_mm: 0.15,
        open_top: true,
        pose: person.poses[side],
        seed: person.seed + u64::from(side == Side::Right),
        ..ScanSwitches::default()
    });
    let mut bytes = Vec::new();
    let header = format!("{} {} phantom foot, nobody's, mm", person.name, side.word());
    // Writing to memory does not fail.
    write_stl(&scan.mesh, &header, &mut bytes).unwrap_or_default();
    Ok((bytes, phantom))
}

/// Name of the file of one foot.
#[must_use]
pub fn file_name(person: &Person, side: Side) -> String {
    format!("{}-{}.stl", person.name, side.word())
}

#[allow(clippy::print_stdout, reason = "a command says what it wrote")]
#[allow(dead_code, reason = "a test takes the people in this file and has no use for its main")]
fn main() -> io::Result<()> {
    let folder = std::env::args().nth(1).map(PathBuf::from);
    let Some(folder) = folder else {
        return Err(io::Error::new(io::ErrorKind::InvalidInput, "name the folder to write to"));
    };
    fs::create_dir_all(&folder)?;
    println!(
        "| file | foot length | ball breadth | heel breadth | ball girth | instep height | arch height | arch index |"
    );
    println!("| --- | --- | --- | --- | --- | --- | --- | --- |");
    for person in people() {
        for side in Side::ALL {
            let (bytes, phantom) = file(&person, side).map_err(io::Error::other)?;
            let name = file_name(&person, side);
            fs::write(folder.join(&name), &bytes)?;
            let truth = phantom.truth();
            println!(
                "| {name} | {:.1} | {:.1} | {:.1} | {:.1} | {:.1} | {:.1} | {:.3} |",
                truth.foot_length_mm,
                truth.foot_breadth_mm,
                truth.heel_breadth_mm,
                truth.ball_girth_mm,
                truth.instep_height_mm,
                truth.arch_apex_height_mm,
                truth.arch_index
            );
        }
    }
    Ok(())
}
