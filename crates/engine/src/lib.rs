//! Drawing and recipe in, plan out: the one call a program makes.
