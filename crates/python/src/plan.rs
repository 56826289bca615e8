//! A plan in Python's hands: columns of bytes, tables of plain values, pictures.

use crate::error;
use crate::sew::{self, PyShape};
use laidwork_drawing::Shape;
use laidwork_list::WriteOptions;
use laidwork_plan::{Color, PassKind, Point};
use laidwork_report::{ReportSettings, report};
use laidwork_thread::Pace;
use laidwork_view::{Look, Show};
use pyo3::prelude::*;
use pyo3::types::PyBytes;

/// Place, what happened, and the way out.
pub type Warnings = Vec<(Option<String>, String, String)>;

/// The x and y of `points` as 64-bit floats in the machine's order.
pub fn floats(points: &[Point]) -> Vec<u8> {
    points.iter().flat_map(|point| [point.x, point.y]).flat_map(f64::to_ne_bytes).collect()
}

/// A pass: index of its piece, number of its layer, number of its points, whether the needle comes to it by a jump,
/// whether the thread is cut after it, and whether the machine halts there.
type PyPass = (usize, usize, usize, bool, bool, bool);

/// A plan, and what its report and pictures want to know beside it.
#[pyclass(frozen, module = "laidwork._laidwork")]
pub struct Plan {
    /// The stitches.
    pub plan: laidwork_plan::Plan,
    /// What its report is told.
    pub settings: ReportSettings,
    /// The recipe's colour of the cloth.
    pub fabric: Option<Color>,
    /// The pace of machine and hands.
    pub pace: Pace,
    /// What was drawn; nothing of plans that were read.
    pub shapes: Vec<Shape>,
    /// What could not be read or sewn as asked.
    pub warnings: Warnings,
}

impl Plan {
    /// The look of a picture.
    fn look(&self, show: &str, fabric: Option<&str>) -> PyResult<Look> {
        let show: Show = show.parse().map_err(error::picture)?;
        let given = fabric.map(str::parse).transpose().map_err(error::picture)?;
        let look = Look::default();
        Ok(Look { show, fabric: given.or(self.fabric).unwrap_or(look.fabric), ..look })
    }

    /// The text that `write` writes.
    fn text<E: std::fmt::Display>(
        &self,
        py: Python<'_>,
        write: impl FnOnce(&laidwork_plan::Plan, &mut Vec<u8>) -> Result<(), E> + Send,
    ) -> PyResult<String> {
        py.detach(|| {
            let mut bytes = Vec::new();
            write(&self.plan, &mut bytes).map_err(error::unwritten)?;
            String::from_utf8(bytes).map_err(error::unwritten)
        })
    }
}

#[pymethods]
impl Plan {
    fn title(&self) -> Option<String> {
        self.plan.title.clone()
    }

    /// Left, top, width and height of the drawing, mm.
    fn drawing(&self) -> Option<(f64, f64, f64, f64)> {
        self.plan.drawing.map(|rect| (rect.x0, rect.y0, rect.width(), rect.height()))
    }

    /// Width and height of the hoop's inside, mm.
    fn hoop(&self) -> Option<(f64, f64)> {
        self.plan.hoop.map(|hoop| (hoop.width, hoop.height))
    }

    /// x and y of every needle point, mm, as 64-bit floats in the machine's order.
    fn points<'py>(&self, py: Python<'py>) -> Bound<'py, PyBytes> {
        let bytes: Vec<u8> = self.plan.passes().flat_map(|(_, pass)| floats(&pass.points)).collect();
        PyBytes::new(py, &bytes)
    }

    /// Every pass in sewing order.
    fn passes(&self) -> Vec<PyPass> {
        let layer = |kind| PassKind::ALL.iter().position(|known| *known == kind).unwrap_or_default();
        let passes = self.plan.passes();
        passes
            .map(|(piece, pass)| {
                (piece, layer(pass.kind), pass.points.len(), !pass.jumps.is_empty(), pass.trim, pass.stop)
            })
            .collect()
    }

    /// Name, method and thread of every piece.
    fn pieces(&self) -> Vec<(String, &'static str, usize)> {
        self.plan.pieces.iter().map(|piece| (piece.name.clone(), piece.method.word(), piece.thread)).collect()
    }

    /// Colour and name of every thread.
    fn threads(&self) -> Vec<(String, Option<String>)> {
        self.plan.threads.iter().map(|thread| (thread.color.to_string(), thread.name.clone())).collect()
    }

    /// What was drawn.
    fn shapes<'py>(&self, py: Python<'py>) -> Vec<PyShape<'py>> {
        self.shapes.iter().map(|shape| sew::shape(py, shape)).collect()
    }

    /// What could not be read or sewn as asked.
    fn warnings(&self) -> Warnings {
        self.warnings.clone()
    }

    /// Every promise of a sound plan that this one breaks; none for anything the engine made.
    fn broken(&self) -> Vec<String> {
        self.plan.sanity_check().iter().map(ToString::to_string).collect()
    }

    /// The report as JSON.
    fn report_json(&self, py: Python<'_>) -> PyResult<String> {
        py.detach(|| serde_json::to_string(&report(&self.plan, &self.settings)).map_err(error::unwritten))
    }

    /// The report as text.
    fn report_text(&self, py: Python<'_>) -> String {
        py.detach(|| report(&self.plan, &self.settings).to_text())
    }

    /// The stitch list.
    fn list(&self, py: Python<'_>) -> PyResult<String> {
        self.text(py, |plan, to| laidwork_list::write(plan, to, WriteOptions::default()))
    }

    /// Its CSV twin.
    fn csv(&self, py: Python<'_>) -> PyResult<String> {
        self.text(py, |plan, to| laidwork_list::to_csv(plan, to, WriteOptions::default()))
    }

    /// Its JSON twin.
    fn json(&self, py: Python<'_>) -> PyResult<String> {
        self.text(py, |plan, to| laidwork_list::to_json(plan, to, WriteOptions::default()))
    }

    /// A picture of pixels, as the bytes of a PNG file.
    fn png<'py>(
        &self,
        py: Python<'py>,
        width: Option<u32>,
        show: &str,
        fabric: Option<&str>,
    ) -> PyResult<Bound<'py, PyBytes>> {
        let look = self.look(show, fabric)?;
        let bytes = py.detach(|| {
            let look = match width {
                Some(pixels) => look.as_wide_as(&self.plan, pixels),
                None => look,
            };
            laidwork_view::png(&self.plan, &look).map_err(error::picture)
        })?;
        Ok(PyBytes::new(py, &bytes))
    }

    /// A picture of strands, as the text of an SVG file.
    fn svg(&self, py: Python<'_>, show: &str, fabric: Option<&str>) -> PyResult<String> {
        let look = self.look(show, fabric)?;
        self.text(py, |plan, to| laidwork_view::svg(plan, &look, to))
    }

    /// The page that sews itself.
    fn html(&self, py: Python<'_>, fabric: Option<&str>) -> PyResult<String> {
        let look = self.look(Show::default().word(), fabric)?;
        py.detach(|| laidwork_view::html(&self.plan, &look, &self.pace).map_err(error::picture))
    }
}
