"""From a photograph of a board's face to a true-scale picture and suggested defects: functions on arrays.

    files      a file's bytes, read with a limit
    decode     bytes -> a checked picture, upright, without its location
    location   a file without the place it was taken at, nothing else touched
    cards      the marker cards: their places, their drawing, finding them in a picture
    unread_cards  cards face down, or in a mirrored picture
    outline    the board found in a picture
    scale      a picture -> a true-scale face in the board's frame, or the reason why not
    strip      several overlapping pictures of a long face -> one face
    detect     a true-scale face, or any picture at scale -> suggested defects
    kept_face  a true-scale face as a file, its bare wood, a part of it, outlines drawn on it
    same       suggestions against mapped defects, and through cracks seen on both faces
    colour     the mean colour of a face and the direction of its figure

Pictures are arrays (rows, columns, 3) of uint8, red first (RGB). A true-scale face lies as its board does in
the board's frame: column = x / mm_per_px, row = (width - y) / mm_per_px, face B mirrored into that frame.
Knows nothing of records, files kept or people's decisions. The rooms' members are imported one by one, so
that importing this package does not load OpenCV.
"""
