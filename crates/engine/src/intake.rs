//! Scans come in: read, found how they lie, put on their side as one step.

use crate::pairing::{self, Candidate};
use crate::skin::{self, Origin, Skin};
use crate::{Engine, EngineError, stages};
use base::{BySide, LengthUnit, Note, Report, Side, Work};
use case::{Edit, FootCase, ScanRef, SecondScan, pose_from_rows, rows_from_pose};
use foot::{Pose, PoseHints, ScanKind, WeightBearing};
use glam::DVec3;
use scan::HeightScale;
use serde::{Deserialize, Serialize};
use std::rc::Rc;
use std::sync::Arc;

/// What is known about scans that come in.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct ScanHints {
    /// The side, if known.
    pub side: Option<Side>,
    /// The unit of the numbers, if known; it goes before one that the file states.
    pub unit: Option<LengthUnit>,
    /// What the scans show, if known.
    pub kind: Option<ScanKind>,
    /// Scale of height images.
    pub heights: Option<HeightScale>,
}

/// A file that comes in.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct ScanFile {
    /// Its name.
    pub name: String,
    /// Its content.
    pub bytes: Arc<[u8]>,
}

impl ScanFile {
    /// A file of this name and content.
    #[must_use]
    pub fn new(name: &str, bytes: &[u8]) -> ScanFile {
        ScanFile { name: name.to_owned(), bytes: bytes.into() }
    }
}

/// A scan that came in.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Added {
    /// File name of the scan.
    pub name: String,
    /// The foot it was found to be.
    pub side: Side,
    /// How sure that is: 0.5 (a coin's toss) … 1.
    pub side_confidence: f64,
    /// Unit its numbers were read in.
    pub unit: LengthUnit,
    /// What it was found to show.
    pub kind: ScanKind,
    /// What was noticed and done on the way in.
    pub notes: Vec<Note>,
}

/// A foot found in a file.
struct Arrived<'a> {
    file: &'a ScanFile,
    skin: Rc<Skin>,
    /// What was noticed while reading.
    read: Report,
    pose: Pose,
}

