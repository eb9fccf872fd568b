use glam::{DMat3, DVec2, DVec3, dvec2};

/// A convex piece of tissue: its distance function never grows faster than the true distance.
#[derive(Clone, Copy, Debug)]
enum Shape {
    /// Spheres swept along a line, their radius changing evenly: a bone shaft, a tendon, a muscle belly.
    RoundCone { start: DVec3, along: DVec3, length: f64, radius: f64, taper: f64, lean: f64 },
    /// An ellipsoid: a pad, a condyle. `axes` has the semi-axis directions as columns.
    Ellipsoid { centre: DVec3, axes: DMat3, radii: DVec3 },
}

/// One shape, with a sphere that holds it.
#[derive(Clone, Copy, Debug)]
pub(super) struct Piece {
    shape: Shape,
    centre: DVec3,
    bound_mm: f64,
}

impl Piece {
    /// A round cone from `a` (radius `ra`) to `b` (radius `rb`).
    pub(super) fn cone(a: DVec3, ra: f64, b: DVec3, rb: f64) -> Piece {
        let length = a.distance(b).max(1e-6);
        let along = (b - a) / length;
        // A taper of 1 or more means that one end's sphere holds the other: the limit keeps the formula finite.
        let taper = ((ra - rb) / length).clamp(-0.999, 0.999);
        let lean = taper / (1.0 - taper * taper).sqrt();
        let shape = Shape::RoundCone { start: a, along, length, radius: ra, taper, lean };
        Piece { shape, centre: (a + b) / 2.0, bound_mm: length / 2.0 + ra.max(ra - taper * length) }
    }

    /// An ellipsoid turned by `yaw` radians about z.
    pub(super) fn ellipsoid(centre: DVec3, radii: DVec3, yaw: f64) -> Piece {
        let axes = DMat3::from_cols(
            DVec3::new(libm::cos(yaw), libm::sin(yaw), 0.0),
            DVec3::new(-libm::sin(yaw), libm::cos(yaw), 0.0),
            DVec3::Z,
        );
        Piece::tilted_ellipsoid(centre, radii, axes)
    }

    /// An ellipsoid with its semi-axes along the columns of the rotation `axes`.
    pub(super) fn tilted_ellipsoid(centre: DVec3, radii: DVec3, axes: DMat3) -> Piece {
        Piece { shape: Shape::Ellipsoid { centre, axes, radii }, centre, bound_mm: radii.max_element() }
    }

    fn field<V: Value>(&self, p: DVec3) -> V {
        match self.shape {
            // The nearest of the swept spheres is where the line from its centre to `p` meets the slanted side
            // square; that is a fixed lean off the plane square to the axis.
            Shape::RoundCone { start, along, length, radius, taper, lean } => {
                let from_start = p - start;
                let t = from_start.dot(along);
                let off = (from_start.length_squared() - t * t).max(0.0).sqrt();
                let at = (t - off * lean).clamp(0.0, length);
                let away = from_start - at * along;
                let far = away.length();
                // As the centre is the nearest one, moving it changes nothing: the slope points straight away from it.
                V::of(far - (radius - taper * at), || away / far.max(1e-12))
            }
            // First-order distance |p| (|p| - 1) / |∇|p||² in the ellipsoid's own scale: exact on the skin and on
            // the axes, and never less than the distance to the sphere that holds it.
            Shape::Ellipsoid { centre, axes, radii } => {
                let q = axes.transpose() * (p - centre);
                let scaled = q / radii;
                let steep = scaled / radii;
                let (k0, k1) = (scaled.length(), steep.length());
                if k1 < 1e-9 {
                    return V::of(-radii.min_element(), || DVec3::ZERO);
                }
                let (near, far) = (k0 * (k0 - 1.0) / k1, q.length() - self.bound_mm);
                if near < far {
                    return V::of(far, || axes * q.normalize_or_zero());
                }
                V::of(near, || {
                    let rise = (2.0 * k0 - 1.0) / (k0 * k1) * steep;
                    axes * (rise - near / (k1 * k1) * (steep / (radii * radii)))
                })
            }
        }
    }
}

