"""Draws boards and photographs them, so that what is on a picture is known exactly, in millimetres.

    species     the look of a few timbers: colour, rings, pores, figure
    texture     the clear wood of a face: grain, growth rings, pores, figure
    flaws       cracks, knots, bark, gum, holes, wane and stain, following the grain
    board       a whole board from a seed: both faces and the truth about them
    nuisances   what is on a face and is no defect: saw marks, scratches, pencil, dust
    photograph  a camera over a bench: pose, lens, light, noise, JPEG, laid marker cards
    samples     makes the pictures and labels of sample_images/

Nothing here is used by the package. A face is an array whose column is x / mm_per_px and whose row is
(width - y) / mm_per_px in the board's frame, face B as if seen through the board.
"""
