//! The measures of both feet side by side.

use super::feet;
use crate::{ClassRow, FootModel, MakeModel, MeasureRow};
use base::{BySide, Side};

/// Why a foot has no value where it does not say so itself.
const NOT_MEASURED: &str = "not measured";

/// One measure on both feet.
#[derive(Clone, Copy, Debug)]
pub(super) struct Paired<'a> {
    /// What it is, in the words of the first foot that has it.
    pub(super) spec: &'a MeasureRow,
    /// Each foot's row, if it has one.
    pub(super) rows: BySide<Option<&'a MeasureRow>>,
}

impl<'a> Paired<'a> {
    /// The value of one foot; `None` also for what is not a number.
    pub(super) fn value(&self, side: Side) -> Option<f64> {
        self.rows[side].and_then(|row| row.value).filter(|value| value.is_finite())
    }

    /// Left minus right, not rounded; only of two values in the same unit.
    pub(super) fn difference(&self) -> Option<f64> {
        let (left, right) = (self.rows.left?, self.rows.right?);
        (left.unit == right.unit).then_some(self.value(Side::Left)? - self.value(Side::Right)?)
    }

    /// Why one foot has no value; `None` where it has.
    pub(super) fn missing(&self, side: Side) -> Option<&'a str> {
        match (self.value(side), self.rows[side]) {
            (Some(_), _) => None,
            (None, row) => Some(row.and_then(|row| row.missing.as_deref()).unwrap_or(NOT_MEASURED)),
        }
    }

    /// What published limits make of one foot's value.
    pub(super) fn classes(&self, side: Side) -> &'a [ClassRow] {
        self.rows[side].map_or(&[], |row| &row.classes)
    }

    /// Where the authors disagree on one foot.
    pub(super) fn disagreement(&self, side: Side) -> Option<&'a str> {
        self.rows[side].and_then(|row| row.disagreement.as_deref())
    }
}

/// Every measure that a foot has, by id: in the left foot's order, then what only the right one has.
pub(super) fn paired<'a>(model: &'a MakeModel, list: fn(&FootModel) -> &[MeasureRow]) -> Vec<Paired<'a>> {
    let mut out: Vec<Paired<'a>> = Vec::new();
    for (side, foot) in feet(model) {
        for row in list(foot) {
            match out.iter_mut().find(|paired| paired.spec.id == row.id) {
                Some(paired) => paired.rows[side] = paired.rows[side].or(Some(row)),
                None => {
                    let mut rows = BySide::default();
                    rows[side] = Some(row);
                    out.push(Paired { spec: row, rows });
                }
            }
        }
    }
    out
}

/// The measures of the feet.
pub(super) fn measures(model: &MakeModel) -> Vec<Paired<'_>> {
    paired(model, |foot| &foot.measures)
}

/// What changes on each foot between two states of loading.
pub(super) fn changes(model: &MakeModel) -> Vec<Paired<'_>> {
    paired(model, |foot| &foot.changes)
}
