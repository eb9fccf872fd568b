//! What is done to a scan on its way in, one step a file.

mod floor;
mod leg;
pub(crate) mod level;
mod pieces;
mod print;
pub(crate) mod spikes;
mod windings;

pub(crate) use floor::without_floor;
pub(crate) use leg::without_leg;
pub(crate) use pieces::own_piece;
pub(crate) use print::{turned_out, without_rim};
pub(crate) use spikes::without_spikes;
pub(crate) use windings::outside_out;
