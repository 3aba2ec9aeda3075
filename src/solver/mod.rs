//! Bounded integer least squares: matrices in, integers out.
