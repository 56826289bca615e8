//! What the Python package `laidwork` asks of the engine.
//!
//! This half takes and gives bytes and plain values; the Python half in `python/laidwork` makes numpy arrays and
//! records of them and documents the package for its users. The interpreter is let go while the engine works, so
//! other threads of Python run on. Built over Python's stable ABI: one wheel serves every version from 3.10 on.

mod error;
mod plan;
mod sew;

use laidwork_plan::{Method, PassKind};
use laidwork_view::Show;
use pyo3::prelude::*;

/// The half of the package that is written in Rust.
#[pymodule]
fn _laidwork(module: &Bound<'_, PyModule>) -> PyResult<()> {
    module.add_class::<plan::Plan>()?;
    module.add_function(wrap_pyfunction!(sew::sew, module)?)?;
    module.add_function(wrap_pyfunction!(sew::shapes, module)?)?;
    module.add_function(wrap_pyfunction!(sew::read, module)?)?;
    module.add("LAYERS", PassKind::ALL.map(PassKind::word).to_vec())?;
    module.add("METHODS", Method::ALL.map(Method::word).to_vec())?;
    module.add("SHOWS", Show::ALL.map(Show::word).to_vec())?;
    module.add("__version__", env!("CARGO_PKG_VERSION"))
}
