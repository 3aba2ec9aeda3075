//! Pages and drawings: what is in them, that they need nothing else, and how a browser shows them.

mod browser;
mod drawings;
mod hostile;
mod markup;
mod pages;
