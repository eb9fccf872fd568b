//! Which of the feet that came in together is the left one.

use base::{BySide, Note, Report, Severity, Side};
use foot::Pose;

/// A foot found in one of the files.
pub(crate) struct Candidate<'a> {
    /// Name of its file.
    pub(crate) name: &'a str,
    /// How it lies.
    pub(crate) pose: Pose,
}

/// A side less sure than this gives way to what else is known.
const SURE: f64 = 0.9;

/// Words for the two sides in file names, in languages whose clinics name files so; single letters stand alone.
const WORDS: [(Side, &[&str]); 2] = [
    (
        Side::Left,
        &["l", "left", "lt", "links", "li", "gauche", "izquierdo", "izquierda", "izq", "sinistro", "sinistra", "sx"],
    ),
    (
        Side::Right,
        &["r", "right", "rt", "rechts", "re", "droit", "droite", "derecho", "derecha", "der", "destro", "destra", "dx"],
    ),
];

/// The side a file's name speaks of, if it speaks of one and not of both.
pub(crate) fn side_in_name(name: &str) -> Option<Side> {
    let mut words: Vec<String> = vec![String::new()];
    let mut before = ' ';
    let stem = name.rsplit(['/', '\\']).next().unwrap_or(name);
    for c in stem.rsplit_once('.').map_or(stem, |(stem, _)| stem).chars() {
        // FootLeft, foot_left and foot-left2 are alike.
        if !c.is_alphabetic() || c.is_uppercase() && before.is_lowercase() {
            words.push(String::new());
        }
        if c.is_alphabetic()
            && let Some(word) = words.last_mut()
        {
            word.push(c.to_ascii_lowercase());
        }
        before = c;
    }
    let speaks_of = |side: Side| {
        WORDS.iter().any(|(of, known)| *of == side && words.iter().any(|word| known.contains(&word.as_str())))
    };
    match (speaks_of(Side::Left), speaks_of(Side::Right)) {
        (true, false) => Some(Side::Left),
        (false, true) => Some(Side::Right),
        _ => None,
    }
}

/// The sides of one or two feet that came in together; `taken` are those the case has already. What was decided
/// against the shape is noted.
pub(crate) fn sides(feet: &[Candidate], taken: BySide<bool>, report: &mut Report) -> Vec<Side> {
    let named: Vec<Option<Side>> = feet.iter().map(|foot| side_in_name(foot.name)).collect();
    let is_sure = |k: usize| feet[k].pose.side_confidence >= SURE;
    match feet {
        [_] => {
            let (shape, other) = (feet[0].pose.side, feet[0].pose.side.other());
            let side = match named[0] {
                Some(side) if !is_sure(0) => side,
                // A foot that may be either goes where there is room.
                None if !is_sure(0) && taken[shape] && !taken[other] => other,
                _ => shape,
            };
            note(&feet[0], side, named[0], report);
            vec![side]
        }
        [first, second] => {
            let mut found = [first.pose.side, second.pose.side];
            if found[0] == found[1] {
                let weaker = usize::from(second.pose.side_confidence < first.pose.side_confidence);
                found = match (named[0], named[1]) {
                    (Some(a), Some(b)) if a != b => [a, b],
                    (Some(a), None) => [a, a.other()],
                    (None, Some(b)) => [b.other(), b],
                    _ => {
                        found[weaker] = found[weaker].other();
                        found
                    }
                };
            }
            for k in 0..2 {
                note(&feet[k], found[k], named[k], report);
            }
            found.to_vec()
        }
        more => more.iter().map(|foot| foot.pose.side).collect(),
    }
}

