"""Versions: never overwritten, damage is seen and stays alone, killing the program loses nothing."""

from __future__ import annotations

import json
import os
import random
import signal
import subprocess
import sys
import threading
import time
from pathlib import Path

import pytest

from composer.errors import BadInput
from composer.revise.asks import Ask
from composer.routine import ScoreLine
from composer.versions import (
    Version,
    current_version,
    folder_for,
    load_versions,
    record_of,
    routine_from_record,
    save_version,
    version_numbered,
)
from tests.builders import a_problem, a_routine
from tests.revise.saver import digest, record

ROOT = Path(__file__).resolve().parents[2]


def a_version(number: int = 0, note: str = "a step") -> Version:
    asks = (Ask("forbid", "test/a"), Ask("replace", "1-6", (("test/a", 0),)))
    return Version(number, None, note, asks, ((1, 8),), {"title": "été"}, "brief.yaml", record(number))


def test_a_version_is_read_back_as_it_was(tmp_path: Path) -> None:
    saved = save_version(tmp_path, a_version())
    versions, faults = load_versions(tmp_path)
    assert faults == []
    assert versions == (saved,)
    assert saved.number == 1


def test_numbers_go_up_and_nothing_is_overwritten(tmp_path: Path) -> None:
    first = save_version(tmp_path, a_version(note="first"))
    content = (folder_for(tmp_path) / "v0001.json").read_bytes()
    second = save_version(tmp_path, a_version(note="second"))
    assert (first.number, second.number) == (1, 2)
    assert (folder_for(tmp_path) / "v0001.json").read_bytes() == content


def test_two_programs_saving_at_once_both_keep_theirs(tmp_path: Path) -> None:
    def save(name: str) -> None:
        for step in range(10):
            save_version(tmp_path, a_version(note=f"{name} {step}"))

    threads = [threading.Thread(target=save, args=(name,)) for name in "abc"]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    versions, faults = load_versions(tmp_path)
    assert faults == []
    assert [v.number for v in versions] == list(range(1, 31))
    assert sorted(v.note for v in versions) == sorted(f"{name} {step}" for name in "abc" for step in range(10))


@pytest.mark.parametrize("damage", ["cut short", "one word changed", "not JSON", "another number", "a list"])
def test_a_damaged_version_is_told_and_the_others_stand(tmp_path: Path, damage: str) -> None:
    for note in ("first", "second", "third"):
        save_version(tmp_path, a_version(note=note))
    path = folder_for(tmp_path) / "v0002.json"
    text = path.read_text("utf-8")
    changed = {
        "cut short": text[: len(text) // 2],
        "one word changed": text.replace("second", "sekond"),
        "not JSON": "\x00\x01",
        "another number": text.replace('"number": 2', '"number": 3'),
        "a list": "[]",
    }[damage]
    path.write_text(changed, "utf-8")
    versions, faults = load_versions(tmp_path)
    assert [v.note for v in versions] == ["first", "third"]
    assert [f.code for f in faults] == ["RTN040"]
    assert str(path) in str(faults[0])
    assert save_version(tmp_path, a_version()).number == 4


def test_the_current_version_is_the_last_that_holds_the_routine() -> None:
    versions = (a_version(1), a_version(2), Version(3, 2, "again", (), (), {}, "", record(1)))
    found = current_version(versions, record(1))
    assert found is not None
    assert found.number == 3
    assert current_version(versions, record(7)) is None
    with pytest.raises(BadInput, match=r"no version 9.*1, 2, 3"):
        version_numbered(versions, 9)


def test_a_record_gives_its_routine_back() -> None:
    problem = a_problem()
    routine = a_routine(problem, ["a", "b", "a"])
    carded = type(routine)(**{**routine.__dict__, "score_card": (ScoreLine("flow", "Flow", 3, (1, 1, 1)),)})
    assert routine_from_record(record_of(carded)) == carded


def kill_at_random_moments(home: Path, kills: int, seed: int) -> None:
    chance = random.Random(seed)
    kept: dict[int, str] = {}
    environment = {**os.environ, "PYTHONPATH": str(ROOT)}
    for _ in range(kills):
        process = subprocess.Popen(
            [sys.executable, "-m", "tests.revise.saver", str(home)], stdout=subprocess.PIPE, text=True, env=environment,
            cwd=ROOT,
        )  # fmt: skip
        assert process.stdout is not None
        line = process.stdout.readline()  # it is saving by now
        time.sleep(chance.random() * 0.02)
        process.send_signal(signal.SIGKILL)
        rest, _ = process.communicate()
        for said in (line + rest).splitlines(keepends=True):
            if said.endswith("\n"):
                _, number, mark = said.split()
                assert int(number) not in kept, "a version was given twice"
                kept[int(number)] = mark
        versions, faults = load_versions(home)
        assert faults == []
        held = {v.number: digest(v.routine) for v in versions}
        assert set(kept) <= set(held), "a version that was kept is lost"
        assert all(held[number] == mark for number, mark in kept.items()), "a version changed"
        assert sorted(held) == list(range(1, len(held) + 1))
        if (home / "routine.json").exists():
            current = json.loads((home / "routine.json").read_text("utf-8"))
            assert current_version(versions, current) is not None, "the routine is none of the versions"
    assert len(kept) >= kills


def test_killing_the_program_loses_no_version(tmp_path: Path) -> None:
    kill_at_random_moments(tmp_path, 3, seed=1)


@pytest.mark.slow
def test_killing_the_program_200_times_loses_no_version(tmp_path: Path) -> None:
    kill_at_random_moments(tmp_path, 200, seed=2)
