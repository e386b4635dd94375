"""A supplier's delivery tally, read into lines that can be booked: a pure function of its bytes."""
