//! Words burned into a picture, as machines do: small letters of pixels.

/// Columns and rows of a letter.
const COLUMNS: usize = 5;
const ROWS: usize = 7;

/// Draws lines of words with their upper left corner at (column, row), each pixel of a letter `scale` pixels wide,
/// by calling `put` with every column and row to be lit. Letters that are not known are left out.
pub fn write(lines: &[String], column: usize, row: usize, scale: usize, put: &mut dyn FnMut(usize, usize)) {
    for (n, line) in lines.iter().enumerate() {
        for (k, letter) in line.chars().enumerate() {
            let (left, top) = (column + k * (COLUMNS + 1) * scale, row + n * (ROWS + 3) * scale);
            let Some((_, bits)) = LETTERS.iter().find(|(c, _)| *c == letter.to_ascii_uppercase()) else {
                continue;
            };
            for (y, bits) in bits.iter().enumerate() {
                for x in (0..COLUMNS).filter(|x| bits >> (COLUMNS - 1 - x) & 1 == 1) {
                    for i in 0..scale * scale {
                        put(left + x * scale + i % scale, top + y * scale + i / scale);
                    }
                }
            }
        }
    }
}

/// The letters, a row of bits for each row of pixels.
#[rustfmt::skip]
const LETTERS: [(char, [u8; ROWS]); 39] = [
    ('A', [0b01110, 0b10001, 0b10001, 0b11111, 0b10001, 0b10001, 0b10001]),
    ('B', [0b11110, 0b10001, 0b10001, 0b11110, 0b10001, 0b10001, 0b11110]),
    ('C', [0b01110, 0b10001, 0b10000, 0b10000, 0b10000, 0b10001, 0b01110]),
    ('D', [0b11110, 0b10001, 0b10001, 0b10001, 0b10001, 0b10001, 0b11110]),
    ('E', [0b11111, 0b10000, 0b10000, 0b11110, 0b10000, 0b10000, 0b11111]),
    ('F', [0b11111, 0b10000, 0b10000, 0b11110, 0b10000, 0b10000, 0b10000]),
    ('G', [0b01110, 0b10001, 0b10000, 0b10111, 0b10001, 0b10001, 0b01111]),
    ('H', [0b10001, 0b10001, 0b10001, 0b11111, 0b10001, 0b10001, 0b10001]),
    ('I', [0b01110, 0b00100, 0b00100, 0b00100, 0b00100, 0b00100, 0b01110]),
    ('J', [0b00111, 0b00010, 0b00010, 0b00010, 0b00010, 0b10010, 0b01100]),
    ('K', [0b10001, 0b10010, 0b10100, 0b11000, 0b10100, 0b10010, 0b10001]),
    ('L', [0b10000, 0b10000, 0b10000, 0b10000, 0b10000, 0b10000, 0b11111]),
    ('M', [0b10001, 0b11011, 0b10101, 0b10101, 0b10001, 0b10001, 0b10001]),
    ('N', [0b10001, 0b11001, 0b10101, 0b10011, 0b10001, 0b10001, 0b10001]),
    ('O', [0b01110, 0b10001, 0b10001, 0b10001, 0b10001, 0b10001, 0b01110]),
    ('P', [0b11110, 0b10001, 0b10001, 0b11110, 0b10000, 0b10000, 0b10000]),
    ('Q', [0b01110, 0b10001, 0b10001, 0b10001, 0b10101, 0b10010, 0b01101]),
    ('R', [0b11110, 0b10001, 0b10001, 0b11110, 0b10100, 0b10010, 0b10001]),
    ('S', [0b01111, 0b10000, 0b10000, 0b01110, 0b00001, 0b00001, 0b11110]),
    ('T', [0b11111, 0b00100, 0b00100, 0b00100, 0b00100, 0b00100, 0b00100]),
    ('U', [0b10001, 0b10001, 0b10001, 0b10001, 0b10001, 0b10001, 0b01110]),
    ('V', [0b10001, 0b10001, 0b10001, 0b10001, 0b10001, 0b01010, 0b00100]),
    ('W', [0b10001, 0b10001, 0b10001, 0b10101, 0b10101, 0b11011, 0b10001]),
    ('X', [0b10001, 0b10001, 0b01010, 0b00100, 0b01010, 0b10001, 0b10001]),
    ('Y', [0b10001, 0b10001, 0b01010, 0b00100, 0b00100, 0b00100, 0b00100]),
    ('Z', [0b11111, 0b00001, 0b00010, 0b00100, 0b01000, 0b10000, 0b11111]),
    ('0', [0b01110, 0b10001, 0b10011, 0b10101, 0b11001, 0b10001, 0b01110]),
    ('1', [0b00100, 0b01100, 0b00100, 0b00100, 0b00100, 0b00100, 0b01110]),
    ('2', [0b01110, 0b10001, 0b00001, 0b00110, 0b01000, 0b10000, 0b11111]),
    ('3', [0b11110, 0b00001, 0b00001, 0b01110, 0b00001, 0b00001, 0b11110]),
    ('4', [0b00010, 0b00110, 0b01010, 0b10010, 0b11111, 0b00010, 0b00010]),
    ('5', [0b11111, 0b10000, 0b11110, 0b00001, 0b00001, 0b10001, 0b01110]),
    ('6', [0b00110, 0b01000, 0b10000, 0b11110, 0b10001, 0b10001, 0b01110]),
    ('7', [0b11111, 0b00001, 0b00010, 0b00100, 0b01000, 0b01000, 0b01000]),
    ('8', [0b01110, 0b10001, 0b10001, 0b01110, 0b10001, 0b10001, 0b01110]),
    ('9', [0b01110, 0b10001, 0b10001, 0b01111, 0b00001, 0b00010, 0b01100]),
    ('.', [0b00000, 0b00000, 0b00000, 0b00000, 0b00000, 0b01100, 0b01100]),
    (':', [0b00000, 0b01100, 0b01100, 0b00000, 0b01100, 0b01100, 0b00000]),
    ('-', [0b00000, 0b00000, 0b00000, 0b11111, 0b00000, 0b00000, 0b00000]),
];

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_letter_is_drawn_at_its_place_and_size() {
        let mut lit = Vec::new();
        write(&["i".to_owned()], 10, 20, 2, &mut |x, y| lit.push((x, y)));
        // An I has 3 + 5 + 3 pixels, each of four.
        assert_eq!(lit.len(), 44);
        assert!(lit.iter().all(|&(x, y)| (12..18).contains(&x) && (20..34).contains(&y)));
    }

    #[test]
    fn unknown_letters_leave_a_gap() {
        let mut count = 0;
        write(&["\u{e9} ".to_owned()], 0, 0, 1, &mut |_, _| count += 1);
        assert_eq!(count, 0);
    }
}
