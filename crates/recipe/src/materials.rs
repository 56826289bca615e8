//! The materials table: what a fabric with its backing asks of the stitches.
//!
//! The built-in rows are in `materials.toml`, a commented file that a user can
//! copy from. A recipe's own rows lie over them, row by row and key by key.

use crate::nearest::{listed, nearest, shortened};
use crate::read::Reader;
use crate::settings::UnderlayLayer;
use crate::source::{Diagnostics, Source};
use crate::table::{self, LAYERS};
use crate::values::{Found, Value, Values, View};
use std::collections::BTreeMap;
use std::sync::LazyLock;

/// The built-in table as a file, with its comments.
pub const BUILT_IN: &str = include_str!("materials.toml");

/// The row that says what others leave out.
pub const USUAL: &str = "woven-cotton";

/// Most rows that are based on each other.
const LONGEST_CHAIN: usize = 16;

/// Rows by name.
#[derive(Clone, Debug, PartialEq)]
pub struct Materials {
    rows: BTreeMap<String, Values>,
}

/// One row, complete. Lengths in mm, percentages of a thread's length.
#[derive(Clone, Debug, PartialEq)]
pub struct Material {
    /// Its name.
    pub name: String,
    /// What it is.
    pub about: String,
    /// Multiplies the default spacing.
    pub spacing_factor: f64,
    /// Lengthening of each thread at each end, mm.
    pub pull_compensation: f64,
    /// Lengthening besides, percent of the thread's length, half of it at each end.
    pub pull_percent: f64,
    /// No end is lengthened by more in all, mm.
    pub pull_limit: f64,
    /// Shortening of a column at each open end, mm.
    pub push_compensation: f64,
    /// How much more an end is drawn in along the grain than in the mean, and less across, mm.
    pub pull_grain: f64,
    /// How much more an end is drawn in where threads lie twice as close as usual, mm.
    pub pull_density: f64,
    /// How much more an end of a row is drawn in where stitches are half as long as usual, mm.
    pub pull_stitch: f64,
    /// Stitch length of runs, mm.
    pub run_stitch_length: f64,
    /// Stitch length of runs in tight curves, mm.
    pub run_curve_stitch_length: f64,
    /// Stitch length of fills, mm.
    pub fill_stitch_length: f64,
    /// Wider columns are split or filled, mm.
    pub satin_max_width: f64,
    /// Columns narrower than this are narrow, mm.
    pub satin_underlay_narrow_below: f64,
    /// Columns wider than this are wide, mm.
    pub satin_underlay_wide_above: f64,
    /// Underlay of narrow columns.
    pub satin_underlay_narrow: Vec<UnderlayLayer>,
    /// Underlay of columns between.
    pub satin_underlay_medium: Vec<UnderlayLayer>,
    /// Underlay of wide columns.
    pub satin_underlay_wide: Vec<UnderlayLayer>,
    /// Distance of a column's underlay from its sides, mm.
    pub satin_underlay_inset: f64,
    /// Distance between neighbouring threads of its zigzag, mm.
    pub satin_underlay_spacing: f64,
    /// Stitch length of its runs, mm.
    pub satin_underlay_stitch_length: f64,
    /// Underlay of fills.
    pub fill_underlay: Vec<UnderlayLayer>,
    /// Distance of a fill's underlay from the outline, mm.
    pub fill_underlay_inset: f64,
    /// Distance between its open rows, mm.
    pub fill_underlay_spacing: f64,
    /// Stitch length of its runs and rows, mm.
    pub fill_underlay_stitch_length: f64,
    /// What to put behind it.
    pub backing: String,
    /// What to lay over it.
    pub topping: String,
    /// Needle to use.
    pub needle: String,
    /// How fast to sew.
    pub speed: String,
}

static TABLE: LazyLock<Materials> = LazyLock::new(|| {
    let empty = Materials { rows: BTreeMap::new() };
    empty.with_overrides(BUILT_IN, "materials.toml").unwrap_or_else(|wrong| unreachable!("{wrong}"))
});

impl Materials {
    /// The built-in table.
    pub fn built_in() -> Materials {
        TABLE.clone()
    }

    /// This table with the rows of `text`, a TOML file of `[material.NAME]`
    /// tables called `file`, laid over it row by row and key by key. A row under
    /// a new name takes what it leaves out from the row it is `based_on`, as
    /// that stands after the whole text.
    ///
    /// # Errors
    /// Everything that is wrong with the text.
    pub fn with_overrides(&self, text: &str, file: &str) -> Result<Materials, Diagnostics> {
        let source = Source::new(file, text);
        let mut reader = Reader::new(&source);
        let values = reader.document(table::MATERIALS_FILE);
        let materials = self.overlaid(values.rows("material"), &mut reader);
        reader.finish(materials)
    }

    pub(crate) fn overlaid(&self, rows: &[(String, Found)], reader: &mut Reader<'_>) -> Materials {
        let mut materials = self.clone();
        for (name, found) in rows {
            if let Value::Table(values) = &found.value {
                materials.rows.entry(name.clone()).or_default().overlay(values);
            }
        }
        for (name, found) in rows {
            materials.check_bases(name, found, reader);
        }
        materials
    }

