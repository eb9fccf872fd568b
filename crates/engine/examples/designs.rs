//! Makes random designs on random feet and writes each solid with what the engine says of it, for the checks by an
//! independent geometry kernel in `tests/outside/test_designs.py`: `designs COUNT FIRST`.
//!
//! On standard output, for each design: length of a JSON text (u32, little-endian), the text, length of a binary STL, the
//! STL. Every number of the insole and of every kind of element is drawn from its whole range, so that most designs could
//! not be worn: the solid shall be sound all the same, and what is too thin be said.

use base::{ParamSpec, Params, Side, Work};
use case::Edit;
use engine::{Engine, ScanFile, ScanHints};
use foot::WeightBearing;
use foot::phantom::{self, Phantom, ScanSwitches};
use insole::sculpt::{Brush, Tool};
use std::error::Error;
use std::io::Write;

const SIDE: Side = Side::Right;
/// Designs made on one foot before the next.
const DESIGNS_A_FOOT: u64 = 50;
/// Rules that say where an insole is too thin.
const OF_THICKNESS: [&str; 2] = ["too_thin", "through_recess"];

fn main() -> Result<(), Box<dyn Error>> {
    let number = |at: usize, usual: u64| std::env::args().nth(at).and_then(|n| n.parse().ok()).unwrap_or(usual);
    let (count, first) = (number(1, 100), number(2, 0));
    let mut out = std::io::BufWriter::new(std::io::stdout().lock());
    let mut engine = Engine::new();
    for design in first..first + count {
        if design == first || design % DESIGNS_A_FOOT == 0 {
            engine = with_foot(design / DESIGNS_A_FOOT)?;
        }
        let mut dice = Dice(design.wrapping_mul(0x9E37_79B9_7F4A_7C15));
        engine.begin();
        let refused = decide(&mut engine, &mut dice);
        let spacing_mm = if dice.below(12) == 0 { 0.5 } else { 1.0 };
        let options = Params::from([("spacing_mm".to_owned(), spacing_mm)]);
        let snapshot = engine.snapshot();
        let (told, stl) = match (&snapshot.feet[SIDE], &snapshot.problems[SIDE]) {
            (Some(foot), None) => {
                let found: Vec<&str> = snapshot.findings.iter().map(|finding| finding.rule.as_str()).collect();
                let told = serde_json::json!({
                    "design": design, "spacing_mm": spacing_mm, "refused": refused,
                    "outline": foot.outline, "thinnest_mm": foot.thinnest.0, "thinnest_at": foot.thinnest.1,
                    "thin_found": found.iter().any(|rule| OF_THICKNESS.contains(rule)),
                    "surface": engine.case().feet[SIDE].as_ref().map(|foot| &foot.surface),
                    "elements": engine.case().feet[SIDE].as_ref().map(|foot| &foot.elements),
                });
                let made = engine.make_with(&["solid_stl"], &options)?;
                (told, made.into_iter().next().map(|file| file.bytes).unwrap_or_default())
            }
            // Landmarks that a number moved out of their order: refused with its reason, nothing made.
            (_, problem) => (serde_json::json!({"design": design, "problem": problem}), Vec::new()),
        };
        for bytes in [told.to_string().into_bytes(), stl] {
            out.write_all(&u32::try_from(bytes.len())?.to_le_bytes())?;
            out.write_all(&bytes)?;
        }
        engine.cancel();
    }
    out.flush()?;
    Ok(())
}

fn with_foot(seed: u64) -> Result<Engine, Box<dyn Error>> {
    let phantom = Phantom::new(phantom::PhantomParams { side: SIDE, ..phantom::random(seed) })?;
    let switches = ScanSwitches { triangle_mm: 4.0, seed, ..ScanSwitches::default() };
    let mut bytes = Vec::new();
    mesh::stl::write_stl(&phantom.scan(&switches).mesh, "phantom", &mut bytes)?;
    let mut engine = Engine::new();
    let hints = ScanHints { side: Some(SIDE), ..ScanHints::default() };
    engine.add_scans(&[ScanFile::new("right.stl", bytes.as_slice())], &hints, &Work::quiet())?;
    engine.apply(&Edit::SetWeightBearing { state: Some(WeightBearing::Half) })?;
    Ok(engine)
}

/// Decides at random; how many edits were refused.
fn decide(engine: &mut Engine, dice: &mut Dice) -> usize {
    let mut edits = Vec::new();
    for spec in insole::PARAMS {
        if dice.below(3) == 0 {
            edits.push(Edit::SetSurface { side: SIDE, param: spec.id.to_owned(), value: Some(dice.within(spec)) });
        }
    }
    for _ in 0..dice.below(6) {
        let element = insole::elements::ALL[dice.below(insole::elements::ALL.len())];
        let Ok(Edit::AddElement { kind, mut params, .. }) = engine.place_edit(SIDE, element.id(), None) else {
            continue;
        };
        for spec in element.params() {
            if dice.below(2) == 0 {
                params.insert(spec.id.to_owned(), dice.within(spec));
            }
        }
        let curve = if element.is_drawn() && dice.below(2) == 0 { dice.curve() } else { Vec::new() };
        let text = if element.has_text() { "R 26-11".to_owned() } else { String::new() };
        edits.push(Edit::AddElement { side: SIDE, kind, params, curve, text });
    }
    if dice.below(3) == 0 {
        let brush = Brush {
            tool: Tool::ALL[dice.below(Tool::ALL.len())],
            radius_mm: 4.0 + 30.0 * dice.share(),
            strength: 4.0 * dice.share(),
        };
        let path = [dice.place(), dice.place()];
        edits.extend(engine.sculpt_edit(SIDE, &brush, &path));
    }
    let total = edits.len();
    // What fits stays, as when a person goes on after a refusal.
    let mut kept: Vec<Edit> = Vec::new();
    for edit in edits {
        let mut tried = kept.clone();
        tried.push(edit);
        if engine.preview(&Edit::Together { label: String::new(), edits: tried.clone() }).is_ok() {
            kept = tried;
        }
    }
    total - kept.len()
}

/// Numbers at random that are the same every time (SplitMix64: Steele, Lea and Flood 2014, from memory).
struct Dice(u64);

impl Dice {
    fn next(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9E37_79B9_7F4A_7C15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
        z ^ (z >> 31)
    }

    fn share(&mut self) -> f64 {
        (self.next() >> 11) as f64 / (1_u64 << 53) as f64
    }

    fn below(&mut self, count: usize) -> usize {
        (self.next() % count.max(1) as u64) as usize
    }

    /// A value of the whole range, now and then one of its ends.
    fn within(&mut self, spec: &ParamSpec) -> f64 {
        match self.below(8) {
            0 => spec.min,
            1 => spec.max,
            _ if spec.unit.is_empty() && spec.step >= 1.0 => (spec.min + self.share() * (spec.max - spec.min)).round(),
            _ => spec.min + self.share() * (spec.max - spec.min),
        }
    }

    fn place(&mut self) -> [f64; 2] {
        [20.0 + 200.0 * self.share(), -35.0 + 70.0 * self.share()]
    }

    /// Corners round a place; the curve through them may cross itself.
    fn curve(&mut self) -> Vec<[f64; 2]> {
        let [x, y] = self.place();
        (0..3 + self.below(5)).map(|_| [x + 40.0 * self.share(), y + 30.0 * self.share()]).collect()
    }
}
