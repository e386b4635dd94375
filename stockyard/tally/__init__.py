"""A supplier's delivery tally, as a file, read into lines that can be booked: a pure function of its bytes."""
