"""Building the distribution: which commit it is of is written into it, and nobody asks git while it runs.

``pyproject.toml`` names this for setuptools; nothing else does. ``LAPSTOCK_COMMIT`` says it where there is no
repository, as in an image.
"""

from __future__ import annotations

import os
import subprocess
from pathlib import Path

from setuptools.command.build_py import build_py

COMMIT = Path("workers", "commit.txt")
"""Where that stands in what is installed. This module can import nothing of ours: it is loaded by itself."""


class BuildWithCommit(build_py):  # type: ignore[misc] # its types are of the version that builds
    """Copies the packages, and says beside them what they are of."""

    def run(self) -> None:
        """Build; an editable installation changes with its folder and is of no commit."""
        super().run()
        if not self.editable_mode:
            (Path(self.build_lib) / COMMIT).write_text(commit_of(Path.cwd()), encoding="utf-8")


def commit_of(folder: Path) -> str:
    """Return the commit that a folder is of, with ``.changed`` behind it where it is not all of that; else empty."""
    given = os.environ.get("LAPSTOCK_COMMIT", "")
    if given or not (folder / ".git").exists():
        return given
    try:
        commit = _git(folder, "rev-parse", "--short=12", "HEAD")
        return f"{commit}.changed" if _git(folder, "status", "--porcelain", "--untracked-files=no") else commit
    except (OSError, subprocess.CalledProcessError):
        return ""


def _git(folder: Path, *arguments: str) -> str:
    asked = ["git", "-C", str(folder), *arguments]
    return subprocess.run(asked, capture_output=True, text=True, check=True).stdout.strip()
