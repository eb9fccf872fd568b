//! Forms that several elements share: an oval that is moved, turned and stretched by its handles, and the smooth curves
//! that shapes are made of.

use super::{ElementItem, Handle, HandleKind, Shape, Site, angle_deg, direction, read, set};
use crate::Edge;
use crate::rim::Rim;
use crate::smooth::step;
use crate::spline_grid::SplineGrid;
use base::{ParamSpec, Params};
use foot::{LandmarkId, Landmarks};
use glam::DVec2;
use last::ClosedSpline;
use mesh::Grid;

/// Place along the foot of what is moved as a whole.
pub(super) const fn along(default: f64) -> ParamSpec {
    ParamSpec::mm(
        "x_mm",
        "Place, along",
        (-20.0, 350.0),
        default,
        1.0,
        "Its middle, from the pternion towards the toes.",
    )
}

/// Place across the foot.
pub(super) const fn across(default: f64) -> ParamSpec {
    ParamSpec::mm(
        "y_mm",
        "Place, across",
        (-80.0, 80.0),
        default,
        1.0,
        "Its middle, from the foot axis to the medial side.",
    )
}

/// Direction of its long axis.
pub(super) const fn turned(default: f64) -> ParamSpec {
    ParamSpec::deg(
        "angle_deg",
        "Direction",
        (-90.0, 90.0),
        default,
        "Direction of its length, from the foot axis to the medial side.",
    )
}

/// An oval with its middle at `x_mm`, `y_mm`, turned by `angle_deg`, `length_mm` long and `width_mm` wide.
#[derive(Clone, Copy, Debug)]
pub(super) struct Oval {
    pub(super) centre: DVec2,
    pub(super) axis: DVec2,
    /// Half length and half width.
    pub(super) half: DVec2,
}

impl Oval {
    pub(super) fn read(specs: &[ParamSpec], item: &ElementItem) -> Oval {
        let value = |id| read(specs, &item.params, id);
        Oval {
            centre: DVec2::new(value("x_mm"), value("y_mm")),
            axis: direction(value("angle_deg")),
            half: DVec2::new(value("length_mm"), value("width_mm")) / 2.0,
        }
    }

    /// `p` along and across the oval, from its middle.
    pub(super) fn local(&self, p: DVec2) -> DVec2 {
        let from = p - self.centre;
        DVec2::new(from.dot(self.axis), from.dot(self.axis.perp()))
    }

    /// How far out `p` lies on the way from the oval widened by `inner` to the one widened by `inner + blend`: 0 inside the
    /// first, 1 outside the second, in between the share of the way along the ray from the middle.
    pub(super) fn outward(&self, p: DVec2, inner: f64, blend: f64) -> f64 {
        let local = self.local(p);
        let inner = self.half + DVec2::splat(inner);
        let to_inner = (local / inner).length();
        if to_inner <= 1.0 {
            return 0.0;
        }
        let to_outer = (local / (inner + DVec2::splat(blend))).length();
        if to_outer >= 1.0 {
            return 1.0;
        }
        (1.0 - 1.0 / to_inner) / (1.0 / to_outer - 1.0 / to_inner)
    }

    /// A box round the oval widened by `beyond`.
    pub(super) fn bounds(&self, beyond: f64) -> (DVec2, DVec2) {
        let half = self.half + DVec2::splat(beyond);
        let (along, across) = (self.axis * half.x, self.axis.perp() * half.y);
        let reach = (along * along + across * across).map(f64::sqrt);
        (self.centre - reach, self.centre + reach)
    }

    /// Middle, end and side.
    pub(super) fn handles(&self) -> Vec<Handle> {
        let across = self.axis.perp();
        vec![
            Handle { id: "centre", label: "Move", kind: HandleKind::Point, at: self.centre },
            Handle {
                id: "end",
                label: "Length and direction",
                kind: HandleKind::Point,
                at: self.centre + self.axis * self.half.x,
            },
            Handle {
                id: "side",
                label: "Width",
                kind: HandleKind::Along(across),
                at: self.centre + across * self.half.y,
            },
        ]
    }