/// What a function of space gives at a point: its value alone, or its value and slope.
pub(super) trait Value: Copy {
    /// A value; the slope is only worked out where it is wanted.
    fn of(value: f64, slope: impl FnOnce() -> DVec3) -> Self;
    /// The value.
    fn value(self) -> f64;
    /// `low` run together with `high`: `drop` below `low`, `share` of the slope from `high`.
    fn mixed(low: Self, high: Self, drop: f64, share: f64) -> Self;
    /// With the sign turned.
    fn negated(self) -> Self;
}

impl Value for f64 {
    fn of(value: f64, _: impl FnOnce() -> DVec3) -> Self {
        value
    }
    fn value(self) -> f64 {
        self
    }
    fn mixed(low: Self, _: Self, drop: f64, _: f64) -> Self {
        low - drop
    }
    fn negated(self) -> Self {
        -self
    }
}

/// A value with its slope.
#[derive(Clone, Copy, Debug)]
pub(super) struct Sloped(pub(super) f64, pub(super) DVec3);

impl Value for Sloped {
    fn of(value: f64, slope: impl FnOnce() -> DVec3) -> Self {
        Sloped(value, slope())
    }
    fn value(self) -> f64 {
        self.0
    }
    fn mixed(low: Self, high: Self, drop: f64, share: f64) -> Self {
        Sloped(low.0 - drop, low.1 * (1.0 - share) + high.1 * share)
    }
    fn negated(self) -> Self {
        Sloped(-self.0, -self.1)
    }
}

/// The lesser of `a` and `b`, run together with continuous curvature where they differ by less than `k`
/// (the cubic member of the polynomial family; it lies k/6 below where they are equal).
fn smooth_min<V: Value>(a: V, b: V, k: f64) -> V {
    let (low, high) = if a.value() <= b.value() { (a, b) } else { (b, a) };
    let h = 1.0 - (high.value() - low.value()) / k;
    if h > 0.0 { V::mixed(low, high, h * h * h * k / 6.0, h * h / 2.0) } else { low }
}

fn smooth_max<V: Value>(a: V, b: V, k: f64) -> V {
    smooth_min(a.negated(), b.negated(), k).negated()
}

/// Pieces that share their joints (a tendon, a ray, a toe), run over `blend_mm` into the strands before.
#[derive(Clone, Debug)]
pub(super) struct Strand {
    pieces: Vec<Piece>,
    /// Balls that hold [`BLOCK`] pieces each.
    blocks: Vec<(DVec3, f64)>,
    /// A capsule that holds them all.
    hull: Piece,
    blend_mm: f64,
}

/// Pieces looked at or passed over together.
const BLOCK: usize = 4;

impl Strand {
    fn new(pieces: Vec<Piece>, blend_mm: f64) -> Strand {
        let ball = |pieces: &[Piece]| ball_round(pieces.iter().map(|piece| (piece.centre, piece.bound_mm)));
        let ends = [pieces.first(), pieces.last()].map(|piece| piece.map_or(DVec3::ZERO, |piece| piece.centre));
        let core = Piece::cone(ends[0], 0.0, ends[1], 0.0);
        let reach = pieces.iter().map(|piece| core.field::<f64>(piece.centre) + piece.bound_mm).fold(0.0, f64::max);
        let hull = Piece::cone(ends[0], reach + JOINT_BLEND_MM, ends[1], reach + JOINT_BLEND_MM);
        let blocks = pieces.chunks(BLOCK).map(ball).collect();
        Strand { pieces, blocks, hull, blend_mm }
    }

    /// One piece.
    pub(super) fn of(piece: Piece, blend_mm: f64) -> Strand {
        Strand::new(vec![piece], blend_mm)
    }

