//! Prints results and computes nothing.