    /// What dragging one of [`Oval::handles`] sets.
    pub(super) fn drag(&self, specs: &[ParamSpec], out: &mut Params, handle: &str, to: DVec2) {
        let from_centre = to - self.centre;
        match handle {
            "centre" => {
                set(specs, out, "x_mm", to.x);
                set(specs, out, "y_mm", to.y);
            }
            "end" => {
                set(specs, out, "length_mm", 2.0 * from_centre.length());
                if from_centre.length() > f64::EPSILON {
                    set(specs, out, "angle_deg", angle_deg(from_centre));
                }
            }
            "side" => set(specs, out, "width_mm", 2.0 * from_centre.dot(self.axis.perp())),
            _ => {}
        }
    }
}

/// A landmark in plan.
pub(super) fn mark(landmarks: &Landmarks, id: LandmarkId) -> Option<DVec2> {
    landmarks.get(&id).map(|mark| mark.at.truncate())
}

/// Metatarsale tibiale and fibulare in plan.
pub(super) fn ball_line(landmarks: &Landmarks) -> Option<(DVec2, DVec2)> {
    Some((mark(landmarks, LandmarkId::MetatarsaleTibiale)?, mark(landmarks, LandmarkId::MetatarsaleFibulare)?))
}

/// Usual places of the metatarsal heads on the way from the metatarsale tibiale to the fibulare, and in front of the line
/// between them, as shares of its length: those by which the landmarks are estimated. Common anatomy, no source.
const HEADS: [(f64, f64); 5] = [(0.17, 0.03), (0.37, 0.14), (0.54, 0.12), (0.71, 0.06), (0.87, -0.01)];
/// Metatarsale tibiale and fibulare as shares of the foot length, for a foot of which only that is known: the first at 0.74
/// of it and the breadth 0.376 of it in adults (computed from the records of ANSUR II, Gordon et al. 2014); the fifth at
/// 0.62 of it from memory. How the breadth lies to the axis: no source.
const BALL: (DVec2, DVec2) = (DVec2::new(0.74, 0.168), DVec2::new(0.62, -0.208));
/// Heel centre as a share of the way from the pternion to the ball: about 15 % of the foot length, at which the heel's load
/// is centred. From memory.
const HEEL_SHARE: f64 = 0.2;

/// Metatarsale tibiale and fibulare; where one is missing, both where they usually lie on a foot of this length.
fn ball(landmarks: &Landmarks) -> Option<(DVec2, DVec2)> {
    ball_line(landmarks).or_else(|| {
        let length = mark(landmarks, LandmarkId::Akropodion)?.x;
        (length > 0.0).then_some((BALL.0 * length, BALL.1 * length))
    })
}

/// The metatarsal head of the ray 1 to 5 in plan; where the landmark is missing, its usual place on the ball.
pub(super) fn head(landmarks: &Landmarks, ray: usize) -> Option<DVec2> {
    let index = ray.checked_sub(1)?;
    mark(landmarks, *LandmarkId::METATARSAL_HEADS.get(index)?).or_else(|| {
        let (tibiale, fibulare) = ball(landmarks)?;
        let (along, ahead) = HEADS[index];
        let line = fibulare - tibiale;
        Some(tibiale + line * along + line.perp() * ahead)
    })
}

/// The heel centre in plan; where the landmark is missing, where it usually lies behind the ball.
pub(super) fn heel(landmarks: &Landmarks) -> Option<DVec2> {
    mark(landmarks, LandmarkId::HeelCentre)
        .or_else(|| ball(landmarks).map(|(tibiale, fibulare)| (tibiale + fibulare) / 2.0 * HEEL_SHARE))
}

