//! Zip archives (PKWARE, "APPNOTE.TXT", 6.3.10): 3MF files are such, and so is the file that keeps a case.
//!
//! Guaranteed: a part that was read to its end is whole, by its size and its sum of check. Parts are stored or deflated;
//! any other packing and passwords are refused.
//!
//! The crate `zip` checks this module in its tests. It does not work here because it would cost the page far more than
//! `rawzip`, which leaves packing and sums of check to its user.

use flate2::Compression;
use flate2::bufread::DeflateDecoder;
use flate2::write::DeflateEncoder;
use rawzip::{
    CompressionMethod, Crc32Option, DataDescriptorOutput, ZipArchive, ZipArchiveEntryWayfinder, ZipArchiveWriter,
    ZipSliceArchive, ZipVerification,
};
use std::io::{self, Read, Write};
use thiserror::Error;

/// Why an archive or a part of it cannot be read.
#[derive(Debug, Error)]
pub enum ArchiveFault {
    /// Not an archive, or a damaged one.
    #[error(transparent)]
    Damaged(#[from] rawzip::Error),
    /// There is no part of this name.
    #[error("not in the archive")]
    Missing,
    /// Packed otherwise than stored or deflated.
    #[error("packed by method {0}")]
    Packing(u16),
    /// Locked by a password.
    #[error("locked by a password")]
    Locked,
}

/// An archive in memory.
pub struct Archive<'a> {
    archive: ZipSliceArchive<&'a [u8]>,
    parts: Vec<Entry>,
}

struct Entry {
    name: String,
    place: ZipArchiveEntryWayfinder,
    packing: CompressionMethod,
    is_locked: bool,
}

impl<'a> Archive<'a> {
    /// Reads the list of parts. Those whose name is not UTF-8 are left out: nothing is asked for by such a name.
    ///
    /// # Errors
    /// [`ArchiveFault::Damaged`].
    pub fn open(bytes: &'a [u8]) -> Result<Self, ArchiveFault> {
        let archive = ZipArchive::from_slice(bytes)?;
        let mut parts = Vec::new();
        let mut entries = archive.entries();
        while let Some(entry) = entries.next_entry()? {
            if let Ok(name) = str::from_utf8(entry.file_path().as_bytes()) {
                parts.push(Entry {
                    name: name.to_owned(),
                    place: entry.wayfinder(),
                    packing: entry.compression_method(),
                    is_locked: entry.flags().is_encrypted(),
                });
            }
        }
        Ok(Self { archive, parts })
    }

    /// Names of the parts, in the order of the list.
    pub fn names(&self) -> impl Iterator<Item = &str> {
        self.parts.iter().map(|part| part.name.as_str())
    }

    /// The part of this name; of several the last, which replaces those before it.
    ///
    /// # Errors
    /// [`ArchiveFault`].
    pub fn part(&self, name: &str) -> Result<Part<'_>, ArchiveFault> {
        let entry = self.parts.iter().rfind(|part| part.name == name).ok_or(ArchiveFault::Missing)?;
        if entry.is_locked {
            return Err(ArchiveFault::Locked);
        }
        let found = self.archive.get_entry(entry.place)?;
        let packed = found.data();
        let source = match entry.packing {
            CompressionMethod::STORE => Source::Stored(packed),
            CompressionMethod::DEFLATE => Source::Deflated(DeflateDecoder::new(packed)),
            other => return Err(ArchiveFault::Packing(other.as_u16())),
        };
        Ok(Part {
            source,
            packed_bytes: packed.len() as u64,
            stated: found.claim_verifier(),
            read_bytes: 0,
            sum: Sum::new(),
        })
    }
}

/// A part of an archive, unpacked while it is read. The end of a part that is not whole is an error.
pub struct Part<'a> {
    source: Source<'a>,
    packed_bytes: u64,
    stated: ZipVerification,
    read_bytes: u64,
    sum: Sum,
}

enum Source<'a> {
    Stored(&'a [u8]),
    Deflated(DeflateDecoder<&'a [u8]>),
}

impl Part<'_> {
    /// Bytes it takes in the archive.
    #[must_use]
    pub fn packed_bytes(&self) -> u64 {
        self.packed_bytes
    }
}

impl Read for Part<'_> {
    fn read(&mut self, buffer: &mut [u8]) -> io::Result<usize> {
        let count = match &mut self.source {
            Source::Stored(bytes) => bytes.read(buffer),
            Source::Deflated(packed) => packed.read(buffer),
        }?;
        self.sum.add(&buffer[..count]);
        self.read_bytes += count as u64;
        if count == 0 && !buffer.is_empty() {
            let found = ZipVerification { crc: self.sum.value(), uncompressed_size: self.read_bytes };
            self.stated.valid(found).map_err(io::Error::other)?;
        }
        Ok(count)
    }
}

/// An archive of deflated parts, each a name and its bytes, in this order. The same parts give the same bytes: it holds
/// no times.
///
/// # Errors
/// A name is longer than 65,535 bytes.
pub fn archive_of<'p>(parts: impl IntoIterator<Item = (String, &'p [u8])>) -> io::Result<Vec<u8>> {
    let mut archive = ZipArchiveWriter::new(Vec::new());
    for (name, bytes) in parts {
        let part = archive.new_file(name.as_str()).compression_method(CompressionMethod::DEFLATE);
        let (entry, _) = part.crc32(Crc32Option::Skip).start().map_err(io::Error::other)?;
        let mut packer = DeflateEncoder::new(entry, Compression::default());
        packer.write_all(bytes)?;
        let mut sum = Sum::new();
        sum.add(bytes);
        let said = DataDescriptorOutput::new(sum.value(), bytes.len() as u64);
        packer.finish()?.finish(said).map_err(io::Error::other)?;
    }
    archive.finish().map_err(io::Error::other)
}

/// The sum of check of zip archives: CRC-32 (ISO 3309), eight bytes at a step (Kounavis and Berry 2008).
struct Sum {
    /// Made when needed: as constants they would be 8 kB that cannot be packed.
    tables: Box<[[u32; 256]; 8]>,
    rest: u32,
}

impl Sum {
    fn new() -> Self {
        let mut tables = Box::new([[0; 256]; 8]);
        for (byte, entry) in (0..).zip(&mut tables[0]) {
            *entry = (0..8).fold(byte, |rest: u32, _| if rest & 1 == 1 { rest >> 1 ^ 0xEDB8_8320 } else { rest >> 1 });
        }
        for table in 1..8 {
            for byte in 0..256 {
                let before = tables[table - 1][byte];
                tables[table][byte] = before >> 8 ^ tables[0][(before & 0xFF) as usize];
            }
        }
        Self { tables, rest: !0 }
    }

    fn add(&mut self, bytes: &[u8]) {
        let t = &*self.tables;
        let (steps, last) = bytes.as_chunks::<8>();
        for &[a, b, c, d, e, f, g, h] in steps {
            let [a, b, c, d] = (self.rest ^ u32::from_le_bytes([a, b, c, d])).to_le_bytes();
            let near = t[7][usize::from(a)] ^ t[6][usize::from(b)] ^ t[5][usize::from(c)] ^ t[4][usize::from(d)];
            let far = t[3][usize::from(e)] ^ t[2][usize::from(f)] ^ t[1][usize::from(g)] ^ t[0][usize::from(h)];
            self.rest = near ^ far;
        }
        for &byte in last {
            self.rest = self.rest >> 8 ^ t[0][usize::from(self.rest.to_le_bytes()[0] ^ byte)];
        }
    }

    fn value(&self) -> u32 {
        !self.rest
    }
}

#[cfg(test)]
mod tests;
