use serde::{Deserialize, Serialize};
use std::ops::{Index, IndexMut};

/// Left or right foot. A side is never a sign: geometry lives in the foot frame, where both look alike.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Side {
    /// The left foot.
    Left,
    /// The right foot.
    Right,
}

impl Side {
    /// Left, then right.
    pub const ALL: [Side; 2] = [Side::Left, Side::Right];

    /// The opposite side.
    #[must_use]
    pub fn other(self) -> Side {
        match self {
            Side::Left => Side::Right,
            Side::Right => Side::Left,
        }
    }

    /// Lower-case English word, as used in files and on the command line.
    #[must_use]
    pub fn word(self) -> &'static str {
        match self {
            Side::Left => "left",
            Side::Right => "right",
        }
    }
}

/// One value for each side, indexed by [`Side`].
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct BySide<T> {
    /// The left foot's value.
    pub left: T,
    /// The right foot's value.
    pub right: T,
}

impl<T> BySide<T> {
    /// Both values with their side, left first.
    pub fn iter(&self) -> impl Iterator<Item = (Side, &T)> {
        [(Side::Left, &self.left), (Side::Right, &self.right)].into_iter()
    }

    /// A value for each side out of a function of the side.
    pub fn from_fn(mut make: impl FnMut(Side) -> T) -> Self {
        BySide { left: make(Side::Left), right: make(Side::Right) }
    }
}

impl<T> Index<Side> for BySide<T> {
    type Output = T;
    fn index(&self, side: Side) -> &T {
        match side {
            Side::Left => &self.left,
            Side::Right => &self.right,
        }
    }
}

impl<T> IndexMut<Side> for BySide<T> {
    fn index_mut(&mut self, side: Side) -> &mut T {
        match side {
            Side::Left => &mut self.left,
            Side::Right => &mut self.right,
        }
    }
}
