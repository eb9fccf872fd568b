use glam::DVec2;
use std::f64::consts::{PI, TAU};

/// How much a region decides at a place: 1 deep inside, 0 far outside, and in between the share that it covers of a disc round
/// the place, weighted by the kernel
///
/// k(r) = 3/(πR²) · (1 − r²/R²)²  for r ≤ R, else 0,
///
/// whose integral is 1. In other words: the region's indicator convolved with k. Because k and its slope are continuous, also
/// at R, the weight is continuously differentiable whatever the region's shape: thin, nested, touching itself or with
/// corners.
///
/// The convolution is evaluated exactly. With r and θ the polar coordinates round the place, k is the divergence of a radial
/// field, so the area integral is the boundary integral ∮ K(r) dθ with K(r) = ∫₀ʳ k s ds = (1 − (1 − r²/R²)³)/2π up to R
/// and 1/2π beyond. On a straight edge at distance d from the place, with t the position along it, dθ = d dt/r², and
/// K(r)/r² is a polynomial in r² = d² + t². Instead of the boundary outside the disc, the arcs of the circle that lie in
/// the region are summed: they run counter-clockwise from where the boundary leaves the disc to where it next enters, so
/// their sum is known, up to whole turns, from the directions of those places.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Weight {
    /// The boundary, the region on its left. Lengths in units of R.
    pub(crate) edges: Vec<Edge>,
    /// R, half the transition's width, mm.
    pub(crate) radius_mm: f64,
    /// Box outside which the weight is 0, mm.
    pub(crate) reach: (DVec2, DVec2),
}

/// A directed edge. Lengths in units of R.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Edge {
    pub(crate) from: DVec2,
    pub(crate) to: DVec2,
    /// Unit direction.
    pub(crate) along: DVec2,
    pub(crate) length: f64,
}

/// What the edges within reach of one place add up to. Lengths in units of R.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Tally {
    /// 2π times the boundary integral inside the disc.
    pub(crate) sum: f64,
    /// Product of the directions, as unit complex numbers, in which the boundary enters the disc, over those in which it
    /// leaves: its angle is the sum of the arcs in the region, up to whole turns.
    pub(crate) turn: DVec2,
    /// π/3 times the gradient.
    pub(crate) gradient: DVec2,
}

/// Weights nearer than this to 0 or 1 are told apart by whether the place is inside. Far above the rounding of the sums, far
/// below the weight of the smallest region.
const CERTAIN: f64 = 1e-11;

impl Weight {
    /// The weight of the region with these boundary edges (region on the left, mm) at a radius greater than zero.
    pub(crate) fn new(edges_mm: &[(DVec2, DVec2)], radius_mm: f64) -> Weight {
        let start = (DVec2::INFINITY, DVec2::NEG_INFINITY);
        let (lo, hi) = edges_mm.iter().fold(start, |(lo, hi), edge| (lo.min(edge.0), hi.max(edge.0)));
        let radius = DVec2::splat(radius_mm);
        let edge = |&(from, to): &(DVec2, DVec2)| {
            let (from, to) = (from / radius_mm, to / radius_mm);
            let length = from.distance(to);
            Edge { from, to, along: (to - from) / length, length }
        };
        Weight { edges: edges_mm.iter().map(edge).collect(), radius_mm, reach: (lo - radius, hi + radius) }
    }

    /// The weight at `p` (mm) and its gradient, 1/mm.
    pub(crate) fn at(&self, p: DVec2) -> (f64, DVec2) {
        let (lo, hi) = self.reach;
        if !(p.x > lo.x && p.y > lo.y && p.x < hi.x && p.y < hi.y) {
            return (0.0, DVec2::ZERO);
        }
        let p = p / self.radius_mm;
        let mut tally = Tally::NONE;
        for edge in &self.edges {
            let from_in = edge.from.distance_squared(p) < 1.0;
            let to_in = edge.to.distance_squared(p) < 1.0;
            tally.add::<true>(edge, p, from_in, to_in);
        }
        (tally.weight(|| self.covers(p)), tally.gradient_per_mm(self.radius_mm))
    }

