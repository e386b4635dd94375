"""Where things lie: frames, outlines, footprints, turns, clear areas.

Two frames, and no others:

board frame   x along the board from end 1, y across it from edge 1, as seen looking at face A with end 1
              on the left and y pointing up. Face B is described in this same frame, as if seen through
              the board.
panel frame   X along the panel, Y across its staves from the first stave to the last, seen from its
              show face.

Knows shapes and their places; knows nothing of rules, prices or solvers.
"""