impl Engine {
    /// Reads scans, finds how each lies and which foot it is, and puts them on their sides as one step. A file with two
    /// feet gives both; with a side in `hints` only the foot of that side.
    ///
    /// # Errors
    /// A file cannot be read or has no foot, or there are more than two; the case is as it was.
    pub fn add_scans(&mut self, files: &[ScanFile], hints: &ScanHints, work: &Work) -> Result<Vec<Added>, EngineError> {
        let mut arrived = Vec::new();
        for file in files {
            arrived.extend(arrivals(file, hints, work)?);
        }
        let mut pairing = Report::default();
        let candidates: Vec<Candidate> =
            arrived.iter().map(|foot| Candidate { name: &foot.file.name, pose: foot.pose.clone() }).collect();
        let sides = match hints.side {
            Some(side) => vec![side; candidates.len()],
            None => pairing::sides(&candidates, BySide::from_fn(|side| self.case().feet[side].is_some()), &mut pairing),
        };
        let mut taken = sides.clone();
        base::sort_by(&mut taken, Ord::cmp);
        taken.dedup();
        if taken.len() < sides.len() {
            let names = files.iter().map(|file| file.name.as_str()).collect::<Vec<_>>().join(", ");
            return Err(EngineError::TooManyFeet { count: sides.len(), names });
        }
        let mut added = Vec::new();
        let mut edits = Vec::new();
        let mut seeds = Vec::new();
        for (mut arrived, side) in arrived.into_iter().zip(sides) {
            let name = &arrived.file.name;
            if arrived.pose.side != side {
                let hints =
                    PoseHints { side: Some(side), unit: Some(arrived.pose.unit), kind: Some(arrived.pose.kind) };
                arrived.pose = foot::find_pose(name, &arrived.skin.mesh, &hints, work, &mut Report::default())?;
            }
            let mut notes = arrived.pose.notes.clone();
            notes.extend(pairing.notes.iter().filter(|note| note.text.starts_with(name.as_str())).cloned());
            let scan = scan_ref(arrived.file);
            let foot_from_scan = rows_from_pose(&arrived.pose.foot_from_scan);
            let foot = FootCase {
                kind: arrived.pose.kind,
                heights: hints.heights.filter(|_| arrived.skin.origin == Origin::Heights),
                pose_notes: notes.clone(),
                ..FootCase::new(scan.clone(), arrived.pose.unit, foot_from_scan)
            };
            if arrived.skin.origin == Origin::Points {
                // Seen from below in the pose that was found, as it will be when the case is opened again.
                let (bytes, pose) = (&arrived.file.bytes, Some(&arrived.pose.foot_from_scan));
                arrived.read = Report::default();
                arrived.skin = Rc::new(skin::read(name, bytes, None, pose, work, &mut arrived.read)?);
            }
            let scanned = stages::scan(&foot, arrived.skin, work, arrived.read)?;
            added.push(Added {
                name: name.clone(),
                side,
                side_confidence: arrived.pose.side_confidence,
                unit: arrived.pose.unit,
                kind: arrived.pose.kind,
                notes: notes.iter().chain(&scanned.notes).cloned().collect(),
            });
            edits.push(Edit::AddScan {
                side,
                scan,
                unit: arrived.pose.unit,
                foot_from_scan,
                kind: foot.kind,
                heights: foot.heights,
                notes,
            });
            seeds.push((side, foot, scanned, Arc::clone(&arrived.file.bytes)));
        }
        for (_, foot, _, bytes) in &seeds {
            self.blobs.insert(foot.scan.hash.clone(), Arc::clone(bytes));
        }
        match edits.as_slice() {
            [edit] => self.history.apply(edit)?,
            _ => self.history.apply(&Edit::Together { label: "add both scans".to_owned(), edits })?,
        }
        for (side, foot, scanned, _) in seeds {
            self.stages[side].seed(&foot, scanned, &mut self.revisions);
        }
        Ok(added)
    }

    /// Reads a second scan of the foot on `side`, in another state of loading, and puts it beside the first.
    ///
    /// # Errors
    /// There is no foot on that side, or the file has no foot; the case is as it was.
    pub fn add_second_scan(
        &mut self,
        side: Side,
        state: WeightBearing,
        file: &ScanFile,
        hints: &ScanHints,
        work: &Work,
    ) -> Result<(), EngineError> {
        if self.case().feet[side].is_none() {
            return Err(EngineError::NoFoot { side });
        }
        let mut report = Report::default();
        let skin = skin::read(&file.name, &file.bytes, hints.heights.as_ref(), None, work, &mut report)?;
        let hints = PoseHints { side: Some(side), unit: hints.unit.or(skin.unit), kind: None };
        let pose = foot::find_pose(&file.name, &skin.mesh, &hints, work, &mut report)?;
        let scan = scan_ref(file);
        let foot_from_scan = rows_from_pose(&pose.foot_from_scan);
        let second = SecondScan {
            scan,
            unit: pose.unit,
            foot_from_scan,
            state,
            pose_notes: pose.notes,
            navicular_height_mm: None,
        };
        self.blobs.insert(second.scan.hash.clone(), Arc::clone(&file.bytes));
        Ok(self.history.apply(&Edit::AddSecondScan { side, second })?)
    }

