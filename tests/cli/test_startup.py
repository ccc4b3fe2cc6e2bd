"""Commands start quickly because they load little: modules are counted, not seconds.

Measured on an idle machine ``--help`` takes about 0.1 s and ``figures show`` about 0.4 s, most of it interpreter,
argument parser, pydantic and rich; a module too many would not show in a test that measures time on a busy one.
"""

from __future__ import annotations

import json
import subprocess
import sys
from pathlib import Path

import pytest

HEAVY = {
    "numpy", "scipy", "ortools", "highspy", "music21", "shapely", "jinja2", "soundfile", "fpdf", "fontTools",
    "uharfbuzz", "matplotlib", "selenium", "hypothesis",
}  # fmt: skip
"""Libraries that take a tenth of a second or more to load."""
SCRIPT = """
import io, json, sys
from composer.cli.app import run
shown, sys.stdout = sys.stdout, io.StringIO()
code = run(json.loads(sys.argv[1]))
said, sys.stdout = sys.stdout.getvalue(), shown
print(json.dumps([code, said, sorted(sys.modules)]))
"""


def modules_of(*command: str, cache: Path) -> tuple[str, set[str]]:
    """What a command says and every module it has loaded by the end."""
    done = subprocess.run(
        [sys.executable, "-c", SCRIPT, json.dumps(command)],
        capture_output=True, text=True, check=True, timeout=120, env=_environment(cache),
    )  # fmt: skip
    code, said, loaded = json.loads(done.stdout)
    assert code == 0
    return said, set(loaded)


def _environment(cache: Path) -> dict[str, str]:
    import os

    return {**os.environ, "XDG_CACHE_HOME": str(cache)}


def packages(modules: set[str]) -> set[str]:
    return {name.split(".")[0] for name in modules}


def test_help_loads_no_library_but_the_argument_parser(tmp_path: Path) -> None:
    _, modules = modules_of("--help", cache=tmp_path)
    assert not packages(modules) & (HEAVY | {"pydantic", "yaml"})
    assert sum(name.startswith("composer.") for name in modules) <= 8


@pytest.mark.parametrize("command", [("figures", "show", "waltz/whisk"), ("figures", "list", "--dance", "waltz")])
def test_figures_load_no_heavy_library(tmp_path: Path, command: tuple[str, ...]) -> None:
    for heavy in (HEAVY - {"numpy", "scipy"}, HEAVY):  # figures not kept from before are simulated, with numbers
        _, modules = modules_of(*command, cache=tmp_path)
        assert packages(modules) & heavy == set()
        unneeded = {"composer.solve", "composer.rules", "composer.network", "composer.listening", "composer.timeline"}
        unneeded |= {"composer.report.folder", "composer.report.sheet", "composer.report.learning"}
        assert unneeded & modules == set()


def test_showing_a_figure_simulates_no_other_and_says_the_same_from_the_cache(tmp_path: Path) -> None:
    cold, _ = modules_of("figures", "show", "waltz/whisk", cache=tmp_path)
    (kept,) = (tmp_path / "routine-composer").glob("figures-*.json")
    assert len(json.loads(kept.read_text(encoding="utf-8"))) == 1
    warm, _ = modules_of("figures", "show", "waltz/whisk", cache=tmp_path)
    assert warm == cold
