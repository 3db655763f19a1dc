//! A zip container: deflated entries whose dates are the format's first day, so that the same entries give the same bytes.
//!
//! The layout is the format's usual one without its 64-bit extension: a head and the data an entry, then a directory.

use std::io::{self, Write};

use flate2::Compression;
use flate2::write::DeflateEncoder;

/// The format's version that knows deflate (2.0).
const VERSION: u16 = 20;
/// Names are UTF-8.
const FLAGS: u16 = 1 << 11;
/// Deflated.
const METHOD: u16 = 8;
/// Midnight of 1 January 1980, as the format packs time and date.
const DATE: [u16; 2] = [0, 0x21];

/// An entry: its name with `/` between folders, and its bytes.
pub struct Entry<'a> {
    /// The name.
    pub name: &'a str,
    /// The bytes.
    pub bytes: &'a [u8],
}

/// Writes entries in their order.
///
/// # Errors
/// What the writer says; an entry too large for the format (4 GiB).
pub fn write(entries: &[Entry], to: &mut dyn Write) -> io::Result<()> {
    let mut directory = Vec::new();
    let mut at = 0u64;
    for entry in entries {
        let mut packer = DeflateEncoder::new(Vec::new(), Compression::default());
        packer.write_all(entry.bytes)?;
        let packed = packer.finish()?;
        let both = both_heads(entry, &packed)?;
        let mut head = 0x0403_4b50u32.to_le_bytes().to_vec();
        head.extend_from_slice(&both);
        head.extend_from_slice(entry.name.as_bytes());
        directory.extend_from_slice(&0x0201_4b50u32.to_le_bytes());
        directory.extend_from_slice(&VERSION.to_le_bytes());
        directory.extend_from_slice(&both);
        // No comment, first disk, no attributes.
        directory.extend_from_slice(&[0; 10]);
        directory.extend_from_slice(&small(at)?.to_le_bytes());
        directory.extend_from_slice(entry.name.as_bytes());
        to.write_all(&head)?;
        to.write_all(&packed)?;
        at += (head.len() + packed.len()) as u64;
    }
    to.write_all(&directory)?;
    let count = (entries.len() as u16).to_le_bytes();
    let mut end = 0x0605_4b50u32.to_le_bytes().to_vec();
    end.extend_from_slice(&[0; 4]);
    end.extend_from_slice(&count);
    end.extend_from_slice(&count);
    end.extend_from_slice(&small(directory.len() as u64)?.to_le_bytes());
    end.extend_from_slice(&small(at)?.to_le_bytes());
    end.extend_from_slice(&[0; 2]);
    to.write_all(&end)
}

/// What an entry's own head and its row in the directory share: version to length of the extra field.
fn both_heads(entry: &Entry, packed: &[u8]) -> io::Result<Vec<u8>> {
    let mut out = Vec::new();
    for word in [VERSION, FLAGS, METHOD, DATE[0], DATE[1]] {
        out.extend_from_slice(&word.to_le_bytes());
    }
    let sizes = [packed.len() as u64, entry.bytes.len() as u64];
    out.extend_from_slice(&crc32fast::hash(entry.bytes).to_le_bytes());
    for size in sizes {
        out.extend_from_slice(&small(size)?.to_le_bytes());
    }
    out.extend_from_slice(&(entry.name.len() as u16).to_le_bytes());
    out.extend_from_slice(&[0; 2]);
    Ok(out)
}

fn small(size: u64) -> io::Result<u32> {
    u32::try_from(size).map_err(|_| {
        let text = "more bytes than a zip container can hold";
        io::Error::new(io::ErrorKind::InvalidInput, text)
    })
}
