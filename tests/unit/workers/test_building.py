"""Which commit a distribution says that it was built of."""

from __future__ import annotations

import subprocess
from pathlib import Path

import pytest

from workers.building import COMMIT, commit_of
from workers.plans import record


def test_the_commit_of_a_folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """As git has it, with what was changed since said; none without a repository, or what the environment says."""
    monkeypatch.delenv("LAPSTOCK_COMMIT", raising=False)
    assert commit_of(tmp_path) == ""

    def git(*arguments: str) -> str:
        as_somebody = ("-c", "user.name=Tern", "-c", "user.email=tern@example.org")
        asked = ["git", "-C", str(tmp_path), *as_somebody, *arguments]
        return subprocess.run(asked, capture_output=True, text=True, check=True).stdout.strip()

    git("init", "-q")
    assert commit_of(tmp_path) == ""
    (tmp_path / "shed.txt").write_text("six panels")
    git("add", ".")
    git("commit", "-qm", "Plan the shed")
    assert commit_of(tmp_path) == git("rev-parse", "--short=12", "HEAD")
    (tmp_path / "shed.txt").write_text("seven panels")
    assert commit_of(tmp_path) == f"{git('rev-parse', '--short=12', 'HEAD')}.changed"
    monkeypatch.setenv("LAPSTOCK_COMMIT", "0123456789ab")
    assert commit_of(tmp_path) == "0123456789ab"


def test_the_version_has_the_commit_behind_it(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """As PEP 440 writes a local version; where nobody noted a commit, it is the version alone."""
    monkeypatch.setattr(record, "files", tmp_path.joinpath)
    monkeypatch.setattr("importlib.metadata.version", lambda _: "0.1.0")
    assert record.this_version.__wrapped__() == "0.1.0"
    (tmp_path / COMMIT.parent).mkdir()
    (tmp_path / COMMIT).write_text("0123456789ab")
    assert record.this_version.__wrapped__() == "0.1.0+0123456789ab"
