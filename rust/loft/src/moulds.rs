//! Moulds: the shape of a section to the inside of what is bent round it.
