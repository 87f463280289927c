"""What the service imports to start: only what it needs to answer."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

ROOT = Path(__file__).parents[2]


def test_the_service_starts_without_the_pdf_library() -> None:
    """fpdf2 is imported when the first PDF is made, not when the service starts."""
    told = "import sys; import service.app; print('fpdf' in sys.modules)"
    printed = subprocess.run([sys.executable, "-c", told], cwd=ROOT, check=True, capture_output=True, text=True).stdout
    assert printed == "False\n"
