use glam::{DMat3, DVec2, DVec3};

/// A convex piece of tissue: its distance function never grows faster than the true distance.
#[derive(Clone, Copy, Debug)]
enum Shape {
    /// Spheres swept along a line, their radius changing evenly: a bone shaft, a tendon, a muscle belly.
    RoundCone { start: DVec3, along: DVec3, length: f64, radius: f64, taper: f64, lean: f64 },
    /// An ellipsoid: a pad, a condyle. `axes` has the semi-axis directions as columns.
    Ellipsoid { centre: DVec3, axes: DMat3, radii: DVec3 },
}

/// One shape, with the width over which it runs into what was there before and a sphere that holds it.
#[derive(Clone, Copy, Debug)]
pub(super) struct Piece {
    shape: Shape,
    blend_mm: f64,
    centre: DVec3,
    bound_mm: f64,
}

impl Piece {
    /// A round cone from `a` (radius `ra`) to `b` (radius `rb`).
    pub(super) fn cone(a: DVec3, ra: f64, b: DVec3, rb: f64, blend_mm: f64) -> Piece {
        let length = a.distance(b).max(1e-6);
        let along = (b - a) / length;
        // A taper of 1 or more means that one end's sphere holds the other: the limit keeps the formula finite.
        let taper = ((ra - rb) / length).clamp(-0.999, 0.999);
        let lean = taper / (1.0 - taper * taper).sqrt();
        let shape = Shape::RoundCone { start: a, along, length, radius: ra, taper, lean };
        Piece { shape, blend_mm, centre: (a + b) / 2.0, bound_mm: length / 2.0 + ra.max(ra - taper * length) }
    }

    /// An ellipsoid turned by `yaw` radians about z.
    pub(super) fn ellipsoid(centre: DVec3, radii: DVec3, yaw: f64, blend_mm: f64) -> Piece {
        let axes = DMat3::from_cols(
            DVec3::new(libm::cos(yaw), libm::sin(yaw), 0.0),
            DVec3::new(-libm::sin(yaw), libm::cos(yaw), 0.0),
            DVec3::Z,
        );
        Piece::tilted_ellipsoid(centre, radii, axes, blend_mm)
    }

    /// An ellipsoid with its semi-axes along the columns of the rotation `axes`.
    pub(super) fn tilted_ellipsoid(centre: DVec3, radii: DVec3, axes: DMat3, blend_mm: f64) -> Piece {
        Piece { shape: Shape::Ellipsoid { centre, axes, radii }, blend_mm, centre, bound_mm: radii.max_element() }
    }

    fn distance(&self, p: DVec3) -> f64 {
        match self.shape {
            // The nearest of the swept spheres is where the line from its centre to `p` meets the slanted side
            // square; that is a fixed lean off the plane square to the axis.
            Shape::RoundCone { start, along, length, radius, taper, lean } => {
                let from_start = p - start;
                let t = from_start.dot(along);
                let off = (from_start.length_squared() - t * t).max(0.0).sqrt();
                let at = (t - off * lean).clamp(0.0, length);
                ((t - at) * (t - at) + off * off).sqrt() - (radius - taper * at)
            }
            // First-order distance |p| (|p| - 1) / |∇|p||² in the ellipsoid's own scale: exact on the skin and on
            // the axes, and never less than the distance to the sphere that holds it.
            Shape::Ellipsoid { centre, axes, radii } => {
                let q = axes.transpose() * (p - centre);
                let scaled = q / radii;
                let k0 = scaled.length();
                let k1 = (scaled / radii).length();
                if k1 < 1e-12 {
                    return -radii.min_element();
                }
                (k0 * (k0 - 1.0) / k1).max(q.length() - self.bound_mm)
            }
        }
    }
}

/// Least distance of `pieces` from `p`, each run smoothly into those before it.
fn union(pieces: &[Piece], p: DVec3) -> f64 {
    pieces.iter().fold(f64::INFINITY, |near, piece| {
        // Beyond this nothing of the piece is left in the blend.
        let reach = near + piece.blend_mm + piece.bound_mm;
        if reach >= 0.0 && piece.centre.distance_squared(p) < reach * reach {
            smooth_min(near, piece.distance(p), piece.blend_mm)
        } else {
            near
        }
    })
}

/// The lesser of `a` and `b`, run together with continuous curvature where they differ by less than `k`
/// (the cubic member of the polynomial family; it lies k/6 below where they are equal).
pub(super) fn smooth_min(a: f64, b: f64, k: f64) -> f64 {
    let h = (1.0 - (a - b).abs() / k).max(0.0);
    a.min(b) - h * h * h * k / 6.0
}

