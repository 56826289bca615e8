//! Measurements of a sewn swatch, read from the table that was filled in.
//!
//! CSV in UTF-8. Spreadsheets of many countries part fields by semicolons and
//! write decimal commas: both are taken. Readings may be left empty or be a dash;
//! every field that makes no sense is told, with its line, before anything is fitted.

use crate::Error;
use laidwork_plan::Method;
use laidwork_thread::{line_at, parted_by, wrong_quotes};

/// The columns of the table.
pub const COLUMNS: [&str; 20] = [
    "cell",
    "material",
    "method",
    "from_grain_deg",
    "drawn_along_mm",
    "drawn_across_mm",
    "stitched_along_mm",
    "stitched_across_mm",
    "spacing_mm",
    "usual_spacing_mm",
    "stitch_length_mm",
    "usual_stitch_length_mm",
    "pull_mm",
    "push_mm",
    "underlay",
    "along_1_mm",
    "along_2_mm",
    "along_3_mm",
    "across_1_mm",
    "across_2_mm",
];

/// No reading differs from what was stitched by more than this share of it and [`ODD_MM`].
const ODD_SHARE: f64 = 0.35;

/// See [`ODD_SHARE`], mm.
const ODD_MM: f64 = 1.5;

/// No table has more rows than this.
const MOST_ROWS: usize = 10_000;

/// No more wrong rows are told than this.
const MOST_TOLD: usize = 20;

/// A cell and its readings. Lengths in mm, named as in the table.
#[derive(Clone, Debug, PartialEq)]
pub struct MeasuredCell {
    /// Its number.
    pub number: usize,
    /// Column or fill.
    pub method: Method,
    /// Angle between thread and grain, degrees.
    pub from_grain: f64,
    /// Size across the threads as drawn.
    pub drawn_across: f64,
    /// From needle point to needle point along the threads.
    pub stitched_along: f64,
    /// The usual spacing over its own.
    pub density: f64,
    /// The usual stitch length over its own.
    pub shortness: f64,
    /// Push compensation it was sewn with.
    pub push: f64,
    /// Whether it has underlay.
    pub underlay: bool,
    /// Readings along the threads.
    pub along: Vec<f64>,
    /// Readings across them.
    pub across: Vec<f64>,
}

/// The table, read.
#[derive(Clone, Debug, PartialEq)]
pub struct Measured {
    /// The material the swatch was made for.
    pub material: String,
    /// The cells that have a reading.
    pub cells: Vec<MeasuredCell>,
}

/// Reads a table.
///
/// # Errors
/// [`Error::Table`] when it is no such table, [`Error::Rows`] with every row that is wrong.
pub fn read(bytes: &[u8]) -> Result<Measured, Error> {
    let bytes = bytes.strip_prefix(b"\xef\xbb\xbf").unwrap_or(bytes);
    let table = |line, what: String, advice: &str| Error::Table { line, what, advice: advice.into() };
    if let Some((line, what)) = wrong_quotes(bytes) {
        return Err(table(line, what.into(), "save the table as CSV in UTF-8"));
    }
    let mut reader =
        csv::ReaderBuilder::new().delimiter(parted_by(bytes)).flexible(true).has_headers(false).from_reader(bytes);
    let mut records = reader.records().map(|record| {
        record.map_err(|error| {
            let line = error.position().map_or(1, |position| line_at(bytes, position));
            table(line, "this is no CSV in UTF-8".into(), "save the table as CSV in UTF-8")
        })
    });
    let first = records.next().transpose()?;
    let first = first.ok_or_else(|| table(1, "the table is empty".into(), "fill in the one the swatch came with"))?;
    let mut places = [0; COLUMNS.len()];
    for (name, place) in COLUMNS.iter().zip(&mut places) {
        *place = first.iter().position(|cell| cell.trim() == *name).ok_or_else(|| {
            let what = format!("there is no column {name}");
            table(1, what, "keep the heading of the table the swatch came with")
        })?;
    }
    let mut found = Measured { material: String::new(), cells: Vec::new() };
    let mut wrong = Vec::new();
    for (index, record) in records.enumerate() {
        let record = record?;
        let line = record.position().map_or(0, |position| line_at(bytes, position));
        if index == MOST_ROWS {
            return Err(table(line, format!("there are more than {MOST_ROWS} rows"), "read one swatch at a time"));
        }
        if record.iter().all(|field| field.trim().is_empty()) {
            continue;
        }
        let row = Row { record: &record, places: &places, line };
        match row.cell() {
            Ok((material, cell)) => {
                if found.material.is_empty() {
                    found.material = material;
                } else if found.material != material {
                    wrong.push(row.fault(format!("is of {material:?}, the rows before of {:?}", found.material)));
                }
                if !(cell.along.is_empty() && cell.across.is_empty()) {
                    found.cells.push(cell);
                }
            }
            Err(mut faults) => wrong.append(&mut faults),
        }
    }
    if wrong.len() > MOST_TOLD {
        let more = wrong.len() - MOST_TOLD;
        wrong.truncate(MOST_TOLD);
        wrong.push(format!("and {more} more"));
    }
    if wrong.is_empty() { Ok(found) } else { Err(Error::Rows(wrong)) }
}

struct Row<'a> {
    record: &'a csv::StringRecord,
    places: &'a [usize; COLUMNS.len()],
    line: u64,
}

