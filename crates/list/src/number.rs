//! The list's numbers: decimals kept as whole thousandths of a millimetre.
//!
//! A number of the list is an integer count of thousandths, and `count / 1000`
//! is the `f64` nearest to the decimal as written, because one division of two
//! exact values rounds once. So every point on the 0.01 or 0.001 mm grid comes
//! back bit for bit. Writing rounds `value * 100` (or `* 1000`) to the nearest
//! integer, halves away from zero; a result of zero has no sign.

/// No coordinate of a list lies farther from the origin than this, mm.
pub const FARTHEST: f64 = 1_000_000.0;

/// [`FARTHEST`] in thousandths.
const FARTHEST_MILLI: i64 = 1_000_000_000;

/// Digits after the point of a written coordinate.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Digits {
    /// Hundredths of a millimetre.
    #[default]
    Two,
    /// Thousandths of a millimetre.
    Three,
}

/// A decimal of the list in thousandths of a millimetre.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub(crate) struct Milli(i64);

impl Milli {
    /// `value` rounded to `digits`, halves away from zero; `None` when it is no
    /// number or farther out than [`FARTHEST`].
    pub fn round(value: f64, digits: Digits) -> Option<Milli> {
        let (scale, step) = match digits {
            Digits::Two => (100.0, 10),
            Digits::Three => (1000.0, 1),
        };
        is_in_reach(value).then(|| Milli(round_half_away(value * scale) * step))
    }

    /// `value` when it has at most three digits after the point and is in reach.
    pub fn exact(value: f64) -> Option<Milli> {
        Milli::round(value, Digits::Three).filter(|milli| milli.get().total_cmp(&(value + 0.0)).is_eq())
    }

    /// Millimetres.
    pub fn get(self) -> f64 {
        self.0 as f64 / 1000.0
    }

    /// True for numbers below zero.
    pub fn is_negative(self) -> bool {
        self.0 < 0
    }

    /// The sum, unless it lies out of reach.
    pub fn plus(self, other: Milli) -> Option<Milli> {
        let sum = self.0.checked_add(other.0)?;
        (sum.abs() <= FARTHEST_MILLI).then_some(Milli(sum))
    }

    /// The difference.
    pub fn minus(self, other: Milli) -> Milli {
        Milli(self.0 - other.0)
    }

    /// Reads `-?DIGITS[.D[D[D]]]`; `None` for anything else.
    pub fn parse(text: &[u8]) -> Option<Milli> {
        let (negative, text) = match text.strip_prefix(b"-") {
            Some(rest) => (true, rest),
            None => (false, text),
        };
        let mut value: i64 = 0;
        let mut bytes = text.iter();
        let mut whole = 0;
        let mut places = None; // digits seen after the point
        for byte in &mut bytes {
            match (byte, places) {
                (b'0'..=b'9', Some(3)) => return None,
                (b'0'..=b'9', _) => {
                    value = value * 10 + i64::from(byte - b'0');
                    match &mut places {
                        Some(places) => *places += 1,
                        None => whole += 1,
                    }
                }
                (b'.', None) if whole > 0 => places = Some(0),
                _ => return None,
            }
            if whole > 7 {
                return None;
            }
        }
        let scale = match places {
            None if whole > 0 => 1000,
            Some(1) => 100,
            Some(2) => 10,
            Some(3) => 1,
            _ => return None,
        };
        let milli = value * scale;
        (milli <= FARTHEST_MILLI).then_some(Milli(if negative { -milli } else { milli }))
    }

    /// Appends the decimal with `digits` digits after the point, the rest cut off.
    pub fn append(self, digits: Digits, to: &mut Vec<u8>) {
        let mut text = Line::default();
        text.put_decimal(self, digits);
        text.append(to);
    }
}

/// Appends `X Y` and a line feed: most lines of a list.
pub(crate) fn append_point([x, y]: [Milli; 2], digits: Digits, to: &mut Vec<u8>) {
    let mut text = Line::default();
    text.put_decimal(x, digits);
    text.put([b' '], 1);
    text.put_decimal(y, digits);
    text.put([b'\n'], 1);
    text.append(to);
}

/// A short text. It is copied whole and then cut, which takes two moves instead of a call for each line.
#[derive(Default)]
struct Line {
    /// Room for two of the longest decimals, -2000000.000, and what parts them.
    text: [u8; 32],
    length: usize,
}

/// The numbers from 0 to 999 as three digits.
const DIGITS: [[u8; 3]; 1000] = {
    let mut digits = [[b'0'; 3]; 1000];
    let mut i = 0;
    while i < 1000 {
        digits[i] = [b'0' + (i / 100) as u8, b'0' + (i / 10 % 10) as u8, b'0' + (i % 10) as u8];
        i += 1;
    }
    digits
};

impl Line {
    fn append(&self, to: &mut Vec<u8>) {
        let length = to.len() + self.length;
        to.extend_from_slice(&self.text);
        to.truncate(length);
    }

    /// Adds text, of which `length` bytes count.
    #[inline]
    fn put<const N: usize>(&mut self, text: [u8; N], length: usize) {
        if let Some(place) = self.text.get_mut(self.length..self.length + N) {
            place.copy_from_slice(&text);
        }
        self.length += length;
    }

