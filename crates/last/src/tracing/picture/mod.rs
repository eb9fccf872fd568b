//! The contour of a shoe's insole in a flat scan or photo.
//!
//! Guaranteed: a closed contour round one thing that stands out from the ground, its holes (prints, stitching) filled,
//! placed between pixels. Not guaranteed: that the thing is the insole, nor that the picture is true to scale: a photo has
//! to be taken square on, from far, with the insole flat; perspective and the lens are not undone.

mod find;
mod ground;
mod plane;
mod region;
mod scale;

pub use find::trace;
pub use scale::{PictureScale, scale_from_clicks};

use super::{PictureFault, TracingError};

/// Most pixels of a picture.
const MOST_PIXELS: usize = 1 << 27;

/// A picture in greys, row by row from the top.
#[derive(Clone, Debug, PartialEq)]
pub struct Picture {
    /// Pixels in a row.
    pub width: usize,
    /// Rows.
    pub height: usize,
    /// `width * height` levels, 0 black to 255 white.
    pub luma: Vec<u8>,
}

impl Picture {
    /// Decodes a PNG; colours become greys by their luma (ITU-R BT.601).
    ///
    /// The page decodes pictures itself and must not call this: the crate `png` brings a second inflater.
    ///
    /// # Errors
    /// What is no PNG, is damaged or too large.
    pub fn from_png(bytes: &[u8]) -> Result<Picture, TracingError> {
        let limits = png::Limits { bytes: 4 * MOST_PIXELS };
        let mut decoder = png::Decoder::new_with_limits(std::io::Cursor::new(bytes), limits);
        decoder.set_transformations(png::Transformations::normalize_to_color8());
        let broken = |error: png::DecodingError| PictureFault::Damaged { what: error.to_string() };
        let mut reader = decoder.read_info().map_err(broken)?;
        let size = reader.output_buffer_size().filter(|size| *size <= 4 * MOST_PIXELS);
        let size = size.ok_or(PictureFault::TooLarge { most: MOST_PIXELS })?;
        let mut samples = vec![0; size];
        let info = reader.next_frame(&mut samples).map_err(broken)?;
        let grey = |pixel: &[u8]| match *pixel {
            [r, g, b, ..] => ((u32::from(r) * 299 + u32::from(g) * 587 + u32::from(b) * 114 + 500) / 1000) as u8,
            [grey, ..] => grey,
            [] => 0,
        };
        let luma = samples[..info.buffer_size()].chunks_exact(info.color_type.samples()).map(grey).collect();
        Ok(Picture { width: info.width as usize, height: info.height as usize, luma })
    }

    fn check(&self) -> Result<(), PictureFault> {
        let expected = self.width.checked_mul(self.height).filter(|count| *count <= MOST_PIXELS);
        match expected {
            None => Err(PictureFault::TooLarge { most: MOST_PIXELS }),
            Some(expected) if expected != self.luma.len() => {
                Err(PictureFault::NotWhole { expected, found: self.luma.len() })
            }
            Some(_) if self.width.min(self.height) < LEAST_SIDE => Err(PictureFault::TooSmall { least: LEAST_SIDE }),
            Some(_) => Ok(()),
        }
    }
}

/// Least pixels of a side: below, an insole has no shape.
const LEAST_SIDE: usize = 40;
