//! Knock-out, sewing order, travel, ties and trims.
