use glam::{DVec2, DVec3};

/// A plane: the points p with normal · p = offset. Above is the side the normal points to.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Plane {
    normal: DVec3,
    offset_mm: f64,
}

impl Plane {
    /// The plane through `point` across `normal`, whose length does not matter; `None` if one of them is not finite or
    /// the normal has no length.
    #[must_use]
    pub fn through(point: DVec3, normal: DVec3) -> Option<Plane> {
        let normal = normal.try_normalize()?;
        let offset_mm = normal.dot(point);
        offset_mm.is_finite().then_some(Plane { normal, offset_mm })
    }

    /// The plane x = `x_mm`, above is +x.
    #[must_use]
    pub fn at_x(x_mm: f64) -> Plane {
        Plane { normal: DVec3::X, offset_mm: x_mm }
    }

    /// The plane y = `y_mm`, above is +y.
    #[must_use]
    pub fn at_y(y_mm: f64) -> Plane {
        Plane { normal: DVec3::Y, offset_mm: y_mm }
    }

    /// The plane z = `z_mm`, above is +z.
    #[must_use]
    pub fn at_z(z_mm: f64) -> Plane {
        Plane { normal: DVec3::Z, offset_mm: z_mm }
    }

    /// Unit normal.
    #[must_use]
    #[inline]
    pub fn normal(&self) -> DVec3 {
        self.normal
    }

    /// Distance of the plane from the origin along the normal, mm.
    #[must_use]
    pub fn offset_mm(&self) -> f64 {
        self.offset_mm
    }

    /// The same plane with above and below exchanged.
    #[must_use]
    pub fn flipped(&self) -> Plane {
        Plane { normal: -self.normal, offset_mm: -self.offset_mm }
    }

    /// How far `point` is above the plane, mm; negative below.
    #[must_use]
    #[inline]
    pub fn height_mm(&self, point: DVec3) -> f64 {
        self.normal.dot(point) - self.offset_mm
    }

    /// Two unit vectors u, v in the plane with u × v = normal. For the planes across x, y and z they are the next two
    /// axes in turn: y z, z x and x y.
    #[must_use]
    pub fn basis(&self) -> (DVec3, DVec3) {
        let size = self.normal.abs();
        let next = match () {
            () if size.z >= size.x && size.z >= size.y => DVec3::X,
            () if size.x >= size.y => DVec3::Y,
            () => DVec3::Z,
        };
        // At most 45° between `next` and the plane, so this has a length of 0.7 or more.
        let u = (next - self.normal * self.normal.dot(next)).normalize_or_zero();
        (u, self.normal.cross(u))
    }

    /// Coordinates of the point's foot on the plane in [`Plane::basis`], from the foot of the origin.
    #[must_use]
    pub fn to_2d(&self, point: DVec3) -> DVec2 {
        let (u, v) = self.basis();
        DVec2::new(u.dot(point), v.dot(point))
    }

    /// The point of the plane with these coordinates: [`Plane::to_2d`] back.
    #[must_use]
    pub fn to_3d(&self, point: DVec2) -> DVec3 {
        let (u, v) = self.basis();
        u * point.x + v * point.y + self.normal * self.offset_mm
    }
}