/// From the heel centre to between the second and the third metatarsal head, a unit vector; along the foot axis where one is
/// not known.
pub(super) fn foot_direction(landmarks: &Landmarks) -> DVec2 {
    let way = heel(landmarks).zip(head(landmarks, 2)).zip(head(landmarks, 3));
    way.and_then(|((heel, second), third)| ((second + third) / 2.0 - heel).try_normalize()).unwrap_or(DVec2::X)
}

/// The tip of the toe of the ray 1 to 5 in plan.
pub(super) fn tip(landmarks: &Landmarks, ray: usize) -> Option<DVec2> {
    mark(landmarks, *LandmarkId::TOE_TIPS.get(ray.checked_sub(1)?)?)
}

/// Which of its named choices a parameter has.
pub(super) fn choice(specs: &[ParamSpec], params: &Params, id: &str) -> usize {
    read(specs, params, id).round() as usize
}

/// 1 up to an end, then down to 0 over `blend`: `beyond` is how far past the end a point lies.
pub(super) fn fall(beyond: f64, blend: f64) -> f64 {
    1.0 - step(beyond / blend)
}

/// A dome of height 1, `(1 − ρ²)²`, from the square of the share of the way from its crest to its border; zero with zero
/// slope from the border on.
pub(super) fn dome(rho_squared: f64) -> f64 {
    let within = (1.0 - rho_squared).max(0.0);
    within * within
}

/// A plate with straight sides: a parallelogram of full height with its middle at `x_mm`, `y_mm`, `length_mm` long in the
/// direction `angle_deg`, `width_mm` wide, with both ends turned by `slant_deg` (0 for an element without it), and a
/// run-out `blend_mm` wide round it.
///
/// Its height is the product of one fall along and one across, so its volume is `h (length + blend) (width + blend)`.
#[derive(Clone, Copy, Debug)]
pub(super) struct Plate {
    oval: Oval,
    /// How far its ends lie forward for every mm to the medial side.
    slope: f64,
    blend: f64,
    /// The side at which its width is taken hold of: 1 medial, −1 lateral.
    inner: f64,
}

impl Plate {
    pub(super) fn read(specs: &[ParamSpec], item: &ElementItem, inner: f64) -> Plate {
        let value = |id| read(specs, &item.params, id);
        Plate {
            oval: Oval::read(specs, item),
            slope: libm::tan(value("slant_deg").to_radians()),
            blend: value("blend_mm"),
            inner,
        }
    }

    /// The share of its full height at `p`.
    pub(super) fn share(&self, p: DVec2) -> f64 {
        let local = self.oval.local(p);
        let beyond_side = local.y.abs() - self.oval.half.y;
        let beyond_end = (local.x - self.slope * local.y).abs() - self.oval.half.x;
        if beyond_side >= self.blend || beyond_end >= self.blend {
            return 0.0;
        }
        fall(beyond_side, self.blend) * fall(beyond_end, self.blend)
    }

    pub(super) fn bounds(&self) -> (DVec2, DVec2) {
        let across = self.oval.half.y + self.blend;
        let along = self.oval.half.x + self.blend + self.slope.abs() * across;
        let reach = self.oval.axis.abs() * along + self.oval.axis.perp().abs() * across;
        (self.oval.centre - reach, self.oval.centre + reach)
    }

    /// Its middle, or the middle of what of it lies on the insole where its middle does not.
    pub(super) fn crest(&self, edge: &Edge) -> DVec2 {
        let centre = self.oval.centre;
        if edge.inside_mm(centre) > 0.0 {
            return centre;
        }
        let half = self.oval.half.y;
        edge.width_at(centre.x)
            .map(|(lateral, medial)| (lateral.max(centre.y - half), medial.min(centre.y + half)))
            .filter(|(from, to)| from < to)
            .map_or(centre, |(from, to)| DVec2::new(centre.x, (from + to) / 2.0))
    }

