"""First floor: pure functions on arrays, from photo to plate bitmap. No window."""
