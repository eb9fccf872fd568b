//! A plain alphabet of single strokes for engraving: straight lines only, on a grid 4 wide and 6 high.
//!
//! A letter is written as the way of the tool: points of two digits, x then y from the lower left corner, one after the
//! other; a space lifts the tool; a point alone is a dot. Zero has a bar, so that it is no O. What the alphabet does not
//! have is shown as a small box, so that nothing goes missing unseen.

/// Width of a letter in steps of the grid.
pub(super) const WIDTH: f64 = 4.0;
/// Height of a letter in steps of the grid.
pub(super) const HEIGHT: f64 = 6.0;
/// From one letter's left side to the next one's, in steps of the grid: all letters are equally wide.
pub(super) const ADVANCE: f64 = 6.0;

/// What is not in the alphabet.
const BOX: &str = "1115353111";

/// The tool's way for a letter.
fn way(letter: char) -> &'static str {
    match letter.to_ascii_uppercase() {
        ' ' => "",
        'A' => "0004264440 0242",
        'B' => "00063645443303 3342413000",
        'C' => "4536160501103041",
        'D' => "00062644422000",
        'E' => "46060040 0333",
        'F' => "460600 0333",
        'G' => "45361605011030414323",
        'H' => "0006 4046 0343",
        'I' => "2026 1030 1636",
        'J' => "4641301001",
        'K' => "0006 4602 1340",
        'L' => "060040",
        'M' => "0006234640",
        'N' => "00064046",
        'O' => "103041453616050110",
        'P' => "00063645443303",
        'Q' => "103041453616050110 2240",
        'R' => "00063645443303 2340",
        'S' => "453616050413334241301001",
        'T' => "0646 2620",
        'U' => "060110304146",
        'V' => "062046",
        'W' => "0610233046",
        'X' => "0046 0640",
        'Y' => "062346 2320",
        'Z' => "06460040",
        '0' => "103041453616050110 1234",
        '1' => "152620 1030",
        '2' => "05163645440040",
        '3' => "05163645443323 334241301001",
        '4' => "30360242",
        '5' => "460603334241301001",
        '6' => "4536160501103041423303",
        '7' => "064610",
        '8' => "13040516364544331302011030414233",
        '9' => "0110304145361605041343",
        '-' => "1333",
        '.' => "20",
        '/' => "0046",
        '+' => "0343 2125",
        ':' => "21 24",
        _ => BOX,
    }
}

/// The strokes of a letter: the points of each, in steps of the grid from its lower left corner.
pub(super) fn strokes(letter: char) -> impl Iterator<Item = Vec<[f64; 2]>> {
    way(letter).split_ascii_whitespace().map(|stroke| {
        let digits: Vec<f64> = stroke.bytes().map(|digit| f64::from(digit - b'0')).collect();
        digits.chunks_exact(2).map(|point| [point[0], point[1]]).collect()
    })
}

#[cfg(test)]
#[allow(clippy::float_cmp, reason = "steps of a grid are whole numbers")]
mod tests {
    use super::*;

    const ALL: &str = "ABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789-./+:";

    #[test]
    fn every_letter_has_its_own_strokes_on_the_grid() {
        for (index, letter) in ALL.chars().enumerate() {
            assert_ne!(way(letter), BOX, "{letter} is missing");
            assert!(ALL.chars().take(index).all(|other| way(other) != way(letter)), "{letter} looks like another");
            let points: Vec<[f64; 2]> = strokes(letter).flatten().collect();
            assert!(!points.is_empty() && way(letter).split(' ').all(|stroke| stroke.len() % 2 == 0), "{letter}");
            assert!(points.iter().all(|&[x, y]| (0.0..=WIDTH).contains(&x) && (0.0..=HEIGHT).contains(&y)), "{letter}");
            assert!(strokes(letter).all(|stroke| stroke.windows(2).all(|pair| pair[0] != pair[1])), "{letter}");
            if letter.is_ascii_alphanumeric() {
                let high = |y: f64| points.iter().any(|point| (point[1] - y).abs() < f64::EPSILON);
                assert!(high(0.0) && high(HEIGHT), "{letter} does not fill its line");
            }
        }
    }

    #[test]
    fn small_letters_are_shown_as_capitals_and_unknown_ones_as_a_box() {
        assert_eq!(way('q'), way('Q'));
        assert_eq!(strokes(' ').count(), 0);
        for unknown in ['ß', 'É', '\n', '?', '\u{1F9B6}'] {
            assert_eq!(way(unknown), BOX);
        }
    }
}
