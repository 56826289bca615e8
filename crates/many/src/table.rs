//! The table: a CSV file whose first line names its columns.
//!
//! Read as RFC 4180 writes it, in UTF-8 with or without a byte order mark. When
//! the heading has no comma but semicolons or tabs, as spreadsheets of some
//! countries write it, those part the fields. A row that has too many or too
//! few fields is a fault of that row alone.

use crate::Error;
use laidwork_thread::{line_at, parted_by, wrong_quotes};

/// The number of the row, which every template can name.
const ROW: &str = "row";

/// No table has more rows than this.
const MOST_ROWS: usize = 1_000_000;

/// A table of texts.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Table {
    columns: Vec<String>,
    rows: Vec<Row>,
}

/// One row of a table.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Row {
    /// Its number, the first row under the heading being 1.
    pub number: usize,
    /// The line of the file it begins on, from 1.
    pub line: u64,
    /// Its cells, one for each column; what is wrong with the row when it has not as many.
    cells: Result<Vec<String>, String>,
}

impl Row {
    /// What is wrong with the row, if anything.
    pub fn fault(&self) -> Option<&str> {
        self.cells.as_ref().err().map(String::as_str)
    }

    /// The cell of a column, counted from 0; the row's number beyond the last.
    pub(crate) fn cell(&self, column: usize) -> String {
        match &self.cells {
            Ok(cells) => cells.get(column).cloned().unwrap_or_else(|| self.number.to_string()),
            Err(_) => String::new(),
        }
    }
}

impl Table {
    /// Reads a table.
    ///
    /// # Errors
    /// When it is not in UTF-8, its heading leaves a column without a name or
    /// names two alike, a quote is not closed, or there are no rows.
    pub fn read(bytes: &[u8]) -> Result<Table, Error> {
        let bytes = bytes.strip_prefix(b"\xef\xbb\xbf").unwrap_or(bytes);
        let wrong = |line, what: String, advice: &str| Error::Table { line, what, advice: advice.into() };
        if let Err(error) = std::str::from_utf8(bytes) {
            let before = bytes.get(..error.valid_up_to()).unwrap_or_default();
            let line = 1 + before.iter().filter(|&&byte| byte == b'\n').count() as u64;
            return Err(wrong(line, "the text is not in UTF-8".into(), "save the table as CSV in UTF-8"));
        }
        if let Some((line, what)) = wrong_quotes(bytes) {
            return Err(Error::Quotes { line, what });
        }
        let mut reader =
            csv::ReaderBuilder::new().delimiter(parted_by(bytes)).flexible(true).has_headers(false).from_reader(bytes);
        let mut records = reader.records();
        let mut next = || {
            records.next().transpose().map_err(|error| {
                let line = error.position().map_or(1, |position| line_at(bytes, position));
                wrong(line, format!("this is no CSV: {error}"), "save the table as CSV in UTF-8")
            })
        };
        let heading = next()?
            .ok_or_else(|| wrong(1, "the table is empty".into(), "write the names of its columns in the first line"))?;
        let columns: Vec<String> = heading.iter().map(|name| name.trim().to_owned()).collect();
        check_heading(&columns)?;
        let mut rows = Vec::new();
        while let Some(record) = next()? {
            let line = record.position().map_or(0, |position| line_at(bytes, position));
            if rows.len() == MOST_ROWS {
                return Err(wrong(line, format!("the table has more than {MOST_ROWS} rows"), "split it"));
            }
            rows.push(Row { number: rows.len() + 1, line, cells: cells(&record, columns.len()) });
        }
        if rows.is_empty() { Err(Error::NoRows) } else { Ok(Table { columns, rows }) }
    }

    /// The names of its columns.
    pub fn columns(&self) -> &[String] {
        &self.columns
    }

    /// Its rows, in the order of the file.
    pub fn rows(&self) -> &[Row] {
        &self.rows
    }

    /// The place of a column; `row` stands for the number of the row unless a column is called so.
    pub(crate) fn place(&self, name: &str) -> Option<usize> {
        let found = self.columns.iter().position(|column| column == name);
        found.or_else(|| (name == ROW).then_some(self.columns.len()))
    }

