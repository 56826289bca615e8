//! A chart: the threads somebody owns or can buy, as a CSV table.
//!
//! The first row names the columns, in any order and any case: `code`, `name`
//! and `colour` (or `color`) must be there, `tex` (weight in grams a kilometre)
//! and `left` (metres left on the cone) may be. Every other row is a thread.
//! Strict: what cannot be understood is refused with its line number.

use crate::Tex;
use crate::table::{line_at, parted_by, wrong_quotes};
use laidwork_plan::Color;
use std::{
    collections::BTreeMap,
    io::{self, Read},
};

/// A thread of a chart.
#[derive(Clone, Debug, PartialEq)]
pub struct ChartThread {
    /// What it is filed under; no two threads of a chart share it.
    pub code: String,
    /// What it is called.
    pub name: String,
    /// What it looks like.
    pub color: Color,
    /// How heavy it is, where the chart says so.
    pub tex: Option<Tex>,
    /// Metres left, where the chart says so.
    pub left: Option<f64>,
}

/// The threads somebody owns, in the order of their table.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Chart {
    threads: Vec<ChartThread>,
}

/// A chart that is not read.
#[derive(Debug, thiserror::Error)]
pub enum ChartError {
    /// The source failed.
    #[error("the chart could not be read: {0}")]
    Io(#[from] io::Error),
    /// A row that cannot be understood.
    #[error("line {line}: {what}")]
    Row {
        /// Line of the row, counting from 1.
        line: u64,
        /// What is wrong with it and what would be right.
        what: String,
    },
}

/// Where each column stands.
#[derive(Clone, Copy)]
struct Columns {
    count: usize,
    code: usize,
    name: usize,
    color: usize,
    tex: Option<usize>,
    left: Option<usize>,
}

impl Chart {
    /// A chart of these threads.
    ///
    /// # Errors
    ///
    /// Two threads with one code; the line counts threads from 1.
    pub fn new(threads: Vec<ChartThread>) -> Result<Chart, ChartError> {
        let mut lines = BTreeMap::new();
        for (line, thread) in (1..).zip(&threads) {
            check_code(&mut lines, &thread.code, line)?;
        }
        Ok(Chart { threads })
    }

    /// Reads a chart from CSV, at most 16 MB of it.
    ///
    /// # Errors
    ///
    /// The first row that cannot be understood, with its line number.
    pub fn read(from: impl io::Read) -> Result<Chart, ChartError> {
        const MOST: u64 = 16 << 20;
        let mut bytes = Vec::new();
        from.take(MOST + 1).read_to_end(&mut bytes)?;
        if bytes.len() as u64 > MOST {
            return Err(row(1, "the chart is larger than 16 MB"));
        }
        // Spreadsheets like to begin their files with a byte order mark.
        let bytes = bytes.strip_prefix(b"\xef\xbb\xbf").unwrap_or(&bytes);
        if let Some((line, what)) = wrong_quotes(bytes) {
            return Err(row(line, what));
        }
        let mut reader = csv::ReaderBuilder::new()
            .delimiter(parted_by(bytes))
            .has_headers(false)
            .flexible(true)
            .trim(csv::Trim::All)
            .from_reader(bytes);
        let mut columns = None;
        let mut lines = BTreeMap::new();
        let mut threads = Vec::new();
        for record in reader.records() {
            let record = record.map_err(refuse)?;
            let line = record.position().map_or(1, |position| line_at(bytes, position));
            if record.iter().all(str::is_empty) {
                continue;
            }
            let Some(columns) = columns else {
                columns = Some(Columns::of(&record).map_err(|what| row(line, what))?);
                continue;
            };
            let thread = columns.thread(&record).map_err(|what| row(line, what))?;
            check_code(&mut lines, &thread.code, line)?;
            threads.push(thread);
        }
        if threads.is_empty() {
            let line = reader.position().line();
            return Err(row(line, "the chart has no threads; wanted a row `code,name,colour` and one for each thread"));
        }
        Ok(Chart { threads })
    }

    /// Its threads, in the order of the table.
    pub fn threads(&self) -> &[ChartThread] {
        &self.threads
    }

    /// The thread filed under `code`.
    pub fn get(&self, code: &str) -> Option<&ChartThread> {
        self.threads.iter().find(|thread| thread.code == code)
    }
}

fn row(line: u64, what: impl Into<String>) -> ChartError {
    ChartError::Row { line, what: what.into() }
}

fn refuse(error: csv::Error) -> ChartError {
    let line = error.position().map_or(1, csv::Position::line);
    match error.into_kind() {
        csv::ErrorKind::Io(error) => ChartError::Io(error),
        csv::ErrorKind::Utf8 { .. } => row(line, "the row is not text in UTF-8; save the chart in UTF-8"),
        other => row(line, format!("{other:?}")),
    }
}

/// Refuses a code that an earlier line has taken.
fn check_code<'a>(lines: &mut BTreeMap<String, u64>, code: &'a str, line: u64) -> Result<&'a str, ChartError> {
    match lines.insert(code.to_owned(), line) {
        Some(earlier) => Err(row(line, format!("the code {code:?} is taken by line {earlier}; codes differ"))),
        None => Ok(code),
    }
}