    /// The digits of a number below 1000, without zeros before them.
    #[inline]
    fn put_whole(&mut self, number: u32) {
        let [hundreds, tens, ones] = DIGITS[number as usize];
        match number {
            0..10 => self.put([ones], 1),
            10..100 => self.put([tens, ones], 2),
            _ => self.put([hundreds, tens, ones], 3),
        }
    }

    #[inline]
    fn put_decimal(&mut self, number: Milli, digits: Digits) {
        self.put([b'-'], usize::from(number.is_negative()));
        // No number of a list has more than ten digits.
        let milli = number.0.unsigned_abs() as u32;
        let (whole, part) = (milli / 1000, DIGITS[(milli % 1000) as usize]);
        if whole < 1000 {
            self.put_whole(whole);
        } else {
            self.put_thousands(whole);
        }
        match digits {
            Digits::Two => self.put([b'.', part[0], part[1]], 3),
            Digits::Three => self.put([b'.', part[0], part[1], part[2]], 4),
        }
    }

    /// The digits of a number from 1000 on.
    #[cold]
    fn put_thousands(&mut self, number: u32) {
        let high = number / 1000;
        if high < 1000 {
            self.put_whole(high);
        } else {
            self.put_thousands(high);
        }
        self.put(DIGITS[(number % 1000) as usize], 3);
    }
}

/// True for numbers a list can carry.
pub(crate) fn is_in_reach(value: f64) -> bool {
    // The comparison is false for a value that is no number.
    value.abs() <= FARTHEST
}

/// The nearest integer, halves away from zero: `f64::round` for values an `i64`
/// holds. Exact, because so is the difference of a value and its integer part;
/// and without the call into the mathematics library that `round` is on some machines.
fn round_half_away(value: f64) -> i64 {
    let whole = value as i64;
    let part = value - whole as f64;
    whole + i64::from(part >= 0.5) - i64::from(part <= -0.5)
}

/// Appends a whole number.
pub(crate) fn append_count(count: u64, to: &mut Vec<u8>) {
    to.extend_from_slice(itoa::Buffer::new().format(count).as_bytes());
}

/// Reads a whole number without sign.
pub(crate) fn parse_count(text: &str) -> Option<u64> {
    if text.is_empty() || !text.bytes().all(|byte| byte.is_ascii_digit()) {
        return None;
    }
    text.parse().ok()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn written(value: f64, digits: Digits) -> String {
        let mut out = Vec::new();
        Milli::round(value, digits).unwrap().append(digits, &mut out);
        String::from_utf8(out).unwrap()
    }

    #[test]
    fn halves_are_rounded_away_from_zero() {
        // 0.125 and 2.5 are exact in binary, so these are true halves.
        assert_eq!(written(0.125, Digits::Two), "0.13");
        assert_eq!(written(-0.125, Digits::Two), "-0.13");
        assert_eq!(written(0.0625, Digits::Three), "0.063");
        assert_eq!(written(2.5, Digits::Two), "2.50");
    }

    #[test]
    fn rounding_is_that_of_the_standard_library() {
        let mut values = vec![0.49999999999999994, 0.5, 1.5, 2.5, 4503599627370495.5, 1e9, 12.345, 0.1 + 0.2];
        values.extend((0..2000).map(|i| f64::from(i) * 0.0625));
        values.extend((0..2000).map(|i| f64::from(i) * 0.35));
        for value in values {
            assert_eq!(round_half_away(value), value.round() as i64, "{value}");
            assert_eq!(round_half_away(-value), -(value.round() as i64), "-{value}");
        }
    }

    #[test]
    fn zero_has_no_sign() {
        assert_eq!(written(-0.004, Digits::Two), "0.00");
        assert_eq!(written(-0.0, Digits::Three), "0.000");
        assert_eq!(Milli::parse(b"-0.00").unwrap().get().to_bits(), 0.0f64.to_bits());
    }

    #[test]
    fn small_parts_keep_their_zeros() {
        assert_eq!(written(-0.07, Digits::Two), "-0.07");
        assert_eq!(written(12.003, Digits::Three), "12.003");
        assert_eq!(written(FARTHEST, Digits::Two), "1000000.00");
        assert_eq!(written(-FARTHEST, Digits::Three), "-1000000.000");
    }

    #[test]
    fn what_is_no_number_or_out_of_reach_is_refused() {
        for value in [f64::NAN, f64::INFINITY, -f64::INFINITY, 1e300, FARTHEST + 0.01] {
            assert_eq!(Milli::round(value, Digits::Two), None, "{value}");
        }
        for text in
            ["", "-", ".", "1.", ".5", "+1", "1e3", "1.2345", "--1", "1,5", "1 ", "1.2.3", "1000000.001", "99999999999"]
        {
            assert_eq!(Milli::parse(text.as_bytes()), None, "{text}");
        }
    }

    #[test]
    fn exact_takes_three_digits_and_no_more() {
        assert_eq!(Milli::exact(1.234).map(Milli::get), Some(1.234));
        assert_eq!(Milli::exact(-0.0).map(Milli::get), Some(0.0));
        assert_eq!(Milli::exact(1.2345), None);
        assert_eq!(Milli::exact(f64::NAN), None);
    }
}
