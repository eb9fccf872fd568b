use crate::protocol::{Answer, Content, File, GridFrame, Kept, Part, PartName, Phase, Reply, Request, State};
use base::{BySide, Side, Work};
use engine::view::{OutlineRequest, Revs};
use engine::{Cut, Drawn, Engine, EngineError, GridBuffers, ScanFile, ScanHints, Snapshot, Workshop};

/// An engine and what its client has already been sent.
#[derive(Debug, Default)]
pub(crate) struct Host {
    engine: Engine,
    sent: BySide<Sent>,
    kept: Option<Kept>,
    cuts: Vec<(Side, Cut)>,
}

/// What the client holds of one foot.
#[derive(Debug, Default)]
struct Sent {
    revs: Option<Revs>,
    insole_indices: Vec<u32>,
}

/// Why a request came to nothing.
type Refusal = String;

impl Host {
    /// Does what is asked. Files are made and drawings traced in `workshop`; `progress(what, fraction 0…1)` hears of long work.
    pub(crate) fn answer(
        &mut self,
        request: Request,
        files: Vec<Vec<u8>>,
        workshop: &dyn Workshop,
        progress: &dyn Fn(&str, f64),
    ) -> Answer<Vec<u8>> {
        if request == Request::Snapshot {
            self.sent = BySide::default();
        }
        let shows = shows(&request);
        let outcome = self.outcome(request, files, workshop, progress);
        let state = match (&outcome, shows) {
            (Err(_), _) | (_, Shows::Nothing) => None,
            (_, Shows::Sections) => Some(State { sections: self.sections(), ..State::default() }),
            (_, Shows::Preview) => Some(self.state()),
            (_, Shows::Step) => Some(State { kept: self.kept_if_new(), ..self.state() }),
        };
        Answer { outcome, state }
    }