    /// The name of the column at a place.
    pub(crate) fn name(&self, place: usize) -> &str {
        self.columns.get(place).map_or(ROW, String::as_str)
    }
}

fn cells(record: &csv::StringRecord, wanted: usize) -> Result<Vec<String>, String> {
    let cells: Vec<String> = record.iter().map(|cell| cell.trim().to_owned()).collect();
    if cells.len() != wanted {
        return Err(format!("the row has {} fields, the heading has {wanted}", cells.len()));
    }
    if cells.iter().all(String::is_empty) {
        return Err("every cell of the row is empty".into());
    }
    Ok(cells)
}

fn check_heading(columns: &[String]) -> Result<(), Error> {
    let wrong = |what: String, advice: &str| Err(Error::Table { line: 1, what, advice: advice.into() });
    for (i, name) in columns.iter().enumerate() {
        if name.is_empty() {
            return wrong(format!("column {} has no name", i + 1), "name every column in the first line");
        }
        if name.contains(['{', '}', '=', '"', '\'', '\n', '\r']) {
            return wrong(
                format!("the column {name:?} cannot be a placeholder"),
                "take braces, quotes, `=` and line breaks out of its name",
            );
        }
        if columns.iter().take(i).any(|other| other == name) {
            return wrong(format!("two columns are called {name:?}"), "give each a name of its own");
        }
    }
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;

    fn first(text: &str) -> Vec<String> {
        Table::read(text.as_bytes()).unwrap().rows[0].cells.clone().unwrap()
    }

    #[test]
    fn commas_semicolons_and_tabs_part_fields() {
        for text in ["plant,bed\nBean,2\n", "plant;bed\r\nBean;2\r\n", "plant\tbed\nBean\t2"] {
            assert_eq!(first(text), ["Bean", "2"], "{text:?}");
        }
        assert_eq!(first("\u{feff}plant,bed\n\"Bean, broad\",2\n"), ["Bean, broad", "2"]);
    }

    #[test]
    fn a_row_of_another_length_is_its_own_fault() {
        let table = Table::read(b"plant,bed\nBean\nPea,3\n,\n").unwrap();
        assert!(table.rows[0].fault().unwrap().contains("1 fields"));
        assert_eq!(table.rows[1].fault(), None);
        assert!(table.rows[2].fault().unwrap().contains("empty"));
        assert_eq!(table.rows[1].line, 3);
    }

    #[test]
    fn rows_know_their_lines_whatever_ends_them() {
        for text in ["plant\r\nBean\r\n\r\nPea\r\n", "plant\nBean\n\nPea\n"] {
            let lines: Vec<u64> = Table::read(text.as_bytes()).unwrap().rows.iter().map(|row| row.line).collect();
            assert_eq!(lines, [2, 4], "{text:?}");
        }
    }

    #[test]
    fn a_quote_that_is_not_closed_takes_no_rows() {
        let refused = |text: &str| Table::read(text.as_bytes()).unwrap_err().to_string();
        let told = refused("cloth,name\n#efe6d0,\"Anna\n#efe6d0,Ben\n#efe6d0,Cleo\n");
        assert!(told.starts_with("line 2: a quote is not closed"), "{told}");
        assert!(refused("name\n\"Anna\" Smith\n").starts_with("line 2: text follows the quote"));
    }

    #[test]
    fn headings_have_to_be_usable() {
        for text in ["", "plant,\nBean,1\n", "plant,plant\nBean,1\n", "{plant}\nBean\n", "plant\n"] {
            assert!(Table::read(text.as_bytes()).is_err(), "{text:?}");
        }
        assert!(Table::read(b"plant\n\xff\n").unwrap_err().to_string().contains("line 2"));
    }

    #[test]
    fn the_number_of_the_row_is_a_column() {
        let table = Table::read(b"plant\nBean\n").unwrap();
        assert_eq!(table.rows[0].cell(table.place("row").unwrap()), "1");
        assert_eq!(table.place("bed"), None);
    }
}
