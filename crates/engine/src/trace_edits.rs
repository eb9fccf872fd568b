//! The shoe's own insole, out of a drawing or a picture, laid on the foot.

use crate::workshop::{Drawn, InHouse, Workshop};
use crate::{Engine, EngineError};
use base::Side;
use case::Edit;

impl Engine {
    /// The edit that lays the shoe's own insole, the largest closed curve of an outline drawing, on a foot.
    ///
    /// # Errors
    /// The drawing cannot be read or has no such curve, or there is no foot.
    pub fn trace_drawing_edit(&mut self, side: Side, name: &str, bytes: &[u8]) -> Result<Edit, EngineError> {
        self.trace_edit(&InHouse, side, name, &Drawn::Drawing(bytes.to_vec()))
    }

    /// The edit that lays the shoe's own insole, traced in `workshop`, on a foot.
    ///
    /// # Errors
    /// The drawing cannot be read or has no closed curve, nothing stands out from the picture's ground, or there is no
    /// foot.
    pub fn trace_edit(
        &mut self,
        workshop: &dyn Workshop,
        side: Side,
        name: &str,
        drawn: &Drawn,
    ) -> Result<Edit, EngineError> {
        let onto = self.fitted_outline(side)?;
        let shoe = workshop
            .trace(name, drawn, onto.knots())
            .map_err(|reason| EngineError::Tracing { name: name.to_owned(), reason })?;
        Ok(Edit::SetShoeInsole { side, shoe: Some(shoe) })
    }
}
