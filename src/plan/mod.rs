//! From a shape and a response to turns for every foot.