    fn covers(&self, p: DVec2) -> bool {
        self.edges.iter().filter(|edge| edge.straddles(p.y) && edge.x_at(p.y) > p.x).count() % 2 == 1
    }
}

impl Edge {
    /// Whether the line at `y` passes through the edge, which owns its lower end but not its upper one.
    pub(crate) fn straddles(&self, y: f64) -> bool {
        (self.from.y <= y) != (self.to.y <= y)
    }

    /// Where the line at `y` passes through the edge.
    pub(crate) fn x_at(&self, y: f64) -> f64 {
        self.from.x + (self.to.x - self.from.x) * ((y - self.from.y) / (self.to.y - self.from.y))
    }

    /// The integral of 2π K dθ from `start` to `end` along an edge at `distance`, all of it in the disc.
    #[inline]
    pub(crate) fn boundary_part(distance: f64, start: f64, end: f64) -> f64 {
        let square = distance * distance;
        let (c0, c2) = (3.0 - 3.0 * square + square * square, (2.0 * square - 3.0) * (1.0 / 3.0));
        let to = |t: f64| t * (c0 + t * t * (c2 + t * t * 0.2));
        distance * (to(end) - to(start))
    }

    /// The integral of π/3 k from `start` to `end` along an edge at `distance`, all of it in the disc.
    #[inline]
    pub(crate) fn kernel_part(distance: f64, start: f64, end: f64) -> f64 {
        let rest = 1.0 - distance * distance;
        let (c0, c2) = (rest * rest, rest * (-2.0 / 3.0));
        let to = |t: f64| t * (c0 + t * t * (c2 + t * t * 0.2));
        to(end) - to(start)
    }

    /// The way in which the weight grows: to the left of the edge.
    #[inline]
    pub(crate) fn inward(&self) -> DVec2 {
        DVec2::new(-self.along.y, self.along.x)
    }
}

impl Tally {
    pub(crate) const NONE: Tally = Tally { sum: 0.0, turn: DVec2::X, gradient: DVec2::ZERO };

    /// Adds what `edge` contributes at `p`, given which of its ends lie in the disc; the gradient only if asked for. Whoever
    /// decides that must decide alike for the two edges that share an end, so that entries and exits pair up.
    #[inline]
    pub(crate) fn add<const GRADIENT: bool>(&mut self, edge: &Edge, p: DVec2, from_in: bool, to_in: bool) {
        let from = edge.from - p;
        let distance = from.perp_dot(edge.along);
        let start = from.dot(edge.along);
        let end = start + edge.length;
        let (mut first, mut last) = (start, end);
        if !(from_in && to_in) {
            let half_chord_square = 1.0 - distance * distance;
            let passes = start < 0.0 && end > 0.0 && half_chord_square > 0.0;
            if !(from_in || to_in || passes) {
                return;
            }
            let half_chord = half_chord_square.max(0.0).sqrt();
            let foot = from - edge.along * start;
            if !from_in {
                first = -half_chord;
                self.turn = self.turn.rotate(foot + edge.along * first);
            }
            if !to_in {
                last = half_chord;
                let exit = foot + edge.along * last;
                self.turn = self.turn.rotate(DVec2::new(exit.x, -exit.y));
            }
        }
        self.sum += Edge::boundary_part(distance, first, last);
        if GRADIENT {
            self.gradient += edge.inward() * Edge::kernel_part(distance, first, last);
        }
    }

    /// The weight, given a way to tell whether the place is in the region, which is asked where the weight is 0 or 1.
    #[inline]
    pub(crate) fn weight(&self, covers: impl FnOnce() -> bool) -> f64 {
        let arcs = if self.turn == DVec2::X { 0.0 } else { libm::atan2(self.turn.y, self.turn.x) };
        let whole = (self.sum + arcs) * (1.0 / TAU);
        let weight = whole - whole.floor();
        if weight > CERTAIN && weight < 1.0 - CERTAIN {
            weight
        } else if covers() {
            1.0
        } else {
            0.0
        }
    }

    /// The gradient of the weight at this radius, 1/mm.
    #[inline]
    pub(crate) fn gradient_per_mm(&self, radius_mm: f64) -> DVec2 {
        self.gradient * (3.0 / (PI * radius_mm))
    }
}
