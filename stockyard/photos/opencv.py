"""The one place that loads OpenCV, which needs two libraries of the system besides its own package."""

from stockyard.errors import MissingPart

try:
    import cv2
except ImportError as trouble:  # libGL.so.1 or libgthread-2.0.so.0 not found, or no wheel installed
    raise MissingPart(
        f"Photographs need OpenCV, which did not load ({trouble}); on Debian or Ubuntu run "
        "'apt-get install libgl1 libglib2.0-0', elsewhere install libGL and glib, then try again."
    ) from trouble

__all__ = ["cv2"]
