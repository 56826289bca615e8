//! Thread charts, colour difference, thread length and sewing time.