    fn outcome(
        &mut self,
        request: Request,
        files: Vec<Vec<u8>>,
        workshop: &dyn Workshop,
        progress: &dyn Fn(&str, f64),
    ) -> Result<Reply<Vec<u8>>, Refusal> {
        let engine = &mut self.engine;
        let done = |()| Reply::Done;
        let on_step = |what: &str, fraction: f64| {
            progress(what, fraction);
            true
        };
        match request {
            Request::Snapshot => Ok(Reply::Done),
            Request::Apply(edit) => engine.apply(&edit).map(done).map_err(sentence),
            Request::Begin => {
                engine.begin();
                Ok(Reply::Done)
            }
            Request::Preview(edit) => engine.preview(&edit).map(done).map_err(sentence),
            Request::Commit => {
                engine.commit();
                Ok(Reply::Done)
            }
            Request::Cancel => {
                engine.cancel();
                Ok(Reply::Done)
            }
            Request::Undo => Ok(Reply::Stepped(engine.undo())),
            Request::Redo => Ok(Reply::Stepped(engine.redo())),
            Request::Move { side, target, to, phase } => {
                let edit = engine.move_edit(side, &target, to).map_err(sentence)?;
                engine.preview(&edit).map_err(sentence)?;
                if phase == Phase::Commit {
                    engine.commit();
                }
                Ok(Reply::Done)
            }
            Request::Place { side, kind, at } => {
                let edit = engine.place_edit(side, &kind, at).map_err(sentence)?;
                engine.apply(&edit).map(done).map_err(sentence)
            }
            Request::CopyElement { side, id } => {
                let edit = engine.copy_element_edit(side, id).map_err(sentence)?;
                engine.apply(&edit).map(done).map_err(sentence)
            }
            Request::Sculpt { side, brush, path, phase } => {
                let edit = engine.sculpt_edit(side, &brush, &path).map_err(sentence)?;
                engine.preview(&edit).map_err(sentence)?;
                if phase == Phase::Commit {
                    engine.commit();
                }
                Ok(Reply::Done)
            }
            Request::Compare { with } => {
                engine.set_compare(with);
                Ok(Reply::Done)
            }
            Request::SetAside => {
                engine.set_aside();
                Ok(Reply::Done)
            }
            Request::Measure { side, points } => engine.measured(side, &points).map(Reply::Measured).map_err(sentence),
            Request::TakeBuild { side, name, element } => {
                let build = engine.take_build(side, &name, element).map_err(sentence)?;
                build.to_json().map(Reply::Json).map_err(|error| error.to_string())
            }
            Request::UseBuild { sides, build } => {
                let edit = engine.use_build_edit(&sides, &build).map_err(sentence)?;
                engine.apply(&edit).map(done).map_err(sentence)
            }
            Request::Hand(hand) => {
                engine.set_hand(hand);
                Ok(Reply::Done)
            }
            Request::Outline { side, change, hand } => {
                let edit = engine.outline_edit(side, &OutlineRequest { change, hand }).map_err(sentence)?;
                engine.apply(&edit).map(done).map_err(sentence)
            }
            Request::CopyOutline { side } => {
                let edit = engine.copy_outline_edit(side).map_err(sentence)?;
                engine.apply(&edit).map(done).map_err(sentence)
            }
            Request::FollowShoe { side } => {
                let edit = engine.follow_shoe_edit(side).map_err(sentence)?;
                engine.apply(&edit).map(done).map_err(sentence)
            }
            Request::TraceDrawing { side, name } => {
                let drawn = Drawn::Drawing(only_file(files)?);
                let edit = engine.trace_edit(workshop, side, &name, &drawn).map_err(sentence)?;
                engine.apply(&edit).map(done).map_err(sentence)
            }
            Request::TracePicture { side, name, width, height, mm_per_pixel, seed } => {
                let drawn = Drawn::Picture { width, height, luma: only_file(files)?, mm_per_pixel, seed };
                let edit = engine.trace_edit(workshop, side, &name, &drawn).map_err(sentence)?;
                engine.apply(&edit).map(done).map_err(sentence)
            }
            Request::AddScans { names, side, kind, heights } => {
                if names.is_empty() || names.len() != files.len() {
                    return Err(NOT_ARRIVED.to_owned());
                }
                let named = names.into_iter().zip(files);
                let files: Vec<ScanFile> = named.map(|(name, bytes)| ScanFile { name, bytes: bytes.into() }).collect();
                let hints = ScanHints { side, unit: None, kind, heights };
                engine.add_scans(&files, &hints, &Work::new(&on_step)).map(Reply::Added).map_err(sentence)
            }
            Request::AddSecond { side, name, state, heights } => {
                let file = ScanFile { name, bytes: only_file(files)?.into() };
                let hints = ScanHints { heights, ..ScanHints::default() };
                engine.add_second_scan(side, state, &file, &hints, &Work::new(&on_step)).map(done).map_err(sentence)
            }
            Request::Lay { side, clicks } => {
                let edit = engine.pose_edit(side, clicks, &Work::new(&on_step)).map_err(sentence)?;
                engine.apply(&edit).map(done).map_err(sentence)
            }
            Request::Retake { side, kind, heights } => {
                let edit = engine.retake_edit(side, kind, heights, &Work::new(&on_step)).map_err(sentence)?;
                engine.apply(&edit).map(done).map_err(sentence)
            }
            Request::Open { name } => engine.open(&name, &only_file(files)?).map(done).map_err(sentence),
            Request::Save => {
                let bytes = engine.save().map_err(sentence)?;
                let media_type = "application/zip".to_owned();
                Ok(Reply::Files(vec![File { name: engine.file_name(), media_type, bytes }]))
            }
            Request::Make { only, options } => {
                let only: Vec<&str> = only.iter().map(String::as_str).collect();
                let made = engine.make_in(workshop, &only, &options).map_err(sentence)?;
                let file =
                    |made: engine::MadeFile| File { name: made.name, media_type: made.media_type, bytes: made.bytes };
                Ok(Reply::Files(made.into_iter().map(file).collect()))
            }
            Request::Section { side, cut } => Ok(Reply::Section(engine.section(side, cut))),
            Request::Watch { cuts } => {
                self.cuts = cuts;
                Ok(Reply::Done)
            }
            Request::Restore { json } => engine.restore(&json, files).map(done).map_err(sentence),
            Request::Json => Ok(Reply::Json(engine.committed_json())),
            Request::ScanBytes { hash } => {
                let file = |bytes: std::sync::Arc<[u8]>| File {
                    name: hash.clone(),
                    media_type: "application/octet-stream".to_owned(),
                    bytes: bytes.to_vec(),
                };
                Ok(Reply::Files(engine.scan_bytes(&hash).map(file).into_iter().collect()))
            }
            Request::Crash => fail_on_purpose(),
        }
    }

    /// The snapshot and the buffers that changed since the last time.
    fn state(&mut self) -> State {
        let snapshot = self.engine.snapshot();
        let mut parts = Vec::new();
        for side in Side::ALL {
            self.changed_parts(side, &snapshot, &mut parts);
        }
        State { snapshot: Some(snapshot), parts, sections: self.sections(), kept: None }
    }