    /// Middle, front end, inner side, run-out behind, and with `slanted` the corner between inner side and rear end.
    pub(super) fn handles(&self, slanted: bool) -> Vec<Handle> {
        let Oval { centre, axis, half } = self.oval;
        let inward = axis.perp() * self.inner;
        let mut all = vec![
            Handle { id: "centre", label: "Move", kind: HandleKind::Point, at: centre },
            Handle { id: "end", label: "Length and direction", kind: HandleKind::Point, at: centre + axis * half.x },
            Handle { id: "side", label: "Width", kind: HandleKind::Along(inward), at: centre + inward * half.y },
            Handle {
                id: "blend",
                label: "Blend",
                kind: HandleKind::Along(-axis),
                at: centre - axis * (half.x + self.blend),
            },
        ];
        if slanted {
            let rear = self.slope * self.inner * half.y - half.x;
            let at = centre + inward * half.y + axis * rear;
            all.push(Handle { id: "slant", label: "Slant of the ends", kind: HandleKind::Along(axis), at });
        }
        all
    }

    /// What dragging one of [`Plate::handles`] sets.
    pub(super) fn drag(&self, specs: &[ParamSpec], out: &mut Params, handle: &str, to: DVec2) {
        let local = self.oval.local(to);
        match handle {
            "side" => set(specs, out, "width_mm", 2.0 * local.y * self.inner),
            "blend" => set(specs, out, "blend_mm", -local.x - self.oval.half.x),
            "slant" => {
                let slope = (local.x + self.oval.half.x) / (self.inner * self.oval.half.y);
                set(specs, out, "slant_deg", libm::atan(slope).to_degrees());
            }
            _ => self.oval.drag(specs, out, handle, to),
        }
    }
}

/// Where a plate is to lie, in mm along and to the left of a direction, from the foot frame's origin.
#[derive(Clone, Copy, Debug)]
pub(super) struct PlatePlace {
    /// Unit vector along its length.
    pub(super) axis: DVec2,
    /// Its rear and its front end, in the middle of its width.
    pub(super) ends: (f64, f64),
    /// Its two sides.
    pub(super) sides: (f64, f64),
}

impl PlatePlace {
    pub(super) fn set(&self, specs: &[ParamSpec], params: &mut Params) {
        let ((rear, front), (a, b)) = (self.ends, self.sides);
        let centre = self.axis * ((rear + front) / 2.0) + self.axis.perp() * ((a + b) / 2.0);
        set(specs, params, "x_mm", centre.x);
        set(specs, params, "y_mm", centre.y);
        set(specs, params, "angle_deg", angle_deg(self.axis));
        set(specs, params, "length_mm", front - rear);
        set(specs, params, "width_mm", (a - b).abs());
    }
}

/// How far the insole reaches to the left (`side` 1) or to the right (−1) of the direction `axis`, between two places along
/// it, mm from the foot frame's origin; `None` where no edge lies between them.
pub(super) fn edge_beside(edge: &Edge, axis: DVec2, (rear, front): (f64, f64), side: f64) -> Option<f64> {
    let between = edge.points().iter().filter(|p| (rear..=front).contains(&p.dot(axis)));
    between.map(|p| p.dot(axis.perp())).reduce(|a, b| if a * side > b * side { a } else { b })
}

/// Where a plate under the first ray is to lie: along the ray, between the ends that `ends` makes of the places of head,
/// breadth of the ball and tip of the hallux along it; from between the first and the second ray to where its whole blend
/// lies beyond the medial edge.
pub(super) fn beside_first_ray(
    site: &Site,
    specs: &[ParamSpec],
    ends: impl Fn(f64, f64, f64) -> (f64, f64),
) -> Option<PlatePlace> {
    let heads = [1, 2, 5].map(|ray| head(site.landmarks, ray));
    let [Some(first), Some(second), Some(fifth)] = heads else { return None };
    let hallux = tip(site.landmarks, 1);
    let axis = hallux
        .and_then(|tip| (tip - first).try_normalize())
        .filter(|way| way.x > 0.0)
        .unwrap_or_else(|| foot_direction(site.landmarks));
    let front = hallux.or_else(|| mark(site.landmarks, LandmarkId::Akropodion)).unwrap_or(site.edge.bounds().1);
    let ends = ends(first.dot(axis), first.distance(fifth), DVec2::new(front.x, first.y).dot(axis));
    let blend = specs.iter().find(|spec| spec.id == "blend_mm").map_or(0.0, |spec| spec.default);
    let lateral = (first + second).dot(axis.perp()) / 2.0;
    let medial = edge_beside(site.edge, axis, ends, 1.0).unwrap_or(2.0 * first.dot(axis.perp()) - lateral) + blend;
    Some(PlatePlace { axis, ends, sides: (lateral, medial) })
}

