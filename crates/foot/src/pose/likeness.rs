use super::resting::{Support, frame_with_up};
use super::sample::Sample;
use glam::{DMat3, DVec2, DVec3};

/// One guess at how the foot lies: a frame to measure its likeness to a foot in.
#[derive(Clone, Copy, Debug)]
pub(super) struct Guess {
    /// Columns: to the toes, to the left seen from above, up. Right-handed.
    pub(super) frame: DMat3,
    /// On the support plane, under the rear end of the foot, in the middle of its breadth.
    pub(super) origin: DVec3,
    /// Length of the foot along the first column.
    pub(super) length: f64,
}

impl Guess {
    /// A scan point in the frame, in shares of the foot length.
    pub(super) fn local(&self, p: DVec3) -> DVec3 {
        self.frame.transpose() * (p - self.origin) / self.length
    }
}

/// How much a guess looks like a standing foot.
#[derive(Clone, Copy, Debug)]
pub(super) struct Likeness {
    /// 0 … 1, the product of the traits.
    pub(super) quality: f64,
    /// Sum of squares of how far each trait is off the usual; chooses between guesses.
    pub(super) strangeness: f64,
    /// The quality if the bearing area did not count: a foot whose sole is missing has a good one.
    pub(super) without_bearing: f64,
    /// The trait that fits least.
    pub(super) worst: Trait,
}

impl Likeness {
    /// Greater is more like a foot.
    pub(super) fn score(&self) -> f64 {
        libm::log(self.quality.max(1e-6)) - self.strangeness / 2.0
    }
}

/// Height, as a share of the foot length, below which skin is foot and above which it may be leg.
pub(super) const FOOT_HEIGHT: f64 = 0.16;

/// Bins along the foot.
const BINS: usize = 40;

/// Guesses for a support plane: the long axis of what lies just above the plane, both ways.
pub(super) fn guesses(samples: &[Sample], support: &Support, size: f64) -> Option<[Guess; 2]> {
    let (up, on_plane) = (support.up, support.feet[0]);
    // First the low part by the size of the whole, then by the length found.
    let mut low = 0.12 * size;
    let mut axis = None;
    let plane = frame_with_up(up);
    for _ in 0..3 {
        let flat: Vec<DVec2> = samples
            .iter()
            .map(|s| plane.transpose() * (s.at - on_plane))
            .filter(|q| q.z < low)
            .map(|q| q.truncate())
            .collect();
        let (centre, direction) = long_axis(&flat)?;
        let (lo, hi) = extent(flat.iter().map(|&p| (p - centre).dot(direction)));
        let side = direction.perp();
        let (left, right) = extent(flat.iter().map(|&p| (p - centre).dot(side)));
        let middle = centre + side * (left + right) / 2.0;
        low = FOOT_HEIGHT * (hi - lo);
        axis = Some((middle, direction, lo, hi));
    }
    let (middle, direction, lo, hi) = axis?;
    let guess = |direction: DVec2, from: f64| {
        let x = plane * direction.extend(0.0);
        let origin = on_plane + plane * (middle + direction * from).extend(0.0);
        Guess { frame: DMat3::from_cols(x, up.cross(x), up), origin, length: hi - lo }
    };
    (hi > lo).then(|| [guess(direction, lo), guess(-direction, -hi)])
}

