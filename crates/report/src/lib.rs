//! Every figure and check of a plan.
