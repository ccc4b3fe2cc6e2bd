"""Runs command lines inside the test process and keeps what they said; and as real processes where that matters."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pytest

from composer.cli.app import run

FIRST_LINES = {"format": "brief/1", "title": "A test", "dance": "waltz", "music": {"tempo": 88, "bars": 16}}


@dataclass(frozen=True)
class Said:
    """Exit code and both streams of one command."""

    code: int
    out: str
    err: str

    @property
    def document(self) -> Any:
        """Standard output as exactly one JSON document."""
        return json.loads(self.out)

    @property
    def codes(self) -> list[str]:
        """The diagnostic code of every line on standard error."""
        return [line.split(" ")[0].rstrip(":") for line in self.err.splitlines()]


class Teller:
    """Calls the command line in process."""

    def __init__(self, capsys: pytest.CaptureFixture[str]) -> None:
        self._capsys = capsys

    def __call__(self, *arguments: str | Path) -> Said:
        self._capsys.readouterr()
        code = run([str(item) for item in arguments])
        out, err = self._capsys.readouterr()
        assert "Traceback" not in out + err
        return Said(code, out, err)


def process(*arguments: str | Path, env: dict[str, str] | None = None, cwd: Path | None = None) -> Said:
    """The command as its own process."""
    done = subprocess.run(
        [sys.executable, "-c", "from composer.cli import main; main()", *(str(a) for a in arguments)],
        capture_output=True,
        cwd=cwd,
        env={**os.environ, **(env or {})},
        timeout=120,
        check=False,
    )
    return Said(done.returncode, done.stdout.decode("utf-8"), done.stderr.decode("utf-8"))


def tree(folder: Path) -> dict[str, int | None]:
    """Every file (with its size) and folder below ``folder``."""
    return {
        str(item.relative_to(folder)): item.lstat().st_size if item.is_file() else None
        for item in sorted(folder.rglob("*"))
    }