fn smooth_max(a: f64, b: f64, k: f64) -> f64 {
    -smooth_min(-a, -b, k)
}

/// The underside: level with the support plane, vaulted on the medial side.
#[derive(Clone, Copy, Debug)]
pub(super) struct Sole {
    /// Height of the vault at its crown, mm.
    pub(super) height_mm: f64,
    /// Where the vault begins behind, is highest, and ends in front, mm along x.
    pub(super) along_mm: [f64; 3],
    /// Lateral edge of the vault at x = 0 and its slope (mm per mm of x): medial of the lateral band.
    pub(super) edge_mm: f64,
    /// Slope of that edge.
    pub(super) edge_slope: f64,
    /// Distance over which the vault rises from its lateral edge, mm.
    pub(super) rise_mm: f64,
}

impl Sole {
    /// Height over the support plane under which there is no tissue, mm.
    fn height(&self, p: DVec2) -> f64 {
        let [behind, crown, front] = self.along_mm;
        let u = if p.x < crown { (crown - p.x) / (crown - behind) } else { (p.x - crown) / (front - crown) };
        let t = ((p.y - self.edge_mm - self.edge_slope * p.x) / self.rise_mm).clamp(0.0, 1.0);
        if u >= 1.0 || t <= 0.0 {
            return 0.0;
        }
        let lengthwise = (1.0 - u * u) * (1.0 - u * u);
        self.height_mm * lengthwise * t * t * (3.0 - 2.0 * t)
    }

    /// Bound on how fast the sole rises, for turning a height into a distance.
    fn steepest(&self) -> f64 {
        let [behind, crown, front] = self.along_mm;
        let across = 1.5 / self.rise_mm;
        let along = 1.54 / (crown - behind).min(front - crown);
        self.height_mm * (across * across + along * along).sqrt()
    }
}

/// The foot as a function of space. Everything is built in a frame of its own, close to the foot frame: heel behind
/// x = 0, toes along +x, medial +y, standing on z = 0.
#[derive(Clone, Debug)]
pub(super) struct Tissue {
    /// Leg, rearfoot, midfoot and ball.
    pub(super) body: Vec<Piece>,
    /// The five toes, hallux first.
    pub(super) toes: [Vec<Piece>; 5],
    /// The underside.
    pub(super) sole: Sole,
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
            navicular: map(self.navicular),
            medial_column: map(self.medial_column),
        }
    }
}

/// How far apart two toes lie that just begin to touch skin to skin, mm. Small: toes stay apart.
const TOE_BLEND_MM: f64 = 0.8;
/// Width of the webs between the toes and the ball, mm.
const WEB_BLEND_MM: f64 = 6.0;
/// How softly the sole turns into the walls of the foot, mm.
const SOLE_BLEND_MM: f64 = 7.0;
/// The same under the toes, which carry less and have smaller pulps, mm.
const PULP_BLEND_MM: f64 = 2.5;
/// The rim of the cut through the leg, mm.
const CUT_BLEND_MM: f64 = 1.0;

impl Tissue {
    /// Distances to the body and to the nearest toe, mm, without the sole: which is nearer says whose skin it is.
    pub(super) fn body_and_toes(&self, p: DVec3) -> (f64, f64) {
        let toes = self.toes.iter().map(|toe| union(toe, p)).fold(f64::INFINITY, f64::min);
        (union(&self.body, p), toes)
    }

    /// Signed distance to the skin, negative inside: exact in sign, never steeper than about 1 mm per mm.
    pub(super) fn distance(&self, p: DVec3) -> f64 {
        let toes = self.toes.iter().map(|toe| union(toe, p)).fold(f64::INFINITY, |near, d| {
            if d < near + TOE_BLEND_MM { smooth_min(near, d, TOE_BLEND_MM) } else { near }
        });
        let body = union(&self.body, p);
        let toes = smooth_max(toes, -p.z, PULP_BLEND_MM);
        let steep = self.sole.steepest();
        let under = (self.sole.height(p.truncate()) - p.z) / (1.0 + steep * steep).sqrt();
        let body = smooth_max(body, under, SOLE_BLEND_MM);
        let skin = smooth_min(body, toes, WEB_BLEND_MM).max(-p.z);
        smooth_max(skin, p.z - self.top_mm, CUT_BLEND_MM)
    }
}
