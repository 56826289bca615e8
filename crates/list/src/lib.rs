//! The open stitch list: writer, strict reader, CSV and JSON twins.
