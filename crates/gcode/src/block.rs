//! One line of a program, by the rules of NISTIR 6556.
//!
//! A line is at most 256 characters: an optional `/`, an optional line number, then
//! words (a letter and a number) and comments. Numbers have no exponent. No letter
//! but G and M stands twice, no two words of one modal group, at most four M words.
//! Not read are parameters (`#`), expressions (`[`) and the codes this crate has no
//! use for, whose letters and groups are still checked as far as they are known.

use std::fmt;

/// No line is longer, characters.
const LONGEST: usize = 256;

/// The letters of words: NISTIR 6556, table 3. There is no E, so no number has an exponent.
const LETTERS: &str = "ABCDFGHIJKLMNPQRSTXYZ";

/// Codes within this of a tenth are that tenth (NISTIR 6556, section 3.3.2.1 in the copy read).
const NEARLY: f64 = 1e-4;

/// Modal groups of G codes, times ten. From NISTIR 6556, table 4, as far as they concern a hoop.
const G_GROUPS: [&[i64]; 4] = [&[0, 10, 20, 30, 800], &[900, 910], &[930, 940], &[200, 210]];

/// Modal groups of M codes.
const M_GROUPS: [&[i64]; 4] = [&[0, 1, 2, 30, 60], &[6], &[3, 4, 5], &[7, 8, 9]];

/// One line of a program.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Block {
    /// Letters, upper case, with their numbers, in the order of the line; no line number.
    pub words: Vec<(char, f64)>,
    /// Its comments, without the brackets.
    pub comments: Vec<String>,
    /// Whether a `/` stands before it: such a line may be left out by a switch.
    pub may_be_skipped: bool,
}

impl Block {
    /// Reads a line, without its line feed.
    ///
    /// # Errors
    /// What is wrong with it.
    pub fn parse(line: &str) -> Result<Block, String> {
        if line.chars().count() > LONGEST {
            return Err(format!("the line is longer than {LONGEST} characters"));
        }
        let mut block = Block::default();
        let mut rest = line.trim_end_matches('\r').trim_start_matches([' ', '\t']);
        if let Some(after) = rest.strip_prefix('/') {
            block.may_be_skipped = true;
            rest = after;
        }
        let mut first = true;
        loop {
            rest = rest.trim_start_matches([' ', '\t']);
            let Some(letter) = rest.chars().next() else { break };
            rest = rest.get(letter.len_utf8()..).unwrap_or_default();
            if letter == '(' {
                let (comment, after) = rest.split_once(')').ok_or("a comment is not closed on its line")?;
                if comment.contains('(') {
                    return Err("a comment stands inside a comment".into());
                }
                block.comments.push(comment.trim().to_owned());
                rest = after;
            } else if LETTERS.contains(letter.to_ascii_uppercase()) {
                let (number, after) = number(rest)?;
                let letter = letter.to_ascii_uppercase();
                match letter {
                    'N' => check_line_number(first, &number)?,
                    _ => block.words.push((letter, number.parse().map_err(|_| "there is no number after a letter")?)),
                }
                rest = after;
            } else {
                return Err(format!("{letter:?} begins no word"));
            }
            first = false;
        }
        block.check()?;
        Ok(block)
    }

    /// Its number after a letter that stands at most once.
    pub fn value(&self, letter: char) -> Option<f64> {
        self.words.iter().find(|(known, _)| *known == letter).map(|(_, value)| *value)
    }

    /// The codes after `letter`, times ten for G.
    pub(crate) fn codes(&self, letter: char) -> impl Iterator<Item = i64> {
        let scale = if letter == 'G' { 10.0 } else { 1.0 };
        self.words
            .iter()
            .filter(move |(known, _)| *known == letter)
            .map(move |(_, value)| (value * scale).round() as i64)
    }

    /// Whether it has the words and messages of `other`, which may stand in another order. A value of
    /// `None` in `any` fits every number.
    pub(crate) fn says_what(&self, other: &Block, any: Option<char>) -> bool {
        let sorted = |block: &Block| {
            let mut words = block.words.clone();
            words.iter_mut().filter(|(letter, _)| Some(*letter) == any).for_each(|(_, value)| *value = 0.0);
            words.sort_by(|a, b| a.0.cmp(&b.0).then(a.1.total_cmp(&b.1)));
            words
        };
        let same = |(a, b): (&(char, f64), &(char, f64))| a.0 == b.0 && (a.1 - b.1).abs() < 1e-6;
        let (own, others) = (sorted(self), sorted(other));
        own.len() == others.len() && own.iter().zip(&others).all(same) && self.messages().eq(other.messages())
    }

