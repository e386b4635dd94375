"""Without the system libraries OpenCV needs, photographs say so and nothing else is touched."""

import subprocess
import sys

SCRIPT = """
import sys
sys.modules["cv2"] = None  # what an import of it then meets is an ImportError
import stockyard.photos
from stockyard.errors import MissingPart
try:
    import stockyard.photos.detect
except MissingPart as said:
    print(said.message)
"""


def test_a_missing_opencv_is_one_sentence_with_the_remedy() -> None:
    done = subprocess.run([sys.executable, "-c", SCRIPT], capture_output=True, text=True, check=True)
    assert "apt-get install libgl1 libglib2.0-0" in done.stdout
    assert done.stdout.count("\n") == 1