/// A band across the foot that follows an arc: a parabola through its middle at `x_mm`, `y_mm`, square to the direction
/// `angle_deg` there, whose ends lie `bow_mm` behind. Bending a straight band so keeps its volume.
#[derive(Clone, Copy, Debug)]
pub(super) struct Band {
    pub(super) middle: DVec2,
    /// Unit vector to the toes.
    pub(super) axis: DVec2,
    half_span: f64,
    bow: f64,
    /// Its ends run out over this, mm.
    run_out: f64,
    span_id: &'static str,
}

impl Band {
    /// `span_id` is the parameter that tells how far it reaches across, which must not be less than twice `run_out`.
    pub(super) fn read(specs: &[ParamSpec], item: &ElementItem, span_id: &'static str, run_out: f64) -> Band {
        let value = |id| read(specs, &item.params, id);
        Band {
            middle: DVec2::new(value("x_mm"), value("y_mm")),
            axis: direction(value("angle_deg")),
            half_span: value(span_id) / 2.0,
            bow: value("bow_mm"),
            run_out,
            span_id,
        }
    }

    /// How far `p` lies in front of the arc, along the band's direction, and from the band's middle line to the medial side.
    pub(super) fn local(&self, p: DVec2) -> DVec2 {
        let from = p - self.middle;
        let across = from.dot(self.axis.perp());
        DVec2::new(from.dot(self.axis) + self.behind(across), across)
    }

    /// The point that [`Band::local`] makes `local` of.
    pub(super) fn at(&self, local: DVec2) -> DVec2 {
        self.middle + self.axis * (local.x - self.behind(local.y)) + self.axis.perp() * local.y
    }

    /// How far behind the middle the arc lies at `across`.
    fn behind(&self, across: f64) -> f64 {
        let share = across / self.half_span;
        self.bow * share * share
    }

    /// 1 but for the run-out at the ends, there down to 0.
    pub(super) fn share(&self, across: f64) -> f64 {
        fall(across.abs() - (self.half_span - self.run_out), self.run_out)
    }

    /// A box round the band from `rear` to `front` of its arc.
    pub(super) fn bounds(&self, rear: f64, front: f64) -> (DVec2, DVec2) {
        let (rear, front) = (rear - self.bow.max(0.0), front - self.bow.min(0.0));
        let side = (self.axis.perp() * self.half_span).abs();
        let (rear, front) = (self.middle + self.axis * rear, self.middle + self.axis * front);
        (rear.min(front) - side, rear.max(front) + side)
    }

    /// Middle, medial end and lateral end, taken hold of so far in front of the arc.
    pub(super) fn handles(&self, ahead: f64) -> Vec<Handle> {
        let at = |across| self.at(DVec2::new(ahead, across));
        vec![
            Handle { id: "centre", label: "Move", kind: HandleKind::Point, at: at(0.0) },
            Handle { id: "end", label: "Reach and direction", kind: HandleKind::Point, at: at(self.half_span) },
            Handle { id: "bow", label: "Bow", kind: HandleKind::Along(self.axis), at: at(-self.half_span) },
        ]
    }

