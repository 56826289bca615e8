//! SVG in: one drawing resolved into a short typed list of shapes in millimetres.
