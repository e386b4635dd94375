"""Published appearance rules computed from a board's map. An aid, never a certified grade."""
