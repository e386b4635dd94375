"""Training of the learned reader of board faces: python -m stockyard.photos.training (the extra `train`).

    classes   what a point of a face may be, and the scale a face is read at
    model     the network, and its way into an ONNX file
    marked    folders of real boards with marked points, parted board by board
    drawn     rendered boards of many timbers with exact marks (a clone's renderer draws them)
    distort   light, casts, blur, JPEG, saw marks, pencil, dust, parts of boards, other scales
    fit       the loss and the course of training
    confide   how sure a suggestion may be, fitted on boards that training did not see

Nothing here is needed to read a face, and nothing outside imports it.
"""
