use crate::layout::Layout;
use base::{ParamSpec, Params};
use glam::DVec2;

/// A number given for heel, arch and forefoot each, passing smoothly from one to the next: from the heel cup's end to the
/// arch apex, and over the run-out into the forefoot.
#[derive(Clone, Copy, Debug)]
pub(crate) struct ByArea {
    pub(crate) heel: f64,
    pub(crate) arch: f64,
    pub(crate) forefoot: f64,
}

impl ByArea {
    /// The three numbers in force.
    pub(crate) fn read(params: &Params, specs: [&ParamSpec; 3]) -> ByArea {
        let [heel, arch, forefoot] = specs.map(|spec| crate::params::in_range(params, spec));
        ByArea { heel, arch, forefoot }
    }

    /// The three numbers in force; what is not given is `general`.
    pub(crate) fn read_or(params: &Params, specs: [&ParamSpec; 3], general: f64) -> ByArea {
        let [heel, arch, forefoot] = specs.map(|spec| crate::params::given(params, spec).unwrap_or(general));
        ByArea { heel, arch, forefoot }
    }

    /// The number at `p`.
    pub(crate) fn at(&self, layout: &Layout, p: DVec2) -> f64 {
        let behind = self.heel + (self.arch - self.heel) * layout.midfoot(p.x);
        self.forefoot + (behind - self.forefoot) * layout.rear(p)
    }
}
