//! G-code out and in, for machines that people build themselves.
//!
//! Written and read is the language of the NIST RS274/NGC interpreter, version 3
//! (NISTIR 6556; Kramer, Proctor and Messina, 2000), of it what moves a hoop: `G0`,
//! `G1`, units, distance modes, feed, stops and comments. What the needle does is no
//! part of that language, so it is a [`Template`] of the user's own.
//!
//! Frame of the program: millimetres, x to the right, **y up**, as the standard has
//! it; its origin is the hoop's centre or its lower left corner ([`Origin`]).
//!
//! ```
//! use laidwork_gcode::{Hoop, Settings, read, write};
//! # use laidwork_plan::*;
//! # let pass = Pass::new(PassKind::Top, vec![Point::new(0.0, 0.0), Point::new(2.0, 1.0)]);
//! # let piece = Piece { name: "stem".into(), method: Method::Run, thread: 0, passes: vec![pass] };
//! # let thread = Thread { color: Color::new(0, 80, 0), name: None };
//! # let plan = Plan { threads: vec![thread], pieces: vec![piece], ..Plan::default() };
//! let settings = Settings { hoop: Some(Hoop::Rectangle { width: 100.0, height: 100.0 }), ..Settings::default() };
//! let program = write(&plan, &settings)?.value;
//! assert!(program.contains("G1 X2.000 Y-1.000\nG0 Z-5\nG0 Z5\n"));
//! assert_eq!(read(&program, &settings)?.value.stitches(), 2);
//! # Ok::<(), laidwork_gcode::Error>(())
//! ```

mod block;
mod error;
mod read;
mod settings;
mod write;

pub use block::Block;
pub use error::Error;
pub use laidwork_plan::HoopShape as Hoop;
pub use read::read;
pub use settings::{Origin, Settings, Template};
pub use write::write;