fn note(foot: &Candidate, side: Side, named: Option<Side>, report: &mut Report) {
    let shape = foot.pose.side;
    let percent = 100.0 * foot.pose.side_confidence;
    let (code, text) = if side != shape {
        let why = if named == Some(side) { "its name says so" } else { "the other foot is the other one" };
        let text = format!(
            "{}: taken for the {} foot because {why}; its shape alone speaks for a {} one ({percent:.0} % sure).",
            foot.name,
            side.word(),
            shape.word()
        );
        ("side_by_pair", text)
    } else if let Some(named) = named.filter(|named| *named != side) {
        let text = format!(
            "{}: named as a {} foot, but shaped like a {} one ({percent:.0} % sure).",
            foot.name,
            named.word(),
            shape.word()
        );
        ("side_against_name", text)
    } else {
        return;
    };
    report.notes.push(Note {
        code: code.to_owned(),
        severity: Severity::Check,
        text,
        advice: "Check the side and exchange it at Intake if it is wrong.".to_owned(),
    });
}

#[cfg(test)]
mod tests {
    use super::*;
    use base::LengthUnit;
    use foot::PoseHints;

    #[test]
    fn names_speak_of_sides() {
        for (name, side) in [
            ("foot_left.stl", Some(Side::Left)),
            ("FootRight2.ply", Some(Side::Right)),
            ("scan-L.obj", Some(Side::Left)),
            ("person 12 R.stl", Some(Side::Right)),
            ("pied gauche.stl", Some(Side::Left)),
            ("/left/scan.stl", None),
            ("left-right.stl", None),
            ("relief.stl", None),
            ("scan.l", None),
            ("", None),
        ] {
            assert_eq!(side_in_name(name), side, "{name}");
        }
    }

    fn pose(side: Side, side_confidence: f64) -> Pose {
        // Any pose will do: take one of a phantom and set what counts here.
        static POSE: std::sync::OnceLock<Pose> = std::sync::OnceLock::new();
        let pose = POSE.get_or_init(|| {
            let phantom = foot::phantom::Phantom::new(foot::phantom::PhantomParams::default()).unwrap();
            let scan = phantom.scan(&foot::phantom::ScanSwitches { triangle_mm: 5.0, ..Default::default() });
            let hints = PoseHints { unit: Some(LengthUnit::Millimetre), ..PoseHints::default() };
            foot::find_pose("x", &scan.mesh, &hints, &base::Work::quiet(), &mut Report::default()).unwrap()
        });
        Pose { side, side_confidence, ..pose.clone() }
    }

    fn decided(feet: &[(&str, Side, f64)], taken: BySide<bool>) -> (Vec<Side>, Vec<String>) {
        let feet: Vec<Candidate> =
            feet.iter().map(|&(name, side, sure)| Candidate { name, pose: pose(side, sure) }).collect();
        let mut report = Report::default();
        let sides = sides(&feet, taken, &mut report);
        (sides, report.notes.into_iter().map(|note| note.code).collect())
    }

    #[test]
    fn two_feet_are_a_pair() {
        use Side::{Left, Right};
        let none = BySide { left: false, right: false };
        let of = |feet: &[(&str, Side, f64)]| decided(feet, none);
        assert_eq!(of(&[("a", Left, 0.95), ("b", Right, 0.6)]), (vec![Left, Right], vec![]));
        assert_eq!(of(&[("a", Left, 0.95), ("b", Left, 0.6)]), (vec![Left, Right], vec!["side_by_pair".into()]));
        assert_eq!(of(&[("a", Left, 0.6), ("b", Left, 0.95)]), (vec![Right, Left], vec!["side_by_pair".into()]));
        assert_eq!(of(&[("r", Left, 0.95), ("l", Left, 0.6)]).0, [Right, Left]);
        assert_eq!(of(&[("r", Left, 0.97), ("l", Right, 0.97)]).1, ["side_against_name", "side_against_name"]);
    }

    #[test]
    fn one_foot_goes_by_shape_then_name_then_room() {
        use Side::{Left, Right};
        let left_taken = BySide { left: true, right: false };
        assert_eq!(decided(&[("a", Left, 0.95)], left_taken).0, [Left], "sure: replaces");
        assert_eq!(decided(&[("a", Left, 0.7)], left_taken).0, [Right]);
        assert_eq!(decided(&[("a left", Left, 0.7)], left_taken).0, [Left]);
        assert_eq!(decided(&[("a right", Left, 0.7)], BySide::default()).0, [Right]);
        assert_eq!(decided(&[("a", Left, 0.7)], BySide::default()).1, [""; 0]);
    }
}
