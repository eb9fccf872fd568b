//! The case in the solver's own terms: a scaled pose, forces to go with it, and the depth of the body at a node.

use crate::four::{Four, Symmetric, dot};
use crate::{Bend, Columns, ContactError, Hinge, Indenter, LoadCase, Plane, Pose};
use glam::DVec2;

/// What a case needs beside the columns; the arrays are kept from one case to the next.
#[derive(Clone, Debug, Default)]
pub(crate) struct Setup {
    /// Height of the body over the undeformed column, mm; infinite where body or column is missing.
    pub(crate) gap: Vec<f64>,
    /// How far a column of nodes lies along x from the force, in lengths.
    pub(crate) x: Vec<f64>,
    /// How far a row of nodes lies along y from the force, in lengths.
    pub(crate) y: Vec<f64>,
    /// How far a node lies beyond the hinge, in lengths; empty without a hinge.
    pub(crate) reach: Vec<f64>,
    /// Ends of the rows of nodes that can carry the force, mm.
    row_ends: Vec<DVec2>,
}

/// A case, scaled: the ways of moving are depth at the force, slopes times the length, bend times the length, all in mm, so that what
/// balances them are forces in N.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Problem<'a> {
    pub(crate) columns: &'a Columns,
    pub(crate) setup: &'a Setup,
    pub(crate) about_mm: DVec2,
    /// About half the size of the bearing area, mm.
    pub(crate) length_mm: f64,
    pub(crate) cell_mm2: f64,
    pub(crate) moves: [bool; 4],
    /// Force that each way of moving must meet, N.
    pub(crate) goal: Four,
    /// Stiffness against each way with every node in contact at rest, N/mm.
    pub(crate) whole: Symmetric,
    held_bend: f64,
}

/// Share of the length by which the force may lie outside the nodes that carry it: rounding.
const ON_THE_RIM: f64 = 1e-9;

/// Share of the whole stiffness that keeps a step finite in ways of moving which nothing resists.
pub(crate) const LEAST_STIFFNESS: f64 = 1e-9;

impl<'a> Problem<'a> {
    pub(crate) fn new(
        columns: &'a Columns,
        indenter: &Indenter,
        load: &LoadCase,
        setup: &'a mut Setup,
    ) -> Result<Problem<'a>, ContactError> {
        let plane = columns.plane();
        indenter.check(plane)?;
        load.check()?;
        let bounds = setup.fill_gap(columns, &indenter.profile_mm).ok_or(ContactError::NothingBears)?;
        let length_mm = (0.5 * (bounds.1 - bounds.0).length()).max(plane.step_mm);
        if !carries(&setup.row_ends, load.at_mm, ON_THE_RIM * length_mm) {
            return Err(ContactError::OutsideSupport { at_mm: load.at_mm });
        }
        setup.fill_lengths(plane, indenter.hinge, load.at_mm, length_mm);
        let (held_bend, moment) = match (indenter.hinge, load.bend) {
            (None, _) => (0.0, None),
            (Some(_), Bend::Held(bend)) => (bend, None),
            (Some(hinge), Bend::MomentNmm(moment_n_mm)) => {
                let least_n_mm = load.force_n * hinge.reach_mm(load.at_mm);
                if moment_n_mm <= least_n_mm {
                    return Err(ContactError::HingeOpens { moment_n_mm, least_n_mm });
                }
                (0.0, Some(moment_n_mm))
            }
        };
        let mut problem = Problem {
            columns,
            setup,
            about_mm: load.at_mm,
            length_mm,
            cell_mm2: plane.cell_mm2(),
            moves: [true, true, true, moment.is_some()],
            goal: [load.force_n, 0.0, 0.0, -moment.unwrap_or(0.0) / length_mm],
            whole: Symmetric::default(),
            held_bend,
        };
        let mut node = 0;
        for &y in &problem.setup.y {
            for &x in &problem.setup.x {
                if problem.setup.gap[node] < f64::INFINITY {
                    let reach = problem.setup.reach.get(node).copied().unwrap_or(0.0);
                    problem.whole.add_square(columns.at_rest()[node] * problem.cell_mm2, &[1.0, x, y, -reach]);
                }
                node += 1;
            }
        }
        // Nodes in one line resist no turn about it.
        let sink = problem.whole.0[0][0];
        for way in 0..4 {
            problem.whole.0[way][way] += 1e-12 * sink;
        }
        Ok(problem)
    }

    /// Columns that only given forces press.
    pub(crate) fn without_body(columns: &'a Columns, setup: &'a mut Setup) -> Problem<'a> {
        let plane = columns.plane();
        setup.gap.clear();
        setup.gap.resize(plane.len(), f64::INFINITY);
        setup.fill_lengths(plane, None, plane.origin_mm, plane.step_mm);
        Problem {
            columns,
            setup,
            about_mm: plane.origin_mm,
            length_mm: plane.step_mm,
            cell_mm2: plane.cell_mm2(),
            moves: [false; 4],
            goal: [0.0; 4],
            whole: Symmetric::default(),
            held_bend: 0.0,
        }
    }

    /// Depth gained at a node by each way of moving.
    #[inline]
    pub(crate) fn ways(&self, node: usize) -> Four {
        let columns = self.columns.plane().columns;
        let reach = self.setup.reach.get(node).copied().unwrap_or(0.0);
        [1.0, self.setup.x[node % columns], self.setup.y[node / columns], -reach]
    }

    /// Depth of the body below the undeformed column of a node, mm; −∞ where body or column is missing.
    #[inline]
    pub(crate) fn depth(&self, node: usize, pose: &Four) -> f64 {
        dot(&self.ways(node), pose) - self.setup.gap[node]
    }

    /// The scaled pose; the held bend overrules the pose's own.
    pub(crate) fn scaled(&self, pose: &Pose) -> Four {
        let bend = if self.moves[3] { pose.bend } else { self.held_bend };
        let slope = pose.slope * self.length_mm;
        [pose.depth_mm(self.about_mm), slope.x, slope.y, bend * self.length_mm]
    }

    /// The pose of rest, with the bend that is held.
    pub(crate) fn at_rest(&self) -> Four {
        [0.0, 0.0, 0.0, self.held_bend * self.length_mm]
    }

    pub(crate) fn pose(&self, scaled: &Four) -> Pose {
        Pose {
            about_mm: self.about_mm,
            sink_mm: scaled[0],
            slope: DVec2::new(scaled[1], scaled[2]) / self.length_mm,
            bend: scaled[3] / self.length_mm,
        }
    }
}

