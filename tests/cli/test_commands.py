"""Every command: what it says, its exit code, and that --json is one document and nothing else."""

from __future__ import annotations

import json
import os
import signal
import subprocess
import sys
import time
from pathlib import Path
from typing import Any

import pytest

import composer.explain
import composer.solve
from composer.compose import EXPECTED
from composer.errors import Where
from composer.outcome import Clash, ClashMember, Found, NoRoutine, Outcome, Remedy, Undecided
from composer.problem import Problem
from composer.routine import Placed, Routine
from tests.cli.speaking import Said, Teller, process, tree

BRIEF = "format: brief/1\ntitle: Two boxes\ndance: waltz\nmusic: {tempo: 88, bars: 4}\n"


@pytest.fixture
def brief(tmp_path: Path) -> Path:
    file = tmp_path / "two-boxes.yaml"
    file.write_text(BRIEF, "utf-8")
    return file


def a_routine(problem: Problem, *names: str) -> Routine:
    placed, tick, faces = [], 0, 0
    for name in names:
        figure = problem.catalogue.figures[f"waltz/{name}"]
        placed.append(Placed(figure.id, tick, tick + figure.length_ticks, faces))
        tick, faces = tick + figure.length_ticks, figure.end_of(faces).faces
    return Routine("Two boxes", ("waltz",), problem.length_ticks, tuple(placed), status="best")


def solver(monkeypatch: pytest.MonkeyPatch, answer: Any) -> None:
    """Let the solver answer with ``answer(problem)``; these tests are about the commands, not about solving."""

    def solve(problem: Problem, *, seed: int, time_limit_s: float, progress: Any) -> Outcome:
        progress(3, 9)
        outcome: Outcome = answer(problem)
        return outcome

    def explain(problem: Problem, *, seed: int, time_limit_s: float) -> Outcome:
        return no_routine(problem)

    monkeypatch.setattr(composer.solve, "solve", solve)
    monkeypatch.setattr(composer.explain, "explain", explain)


def found(problem: Problem) -> Outcome:
    return Found(a_routine(problem, "box-step", "box-step"), True, 0)


# --- compose ---------------------------------------------------------------------------------------------