    /// Round cones along a smooth curve through `knots` (place, radius), which it passes evenly (Catmull and Rom 1974).
    pub(super) fn through(knots: &[(DVec3, f64)], blend_mm: f64) -> Strand {
        // So short that between two joints the skin lies this little deeper than at them: bends and joints do not show.
        const DIP_MM: f64 = 0.1;
        let knot = |i: isize| knots[i.clamp(0, knots.len() as isize - 1) as usize];
        let mut pieces = Vec::new();
        for i in 0..knots.len() as isize - 1 {
            let four = [-1, 0, 1, 2].map(|offset| knot(i + offset));
            let [_, from, to, _] = four;
            let longest = (8.0 * DIP_MM * from.1.min(to.1)).sqrt();
            let steps = (from.0.distance(to.0) / longest).ceil().max(1.0) as usize;
            let at = |step: usize| between(&four, step as f64 / steps as f64);
            pieces.extend((0..steps).map(|step| {
                let ((a, ra), (b, rb)) = (at(step), at(step + 1));
                Piece::cone(a, ra, b, rb)
            }));
        }
        Strand::new(pieces, blend_mm)
    }

    /// Distance of `p` from the strand; infinite if it is farther than `within`.
    fn field<V: Value>(&self, p: DVec3, within: f64) -> V {
        let at_least = |&(centre, bound_mm): &(DVec3, f64)| centre.distance(p) - bound_mm;
        let nothing = V::of(f64::INFINITY, || DVec3::ZERO);
        let likely = self.blocks.iter().map(at_least).enumerate();
        let (nearest, least) =
            likely.fold((0, f64::INFINITY), |least, next| if next.1 < least.1 { next } else { least });
        if least > within + JOINT_BLEND_MM {
            return nothing;
        }
        let near = self.pieces.chunks(BLOCK).nth(nearest).unwrap_or_default().iter().map(|piece| piece.field::<f64>(p));
        // Of pieces farther than this, less than 0.000001 mm comes through the blends between; the order in which the
        // rest are run together must not depend on the place.
        let matters = near.fold(f64::INFINITY, f64::min) + 3.0 * JOINT_BLEND_MM;
        let mut field = nothing;
        for (ball, pieces) in self.blocks.iter().zip(self.pieces.chunks(BLOCK)) {
            if at_least(ball) > matters {
                continue;
            }
            for piece in pieces {
                if piece.centre.distance(p) - piece.bound_mm <= matters {
                    field = smooth_min(field, piece.field(p), JOINT_BLEND_MM);
                }
            }
        }
        field
    }
}

/// Place and radius on the curve between the middle two of four knots, at 0 ≤ `t` ≤ 1.
fn between(knots: &[(DVec3, f64); 4], t: f64) -> (DVec3, f64) {
    let (t2, t3) = (t * t, t * t * t);
    let weights = [2.0 * t2 - t - t3, 2.0 - 5.0 * t2 + 3.0 * t3, t + 4.0 * t2 - 3.0 * t3, t3 - t2];
    knots.iter().zip(weights).fold((DVec3::ZERO, 0.0), |(place, radius), (knot, weight)| {
        (place + weight / 2.0 * knot.0, radius + weight / 2.0 * knot.1)
    })
}

/// A ball that holds `balls`.
fn ball_round(balls: impl Iterator<Item = (DVec3, f64)> + Clone) -> (DVec3, f64) {
    let lo = balls.clone().fold(DVec3::INFINITY, |lo, (centre, radius)| lo.min(centre - radius));
    let hi = balls.clone().fold(DVec3::NEG_INFINITY, |hi, (centre, radius)| hi.max(centre + radius));
    let middle = (lo + hi) / 2.0;
    (middle, balls.map(|(centre, radius)| middle.distance(centre) + radius).fold(0.0, f64::max))
}

/// Strands run smoothly into one another in their order.
#[derive(Clone, Debug)]
pub(super) struct Group {
    strands: Vec<Strand>,
    centre: DVec3,
    bound_mm: f64,
}

impl Group {
    pub(super) fn new(strands: Vec<Strand>) -> Group {
        // What blending adds lies within half a blend of the strands.
        let balls = strands.iter().map(|strand| (strand.hull.centre, strand.hull.bound_mm + strand.blend_mm / 2.0));
        let (centre, bound_mm) = ball_round(balls);
        Group { strands, centre, bound_mm }
    }

