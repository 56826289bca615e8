//! Running stitches along a path.
