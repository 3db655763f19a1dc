//! A picture as a PNG file.

use std::fmt;
use std::io::Write;

use crate::picture::Picture;

/// Why a picture can't be written.
#[derive(Debug)]
pub struct PictureFault {
    /// What the encoder says.
    pub cause: png::EncodingError,
}

impl fmt::Display for PictureFault {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "the picture can't be written: {}", self.cause)
    }
}

impl std::error::Error for PictureFault {}

impl Picture {
    /// Writes it as PNG.
    ///
    /// # Errors
    /// What the writer says.
    pub fn write_png(&self, to: &mut dyn Write) -> Result<(), PictureFault> {
        let wrap = |cause| PictureFault { cause };
        let mut encoder = png::Encoder::new(to, self.width as u32, self.height as u32);
        encoder.set_color(png::ColorType::Rgb);
        encoder.set_depth(png::BitDepth::Eight);
        let mut writer = encoder.write_header().map_err(wrap)?;
        writer.write_image_data(&self.rgb).map_err(wrap)?;
        writer.finish().map_err(wrap)
    }
    /// Writes it as PNG in shades of grey, by its green alone: for pictures whose colours are greys.
    ///
    /// # Errors
    /// What the writer says.
    pub fn write_grey_png(&self, to: &mut dyn Write) -> Result<(), PictureFault> {
        let wrap = |cause| PictureFault { cause };
        let mut encoder = png::Encoder::new(to, self.width as u32, self.height as u32);
        encoder.set_color(png::ColorType::Grayscale);
        encoder.set_depth(png::BitDepth::Eight);
        encoder.set_compression(png::Compression::High);
        let grey: Vec<u8> = self.rgb.chunks(3).map(|p| p[1]).collect();
        let mut writer = encoder.write_header().map_err(wrap)?;
        writer.write_image_data(&grey).map_err(wrap)?;
        writer.finish().map_err(wrap)
    }
}
