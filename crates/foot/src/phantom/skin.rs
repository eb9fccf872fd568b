//! Finding points on a skin that is only known as a function of space.

use super::solid::Sloped;
use glam::DVec3;

/// A skin given as a function of space: signed distance in mm, negative inside, zero on the skin.
pub(super) trait Skin {
    /// The distance at `p`.
    fn distance(&self, p: DVec3) -> f64;
    /// The distance at `p` and its slope.
    fn sloped(&self, p: DVec3) -> Sloped;
}

/// A skin seen from within.
pub(super) struct InsideOut<'a>(pub(super) &'a dyn Skin);

impl Skin for InsideOut<'_> {
    fn distance(&self, p: DVec3) -> f64 {
        -self.0.distance(p)
    }

    fn sloped(&self, p: DVec3) -> Sloped {
        let Sloped(distance, slope) = self.0.sloped(p);
        Sloped(-distance, -slope)
    }
}

/// A point nearer to the skin than this is on it, mm.
const ON_SKIN_MM: f64 = 1e-9;
/// Tilt of the skin against the direction of search at which an extreme is found, radians: at a bend of 50 mm radius
/// it stands for 0.0005 mm along the skin.
const EXTREME_TILT: f64 = 1e-5;

/// Outward normal of the skin at `p`.
pub(super) fn normal(skin: &dyn Skin, p: DVec3) -> DVec3 {
    skin.sloped(p).1.normalize_or_zero()
}

/// The point of the skin that `p` comes to going along the slope; `p` must be near it. Axes whose `free` is 0 are held.
pub(super) fn onto_skin(skin: &dyn Skin, mut p: DVec3, free: DVec3) -> DVec3 {
    for _ in 0..30 {
        let Sloped(d, slope) = skin.sloped(p);
        if d.abs() < ON_SKIN_MM {
            break;
        }
        let g = slope * free;
        let steep = g.length_squared();
        if steep < 1e-6 {
            break;
        }
        // A full step may overshoot where the skin bends within it: at most 3 mm at a time.
        p -= g * (d / steep).clamp(-3.0 / steep.sqrt(), 3.0 / steep.sqrt());
    }
    p
}

/// The point of the skin farthest along `direction` on the rise that starts near `from`. Axes whose `free` is 0 are
/// held, which keeps the search in one section.
pub(super) fn farthest(skin: &dyn Skin, from: DVec3, direction: DVec3, free: DVec3) -> DVec3 {
    let mut p = onto_skin(skin, from, free);
    let mut reach = 10.0;
    let mut before: Option<(DVec3, DVec3)> = None;
    for _ in 0..200 {
        let normal = (skin.sloped(p).1 * free).normalize_or_zero();
        let up = direction - normal * normal.dot(direction);
        if up.length() < EXTREME_TILT {
            break;
        }
        // How far to go for a given tilt: the bend met on the last step (Barzilai and Borwein 1988).
        if let Some((last_p, last_up)) = before {
            let (moved, turned) = (p - last_p, last_up - up);
            let bend = moved.dot(turned);
            if bend > 1e-18 {
                reach = (moved.length_squared() / bend).clamp(0.5, 200.0);
            }
        }
        before = Some((p, up));
        let mut step = up * reach;
        step *= (4.0 / step.length()).min(1.0);
        let mut next = onto_skin(skin, p + step, free);
        // Never downhill.
        for _ in 0..12 {
            if (next - p).dot(direction) >= 0.0 {
                break;
            }
            step *= 0.4;
            next = onto_skin(skin, p + step, free);
        }
        if (next - p).dot(direction) < 0.0 {
            break;
        }
        p = next;
    }
    p
}

/// The first point of the skin met from `from` (outside) along the unit vector `direction` within `length`.
pub(super) fn first_hit(skin: &dyn Skin, from: DVec3, direction: DVec3, length: f64) -> Option<DVec3> {
    let along = |at: f64| skin.distance(from + direction * at);
    let (mut outside, mut at) = (0.0, 0.0);
    let (mut above, mut below);
    above = along(0.0);
    loop {
        below = along(at);
        if below <= 0.0 {
            break;
        }
        (outside, above) = (at, below);
        // The distance may be a little too steep, and must not creep towards a grazing skin for ever.
        at += (0.8 * below).max(0.02);
        if at > length {
            return None;
        }
    }
    let mut inside = at;
    // False position that halves the weight of an end kept twice (the Illinois rule): the bracket holds the skin.
    let mut kept = 0;
    for _ in 0..60 {
        let next = (outside * below - inside * above) / (below - above);
        let next = if next.is_finite() { next } else { (outside + inside) / 2.0 };
        let d = along(next);
        if d.abs() < ON_SKIN_MM || inside - outside < ON_SKIN_MM {
            return Some(from + direction * next);
        }
        if d > 0.0 {
            (outside, above) = (next, d);
            below *= if kept > 0 { 0.5 } else { 1.0 };
            kept = 1;
        } else {
            (inside, below) = (next, d);
            above *= if kept < 0 { 0.5 } else { 1.0 };
            kept = -1;
        }
    }
    Some(from + direction * inside)
}

/// Where in `low`…`high` a function with one summit is greatest, within `within`.
pub(super) fn summit(mut low: f64, mut high: f64, within: f64, value: &dyn Fn(f64) -> f64) -> f64 {
    const GOLDEN: f64 = 0.618_033_988_749_894_9;
    let (mut a, mut b) = (high - GOLDEN * (high - low), low + GOLDEN * (high - low));
    let (mut at_a, mut at_b) = (value(a), value(b));
    while high - low > within {
        if at_a > at_b {
            (high, b, at_b) = (b, a, at_a);
            a = high - GOLDEN * (high - low);
            at_a = value(a);
        } else {
            (low, a, at_a) = (a, b, at_b);
            b = low + GOLDEN * (high - low);
            at_b = value(b);
        }
    }
    (low + high) / 2.0
}

/// Where in `low`…`high` a function is greatest that may have several summits at least `step` wide.
pub(super) fn highest_summit(low: f64, high: f64, step: f64, within: f64, value: &dyn Fn(f64) -> f64) -> f64 {
    let count = ((high - low) / step).ceil().max(1.0) as usize;
    let at = |i: usize| low + (high - low) * i as f64 / count as f64;
    let best = (0..=count)
        .map(|i| (at(i), value(at(i))))
        .fold((low, f64::NEG_INFINITY), |best, next| if next.1 > best.1 { next } else { best });
    summit((best.0 - step).max(low), (best.0 + step).min(high), within, value)
}
