//! TOML in: rules that pick shapes and say how they become stitches.
