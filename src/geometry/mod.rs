//! From readings to the shape of the bed.
