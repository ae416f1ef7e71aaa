"""Ground floor: the words that every part of Rimetype speaks. No arrays, no window."""
