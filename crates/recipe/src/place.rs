//! Drawings placed in one hoop.

use crate::table;
use crate::values::{Found, Value, View};

/// A drawing and where it lies in the hoop. Lengths in mm, y down.
#[derive(Clone, Debug, PartialEq)]
pub struct Place {
    /// File of the drawing, seen from the recipe's folder; `None`: the one given beside the recipe.
    pub drawing: Option<String>,
    /// What it is called; the names of its shapes begin with it.
    pub name: Option<String>,
    /// Sewn width of the drawing.
    pub width: Option<f64>,
    /// Sewn height of the drawing.
    pub height: Option<f64>,
    /// Degrees clockwise about its middle.
    pub rotate: f64,
    /// Mirrored before it is turned.
    pub mirror: Mirror,
    /// Name of the earlier place it is aligned on; `None`: the hoop.
    pub on: Option<String>,
    /// Side to side: -1 left, 0 centre, 1 right.
    pub across: i8,
    /// Top to bottom: -1 top, 0 middle, 1 bottom.
    pub down: i8,
    /// Moved on from there, right and down.
    pub shift: [f64; 2],
    /// How it is repeated.
    pub repeat: Repeat,
    /// Its line in the recipe, from 1.
    pub line: usize,
}

/// A reflection.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Mirror {
    /// None.
    #[default]
    None,
    /// Left becomes right.
    Across,
    /// Top becomes bottom.
    Down,
}

/// Copies of a place.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub enum Repeat {
    /// Just the one.
    #[default]
    Once,
    /// Round a circle.
    Ring {
        /// How many.
        count: usize,
        /// Of the circle through their middles.
        radius: f64,
        /// Of the first, degrees clockwise from the top.
        from: f64,
        /// Each copy's top points outwards.
        turn: bool,
    },
    /// In columns and rows.
    Grid {
        /// Side by side.
        columns: usize,
        /// Below each other.
        rows: usize,
        /// From middle to middle, right and down.
        step: [f64; 2],
    },
}

/// A place as written.
pub(crate) fn place(found: &Found, line: usize) -> Option<Place> {
    let Value::Table(values) = &found.value else { return None };
    let of = View::new(table::PLACE, values);
    let text = |name| of.text_if_given(name).map(str::to_owned);
    Some(Place {
        drawing: text("drawing"),
        name: text("name"),
        width: of.number_if_given("width"),
        height: of.number_if_given("height"),
        rotate: of.number("rotate"),
        mirror: match of.word("mirror") {
            "across" => Mirror::Across,
            "down" => Mirror::Down,
            _ => Mirror::None,
        },
        on: text("on"),
        across: match of.word("across") {
            "left" => -1,
            "right" => 1,
            _ => 0,
        },
        down: match of.word("down") {
            "top" => -1,
            "bottom" => 1,
            _ => 0,
        },
        shift: of.pair("move").unwrap_or_default(),
        repeat: repeat(of),
        line,
    })
}

fn repeat(of: View<'_>) -> Repeat {
    if let Some(ring) = of.values.table("ring") {
        let ring = View::new(table::RING, ring);
        let radius = ring.number_if_given("radius").unwrap_or_default();
        let turn = ring.bool("turn");
        return Repeat::Ring { count: ring.count("count") as usize, radius, from: ring.number("from"), turn };
    }
    if let Some(grid) = of.values.table("grid") {
        let grid = View::new(table::GRID, grid);
        let step = grid.pair("step").unwrap_or_default();
        return Repeat::Grid { columns: grid.count("columns") as usize, rows: grid.count("rows") as usize, step };
    }
    Repeat::Once
}
