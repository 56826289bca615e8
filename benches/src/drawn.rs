//! Drawings by formula, as the bytes of an SVG, of about as many stitches as are wanted.

use std::fmt::Write;

/// A kind of drawing and how it is sewn.
pub struct Case {
    /// What it is called.
    pub name: &'static str,
    /// About how many stitches a shape has; `None` for one shape with all of them.
    stitches_a_shape: Option<f64>,
    /// Area that a stitch covers, mm².
    area_of_a_stitch: f64,
    /// Corners of a shape.
    corners: usize,
    /// The recipe.
    pub recipe: &'static str,
    /// More stitches than this would be more elements than a drawing may have.
    pub most: u32,
}

/// Rows so close and stitches so short that ten million of them lie in the two metres that a drawing may have.
const DENSE: &str = "[[rule]]\nmethod = \"fill\"\nspacing = 0.2\nstitch_length = 1.2\n";

/// One large shape, shapes of ten thousand stitches, and small shapes sewn as their width asks for.
pub const CASES: [Case; 3] = [
    Case {
        name: "one shape",
        stitches_a_shape: None,
        area_of_a_stitch: 0.24,
        corners: 64,
        recipe: DENSE,
        most: u32::MAX,
    },
    Case {
        name: "shapes of 10,000 stitches",
        stitches_a_shape: Some(10_000.0),
        area_of_a_stitch: 0.24,
        corners: 64,
        recipe: DENSE,
        most: u32::MAX,
    },
    Case {
        name: "small shapes",
        stitches_a_shape: Some(50.0),
        area_of_a_stitch: 0.16,
        corners: 16,
        recipe: "",
        most: 1_000_000,
    },
];

/// The colours in turn.
const COLORS: [&str; 4] = ["#a03020", "#205080", "#307040", "#805020"];

/// Room between neighbours, as a share of their width.
const GAP: f64 = 0.1;

impl Case {
    /// A drawing of about `stitches` stitches: rounded squares with wavy sides, side by side.
    pub fn svg(&self, stitches: u32) -> String {
        let stitches = f64::from(stitches);
        let shapes = self.stitches_a_shape.map_or(1.0, |each| (stitches / each).ceil().max(1.0));
        let side = (stitches / shapes * self.area_of_a_stitch).sqrt();
        let step = side * (1.0 + GAP);
        let columns = shapes.sqrt().ceil();
        let width = columns * step;
        let mut svg = format!(
            r#"<svg xmlns="http://www.w3.org/2000/svg" width="{width}mm" height="{width}mm" viewBox="0 0 {width} {width}">"#
        );
        for shape in 0..shapes as usize {
            let (row, column) = ((shape as f64 / columns).floor(), shape as f64 % columns);
            let centre = ((column + 0.5) * step, (row + 0.5) * step);
            let color = COLORS[shape % COLORS.len()];
            let _ = write!(svg, r#"<path fill="{color}" d="{}"/>"#, self.outline(centre, side / 2.0));
        }
        svg + "</svg>"
    }

    fn outline(&self, centre: (f64, f64), half: f64) -> String {
        let mut path = String::new();
        for corner in 0..self.corners {
            let angle = std::f64::consts::TAU * corner as f64 / self.corners as f64;
            let (sin, cos) = angle.sin_cos();
            // A superellipse, which fills most of its square, in waves of a fiftieth.
            let reach = half * (1.0 + 0.02 * (5.0 * angle).sin()) / (cos.powi(4) + sin.powi(4)).powf(0.25);
            let word = if corner == 0 { 'M' } else { 'L' };
            let _ = write!(path, "{word}{:.3} {:.3}", centre.0 + reach * cos, centre.1 + reach * sin);
        }
        path + "Z"
    }
}