    /// Distance of `p` from the group; infinite if it is farther than `within`.
    fn field<V: Value>(&self, p: DVec3, within: f64) -> V {
        let reach = within + self.bound_mm;
        let nothing = V::of(f64::INFINITY, || DVec3::ZERO);
        if reach <= 0.0 || self.centre.distance_squared(p) > reach * reach {
            return nothing;
        }
        self.strands.iter().fold(nothing, |near, strand| {
            // Beyond this nothing of the strand is left in the blend.
            let within = near.value() + strand.blend_mm;
            if strand.hull.field::<f64>(p) >= within {
                near
            } else {
                smooth_min(near, strand.field(p, within), strand.blend_mm)
            }
        })
    }
}

/// The vault of the medial arch: a hollow under the foot, open on the medial side.
#[derive(Clone, Copy, Debug)]
pub(super) struct Vault {
    /// Height of its crown, mm.
    pub(super) height_mm: f64,
    /// Where it begins behind, is highest, and ends in front, mm along x.
    pub(super) along_mm: [f64; 3],
    /// Its lateral edge at x = 0, mm.
    pub(super) edge_mm: f64,
    /// Slope of that edge, mm per mm of x.
    pub(super) edge_slope: f64,
    /// Distance over which it rises from its lateral edge, mm.
    pub(super) rise_mm: f64,
}

/// How deep under the support plane the vault begins, mm: so that it meets the plane at a slope and leaves the sole
/// outside it alone.
const VAULT_FROM_MM: f64 = 8.0;

impl Vault {
    /// Height over the support plane under which the vault leaves no tissue, mm, and its slope along x and y.
    fn height(&self, p: DVec2) -> (f64, DVec2) {
        let [behind, crown, front] = self.along_mm;
        let reach = if p.x < crown { behind - crown } else { front - crown };
        let u = (p.x - crown) / reach;
        let t = ((p.y - self.edge_mm - self.edge_slope * p.x) / self.rise_mm).clamp(0.0, 1.0);
        if u >= 1.0 || t <= 0.0 {
            return (-VAULT_FROM_MM, DVec2::ZERO);
        }
        let (open, across) = (1.0 - u * u, t * t * (3.0 - 2.0 * t));
        let (lengthwise, turn) = (open * open, 6.0 * t * (1.0 - t) / self.rise_mm);
        let along_x = -4.0 * u * open / reach * across - lengthwise * turn * self.edge_slope;
        let full = self.height_mm + VAULT_FROM_MM;
        (full * lengthwise * across - VAULT_FROM_MM, full * dvec2(along_x, lengthwise * turn))
    }

    /// Bound on how fast the vault rises, for turning a height into a distance.
    fn steepest(&self) -> f64 {
        let [behind, crown, front] = self.along_mm;
        let across = 1.5 / self.rise_mm;
        let along = 1.54 / (crown - behind).min(front - crown) + across * self.edge_slope.abs();
        (self.height_mm + VAULT_FROM_MM) * (across * across + along * along).sqrt()
    }
}

/// The foot as a function of space. Everything is built in a frame of its own, close to the foot frame: heel behind
/// x = 0, toes along +x, medial +y, standing on z = 0.
#[derive(Clone, Debug)]
pub(super) struct Tissue {
    /// Leg, rearfoot, midfoot and ball.
    pub(super) body: Group,
    /// The five toes, hallux first.
    pub(super) toes: [Group; 5],
    /// The medial arch's hollow.
    pub(super) vault: Vault,
    /// Where the leg ends, mm.
    pub(super) top_mm: f64,
    /// Where to look for what.
    pub(super) places: Places,
}

/// Places on or near the skin from which searches start, in the frame of the tissue.
#[derive(Clone, Copy, Debug)]
pub(super) struct Places {
    pub(super) heel_back: DVec3,
    pub(super) toe_tips: [DVec3; 5],
    pub(super) mt1_medial: DVec3,
    pub(super) mt5_lateral: DVec3,
    pub(super) heel_medial: DVec3,
    pub(super) heel_lateral: DVec3,
    pub(super) malleolus_medial: DVec3,
    pub(super) malleolus_lateral: DVec3,
    /// The centres of the metatarsal heads, first to fifth.
    pub(super) heads: [DVec3; 5],
    /// The navicular tuberosity's centre.
    pub(super) navicular: DVec3,
    /// Inside the medial column over the arch.
    pub(super) medial_column: DVec3,
}

