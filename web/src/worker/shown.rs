use crate::protocol::{Content, GridFrame, Part, PartName, State};
use base::BySide;
use engine::{SectionView, Snapshot};
use std::rc::Rc;

/// What the page shows from now on.
#[derive(Clone, Debug)]
pub struct Update {
    /// The case.
    pub snapshot: Rc<Snapshot>,
    /// The latest buffers of both feet. A part that did not change is the very same `Rc` as in the update before.
    pub feet: BySide<FootBuffers>,
    /// The watched cuts, in the order in which they were watched; `None` for a foot that is not there.
    pub sections: Rc<Vec<Option<SectionView>>>,
}

/// The latest buffers of one foot.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct FootBuffers {
    /// Skin of the foot.
    pub foot: Option<Mesh>,
    /// The scan's colours at each vertex of `foot`: sRGB, three bytes each.
    pub foot_colours: Option<Rc<Vec<u8>>>,
    /// The insole's solid.
    pub insole: Option<Mesh>,
    /// Shore A at each vertex of `insole`.
    pub insole_shore_a: Option<Rc<Vec<f32>>>,
    /// Shore A on a 1 mm grid, `NaN` outside.
    pub hardness: Option<Grid>,
    /// Thickness in mm on a 1 mm grid, `NaN` outside.
    pub thickness: Option<Grid>,
    /// Difference in mm from what the insole is compared with, on a 1 mm grid, `NaN` outside.
    pub difference: Option<Grid>,
}

/// A mesh, shared.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Mesh {
    /// x y z, mm, foot frame.
    pub positions: Rc<Vec<f32>>,
    /// Unit normals.
    pub normals: Rc<Vec<f32>>,
    /// Three indices a triangle, counter-clockwise from outside.
    pub indices: Rc<Vec<u32>>,
}

impl Mesh {
    /// Whether both are one and the same mesh, not merely equal.
    #[must_use]
    pub fn is(&self, other: &Mesh) -> bool {
        Rc::ptr_eq(&self.positions, &other.positions) && Rc::ptr_eq(&self.indices, &other.indices)
    }
}

/// A grid, shared.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Grid {
    /// Where it lies.
    pub frame: GridFrame,
    /// `columns * rows` samples, rows along +y, columns along +x; `NaN` outside.
    pub values: Rc<Vec<f32>>,
}

/// Everything the page has been told so far.
#[derive(Debug, Default)]
pub(super) struct Shown {
    snapshot: Option<Rc<Snapshot>>,
    feet: BySide<FootBuffers>,
    sections: Rc<Vec<Option<SectionView>>>,
}

impl Shown {
    /// Takes in what is new. `None` as long as there is no snapshot.
    pub(super) fn take(&mut self, state: State) -> Option<Update> {
        if let Some(snapshot) = state.snapshot {
            self.snapshot = Some(Rc::new(snapshot));
        }
        self.sections = Rc::new(state.sections);
        state.parts.into_iter().for_each(|part| self.take_part(part));
        Some(Update {
            snapshot: Rc::clone(self.snapshot.as_ref()?),
            feet: BySide::from_fn(|side| self.feet[side].clone()),
            sections: Rc::clone(&self.sections),
        })
    }

    fn take_part(&mut self, part: Part) {
        let foot = &mut self.feet[part.side];
        match (part.name, part.content) {
            (PartName::FootPositions | PartName::FootNormals | PartName::FootIndices, Content::Gone) => {
                foot.foot = None;
                foot.foot_colours = None;
            }
            (PartName::FootColours, Content::Gone) => foot.foot_colours = None,
            (PartName::FootColours, Content::Bytes(values)) => foot.foot_colours = Some(Rc::new(values)),
            (PartName::InsolePositions | PartName::InsoleNormals | PartName::InsoleIndices, Content::Gone) => {
                foot.insole = None;
            }
            (PartName::InsoleShoreA, Content::Gone) => foot.insole_shore_a = None,
            (PartName::HardnessGrid(_), Content::Gone) => foot.hardness = None,
            (PartName::ThicknessGrid(_), Content::Gone) => foot.thickness = None,
            (PartName::DifferenceGrid(_), Content::Gone) => foot.difference = None,
            (PartName::FootPositions, Content::Floats(values)) => mesh(&mut foot.foot).positions = Rc::new(values),
            (PartName::FootNormals, Content::Floats(values)) => mesh(&mut foot.foot).normals = Rc::new(values),
            (PartName::FootIndices, Content::Indices(values)) => mesh(&mut foot.foot).indices = Rc::new(values),
            (PartName::InsolePositions, Content::Floats(values)) => mesh(&mut foot.insole).positions = Rc::new(values),
            (PartName::InsoleNormals, Content::Floats(values)) => mesh(&mut foot.insole).normals = Rc::new(values),
            (PartName::InsoleIndices, Content::Indices(values)) => mesh(&mut foot.insole).indices = Rc::new(values),
            (PartName::InsoleShoreA, Content::Floats(values)) => foot.insole_shore_a = Some(Rc::new(values)),
            (PartName::HardnessGrid(frame), Content::Floats(values)) => {
                foot.hardness = Some(Grid { frame, values: Rc::new(values) });
            }
            (PartName::ThicknessGrid(frame), Content::Floats(values)) => {
                foot.thickness = Some(Grid { frame, values: Rc::new(values) });
            }
            (PartName::DifferenceGrid(frame), Content::Floats(values)) => {
                foot.difference = Some(Grid { frame, values: Rc::new(values) });
            }
            // One kind where another belongs: the host never sends that.
            (_, Content::Floats(_) | Content::Indices(_) | Content::Bytes(_)) => {}
        }
    }
}

fn mesh(place: &mut Option<Mesh>) -> &mut Mesh {
    place.get_or_insert_default()
}

#[cfg(test)]
mod tests {
    use super::*;
    use base::Side;

    fn part(name: PartName, content: Content) -> Part {
        Part { side: Side::Left, name, content }
    }

    fn snapshot() -> Snapshot {
        engine::Engine::new().snapshot()
    }

    #[test]
    fn nothing_is_shown_before_the_first_snapshot() {
        let mut shown = Shown::default();
        assert!(shown.take(State::default()).is_none());
        assert!(shown.take(State { snapshot: Some(snapshot()), ..State::default() }).is_some());
        assert!(shown.take(State::default()).is_some(), "sections alone come with the snapshot before");
    }

    #[test]
    fn what_does_not_change_stays_the_very_same() {
        let mut shown = Shown::default();
        let parts = vec![
            part(PartName::InsolePositions, Content::Floats(vec![1.0; 9])),
            part(PartName::InsoleNormals, Content::Floats(vec![0.0; 9])),
            part(PartName::InsoleIndices, Content::Indices(vec![0, 1, 2])),
        ];
        let state = |parts| State { snapshot: Some(snapshot()), parts, ..State::default() };
        let first = shown.take(state(parts)).unwrap().feet.left.insole.unwrap();
        let moved = vec![part(PartName::InsolePositions, Content::Floats(vec![2.0; 9]))];
        let second = shown.take(state(moved)).unwrap().feet.left.insole.unwrap();
        assert!(Rc::ptr_eq(&first.indices, &second.indices));
        assert!(!first.is(&second));
        let third = shown.take(state(Vec::new())).unwrap().feet.left.insole.unwrap();
        assert!(second.is(&third));
        let gone = shown.take(state(vec![part(PartName::InsolePositions, Content::Gone)])).unwrap();
        assert_eq!(gone.feet.left, FootBuffers::default());
    }
}