def test_compose_shows_a_table_and_writes_the_folder(
    cli: Teller, brief: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    solver(monkeypatch, found)
    said = cli("compose", brief, "--out", "out")
    assert said.code == 0
    assert "Two boxes" in said.out
    assert said.out.count("Box step") == 2
    assert "1–6" in said.out
    assert said.out.count("closed hold") == 1  # said once, as it does not change
    assert "proven best" in said.out
    assert set(tree(tmp_path / "out")) - {".routine-composer.json", "versions", "versions/v0001.json"} == set(EXPECTED)
    assert max(len(line) for line in said.out.splitlines() if not line.startswith("Written")) <= 80


def test_compose_without_out_names_the_folder_after_the_brief_and_json_writes_nothing(
    cli: Teller, brief: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    solver(monkeypatch, found)
    before = tree(tmp_path)
    said = cli("compose", brief, "--json")
    assert said.code == 0
    assert said.document["status"] == "found"
    assert said.document["proven_best"] is True
    assert said.document["routine"]["format"] == "routine/1"
    assert tree(tmp_path) == before
    assert cli("compose", brief).code == 0
    assert (tmp_path / "two-boxes-routine" / "routine.json").is_file()


def test_lengths_in_feet_reach_the_sheet(
    cli: Teller, brief: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    solver(monkeypatch, found)
    for unit, in_feet in (("feet", True), ("Metres", False)):
        assert cli("compose", brief, "--out", unit, "--lengths", unit, "--paper", "letter").code == 0
        assert (" ft" in (tmp_path / unit / "sheet.html").read_text("utf-8")) is in_feet


def test_the_composed_record_verifies_and_composes_to_the_same_bytes(
    cli: Teller, brief: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    solver(monkeypatch, found)
    cli("compose", brief, "--out", "one")
    cli("compose", brief, "--out", "two")
    assert (tmp_path / "one" / "routine.json").read_bytes() == (tmp_path / "two" / "routine.json").read_bytes()
    said = cli("verify", "one/routine.json", "--brief", brief)
    assert (said.code, said.err) == (0, "")


def no_routine(_: Problem) -> Outcome:
    members = (ClashMember("must:whisk", "The whisk comes once", Where("brief.yaml", 7, "wishes.must[0]")),)
    remedy = Remedy("Leave the whisk out", ("wishes.must[0]",), 1, True)
    return NoRoutine((Clash(members, True, ("it cannot be reached in 12 counts",)),), (remedy,))


def test_a_proof_that_none_exists_is_exit_3_and_names_the_wishes(
    cli: Teller, brief: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    solver(monkeypatch, no_routine)
    before = tree(tmp_path)
    said = cli("compose", brief, "--out", "out")
    assert said.code == 3
    for words in (
        "proved",
        "The whisk comes once",
        "brief.yaml:7 wishes.must[0]",
        "cannot be reached",
        "Leave the whisk",
    ):
        assert words in said.out
    document = cli("compose", brief, "--out", "out", "--json").document
    assert document["status"] == "no-routine"
    assert document["clashes"][0]["minimal"] is True
    assert document["clashes"][0]["wishes"][0]["where"] == "brief.yaml:7 wishes.must[0]"
    assert document["remedies"][0]["verified"] is True
    assert tree(tmp_path) == before


def test_running_out_of_time_is_exit_4_and_never_called_impossible(
    cli: Teller, brief: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    solver(monkeypatch, lambda problem: Undecided(20.0, None, 12))
    said = cli("compose", brief, "--out", "out")
    assert said.code == 4
    assert "not a proof" in said.out
    assert "No routine exists" not in said.out
    assert "at most 12 points" in said.out
    assert said.out.splitlines()[-1].startswith("What to try: --time-limit 60, or ")
    for bound in (None, 0):  # nothing is known
        solver(monkeypatch, lambda problem, bound=bound: Undecided(20.0, None, bound))
        assert "at most" not in cli("compose", brief, "--out", "out").out
    assert cli("compose", brief, "--json").document["status"] == "undecided"


def test_a_routine_in_hand_when_time_runs_out_is_checked_and_written(
    cli: Teller, brief: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    solver(monkeypatch, lambda problem: Undecided(20.0, a_routine(problem, "box-step", "box-step"), 12))
    assert cli("compose", brief, "--out", "out").code == 4
    assert (tmp_path / "out" / "routine.json").is_file()


def test_a_composed_routine_with_a_breach_is_an_internal_error_never_shown(
    cli: Teller, brief: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    solver(monkeypatch, lambda problem: Found(a_routine(problem, "box-step", "whisk"), True, 0))
    before = tree(tmp_path)
    said = cli("compose", brief, "--out", "out")
    assert (said.code, said.out) == (1, "")
    assert "failed its check" in said.err
    assert tree(tmp_path) == before
    assert cli("compose", brief, "--json").document["errors"][0]["code"] == "CMD900"


def boom(_: Problem) -> Outcome:
    raise ZeroDivisionError("deep inside")


def test_an_internal_error_is_one_line_and_the_details_come_when_asked(
    brief: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    from composer.cli.app import run

    solver(monkeypatch, boom)
    assert run(["compose", str(brief), "--json"]) == 1
    out, err = capsys.readouterr()
    assert json.loads(out)["errors"][0]["code"] == "CMD900"
    monkeypatch.chdir(brief.parent)
    assert run(["compose", str(brief)]) == 1
    out, err = capsys.readouterr()
    assert (out, err.count("\n")) == ("", 2)  # the progress line and the error
    assert "ZeroDivisionError: deep inside" in err
    assert "ROUTINE_COMPOSER_DETAILS=1" in err
    monkeypatch.setenv("ROUTINE_COMPOSER_DETAILS", "1")
    assert run(["compose", str(brief)]) == 1
    assert "Traceback" in capsys.readouterr().err


def interrupted(_: Problem) -> Outcome:
    raise KeyboardInterrupt


def test_an_interrupt_is_exit_130_with_one_line(
    cli: Teller, brief: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    solver(monkeypatch, interrupted)
    before = tree(tmp_path)
    said = cli("compose", brief, "--out", "out", "--json")
    assert (said.code, said.out) == (130, "")
    assert said.err.splitlines()[-1] == "Interrupted."
    assert tree(tmp_path) == before


@pytest.mark.parametrize("width", ["40", "59", "60", "80", "120", "200"])
def test_the_table_keeps_within_the_terminal_and_loses_no_figure(
    width: str, cli: Teller, brief: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    solver(monkeypatch, found)
    monkeypatch.setenv("COLUMNS", width)
    out = cli("compose", brief, "--out", "o").out
    assert max(len(line) for line in out.splitlines() if not line.startswith("Written")) <= int(width)
    assert out.count("Box step") == 2
    assert "\x1b" not in out


@pytest.mark.parametrize(("tempo", "noted"), [(84, False), (90, False), (83, True), (91, True)])
def test_an_unusual_tempo_is_worth_a_note(
    tempo: int, noted: bool, cli: Teller, brief: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    # 28-30 bars a minute in competition waltz: the dance's page, with its source
    solver(monkeypatch, found)
    brief.write_text(BRIEF.replace("tempo: 88", f"tempo: {tempo}"), "utf-8")
    notes = cli("compose", brief, "--json").document["notes"]
    assert any("usually danced at 84 to 90" in note for note in notes) is noted
    assert ("Note: Waltz is usually" in cli("compose", brief, "--out", "o").out) is noted


@pytest.mark.parametrize(
    "text", ["a\x1b[31mb", "a\nb", "a\u202eb", "a\u2028b", "a\u2029b", "a\x85b", "a\ud800b", "ä → ·"]
)
def test_no_text_steers_the_terminal(text: str) -> None:
    from composer.cli.speak import clean

    told = clean(text)
    assert len(told.splitlines()) == 1
    assert all(char.isprintable() for char in told)
    assert told.startswith(text[0])
    assert told.endswith(text[-1])


def test_the_pipeline_can_be_cancelled_and_tells_its_stages(brief: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    from composer.compose import Cancelled, Progress, compose

    solver(monkeypatch, found)
    told: list[Progress] = []
    assert isinstance(compose(brief, progress=told.append), Found)
    assert [item.stage for item in told] == ["reading", "composing", "composing", "checking"]
    assert (told[2].best, told[2].bound) == (3, 9)
    with pytest.raises(Cancelled):
        compose(brief, cancelled=lambda: True)
    with pytest.raises(Cancelled):  # while the solver is at work
        compose(brief, progress=told.append, cancelled=lambda: told[-1].best is not None)


# --- verify ----------------------------------------------------------------------------------------------

LOOP = (
    "format: routine/1\ndance: waltz\nfigures: [natural turn, right foot closed change, {}, left foot closed change]\n"
)


def test_verify_without_a_brief(cli: Teller, tmp_path: Path) -> None:
    good, bad = tmp_path / "good.yaml", tmp_path / "bad.yaml"
    good.write_text(LOOP.format("reverse turn"), "utf-8")
    bad.write_text(LOOP.format("natural turn"), "utf-8")
    assert cli("verify", good).code == 0
    said = cli("verify", bad)
    assert (said.code, said.err) == (3, "")
    assert "10–15  Natural turn  facing diagonal centre" in said.out
    assert "right foot free" in said.out.replace("\n           ", " ")
    data = cli("verify", bad, "--json").document
    assert data["status"] == "breaches"
    assert {item["count"] for item in data["breaches"]} >= {10}
    assert data["routine"]["figures"][0]["figure"] == "waltz/natural-turn"
    assert cli("verify", good, "--json").document["status"] == "fine"


def test_verify_by_a_brief_tells_breaches_of_wishes_with_their_line(cli: Teller, brief: Path, tmp_path: Path) -> None:
    brief.write_text(BRIEF + "wishes:\n  never: [box step]\n", "utf-8")
    routine = tmp_path / "r.yaml"
    routine.write_text("format: routine/1\nfigures: [waltz/box-step, waltz/box-step]\n", "utf-8")
    said = cli("verify", routine, "--brief", brief)
    assert said.code == 3
    assert "[two-boxes.yaml:6 wishes.never[0]]" in said.out.replace("\n           ", " ")


# --- figures ---------------------------------------------------------------------------------------------


def test_figures_list(cli: Teller) -> None:
    said = cli("figures", "list", "--dance", "waltz", "--level", "1")
    assert said.code == 0
    assert "natural-turn" in said.out
    assert "outside-spin" not in said.out
    listed = cli("figures", "list", "--dance", "waltz", "--level", "1", "--json").document["figures"]
    assert all(item["dance"] == "waltz" and item["level"] == 1 for item in listed)
    assert f"{len(listed)} figures." in said.out


@pytest.mark.parametrize("width", ["60", "140"])
def test_figures_show_has_both_charts(width: str, cli: Teller, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("COLUMNS", width)
    out = cli("figures", "show", "Natural turn", "--dance", "waltz").out
    assert "waltz/natural-turn" in out
    for word in ("leader", "follower", "count", "foot", "turn", "leading it", "following it"):
        assert word in out
    assert max(len(line) for line in out.splitlines()) <= int(width)


def test_figures_show_as_data_reads_back_as_a_figure_file(cli: Teller) -> None:
    from composer.catalogue import load_catalogue
    from composer.charts import FigureFile

    data = cli("figures", "show", "waltz/natural-spin-turn", "--json").document
    again = FigureFile.model_validate({"format": "figure/1", **data["chart"]})
    assert again == load_catalogue(dances=["waltz"]).figures["waltz/natural-spin-turn"].chart


def test_figures_new_passes_the_check_as_it_is_and_a_broken_step_does_not(cli: Teller, tmp_path: Path) -> None:
    from composer.brief.names import dances_in
    from composer.resources import shipped

    for dance in dances_in([shipped("catalog")]):
        assert cli("figures", "new", f'My "{dance}": step', "--dance", dance).code == 0
        file = tmp_path / dance / f"my-{dance}-step.yaml"
        assert cli("figures", "check", file).code == 0
        assert cli("figures", "new", f'My "{dance}": step', "--dance", dance).codes == ["OUT003"]
        text = file.read_text("utf-8")
        file.write_text(text.replace("{at: 2, foot: R, do: close}", "{at: 2, foot: L, do: close}", 1), "utf-8")
        said = cli("figures", "check", file)
        assert said.code == 2
        assert all(code.startswith("FIG") for code in said.codes)
        file.write_text(text, "utf-8")
    said = cli("figures", "check", tmp_path, "--json")
    assert said.code == 0
    assert len(said.document["figures"]) == len(dances_in([shipped("catalog")]))


def test_figures_show_draws_the_foot_chart(cli: Teller, tmp_path: Path) -> None:
    from xml.etree import ElementTree

    assert cli("figures", "show", "waltz/whisk", "--out", "whisk.svg").code == 0
    assert ElementTree.parse(tmp_path / "whisk.svg").getroot().tag.endswith("svg")


def test_a_name_of_several_dances_is_refused_with_all_of_them(cli: Teller) -> None:
    said = cli("figures", "show", "natural turn")
    assert (said.code, said.codes) == (2, ["CMD013"])
    assert "'waltz/natural-turn'" in said.err
    assert "'viennese-waltz/natural-turn'" in said.err


@pytest.mark.parametrize("name", ["waltz/whisk", "waltz/natural-turn", "waltz/natural-spin-turn", "triple-two/wrap-in"])
def test_figures_follow_agrees_with_the_catalogue(name: str, cli: Teller) -> None:
    from composer.catalogue import load_catalogue

    catalogue = load_catalogue(dances=[name.split("/")[0]])
    figure = catalogue.figures[name]
    data = cli("figures", "follow", name, "--json").document
    assert data["figure"] == name
    for other in catalogue.figures.values():
        joins = catalogue.joins(figure.end_of(0), other)
        wanted = other.chart.entry.faces
        ends = {figure.end_of(faces).faces for faces in figure.chart.entry.faces or range(8)}
        # both dances travel: a corner of the room renames alignments by +2 eighths, so two figures may meet round it
        ends |= {(faces + 2) % 8 for faces in ends}
        expected = joins and (wanted is None or bool(set(wanted) & ends))
        assert (other.id in data["after"]["may"]) is expected
        assert (other.id in data["after"]["may_not"]) is not expected
    assert all(data["after"]["may_not"].values())
    text = cli("figures", "follow", name).out
    assert "may come before" in text
    assert "may not: " in text


def test_figures_graph_tells_whether_the_dance_hangs_together(cli: Teller, tmp_path: Path) -> None:
    data = cli("figures", "graph", "waltz", "--json").document
    assert data["connected"] is (len(data["parts"]) == 1)
    said = cli("figures", "graph", "waltz")
    assert said.code == (0 if data["connected"] else 3)
    assert "figures up to level 5" in said.out


def test_strong_parts_against_reachability() -> None:
    from composer.cli.figuregraph import strong_parts

    graph = {"a": ["b"], "b": ["c"], "c": ["a", "d"], "d": ["e"], "e": ["d"], "f": ["a"]}
    assert strong_parts(graph) == [["a", "b", "c"], ["d", "e"], ["f"]]
    assert strong_parts({}) == []


# --- listen ----------------------------------------------------------------------------------------------


def test_listen_shows_and_writes_a_timeline(cli: Teller, tmp_path: Path) -> None:
    beats = tmp_path / "b.txt"
    beats.write_text("".join(f"{i * 0.5} {i % 3 + 1}\n" for i in range(24)), "utf-8")
    said = cli("listen", beats, "--out", "t.json", "--phrase-bars", "4")
    assert said.code == 0
    assert "24 beats" in said.out
    again = cli("listen", "t.json", "--json")
    assert again.document == json.loads((tmp_path / "t.json").read_text("utf-8"))
    assert [phrase["beats"] for phrase in again.document["phrases"]] == [12, 12]


def test_listen_to_a_recording_for_a_dance_with_clicks_and_a_picture(cli: Teller, tmp_path: Path) -> None:
    soundfile = pytest.importorskip("soundfile")
    numpy = pytest.importorskip("numpy")
    rate, beats, bpm = 22050, 48, 88
    sound = numpy.zeros(int(rate * (beats * 60 / bpm + 1)))
    for beat in range(beats):
        at, tone = int((0.3 + beat * 60 / bpm) * rate), numpy.arange(rate // 12)
        wave = numpy.sin(2 * numpy.pi * (220 if beat % 3 else 440) * tone / rate) * numpy.exp(-tone / 440)
        sound[at : at + len(tone)] += (0.4 if beat % 3 else 0.9) * wave
    soundfile.write(tmp_path / "ticks.wav", sound, rate)
    command = ("listen", "ticks.wav", "--dance", "waltz", "--clicks", "c.wav", "--picture", "p.svg", "--out", "t.json")
    said = cli(*command, "--json")
    assert said.code == 0, said.out
    assert said.document["origin"] == "audio"
    assert said.document["beats_per_bar"] == 3
    assert {"c.wav", "p.svg", "t.json"} <= set(tree(tmp_path))
    assert "Goes with:" in cli("listen", "t.json").out
    assert cli("listen", "ticks.wav", "--tune", "2").codes == ["CMD004"]
    assert cli("listen", "ticks.wav", "--dance", "walz").codes == ["TML072"]
    assert cli("listen", "t.json", "--clicks", "d.wav").codes == ["CMD004"]


def test_doubts_of_the_listener_are_told_unless_the_brief_trusts_it(brief: Path) -> None:
    from dataclasses import replace

    from composer.brief import load_problem
    from composer.brief.notes import notes_on

    problem = load_problem(brief)
    unsure = replace(problem, timeline=replace(problem.timeline, doubts=("Where does bar 1 begin?",)))
    assert notes_on(problem) == []
    assert any("Where does bar 1 begin?" in note for note in notes_on(unsure))
    music = problem.brief.music
    trusting = music.model_copy(update={"corrections": music.corrections.model_copy(update={"trust": True})})
    assert notes_on(replace(unsure, brief=problem.brief.model_copy(update={"music": trusting}))) == []


# --- the front door --------------------------------------------------------------------------------------


@pytest.mark.parametrize("command", [[], ["--help"], ["figures"], ["compose", "--help"], ["figures", "show", "--help"]])
def test_help_is_plain_and_exit_0(command: list[str], cli: Teller) -> None:
    said = cli(*command)
    assert said.code == 0
    assert said.out.startswith("Usage: routine-composer")
    assert said.err == ""


def test_version(cli: Teller) -> None:
    assert cli("--version").out.startswith("routine-composer ")


def test_help_imports_nothing_heavy() -> None:
    script = (
        "import sys; from composer.cli.app import run; code = run(['--help']);"
        "heavy = {'numpy', 'pydantic', 'ortools', 'highspy', 'music21', 'scipy', 'shapely', 'jinja2', 'yaml'};"
        "print(sorted(heavy & set(sys.modules)), file=sys.stderr); sys.exit(code)"
    )
    done = subprocess.run([sys.executable, "-c", script], capture_output=True, text=True, check=False, timeout=60)
    assert (done.returncode, done.stderr.strip()) == (0, "[]")


def test_nobody_reading_the_output_is_silent() -> None:
    reader, writer = os.pipe()
    os.close(reader)
    done = subprocess.run(
        [sys.executable, "-c", "from composer.cli import main; main()", "schema", "brief"],
        stdout=writer, stderr=subprocess.PIPE, check=False, timeout=60,
    )  # fmt: skip
    os.close(writer)
    assert (done.returncode, done.stderr) == (141, b"")


@pytest.mark.skipif(not Path("/dev/full").exists(), reason="this machine has no full device")
def test_an_output_that_is_full_is_one_line() -> None:
    with open("/dev/full", "wb") as full:
        done = subprocess.run(
            [sys.executable, "-c", "from composer.cli import main; main()", "schema", "brief"],
            stdout=full, stderr=subprocess.PIPE, check=False, timeout=60,
        )  # fmt: skip
    assert done.returncode == 2
    assert done.stderr.startswith(b"OUT004: the output cannot be written")
    assert done.stderr.count(b"\n") == 1


def test_what_compiled_libraries_print_never_reaches_the_output() -> None:
    script = (
        "import ctypes, os; from composer.cli import speak\n"
        "with speak.libraries_silenced():\n"
        "    os.write(1, b'noise'); ctypes.CDLL(None).puts(b'held back noise')\n"
        "print('result')"
    )
    done = subprocess.run([sys.executable, "-c", script], capture_output=True, text=True, check=True, timeout=60)
    assert done.stdout == "result\n"


def test_a_real_interrupt_ends_in_one_line(tmp_path: Path) -> None:
    """The process is stopped while it waits for its solver."""
    (tmp_path / "b.yaml").write_text(BRIEF, "utf-8")
    script = (
        "import signal, time, composer.solve, pathlib\n"
        "signal.signal(signal.SIGINT, signal.default_int_handler)\n"  # a background shell may have it ignored
        "def solve(problem, **_):\n"
        "    pathlib.Path('ready').touch(); time.sleep(60)\n"
        "composer.solve.solve = solve\n"
        "import sys; sys.argv = ['x', 'compose', 'b.yaml', '--out', 'out']\n"
        "from composer.cli import main; main()"
    )
    running = subprocess.Popen(
        [sys.executable, "-c", script], cwd=tmp_path, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True
    )
    for _ in range(600):
        if (tmp_path / "ready").exists() or running.poll() is not None:
            break
        time.sleep(0.1)
    running.send_signal(signal.SIGINT)
    out, err = running.communicate(timeout=60)
    assert (running.returncode, out, err) == (130, "", "Interrupted.\n")
    assert not (tmp_path / "out").exists()


def test_colours_only_for_a_person_and_never_with_no_color(tmp_path: Path) -> None:
    said: Said = process("figures", "show", "waltz/whisk", env={"NO_COLOR": "1", "FORCE_COLOR": "1", "TERM": "xterm"})
    assert said.code == 0
    assert "\x1b[3" not in said.out  # no colour; bold and dim may stay
    assert "\x1b" not in process("figures", "show", "waltz/whisk").out
