//! The stitches that carry the top stitching.
