"""Every screen's address, as it is visited by the browser at both widths."""

SCREENS = (
    "/",
    "/rack",
    "/rack?words=gum&min_length=2000&order=longest",
    "/more",
    "/sign-in",
)
"""Of the demo yard, whose boards run from BB-0001 and SG-0001."""