    fn changed_parts(&mut self, side: Side, snapshot: &Snapshot, parts: &mut Vec<Part>) {
        let engine = &mut self.engine;
        let sent = &mut self.sent[side];
        let revs = snapshot.feet[side].as_ref().map(|foot| foot.revs);
        let before = std::mem::replace(&mut sent.revs, revs);
        let Some(revs) = revs else {
            if before.is_some() {
                sent.insole_indices = Vec::new();
                let names = [PartName::FootPositions, PartName::InsolePositions, PartName::InsoleShoreA];
                let grids = [PartName::HardnessGrid, PartName::ThicknessGrid, PartName::DifferenceGrid]
                    .map(|grid| grid(GridFrame::default()));
                parts.extend(names.into_iter().chain(grids).map(|name| Part { side, name, content: Content::Gone }));
            }
            return;
        };
        let mut put = |name, content| parts.push(Part { side, name, content });
        if before.is_none_or(|before| before.foot != revs.foot) {
            match engine.foot_mesh(side) {
                Some(mesh) => {
                    put(PartName::FootPositions, Content::Floats(mesh.positions));
                    put(PartName::FootNormals, Content::Floats(mesh.normals));
                    put(PartName::FootIndices, Content::Indices(mesh.indices));
                    let colours = mesh.colours;
                    let colours = if colours.is_empty() { Content::Gone } else { Content::Bytes(colours) };
                    put(PartName::FootColours, colours);
                }
                None => put(PartName::FootPositions, Content::Gone),
            }
        }
        if before.map_or(0, |before| before.difference) != revs.difference {
            let grid = engine.difference_grid(side).unwrap_or_default();
            put(PartName::DifferenceGrid(frame(&grid)), floats_or_gone(grid.values));
        }
        let mut new_triangles = false;
        if before.is_none_or(|before| before.surface != revs.surface) {
            match engine.insole_mesh(side) {
                Some(mesh) => {
                    put(PartName::InsolePositions, Content::Floats(mesh.positions));
                    put(PartName::InsoleNormals, Content::Floats(mesh.normals));
                    new_triangles = sent.insole_indices != mesh.indices;
                    if new_triangles {
                        sent.insole_indices.clone_from(&mesh.indices);
                        put(PartName::InsoleIndices, Content::Indices(mesh.indices));
                    }
                }
                None => {
                    sent.insole_indices = Vec::new();
                    put(PartName::InsolePositions, Content::Gone);
                }
            }
            let grid = engine.thickness_grid(side).unwrap_or_default();
            put(PartName::ThicknessGrid(frame(&grid)), floats_or_gone(grid.values));
        }
        let other_hardness = before.is_none_or(|before| before.hardness != revs.hardness);
        if new_triangles || other_hardness {
            let values = engine.insole_vertex_hardness(side).unwrap_or_default();
            put(PartName::InsoleShoreA, floats_or_gone(values));
        }
        if other_hardness {
            let grid = engine.hardness_grid(side).unwrap_or_default();
            put(PartName::HardnessGrid(frame(&grid)), floats_or_gone(grid.values));
        }
    }

    fn sections(&mut self) -> Vec<Option<engine::SectionView>> {
        let engine = &mut self.engine;
        self.cuts.iter().map(|&(side, cut)| engine.section(side, cut)).collect()
    }

    fn kept_if_new(&mut self) -> Option<Kept> {
        let kept = Kept { json: self.engine.committed_json(), scans: self.engine.scan_hashes() };
        if self.kept.as_ref() == Some(&kept) {
            return None;
        }
        self.kept = Some(kept.clone());
        Some(kept)
    }
}

/// What of the state a request makes new.
enum Shows {
    Nothing,
    Sections,
    Preview,
    Step,
}

fn shows(request: &Request) -> Shows {
    match request {
        Request::Preview(_)
        | Request::Move { phase: Phase::Preview, .. }
        | Request::Sculpt { phase: Phase::Preview, .. }
        | Request::Compare { .. }
        | Request::SetAside => Shows::Preview,
        Request::Watch { .. } => Shows::Sections,
        Request::Save
        | Request::Make { .. }
        | Request::Section { .. }
        | Request::Measure { .. }
        | Request::TakeBuild { .. }
        | Request::Json
        | Request::ScanBytes { .. }
        | Request::Begin
        | Request::Hand(_)
        | Request::Crash => Shows::Nothing,
        Request::Snapshot
        | Request::Apply(_)
        | Request::Commit
        | Request::Cancel
        | Request::Undo
        | Request::Redo
        | Request::Move { phase: Phase::Commit, .. }
        | Request::Place { .. }
        | Request::CopyElement { .. }
        | Request::Sculpt { phase: Phase::Commit, .. }
        | Request::UseBuild { .. }
        | Request::Outline { .. }
        | Request::CopyOutline { .. }
        | Request::FollowShoe { .. }
        | Request::TraceDrawing { .. }
        | Request::TracePicture { .. }
        | Request::AddScans { .. }
        | Request::AddSecond { .. }
        | Request::Lay { .. }
        | Request::Retake { .. }
        | Request::Open { .. }
        | Request::Restore { .. } => Shows::Step,
    }
}

const NOT_ARRIVED: &str = "the file did not arrive: choose it again";

fn only_file(files: Vec<Vec<u8>>) -> Result<Vec<u8>, Refusal> {
    files.into_iter().next().ok_or_else(|| NOT_ARRIVED.to_owned())
}

fn frame(grid: &GridBuffers) -> GridFrame {
    GridFrame { origin_mm: grid.origin_mm, step_mm: grid.step_mm, columns: grid.columns, rows: grid.rows }
}

fn floats_or_gone(values: Vec<f32>) -> Content {
    if values.is_empty() { Content::Gone } else { Content::Floats(values) }
}

fn sentence(error: EngineError) -> Refusal {
    error.to_string()
}

#[allow(clippy::panic, reason = "the tests of what happens after a failure need one")]
fn fail_on_purpose() -> ! {
    panic!("asked to fail");
}

#[cfg(test)]
#[path = "host_tests.rs"]
mod tests;
