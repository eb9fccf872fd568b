//! Text in the letters of the standard fonts.

/// The text in WinAnsi encoding (ISO 32000-1, annex D), with `?` for a letter it lacks, and whether there was one.
pub(super) fn win_ansi(text: &str) -> (Vec<u8>, bool) {
    let mut missing = false;
    let bytes = text
        .chars()
        .map(|c| match c {
            c if c.is_control() => b' ',
            ' '..='~' | '\u{a0}'..='ÿ' => u8::try_from(u32::from(c)).unwrap_or(b'?'),
            '€' => 0x80,
            '…' => 0x85,
            'Š' => 0x8a,
            'Œ' => 0x8c,
            'Ž' => 0x8e,
            '‘' => 0x91,
            '’' => 0x92,
            '“' => 0x93,
            '”' => 0x94,
            '•' => 0x95,
            '–' => 0x96,
            '—' => 0x97,
            '™' => 0x99,
            'š' => 0x9a,
            'œ' => 0x9c,
            'ž' => 0x9e,
            'Ÿ' => 0x9f,
            '\u{2212}' => b'-',
            _ => {
                missing = true;
                b'?'
            }
        })
        .collect();
    (bytes, missing)
}

#[cfg(test)]
mod tests {
    use super::win_ansi;

    #[test]
    fn latin_letters_are_kept_and_others_are_told() {
        assert_eq!(win_ansi("Größe 42½ – ž\n"), (b"Gr\xf6\xdfe 42\xbd \x96 \x9e ".to_vec(), false));
        assert_eq!(win_ansi("足a"), (b"?a".to_vec(), true));
    }
}
