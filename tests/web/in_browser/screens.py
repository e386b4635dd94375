"""Every screen's address, as it is visited by the browser at both widths."""

SCREENS = (
    "/",
    "/rack",
    "/rack?words=gum&min_length=2000&order=longest",
    "/board/SG-0003",
    "/photograph",
    "/photograph/SG-0001",
    "/delivery",
    "/delivery/by-hand",
    "/rack/shelves",
    "/stock",
    "/stock/report/worth",
    "/stock/report/moisture",
    "/count",
    "/people",
    "/jobs/new",
    "/job/hall-bench",
    "/sheets",
    "/more",
    "/sign-in",
)
"""Of the demo yard, whose boards run from BB-0001 and SG-0001."""