    /// Comments that a machine shows: `(MSG, ...)`.
    pub(crate) fn messages(&self) -> impl Iterator<Item = &str> {
        self.comments.iter().filter_map(|comment| message(comment))
    }

    fn check(&self) -> Result<(), String> {
        for (i, (letter, value)) in self.words.iter().enumerate() {
            let before = self.words.iter().take(i);
            if !matches!(letter, 'G' | 'M') && before.clone().any(|(known, _)| known == letter) {
                return Err(format!("{letter} stands twice"));
            }
            if matches!(letter, 'G' | 'M') {
                let tenths = value * 10.0;
                let is_code = (tenths - tenths.round()).abs() < NEARLY * 10.0 && *value >= 0.0 && *value < 1000.0;
                if !is_code || (*letter == 'M' && value.fract().abs() > NEARLY) {
                    return Err(format!("{letter}{value} is no code"));
                }
            }
            if matches!(letter, 'T' | 'P' | 'F' | 'S') && *value < 0.0 {
                return Err(format!("{letter} is below 0"));
            }
            if *letter == 'T' && value.fract().abs() > NEARLY {
                return Err("T is no whole number".into());
            }
        }
        self.check_groups('G', &G_GROUPS)?;
        self.check_groups('M', &M_GROUPS)?;
        if self.codes('M').count() > 4 {
            return Err("more than four M codes stand on the line".into());
        }
        let has_axis = self.words.iter().any(|(letter, _)| "XYZABC".contains(*letter));
        if self.codes('G').any(|code| matches!(code, 0 | 10)) && !has_axis {
            return Err("G0 or G1 stands without an axis".into());
        }
        if self.codes('G').any(|code| code == 40) && self.value('P').is_none() {
            return Err("G4 stands without P".into());
        }
        Ok(())
    }

    fn check_groups(&self, letter: char, groups: &[&[i64]]) -> Result<(), String> {
        let codes: Vec<i64> = self.codes(letter).collect();
        for group in groups {
            if codes.iter().filter(|code| group.contains(code)).count() > 1 {
                return Err(format!("two {letter} codes of one modal group stand on the line"));
            }
        }
        Ok(())
    }
}

/// The text of a `(MSG, ...)` comment.
pub(crate) fn message(comment: &str) -> Option<&str> {
    let head = comment.get(..4)?;
    head.eq_ignore_ascii_case("MSG,").then(|| comment.get(4..).unwrap_or_default().trim())
}

/// A line number: only first, up to five digits.
fn check_line_number(first: bool, number: &str) -> Result<(), String> {
    if !first {
        return Err("the line number does not stand first".into());
    }
    let digits = number.len() <= 5 && number.bytes().all(|byte| byte.is_ascii_digit());
    if digits { Ok(()) } else { Err(format!("N{number} is no line number")) }
}

/// A number at the start of `text` (blanks inside it do not count), and what comes after.
fn number(text: &str) -> Result<(String, &str), String> {
    let mut number = String::new();
    let mut end = text.len();
    for (at, c) in text.char_indices() {
        match c {
            ' ' | '\t' => continue,
            '+' | '-' if number.is_empty() => number.push(c),
            '0'..='9' | '.' => number.push(c),
            _ => {
                end = at;
                break;
            }
        }
    }
    let digits = number.bytes().filter(u8::is_ascii_digit).count();
    let points = number.matches('.').count();
    if digits == 0 || points > 1 {
        let reads = if text.starts_with(['#', '[']) {
            "parameters and expressions are not read"
        } else {
            "a number was wanted"
        };
        return Err(format!("{reads} after a letter"));
    }
    Ok((number, text.get(end..).unwrap_or_default()))
}

impl fmt::Display for Block {
    /// The line in its plainest form.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let mut parts: Vec<String> = self.words.iter().map(|(letter, value)| format!("{letter}{value}")).collect();
        parts.extend(self.comments.iter().map(|comment| format!("({comment})")));
        if self.may_be_skipped {
            f.write_str("/")?;
        }
        f.write_str(&parts.join(" "))
    }
}