    /// The row a new or changed row is based on has to be there, and its chain
    /// of bases to end.
    fn check_bases(&self, name: &str, found: &Found, reader: &mut Reader<'_>) {
        let Value::Table(values) = &found.value else { return };
        let span = values.get("based_on").map_or(found.span.clone(), |base| base.span.clone());
        if let Some(base) = self.base(name).filter(|base| !self.rows.contains_key(*base)) {
            reader.wrong(span, format!("there is no material \"{}\"", shortened(base)), self.advice(base));
        } else if self.chain(name).is_none() {
            let shown = shortened(name);
            let message = match self.way_round(name) {
                Some(way) if way.is_empty() => format!("material \"{shown}\" is based on itself"),
                Some(way) => {
                    let way: Vec<String> = way.iter().map(|base| format!("\"{}\"", shortened(base))).collect();
                    format!("material \"{shown}\" is based on itself by way of {}", way.join(", "))
                }
                None => format!("material \"{shown}\" is based on too long a chain of others"),
            };
            reader.wrong(span, message, "base one of them on a built-in material");
        }
    }

    /// The names of a row and of those it is based on, the last complete;
    /// `None` when the chain breaks, closes or has more than [`LONGEST_CHAIN`].
    fn chain<'a>(&'a self, name: &'a str) -> Option<Vec<&'a Values>> {
        let mut chain = vec![self.rows.get(name)?];
        let mut at = name;
        while let Some(base) = self.base(at) {
            chain.push(self.rows.get(base)?);
            at = base;
            if chain.len() > LONGEST_CHAIN {
                return None;
            }
        }
        Some(chain)
    }

    /// The rows between a row and itself, where its chain of bases comes back to it.
    fn way_round<'a>(&'a self, name: &str) -> Option<Vec<&'a str>> {
        let bases = std::iter::successors(self.base(name), |base| self.base(base)).take(LONGEST_CHAIN);
        let mut way: Vec<&str> = bases.collect();
        way.truncate(way.iter().position(|base| *base == name)?);
        Some(way)
    }

    /// Whether there is a row of that name, be it usable or not.
    pub(crate) fn has(&self, name: &str) -> bool {
        self.rows.contains_key(name)
    }

    fn base<'a>(&'a self, name: &str) -> Option<&'a str> {
        let written = self.rows.get(name).and_then(|row| row.get("based_on")).and_then(Found::text);
        written.or((name != USUAL).then_some(USUAL))
    }

    /// The names of the rows, in their order.
    pub fn names(&self) -> impl Iterator<Item = &str> {
        self.rows.keys().map(String::as_str)
    }

    /// The way out of a wrong name.
    pub(crate) fn advice(&self, written: &str) -> String {
        match nearest(written, self.names()) {
            Some(near) => format!("did you mean \"{near}\"?"),
            None => format!("the materials are {}", listed(self.names())),
        }
    }

    /// The row of that name, completed by those it is based on.
    pub fn get(&self, name: &str) -> Option<Material> {
        let chain = self.chain(name)?;
        let mut values = Values::default();
        for row in chain.iter().rev() {
            values.overlay(row);
        }
        Some(Material::from_values(name, &values))
    }
}

impl Material {
    pub(crate) fn from_values(name: &str, values: &Values) -> Material {
        let row = View::new(table::MATERIAL, values);
        let text = |key| row.word(key).to_owned();
        let number = |key| row.number(key);
        let layers = |key| layers(row.list(key));
        Material {
            name: name.to_owned(),
            about: text("about"),
            spacing_factor: number("spacing_factor"),
            pull_compensation: number("pull_compensation"),
            pull_percent: number("pull_percent"),
            pull_limit: number("pull_limit"),
            push_compensation: number("push_compensation"),
            pull_grain: number("pull_grain"),
            pull_density: number("pull_density"),
            pull_stitch: number("pull_stitch"),
            run_stitch_length: number("run_stitch_length"),
            run_curve_stitch_length: number("run_curve_stitch_length"),
            fill_stitch_length: number("fill_stitch_length"),
            satin_max_width: number("satin_max_width"),
            satin_underlay_narrow_below: number("satin_underlay_narrow_below"),
            satin_underlay_wide_above: number("satin_underlay_wide_above"),
            satin_underlay_narrow: layers("satin_underlay_narrow"),
            satin_underlay_medium: layers("satin_underlay_medium"),
            satin_underlay_wide: layers("satin_underlay_wide"),
            satin_underlay_inset: number("satin_underlay_inset"),
            satin_underlay_spacing: number("satin_underlay_spacing"),
            satin_underlay_stitch_length: number("satin_underlay_stitch_length"),
            fill_underlay: layers("fill_underlay"),
            fill_underlay_inset: number("fill_underlay_inset"),
            fill_underlay_spacing: number("fill_underlay_spacing"),
            fill_underlay_stitch_length: number("fill_underlay_stitch_length"),
            backing: text("backing"),
            topping: text("topping"),
            needle: text("needle"),
            speed: text("speed"),
        }
    }
}

/// The layers a list of words names.
pub(crate) fn layers(list: &[Found]) -> Vec<UnderlayLayer> {
    const ALL: [UnderlayLayer; 5] = [
        UnderlayLayer::CentreRun,
        UnderlayLayer::EdgeRun,
        UnderlayLayer::Zigzag,
        UnderlayLayer::Rows,
        UnderlayLayer::CrossingRows,
    ];
    let named = |found: &Found| LAYERS.iter().zip(ALL).find(|(word, _)| found.text() == Some(**word)).map(|(_, l)| l);
    list.iter().filter_map(named).collect()
}
