"""Two published waltz routines, written as a teacher writes them, are accepted with the alignments printed there.

Facts: ``tests/facts/worked_loops.csv`` (copied rows, each with the page it was read on). The pages number the loops
by one side of a room; turning a corner there renames an alignment by +2 (common trade usage), checked below.
"""

from __future__ import annotations

import csv
from pathlib import Path

import pytest
import yaml

from composer.routine import Routine
from composer.routinefile import load_routine
from composer.units import ALIGNMENTS, TICKS_PER_BEAT
from composer.verify import verify

FACTS = Path(__file__).parents[1] / "facts" / "worked_loops.csv"
OURS = {
    "Natural Turn": "natural turn",
    "RF Closed Change": "right foot closed change",
    "Reverse Turn": "Reverse Turn",
    "LF Closed Change": "left-foot-closed-change",
    "Natural Spin Turn": "waltz/natural-spin-turn",
    "4-6 Reverse Turn": "reverse-turn-4-6",
    "Whisk": "whisk",
    "Chasse from PP": "chasse from promenade",
    "Hesitation Change": "hesitation change",
    "Progressive Chasse to R": "progressive chasse to right",
    "Outside Change ended PP": "outside change ended promenade",
}
LOOPS = ("beginner waltz loop", "bronze waltz loop")


def printed(loop: str) -> list[dict[str, str]]:
    with FACTS.open(encoding="utf-8", newline="") as stream:
        found = [row for row in csv.DictReader(stream) if row["routine"] == loop]
    assert found
    return found


def eighths(alignment: str) -> int:
    """``FDW`` (facing) or ``BDC`` (backing, the opposite) as eighths clockwise from line of dance."""
    return (ALIGNMENTS.index(alignment[1:]) + (4 if alignment[0] == "B" else 0)) % 8


def by_hand(folder: Path, figures: list[object], **more: object) -> Path:
    file = folder / "loop.yaml"
    data = {"format": "routine/1", "dance": "waltz", **more, "figures": figures}
    file.write_text(yaml.safe_dump(data, sort_keys=False), "utf-8")
    return file


def judged(file: Path) -> tuple[Routine, list[str]]:
    problem, routine = load_routine(file)
    return routine, [breach.key for breach in verify(problem, routine)]


@pytest.mark.parametrize("loop", LOOPS)
@pytest.mark.parametrize("rounds", [1, 2, 4])
def test_a_published_loop_is_accepted_with_the_printed_alignments_and_beats(
    loop: str, rounds: int, tmp_path: Path
) -> None:
    rows = printed(loop) * rounds
    routine, breaches = judged(by_hand(tmp_path, [OURS[row["figure"]] for row in rows]))
    assert breaches == []
    assert [placed.alignment for placed in routine.figures] == [eighths(row["commencing_alignment"]) for row in rows]
    lengths = [(placed.end_tick - placed.start_tick) // TICKS_PER_BEAT for placed in routine.figures]
    assert lengths == [int(row["beats"]) for row in rows]
    assert routine.length_ticks == TICKS_PER_BEAT * sum(int(row["beats"]) for row in rows)


@pytest.mark.parametrize("loop", LOOPS)
def test_every_figure_ends_in_the_alignment_the_next_is_printed_with_and_the_last_leads_round(
    loop: str, tmp_path: Path
) -> None:
    """Reckoned from the simulated bodies alone: how far the leader turned is what leads from one print to the next."""
    rows = printed(loop)
    problem, routine = load_routine(by_hand(tmp_path, [OURS[row["figure"]] for row in rows]))
    for placed, row, following in zip(routine.figures, rows, [*rows[1:], rows[0]], strict=True):
        moments = problem.catalogue.figures[placed.figure].motion.moments
        turned = (moments[-1].leader.facing16 - moments[0].leader.facing16) / 2
        assert (eighths(row["commencing_alignment"]) + turned) % 8 == eighths(following["commencing_alignment"])


@pytest.mark.parametrize("loop", LOOPS)
@pytest.mark.parametrize("at", [2, 4])
def test_a_loop_goes_round_corners_only_where_the_figures_turn_the_couple_to_the_new_side(
    loop: str, at: int, tmp_path: Path
) -> None:
    """The pages print no corner within these loops, so none is taken; one put in anywhere is refused there."""
    rows = printed(loop)
    figures: list[object] = [OURS[row["figure"]] for row in rows]
    routine, breaches = judged(by_hand(tmp_path, figures))
    assert breaches == []
    assert {placed.corners for placed in routine.figures} == {0}
    if at < len(figures):
        _, wrong = judged(
            by_hand(tmp_path, [*figures[:at], "corner", *figures[at:]], faces=rows[0]["commencing_alignment"][1:])
        )
        assert "continuity:alignment" in wrong


def test_the_beginner_loop_takes_eighteen_beats_and_four_of_them_fill_three_phrases(tmp_path: Path) -> None:
    # 18 beats against phrases of 8 bars of 3 (24 beats): 72 beats are 4 loops and 3 phrases. Arithmetic.
    rows = printed(LOOPS[0])
    routine, _ = judged(by_hand(tmp_path, [OURS[row["figure"]] for row in rows] * 4))
    assert routine.length_ticks == 72 * TICKS_PER_BEAT == 4 * 18 * TICKS_PER_BEAT == 3 * 24 * TICKS_PER_BEAT


def test_the_reverse_turn_cannot_follow_the_natural_turn_without_the_change_between(tmp_path: Path) -> None:
    _, breaches = judged(by_hand(tmp_path, ["natural turn", "reverse turn"]))
    assert sorted(breaches) == ["continuity:follower-foot", "continuity:leader-foot"]


def test_a_corner_renames_diagonal_centre_to_diagonal_wall_of_the_new_side(tmp_path: Path) -> None:
    # The page says: the natural turn ends facing diagonal centre; round a corner that is diagonal wall of the new
    # line of dance, from which the next natural turn begins (after the change that frees the right foot again).
    figures: list[object] = ["natural turn", "corner", "natural turn"]
    routine, breaches = judged(by_hand(tmp_path, figures, faces="DW"))
    first, second = routine.figures
    assert breaches == []
    assert second.faces == (first.faces + 6) % 8  # the couple itself turned by the figure only
    assert (first.corners, second.corners) == (0, 1)
    assert first.alignment == second.alignment == ALIGNMENTS.index("DW")


def test_the_same_two_figures_without_the_corner_are_refused(tmp_path: Path) -> None:
    _, breaches = judged(by_hand(tmp_path, ["natural turn", "natural turn"], faces="DW"))
    assert breaches == ["continuity:alignment"]
