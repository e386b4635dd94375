"""Published appearance rules, computed from a board's size and the map of its defects.

Knows what a rule book counts and measures; knows nothing of jobs, prices or who asks. Every answer says why,
names the defects that decided it, and is an aid to the eye of a grader, never a certified grade.
"""

AID = "An aid worked from the board's map; not a certified grade."
"""Stands with every result."""
