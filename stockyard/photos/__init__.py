"""From a photograph to a true-scale face to suggested defects: pure functions on arrays."""
