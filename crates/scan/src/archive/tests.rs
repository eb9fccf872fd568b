use super::*;
use proptest::prelude::*;
use std::io::Cursor;
use zip::write::SimpleFileOptions;

fn unpacked(archive: &Archive<'_>, name: &str) -> Vec<u8> {
    let mut out = Vec::new();
    archive.part(name).unwrap().read_to_end(&mut out).unwrap();
    out
}

/// By the crate `zip`.
fn zipped(method: zip::CompressionMethod, name: &str, bytes: &[u8]) -> Vec<u8> {
    let mut archive = zip::ZipWriter::new(Cursor::new(Vec::new()));
    archive.start_file(name, SimpleFileOptions::default().compression_method(method)).unwrap();
    archive.write_all(bytes).unwrap();
    archive.finish().unwrap().into_inner()
}

#[test]
fn the_sum_of_check_is_that_of_the_standard() {
    // The check value of CRC-32/ISO-HDLC in the Catalogue of parametrised CRC algorithms.
    let mut sum = Sum::new();
    sum.add(b"123456789");
    assert_eq!(sum.value(), 0xCBF4_3926);
    let mut in_pieces = Sum::new();
    in_pieces.add(b"1");
    in_pieces.add(b"23456789");
    assert_eq!(in_pieces.value(), sum.value());
}

proptest! {
    #[test]
    fn another_library_reads_what_is_written(parts in prop::collection::btree_map("[a-z]{1,9}/[a-zé ]{1,9}", prop::collection::vec(0..4_u8, 0..3000), 0..5)) {
        let bytes = archive_of(parts.iter().map(|(name, bytes)| (name.clone(), bytes.as_slice()))).unwrap();
        let mut read = zip::ZipArchive::new(Cursor::new(&bytes)).unwrap();
        let own = Archive::open(&bytes).unwrap();
        prop_assert_eq!(read.len(), parts.len());
        prop_assert!(own.names().eq(parts.keys()));
        for (name, expected) in &parts {
            let mut found = Vec::new();
            // It checks sizes and sums itself.
            read.by_name(name).unwrap().read_to_end(&mut found).unwrap();
            prop_assert_eq!(&found, expected);
            prop_assert_eq!(&unpacked(&own, name), expected);
        }
    }

    #[test]
    fn what_another_library_writes_is_read(bytes in prop::collection::vec(0..4_u8, 0..3000), store: bool) {
        let method = if store { zip::CompressionMethod::Stored } else { zip::CompressionMethod::Deflated };
        let file = zipped(method, "a/b.txt", &bytes);
        prop_assert_eq!(unpacked(&Archive::open(&file).unwrap(), "a/b.txt"), bytes);
    }

    #[test]
    fn damage_never_goes_unseen(at in any::<prop::sample::Index>(), flip in 1..=255_u8) {
        let text = b"The same words, the same words, and some others.".repeat(4);
        let mut file = zipped(zip::CompressionMethod::Deflated, "a", &text);
        let at = at.index(file.len());
        file[at] ^= flip;
        let mut out = Vec::new();
        let read = Archive::open(&file).ok().and_then(|archive| archive.part("a").ok()?.read_to_end(&mut out).ok());
        prop_assert!(read.is_none() || out == text);
    }
}

#[test]
fn a_part_that_is_missing_locked_or_packed_otherwise_is_refused() {
    let mut file = zipped(zip::CompressionMethod::Stored, "a", b"text");
    assert!(matches!(Archive::open(&file).unwrap().part("b"), Err(ArchiveFault::Missing)));
    // Flags and method in the central header (APPNOTE 4.3.12).
    let header = file.windows(4).position(|mark| mark == b"PK\x01\x02").unwrap();
    file[header + 10] = 12;
    assert!(matches!(Archive::open(&file).unwrap().part("a"), Err(ArchiveFault::Packing(12))));
    file[header + 8] |= 1;
    assert!(matches!(Archive::open(&file).unwrap().part("a"), Err(ArchiveFault::Locked)));
    assert!(matches!(Archive::open(b"PK"), Err(ArchiveFault::Damaged(_))));
}
