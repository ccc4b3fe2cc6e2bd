"""Every test of the command line runs in a folder of its own and with a cache of its own."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.cli.speaking import Teller


@pytest.fixture
def cli(capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> Teller:
    """Runs commands in an empty folder, 80 columns wide."""
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("COLUMNS", "80")
    return Teller(capsys)