    /// The edit that lays the foot on `side` anew by three points on its skin, foot frame as it is now, mm: heel, the
    /// ball on the side of the big toe, the ball on that of the little toe. The side follows from them; where it is the
    /// other one the feet change places.
    ///
    /// # Errors
    /// There is no foot, or the points make no pose.
    pub fn pose_edit(&self, side: Side, clicks: [[f64; 3]; 3], work: &Work) -> Result<Edit, EngineError> {
        let foot = self.case().feet[side].as_ref().ok_or(EngineError::NoFoot { side })?;
        let skin = self.skin_of(foot, foot.heights.as_ref(), work)?;
        let foot_from_scan = pose_from_rows(&foot.foot_from_scan).ok_or(case::EditError::BadPose)?;
        let scan_from_foot = foot_from_scan.inverse();
        let clicks = clicks.map(|at| scan_from_foot.transform_point3(DVec3::from_array(at)));
        let name = &foot.scan.name;
        let pose =
            foot::pose_from_clicks(name, &skin.mesh, foot.unit, Some(foot.kind), clicks, work, &mut Report::default())?;
        let foot_from_scan = rows_from_pose(&pose.foot_from_scan);
        if pose.side == side {
            return Ok(Edit::SetPose { side, foot_from_scan });
        }
        let edits = vec![Edit::SwitchSide { side }, Edit::SetPose { side: pose.side, foot_from_scan }];
        Ok(Edit::Together { label: "set pose".to_owned(), edits })
    }

    /// The edit that takes the scan on `side` in again as something else: of another kind or, a height image, by
    /// another scale. What is `None` stays.
    ///
    /// # Errors
    /// There is no foot, or nothing is found in the scan when it is taken for that.
    pub fn retake_edit(
        &self,
        side: Side,
        kind: Option<ScanKind>,
        heights: Option<HeightScale>,
        work: &Work,
    ) -> Result<Edit, EngineError> {
        let foot = self.case().feet[side].as_ref().ok_or(EngineError::NoFoot { side })?;
        let (kind, heights) = (kind.unwrap_or(foot.kind), heights.or(foot.heights));
        let skin = self.skin_of(foot, heights.as_ref(), work)?;
        let hints = PoseHints { side: Some(side), unit: Some(foot.unit), kind: Some(kind) };
        let pose = foot::find_pose(&foot.scan.name, &skin.mesh, &hints, work, &mut Report::default())?;
        Ok(Edit::AddScan {
            side,
            scan: foot.scan.clone(),
            unit: foot.unit,
            foot_from_scan: rows_from_pose(&pose.foot_from_scan),
            kind,
            heights,
            notes: pose.notes,
        })
    }

    fn skin_of(&self, foot: &FootCase, heights: Option<&HeightScale>, work: &Work) -> Result<Skin, EngineError> {
        let missing = || EngineError::ScanMissing { name: foot.scan.name.clone() };
        let bytes = self.blobs.get(&foot.scan.hash).ok_or_else(missing)?;
        let pose = pose_from_rows(&foot.foot_from_scan).ok_or(case::EditError::BadPose)?;
        skin::read(&foot.scan.name, bytes, heights, Some(&pose), work, &mut Report::default())
    }
}

/// The file by content, under its bare name: where it lay is nobody else's business.
fn scan_ref(file: &ScanFile) -> ScanRef {
    let name = file.name.rsplit(['/', '\\']).next().unwrap_or_default().to_owned();
    ScanRef { hash: case::file::content_hash(&file.bytes), name }
}

/// The feet in one file.
fn arrivals<'a>(file: &'a ScanFile, hints: &ScanHints, work: &Work) -> Result<Vec<Arrived<'a>>, EngineError> {
    let mut read = Report::default();
    let skin = skin::read(&file.name, &file.bytes, hints.heights.as_ref(), None, work, &mut read)?;
    let unit = hints.unit.or(skin.unit);
    let looked_for = PoseHints { side: None, unit, kind: hints.kind };
    let mut poses = foot::find_feet(&file.name, &skin.mesh, &looked_for, work, &mut Report::default())?;
    if let Some(side) = hints.side {
        match poses.len() {
            1 => {
                let known = PoseHints { side: Some(side), ..looked_for };
                poses = vec![foot::find_pose(&file.name, &skin.mesh, &known, work, &mut Report::default())?];
            }
            _ => poses.retain(|pose| pose.side == side),
        }
    }
    let skin = Rc::new(skin);
    Ok(poses.into_iter().map(|pose| Arrived { file, skin: Rc::clone(&skin), read: read.clone(), pose }).collect())
}