impl Places {
    /// Every place carried by `map`.
    pub(super) fn map(&self, map: impl Fn(DVec3) -> DVec3) -> Places {
        Places {
            heel_back: map(self.heel_back),
            toe_tips: self.toe_tips.map(&map),
            mt1_medial: map(self.mt1_medial),
            mt5_lateral: map(self.mt5_lateral),
            heel_medial: map(self.heel_medial),
            heel_lateral: map(self.heel_lateral),
            malleolus_medial: map(self.malleolus_medial),
            malleolus_lateral: map(self.malleolus_lateral),
            heads: self.heads.map(&map),
            navicular: map(self.navicular),
            medial_column: map(self.medial_column),
        }
    }
}

/// How the pieces of a strand run into one another, mm: no creases where it bends.
const JOINT_BLEND_MM: f64 = 0.8;
/// How far apart two toes lie that just begin to touch skin to skin, mm. Small: toes stay apart.
const TOE_BLEND_MM: f64 = 0.8;
/// Width of the webs between the toes and the ball, mm.
const WEB_BLEND_MM: f64 = 7.0;
/// How softly the vault turns into the medial wall of the foot, mm.
const VAULT_BLEND_MM: f64 = 16.0;
/// How softly the sole turns into the walls of the foot, mm.
const SOLE_BLEND_MM: f64 = 6.0;
/// The same under the toes, which carry less and have smaller pulps, mm.
const PULP_BLEND_MM: f64 = 4.0;
/// The rim of the cut through the leg, mm.
const CUT_BLEND_MM: f64 = 1.0;

impl Tissue {
    /// Distances to the body and to the nearest toe, mm, without the sole: which is nearer says whose skin it is.
    pub(super) fn body_and_toes(&self, p: DVec3) -> (f64, f64) {
        (self.body.field(p, f64::INFINITY), self.toes::<f64>(p, f64::INFINITY))
    }

    /// Signed distance to the skin, negative inside, or that and its slope: of the right sign everywhere, and outside
    /// never much steeper than 1 mm per mm.
    pub(super) fn field<V: Value>(&self, p: DVec3) -> V {
        let body: V = self.body.field(p, f64::INFINITY);
        let steep = self.vault.steepest();
        let level = 1.0 / (1.0 + steep * steep).sqrt();
        let (height, rise) = self.vault.height(p.truncate());
        let under = V::of((height - p.z) * level, || rise.extend(-1.0) * level);
        let body = smooth_max(body, under, VAULT_BLEND_MM);
        let below = V::of(-p.z, || DVec3::NEG_Z);
        let body = smooth_max(body, below, SOLE_BLEND_MM);
        let toes = smooth_max(self.toes::<V>(p, body.value() + WEB_BLEND_MM), below, PULP_BLEND_MM);
        let web = smooth_min(body, toes, WEB_BLEND_MM);
        let skin = if below.value() > web.value() { below } else { web };
        smooth_max(skin, V::of(p.z - self.top_mm, || DVec3::Z), CUT_BLEND_MM)
    }

    fn toes<V: Value>(&self, p: DVec3, within: f64) -> V {
        let nothing = V::of(f64::INFINITY, || DVec3::ZERO);
        self.toes.iter().fold(nothing, |near, toe| {
            let toe = toe.field(p, within.min(near.value() + TOE_BLEND_MM));
            if near.value().is_finite() { smooth_min(near, toe, TOE_BLEND_MM) } else { toe }
        })
    }
}

impl super::skin::Skin for Group {
    fn distance(&self, p: DVec3) -> f64 {
        self.field(p, f64::INFINITY)
    }

    fn sloped(&self, p: DVec3) -> Sloped {
        self.field(p, f64::INFINITY)
    }
}