impl Setup {
    /// Fills `gap`; the box round the nodes that have body and column, mm.
    fn fill_gap(&mut self, columns: &Columns, profile_mm: &[f64]) -> Option<(DVec2, DVec2)> {
        self.gap.clear();
        let gaps = profile_mm.iter().zip(columns.bears());
        self.gap.extend(gaps.map(|(&z, &bears)| if bears && z.is_finite() { z } else { f64::INFINITY }));
        let plane = columns.plane();
        self.row_ends.clear();
        for (row, line) in self.gap.chunks_exact(plane.columns.max(1)).enumerate() {
            let bears = |gap: &f64| *gap < f64::INFINITY;
            if let (Some(first), Some(last)) = (line.iter().position(bears), line.iter().rposition(bears)) {
                self.row_ends.push(plane.at(row * plane.columns + first));
                self.row_ends.push(plane.at(row * plane.columns + last));
            }
        }
        let first = *self.row_ends.first()?;
        Some(self.row_ends.iter().fold((first, first), |(lo, hi), &p| (lo.min(p), hi.max(p))))
    }

    fn fill_lengths(&mut self, plane: &Plane, hinge: Option<Hinge>, at_mm: DVec2, length_mm: f64) {
        let from = (plane.origin_mm - at_mm) / length_mm;
        let step = plane.step_mm / length_mm;
        self.x.clear();
        self.x.extend((0..plane.columns).map(|column| from.x + column as f64 * step));
        self.y.clear();
        self.y.extend((0..plane.rows).map(|row| from.y + row as f64 * step));
        self.reach.clear();
        if let Some(hinge) = hinge {
            self.reach.extend((0..plane.len()).map(|node| hinge.reach_mm(plane.at(node)) / length_mm));
        }
    }
}

/// Whether a place lies within the convex hull of `points`, which rise by y and by x where y is the same, or no farther than `slack`
/// outside. Each side of the hull is a chain of turns the same way (Andrew 1979, Inform. Process. Lett. 9:216, from memory).
fn carries(points: &[DVec2], at: DVec2, slack: f64) -> bool {
    let right = chain(points.iter());
    let left = chain(points.iter().rev());
    let mut sides = right.windows(2).chain(left.windows(2));
    let is_within =
        sides.all(|side| (side[1] - side[0]).perp_dot(at - side[0]) >= -slack * (side[1] - side[0]).length());
    // Points in one line have the line for a hull on either side, and no side at its ends.
    let along = right.last().map_or(DVec2::ZERO, |last| *last - right[0]);
    let share = (at - points[0]).dot(along);
    let margin = slack * along.length();
    let is_along = share >= -margin && share <= along.length_squared() + margin;
    let is_near = (at - points[0]).length() <= along.length() + slack;
    is_within && (right.len() + left.len() > 4 || (is_along && is_near))
}

fn chain<'a>(points: impl Iterator<Item = &'a DVec2>) -> Vec<DVec2> {
    let mut chain: Vec<DVec2> = Vec::new();
    for &p in points {
        while let [.., a, b] = chain[..]
            && (b - a).perp_dot(p - b) <= 0.0
        {
            chain.pop();
        }
        if chain.last() != Some(&p) {
            chain.push(p);
        }
    }
    chain
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_place_is_carried_within_the_hull_and_on_its_rim() {
        let bar = |x, y| DVec2::new(x, y);
        let area = [bar(2.0, 0.0), bar(4.0, 0.0), bar(0.0, 1.0), bar(1.0, 1.0), bar(5.0, 3.0), bar(6.0, 3.0)];
        for inside in [bar(3.0, 1.0), bar(2.0, 0.0), bar(5.0, 1.5), bar(6.0, 3.0), bar(2.5, 2.0)] {
            assert!(carries(&area, inside, 1e-9), "{inside}");
        }
        for outside in [bar(0.0, 0.0), bar(5.2, 1.0), bar(4.0, 3.0), bar(0.9, 0.5), bar(7.0, 3.0), bar(3.0, -1e-6)] {
            assert!(!carries(&area, outside, 1e-9), "{outside}");
        }
        let line = [bar(0.0, 1.0), bar(1.0, 1.0), bar(4.0, 1.0)];
        assert!(carries(&line, bar(3.0, 1.0), 1e-9) && carries(&line, bar(4.0, 1.0), 1e-9));
        assert!(!carries(&line, bar(4.1, 1.0), 1e-9) && !carries(&line, bar(-0.1, 1.0), 1e-9));
        assert!(!carries(&line, bar(3.0, 1.1), 1e-9));
        assert!(carries(&line[..1], bar(0.0, 1.0), 1e-9) && !carries(&line[..1], bar(0.1, 1.0), 1e-9));
    }
}
