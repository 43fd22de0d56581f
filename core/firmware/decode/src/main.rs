//! The frames of an image as text, a line each: `decode IMAGE < FRAMES`.
//!
//! The texts of the frames lie in the image, the frames carry only their numbers and values.

use defmt_decoder::{DecodeError, Table};
use std::{
    error::Error,
    io::{Read, Write, stdin, stdout},
};

fn main() -> Result<(), Box<dyn Error>> {
    let image = std::env::args().nth(1).ok_or("wanted: decode IMAGE < FRAMES")?;
    let table = Table::parse(&std::fs::read(image)?)?.ok_or("the image has no table of frames")?;
    let mut bytes = Vec::new();
    stdin().read_to_end(&mut bytes)?;
    let mut decoder = table.new_stream_decoder();
    decoder.received(&bytes);
    let mut out = stdout().lock();
    loop {
        match decoder.decode() {
            Ok(frame) => writeln!(out, "{}", frame.display_message())?,
            Err(DecodeError::UnexpectedEof) => return Ok(()),
            Err(DecodeError::Malformed) => return Err("a frame is malformed".into()),
        }
    }
}