/// Measures a guess.
pub(super) fn likeness(samples: &[Sample], sample_area: f64, guess: &Guess) -> Likeness {
    let mut top = [0.0_f64; BINS];
    let mut breadth = [(f64::INFINITY, f64::NEG_INFINITY); BINS];
    let (mut bearing, mut high, mut high_x) = (0.0, 0.0, 0.0);
    for sample in samples {
        let q = guess.local(sample.at);
        if q.z > 0.25 {
            high += 1.0;
            high_x += q.x;
        }
        if q.z < 0.03 && sample.normal.dot(guess.frame.z_axis).abs() > 0.8 {
            bearing += sample_area;
        }
        let bin = (q.x * BINS as f64).floor();
        if !(bin >= 0.0 && bin < BINS as f64) {
            continue;
        }
        let bin = bin as usize;
        top[bin] = top[bin].max(q.z);
        if q.z < FOOT_HEIGHT {
            breadth[bin] = (breadth[bin].0.min(q.y), breadth[bin].1.max(q.y));
        }
    }
    let most = |from: f64, to: f64, of: &dyn Fn(usize) -> f64| {
        let bins = (from * BINS as f64) as usize..(to * BINS as f64) as usize;
        bins.map(of).fold(0.0, f64::max)
    };
    let breadth_at = |bin: usize| (breadth[bin].1 - breadth[bin].0).max(0.0);
    let height_at = |bin: usize| top[bin];
    let ball = most(0.5, 0.9, &breadth_at);
    let rear_height = most(0.1, 0.5, &height_at);
    let bearing = Trait {
        name: "bearing area over length times breadth",
        value: bearing / (guess.length * guess.length * ball.max(0.1)),
        bounds: (0.02, 0.20, 2.0, 4.0),
        usual: (0.5, 0.1),
    };
    let others = [
        Trait { name: "breadth over length", value: ball, bounds: (0.16, 0.24, 0.55, 0.75), usual: (0.38, 0.06) },
        Trait {
            name: "height of the toes over length",
            value: most(0.93, 1.0, &height_at),
            bounds: (0.0, 0.02, 0.15, 0.28),
            usual: (0.09, 0.03),
        },
        Trait {
            name: "height behind the ball over length",
            value: rear_height.min(TALL),
            bounds: (0.10, 0.18, 1.0, 2.0),
            usual: (TALL, 0.1),
        },
        Trait {
            name: "height of the forefoot over that of the rear",
            value: most(0.75, 0.95, &height_at) / rear_height,
            bounds: (-1.0, 0.0, 0.70, 0.98),
            usual: (0.35, 0.20),
        },
        Trait {
            name: "place of the leg along the foot",
            value: if high > 0.0 { high_x / high } else { 0.24 },
            bounds: (-0.4, -0.1, 0.42, 0.62),
            usual: (0.24, 0.06),
        },
        Trait {
            name: "breadth behind the ball over that of the ball",
            value: most(0.05, 0.40, &breadth_at) / ball.max(0.1),
            bounds: (0.25, 0.45, 0.95, 1.15),
            usual: (0.76, 0.08),
        },
    ];
    let without_bearing: f64 = others.iter().map(Trait::fit).product();
    Likeness {
        quality: without_bearing * bearing.fit(),
        strangeness: bearing.strangeness() + others.iter().map(Trait::strangeness).sum::<f64>(),
        without_bearing,
        worst: others.into_iter().fold(bearing, |worst, t| if t.fit() < worst.fit() { t } else { worst }),
    }
}

/// Higher than this share of the foot length does not make a foot more likely: it is only a longer leg.
pub(super) const TALL: f64 = 0.3;

/// One number that tells feet from other things. Shares of adult and child feet as scanned; common anatomy, no source.
#[derive(Clone, Copy, Debug)]
pub(super) struct Trait {
    pub(super) name: &'static str,
    pub(super) value: f64,
    /// None, full, full, none: nothing is a foot outside the outer two, anything may be one between the inner two.
    pub(super) bounds: (f64, f64, f64, f64),
    /// Mean and spread.
    pub(super) usual: (f64, f64),
}

impl Trait {
    /// 1 between the inner bounds, 0 outside the outer ones, linear between.
    pub(super) fn fit(&self) -> f64 {
        let (lo, full_lo, full_hi, hi) = self.bounds;
        let rise = (self.value - lo) / (full_lo - lo);
        let fall = (hi - self.value) / (hi - full_hi);
        // A value that is no number fits nothing.
        if self.value.is_finite() { rise.min(fall).clamp(0.0, 1.0) } else { 0.0 }
    }

    /// Square of how many spreads the value is off.
    pub(super) fn strangeness(&self) -> f64 {
        let off = (self.value - self.usual.0) / self.usual.1;
        if off.is_finite() { off * off } else { 1e3 }
    }
}

/// Centre and direction of the greatest spread of points in the plane.
fn long_axis(points: &[DVec2]) -> Option<(DVec2, DVec2)> {
    if points.len() < 3 {
        return None;
    }
    let centre = points.iter().sum::<DVec2>() / points.len() as f64;
    let (mut xx, mut xy, mut yy) = (0.0, 0.0, 0.0);
    for p in points.iter().map(|&p| p - centre) {
        xx += p.x * p.x;
        xy += p.x * p.y;
        yy += p.y * p.y;
    }
    let half_turn = libm::atan2(2.0 * xy, xx - yy) / 2.0;
    Some((centre, DVec2::new(libm::cos(half_turn), libm::sin(half_turn))))
}

/// Least and greatest of some numbers.
fn extent(numbers: impl Iterator<Item = f64>) -> (f64, f64) {
    numbers.fold((f64::INFINITY, f64::NEG_INFINITY), |(lo, hi), n| (lo.min(n), hi.max(n)))
}