    /// What dragging one of [`Band::handles`] sets.
    pub(super) fn drag(&self, specs: &[ParamSpec], out: &mut Params, handle: &str, ahead: f64, to: DVec2) {
        let from_middle = to - self.middle;
        match handle {
            "centre" => {
                let middle = to - self.axis * ahead;
                set(specs, out, "x_mm", middle.x);
                set(specs, out, "y_mm", middle.y);
            }
            "end" => {
                // The end lies half the span to the medial side and this far forward, whatever the span.
                let forward = ahead - self.bow;
                let half_span = (from_middle.length_squared() - forward * forward).max(0.0).sqrt();
                set(specs, out, self.span_id, 2.0 * half_span);
                if half_span > f64::EPSILON {
                    // Turned back by where the end lies in the band's own frame, whose axis is +x.
                    let axis = from_middle.rotate(DVec2::new(forward, -half_span));
                    set(specs, out, "angle_deg", angle_deg(axis));
                }
            }
            "bow" => set(specs, out, "bow_mm", ahead - from_middle.dot(self.axis)),
            _ => {}
        }
    }
}

/// Where a band is to lie: along an arc through marks.
#[derive(Clone, Copy, Debug)]
pub(super) struct BandPlace {
    /// The arc's middle.
    pub(super) top: DVec2,
    /// Unit vector to the toes.
    axis: DVec2,
    /// How far the arc lies behind its middle, per square of the way to a side, 1/mm.
    curve: f64,
    /// Half the way from its first mark to the last, mm.
    pub(super) half: f64,
}

impl BandPlace {
    /// Along the parabola through the first and the last of `marks`, medial to lateral, that lies nearest to those between
    /// them; `None` where they do not go across the foot.
    pub(super) fn through(marks: &[DVec2]) -> Option<BandPlace> {
        let (&[first, .., last], [_, between @ .., _]) = (marks, marks) else { return None };
        let (middle, half) = ((first + last) / 2.0, first.distance(last) / 2.0);
        let axis = -(first - last).perp().try_normalize()?;
        // Least squares in one unknown: how far the arc's middle lies in front of the chord.
        let (weighted, weights) = between.iter().fold((0.0, 0.0), |(weighted, weights), &at| {
            let across = (at - middle).dot(axis.perp()) / half;
            let share = 1.0 - across * across;
            (weighted + (at - middle).dot(axis) * share, weights + share * share)
        });
        let ahead = if weights > f64::EPSILON { weighted / weights } else { 0.0 };
        (axis.x > 0.0).then_some(BandPlace { top: middle + axis * ahead, axis, curve: ahead / (half * half), half })
    }

    /// Sets a band that reaches `half_span` to each side.
    pub(super) fn set(&self, specs: &[ParamSpec], params: &mut Params, span_id: &str, half_span: f64) {
        set(specs, params, "x_mm", self.top.x);
        set(specs, params, "y_mm", self.top.y);
        set(specs, params, "angle_deg", angle_deg(self.axis));
        set(specs, params, "bow_mm", self.curve * half_span * half_span);
        set(specs, params, span_id, 2.0 * half_span);
    }
}

/// A recess with a flat floor: an oval of full depth with a blend round it that falls as a quintic in the share of the way
/// from inner to outer oval.
///
/// Round, with radius r and blend b, it holds `π h (r² + r b + 2 b² / 7)`.
#[derive(Clone, Copy, Debug)]
pub(super) struct Well {
    pub(super) oval: Oval,
    pub(super) blend: f64,
}

impl Well {
    pub(super) fn read(specs: &[ParamSpec], item: &ElementItem) -> Well {
        Well { oval: Oval::read(specs, item), blend: read(specs, &item.params, "blend_mm") }
    }

    /// The share of its full depth at `p`.
    pub(super) fn share(&self, p: DVec2) -> f64 {
        1.0 - step(self.oval.outward(p, 0.0, self.blend))
    }