impl Columns {
    fn of(header: &csv::StringRecord) -> Result<Columns, String> {
        let mut found: [Option<usize>; 5] = [None; 5];
        const NAMES: [&str; 5] = ["code", "name", "colour", "tex", "left"];
        for (column, given) in header.iter().enumerate() {
            let name = given.to_lowercase();
            let name = if name == "color" { "colour" } else { name.as_str() };
            let Some(place) = NAMES.iter().position(|&known| known == name) else {
                return Err(format!("no column is called {given:?}; wanted code, name, colour, tex or left"));
            };
            if found[place].replace(column).is_some() {
                return Err(format!("two columns are called {}", NAMES[place]));
            }
        }
        let [code, name, color, tex, left] = found;
        let missing = |name: &str| format!("the column {name} is missing");
        Ok(Columns {
            count: header.len(),
            code: code.ok_or_else(|| missing("code"))?,
            name: name.ok_or_else(|| missing("name"))?,
            color: color.ok_or_else(|| missing("colour"))?,
            tex,
            left,
        })
    }

    fn thread(self, record: &csv::StringRecord) -> Result<ChartThread, String> {
        if record.len() != self.count {
            return Err(format!("the row has {} fields, wanted {} as in the first row", record.len(), self.count));
        }
        let field = |column: usize| record.get(column).unwrap_or_default();
        let text = |column, what| match field(column) {
            "" => Err(format!("the {what} is missing")),
            text if text.chars().any(char::is_control) => Err(format!("the {what} {text:?} is not one line of text")),
            text => Ok(text.to_string()),
        };
        let number = |column: Option<usize>| match field(column.unwrap_or(usize::MAX)) {
            "" => Ok(None),
            text => match text.replace(',', ".").parse::<f64>() {
                Ok(number) if number.is_finite() && number >= 0.0 => Ok(Some(number)),
                _ => Err(format!("{text:?} is not a number from 0 up")),
            },
        };
        let color = field(self.color);
        let tex = number(self.tex)?.map(|tex| Tex::new(tex).ok_or("a thread of 0 tex weighs nothing".to_string()));
        Ok(ChartThread {
            code: text(self.code, "code")?,
            name: text(self.name, "name")?,
            color: color.parse().map_err(|error| format!("{color:?} is not a colour: {error}"))?,
            tex: tex.transpose()?,
            left: number(self.left)?,
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn refused(text: &str) -> String {
        Chart::read(text.as_bytes()).unwrap_err().to_string()
    }

    #[test]
    fn columns_come_in_any_order_and_case() {
        let text =
            "\u{feff}Color,CODE,left,Name,tex\r\n#E0A21B,m1,120.5,Marigold,27\r\n#2f5d34,l1,,\"Leaf, green\",\r\n";
        let chart = Chart::read(text.as_bytes()).unwrap();
        let marigold = chart.get("m1").unwrap();
        assert_eq!((marigold.color, marigold.left), (Color::new(0xe0, 0xa2, 0x1b), Some(120.5)));
        assert_eq!(marigold.tex.map(Tex::get), Some(27.0));
        assert_eq!(chart.threads()[1].name, "Leaf, green");
        assert_eq!((chart.threads()[1].tex, chart.threads()[1].left), (None, None));
    }

    #[test]
    fn semicolons_and_decimal_commas_are_read_too() {
        let chart = Chart::read(&b"code;name;colour;tex\r\nm1;Marigold;#e0a21b;27,5\r\n"[..]).unwrap();
        assert_eq!(chart.get("m1").unwrap().tex.map(Tex::get), Some(27.5));
    }

    #[test]
    fn what_cannot_be_understood_is_refused_with_its_line() {
        let cases = [
            ("", "line 1: the chart has no threads"),
            ("code,name,colour\n", "line 2: the chart has no threads"),
            ("code,name\n", "line 1: the column colour is missing"),
            ("code,name,colour,shop\n", "line 1: no column is called \"shop\""),
            ("code:name:colour\n", "line 1: no column is called \"code:name:colour\""),
            ("code,name,colour,color\n", "line 1: two columns are called colour"),
            ("code,name,colour\na,A,#000000\nb,B\n", "line 3: the row has 2 fields, wanted 3"),
            ("code,name,colour\na,A,black\n", "line 2: \"black\" is not a colour"),
            ("code,name,colour\n\n,A,#000000\n", "line 3: the code is missing"),
            ("code,name,colour\na,\"A\nB\",#000000\n", "line 2: the name \"A\\nB\" is not one line"),
            ("code,name,colour\na,\"A,#000000\nb,B,#000000\n", "line 2: a quote is not closed"),
            ("code,name,colour\na,A,#000000\na,B,#000000\n", "line 3: the code \"a\" is taken by line 2"),
            ("code,name,colour,tex\na,A,#000000,heavy\n", "line 2: \"heavy\" is not a number"),
            ("code,name,colour,tex\na,A,#000000,0\n", "line 2: a thread of 0 tex"),
            ("code,name,colour,left\na,A,#000000,-1\n", "line 2: \"-1\" is not a number from 0 up"),
        ];
        for (text, wanted) in cases {
            let message = refused(text);
            assert!(message.contains(wanted), "{text:?}: {message}");
        }
    }

    #[test]
    fn bytes_that_are_no_text_are_refused() {
        let error = Chart::read(&b"code,name,colour\na,caf\xe9,#000000\n"[..]).unwrap_err().to_string();
        assert!(error.starts_with("line 2: the row is not text in UTF-8"), "{error}");
    }

    #[test]
    fn the_garden_chart_is_read() {
        let chart = Chart::read(include_bytes!("../../../fixtures/charts/garden.csv").as_slice()).unwrap();
        assert_eq!(chart.threads().len(), 40);
        assert!(chart.threads().iter().all(|thread| thread.tex.is_some()));
    }
}
