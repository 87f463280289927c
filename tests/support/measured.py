"""Tern Cottage, boat shed, as somebody would post what was measured; ``measured_shed`` has it as objects."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

Json = dict[str, Any]

EXAMPLES = Path(__file__).parents[1] / "data" / "examples"
"""The files that the README speaks of."""

MEASURED: Json = json.loads((EXAMPLES / "measured.json").read_text(encoding="utf-8"))
"""Two walls, one of them a gable, a door, a window, three fixtures, a soffit ceiling."""

MATERIALS: list[Json] = MEASURED["materials"]
USES: Json = MEASURED["uses"]