    pub(super) fn bounds(&self) -> (DVec2, DVec2) {
        self.oval.bounds(self.blend)
    }

    /// Those of the oval, and the blend.
    pub(super) fn handles(&self) -> Vec<Handle> {
        let across = self.oval.axis.perp();
        let mut all = self.oval.handles();
        all.push(Handle {
            id: "blend",
            label: "Blend",
            kind: HandleKind::Along(-across),
            at: self.oval.centre - across * (self.oval.half.y + self.blend),
        });
        all
    }

    /// What dragging one of [`Well::handles`] sets.
    pub(super) fn drag(&self, specs: &[ParamSpec], out: &mut Params, handle: &str, to: DVec2) {
        match handle {
            "blend" => set(specs, out, "blend_mm", -self.oval.local(to).y - self.oval.half.y),
            _ => self.oval.drag(specs, out, handle, to),
        }
    }
}

/// A drawn curve is followed to within this, mm.
const CURVE_SAG_MM: f64 = 0.02;

/// The curve drawn for an item, counter-clockwise; `None` while nothing, or nothing that encloses an area, is drawn.
pub(super) fn drawn(item: &ElementItem) -> Option<Rim> {
    const LEAST_AREA_MM2: f64 = 1.0;
    let points: Vec<DVec2> = item.curve.iter().map(|&point| point.into()).collect();
    if points.iter().any(|p| !p.is_finite() || p.abs().max_element() > 1000.0) {
        return None;
    }
    let mut corners = ClosedSpline::through(&points).ok()?.flatten(CURVE_SAG_MM).0;
    if mesh::outline::signed_area_mm2(&corners) < 0.0 {
        corners.reverse();
    }
    Rim::through(corners).filter(|rim| rim.area_mm2() > LEAST_AREA_MM2)
}

/// A box round what [`about_curve`] makes.
pub(super) fn curve_bounds(curve: &Rim, reach: f64, step_mm: f64) -> (DVec2, DVec2) {
    let (lo, hi) = curve.bounds();
    // The spline reaches three samples beyond what it carries.
    let beyond = reach + 4.0 * step_mm;
    ((lo - beyond).floor(), (hi + beyond).ceil())
}

/// The shape whose height goes by the distance outwards from a drawn curve, negative inside; the height must be zero from
/// `reach` on and the same everywhere further inside than `reach`. It is sampled every `step_mm` and carried by a smooth
/// spline, so that corners and hollows of the curve make no crease.
pub(super) fn about_curve(curve: &Rim, reach: f64, step_mm: f64, height: impl Fn(f64) -> f64) -> Shape {
    let (lo, hi) = curve_bounds(curve, reach, step_mm);
    let grid = Grid::over(lo, hi, step_mm);
    let near = curve.near_nodes(&grid, reach, |_| true);
    let mut inside = false;
    let values: Vec<f64> = near
        .iter()
        .map(|near| {
            // Far from the curve a sample is where the one before it was: rows begin outside.
            inside = near.map_or(inside, |near| near.inside_mm > 0.0);
            height(near.map_or(if inside { -reach } else { reach }, |near| -near.inside_mm))
        })
        .collect();
    let spline = SplineGrid::new(&grid, &values);
    Box::new(move |p| if p.cmpge(lo).all() && p.cmple(hi).all() { spline.at(p) } else { 0.0 })
}

/// What a shape encloses with the surface below, mm³, by sums over squares of `step_mm`.
#[cfg(test)]
pub(super) fn volume_mm3(shape: &Shape, (lo, hi): (DVec2, DVec2), step_mm: f64) -> f64 {
    let cells = ((hi - lo) / step_mm).ceil();
    let row = |j: i32| (0..cells.x as i32).map(move |i| DVec2::new(f64::from(i) + 0.5, f64::from(j) + 0.5));
    let points = (0..cells.y as i32).flat_map(row);
    points.map(|cell| shape(lo + cell * step_mm)).sum::<f64>() * step_mm * step_mm
}