impl Row<'_> {
    fn text(&self, name: &str) -> &str {
        let place = COLUMNS.iter().position(|column| *column == name).and_then(|column| self.places.get(column));
        place.and_then(|place| self.record.get(*place)).unwrap_or_default().trim()
    }

    fn fault(&self, what: String) -> String {
        format!("line {}: cell {} {what}", self.line, self.text("cell"))
    }

    fn cell(&self) -> Result<(String, MeasuredCell), Vec<String>> {
        let mut faults = Vec::new();
        let mut known = |name: &'static str, least: f64, most: f64| match number(self.text(name)) {
            Some(value) if (least..=most).contains(&value) => value,
            _ => {
                let what = format!(
                    "has {:?} in {name}; it was {least} to {most}, take it from the first table",
                    self.text(name)
                );
                faults.push(self.fault(what));
                least
            }
        };
        let cell_number = known("cell", 1.0, 1e6) as usize;
        let from_grain = known("from_grain_deg", 0.0, 90.0);
        let drawn_across = known("drawn_across_mm", 0.5, 1000.0);
        let stitched_along = known("stitched_along_mm", 0.5, 1000.0);
        let stitched_across = known("stitched_across_mm", 0.5, 1000.0);
        let density = known("usual_spacing_mm", 0.05, 20.0) / known("spacing_mm", 0.05, 20.0);
        let shortness = known("usual_stitch_length_mm", 0.3, 20.0) / known("stitch_length_mm", 0.3, 20.0);
        let push = known("push_mm", -2.0, 5.0);
        let method = match self.text("method") {
            "satin" => Method::Satin,
            "fill" => Method::Fill,
            other => {
                faults.push(self.fault(format!("has {other:?} in method; it is satin or fill")));
                Method::Fill
            }
        };
        let underlay = match self.text("underlay") {
            "yes" => true,
            "no" => false,
            other => {
                faults.push(self.fault(format!("has {other:?} in underlay; it is yes or no")));
                true
            }
        };
        let along = self.readings("along", stitched_along, &mut faults);
        let across = self.readings("across", stitched_across, &mut faults);
        let cell = MeasuredCell {
            number: cell_number,
            method,
            from_grain,
            drawn_across,
            stitched_along,
            density,
            shortness,
            push,
            underlay,
            along,
            across,
        };
        if faults.is_empty() { Ok((self.text("material").to_owned(), cell)) } else { Err(faults) }
    }

    /// The readings of a size that was stitched `stitched` mm long.
    fn readings(&self, way: &str, stitched: f64, faults: &mut Vec<String>) -> Vec<f64> {
        let mut readings = Vec::new();
        for name in COLUMNS.iter().filter(|name| name.starts_with(way) && name.ends_with("_mm")) {
            let text = self.text(name);
            if text.is_empty() || text == "-" {
                continue;
            }
            match number(text) {
                Some(value) if (value - stitched).abs() <= (ODD_SHARE * stitched).max(ODD_MM) && value > 0.0 => {
                    readings.push(value);
                }
                Some(value) => faults.push(self.fault(format!(
                    "has {value} mm in {name}, and was stitched {stitched} mm; measure it again, in mm"
                ))),
                None => faults.push(self.fault(format!("has {text:?} in {name}; write a number of mm, or nothing"))),
            }
        }
        readings
    }
}

/// A number with a decimal point or comma.
fn number(text: &str) -> Option<f64> {
    text.replace(',', ".").parse().ok().filter(|value: &f64| value.is_finite())
}

#[cfg(test)]
mod tests {
    use super::*;

    fn heading() -> String {
        COLUMNS.join(",") + "\n"
    }

    const ROW: &str = "3,canvas,satin,90,5.0,12.0,5.30,12.00,0.2,0.2,5.0,5.0,0.15,0.4,yes,4.9,5.1,,12.1,-\n";

    #[test]
    fn a_row_is_read() {
        let found = read((heading() + ROW).as_bytes()).unwrap();
        assert_eq!(found.material, "canvas");
        assert_eq!(found.cells[0].along, [4.9, 5.1]);
        assert_eq!(found.cells[0].across, [12.1]);
    }

    #[test]
    fn semicolons_and_decimal_commas_are_read_too() {
        let text = (heading() + ROW).replace(',', ";").replace('.', ",");
        assert_eq!(read(text.as_bytes()), read((heading() + ROW).as_bytes()));
    }

    #[test]
    fn every_wrong_field_is_told_with_its_line() {
        let odd = ROW.replace("4.9", "49").replace("5.1", "five");
        let text = heading() + ROW + &odd + &ROW.replace("satin", "stain") + &ROW.replace("canvas", "jersey");
        let told = read(text.as_bytes()).unwrap_err().to_string();
        for part in ["line 3: cell 3 has 49 mm in along_1_mm", "\"five\"", "line 4", "\"stain\"", "line 5", "jersey"] {
            assert!(told.contains(part), "{part}: {told}");
        }
        assert!(!told.contains("line 2"), "{told}");
        assert_eq!(read(text.replace('\n', "\r\n").as_bytes()).unwrap_err().to_string(), told);
    }

    #[test]
    fn what_is_no_table_is_refused() {
        for text in ["", "a,b\n1,2\n", "\u{feff}cell,material\n", "cell,\"mat"] {
            assert!(matches!(read(text.as_bytes()), Err(Error::Table { line: 1, .. })), "{text:?}");
        }
        assert!(matches!(read(b"cell,\xff\n"), Err(Error::Table { .. })));
        let short = heading() + "1,canvas\n";
        assert!(matches!(read(short.as_bytes()), Err(Error::Rows(_))));
        assert!(read(heading().as_bytes()).unwrap().cells.is_empty());
    }

    #[test]
    fn a_cell_without_a_reading_is_left_out() {
        let text = heading() + &ROW.replace("4.9,5.1", ",").replace("12.1", "-");
        assert!(read(text.as_bytes()).unwrap().cells.is_empty());
    }
}
