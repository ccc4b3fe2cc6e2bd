"""What the tests of floors share."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from composer.cli.app import run as main


@pytest.fixture
def said(capsys: pytest.CaptureFixture[str]) -> Callable[..., tuple[int, str]]:
    """Runs a command; gives its exit code and what it wrote."""

    def run(*arguments: str) -> tuple[int, str]:
        code = main(list(arguments))
        return code, capsys.readouterr().out

    return run
