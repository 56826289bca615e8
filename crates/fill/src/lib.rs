//! Rows of stitches laid over an area.
