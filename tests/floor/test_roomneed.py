"""How large a floor a routine takes, reckoned without a solver: against the solver, the checker, and by hand."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from composer.report.roomadvice import room_facts
from composer.roomneed import needed
from composer.roomsize import smallest
from composer.rules import breaches_of
from composer.verify import verify
from tests.builders import a_figure, a_problem, a_routine, a_timeline, tiny_figures

SOME = settings(deadline=None, max_examples=40, suppress_health_check=[HealthCheck.too_slow])


def supple(figure: Any, least: float = 0.8, stray: int = 0) -> Any:
    motion = replace(figure.motion, shortest_scale=least, scaled_percents=(round(100 * least),), strays_mm=(stray,))
    return replace(figure, motion=motion)


@pytest.mark.parametrize(
    ("margin", "stray", "natural", "shortest"),
    # 2 m, the follower 38 cm ahead and 5 cm to the right, 30 cm for each body; a fifth less, and strays on both sides
    [(0, 0, (2980, 650), (2580, 650)), (100, 0, (3180, 850), (2780, 850)), (0, 20, (2980, 650), (2620, 690))],
)
def test_a_walk_of_two_metres(margin: int, stray: int, natural: tuple[int, int], shortest: tuple[int, int]) -> None:
    room = {"width": 5, "depth": 5, "margin": margin / 1000}
    problem = a_problem([supple(a_figure("walk", 4, travel=(2000, 0)), stray=stray)], room=room)
    routine = a_routine(problem, ["walk"])
    assert needed(problem, routine) == natural
    assert needed(problem, routine, shortest=True) == shortest
    facts = {fact.label: fact.text for fact in room_facts(problem, routine)}
    assert facts["Floor needed"].startswith(f"at least {natural[0] / 1000:.2f}".rstrip("0"))


@SOME
@given(tiny_figures(most=3, travels=True), st.integers(0, 7))
def test_with_natural_strides_the_solver_knows_no_smaller_floor(figures: list[Any], faces: int) -> None:
    problem = a_problem(figures, room={"width": 9, "depth": 9, "margin": 0.2})
    routine = a_routine(problem, [figure.id for figure in figures], faces=faces)
    found = smallest(problem, routine)
    assert needed(problem, routine) == (found.width_mm, found.depth_mm)


@SOME
@given(tiny_figures(most=3, travels=True), st.integers(0, 7), st.sampled_from([0, 30]))
def test_with_the_shortest_strides_it_is_danced_there_and_not_in_less(
    figures: list[Any], faces: int, stray: int
) -> None:
    """Every figure at its shortest, placed as far south-west as it goes: right there, and not a millimetre less."""
    figures = [supple(figure, stray=stray) for figure in figures]
    room = {"width": 19, "depth": 19, "stride": {"least": 0.8}}
    problem = a_problem(figures, room=room)
    routine = a_routine(problem, [figure.id for figure in figures], faces=faces, at=(0, 0))
    width, depth = needed(problem, routine, shortest=True)
    assert problem.room is not None
    placed, place = [], (0, 0)
    from composer.floor.placing import moved, travel_of

    for item in routine.figures:
        motion = problem.catalogue.figures[item.figure].motion
        more = tuple(-(abs(far) // 5) * (1 if far > 0 else -1) for far in travel_of(motion, item.faces))
        placed.append(replace(item, x_mm=place[0], y_mm=place[1], more_x_mm=more[0], more_y_mm=more[1]))
        place = moved(place, motion, item.faces, (more[0], more[1]))

    def fits(width: int, depth: int, dx: int, dy: int) -> bool:
        inside = replace(problem, room=replace(problem.room, width_mm=width, depth_mm=depth))  # type: ignore[type-var]
        shifted = tuple(replace(item, x_mm=(item.x_mm or 0) + dx, y_mm=(item.y_mm or 0) + dy) for item in placed)
        moved_routine = replace(routine, figures=shifted)
        mine = [item for item in breaches_of(inside, moved_routine) if item.key in ("room:walls", "room:ground")]
        assert mine or not [item for item in verify(inside, moved_routine) if item.key.startswith("replay:room")]
        return not mine

    places = [(x, y) for x in range(-1, 2) for y in range(-1, 2)]
    start = corner_start(problem, placed)
    assert fits(width, depth, *start)
    assert not any(fits(width - 1, depth, start[0] + dx, start[1] + dy) for dx, dy in places)
    assert not any(fits(width, depth - 1, start[0] + dx, start[1] + dy) for dx, dy in places)


def corner_start(problem: Any, placed: list[Any]) -> tuple[int, int]:
    """The first place that brings the routine to the south and the west wall, by what the checker says is missing."""
    far = 50_000
    room = replace(problem.room, width_mm=2 * far, depth_mm=2 * far)
    inside = replace(problem, room=room)
    found = []
    for axis in (0, 1):
        low, high = 0, far
        while high - low > 1:
            middle = (low + high) // 2
            by = (middle, far) if axis == 0 else (far, middle)
            shifted = tuple(replace(item, x_mm=item.x_mm + by[0], y_mm=item.y_mm + by[1]) for item in placed)
            routine = replace(a_routine(problem, []), figures=shifted)
            bad = any(item.key == "room:walls" for item in breaches_of(inside, routine))
            low, high = (middle, high) if bad else (low, middle)
        found.append(high)
    return found[0], found[1]


def test_without_a_room_the_sheet_says_how_large_one_must_be() -> None:
    problem = a_problem([supple(a_figure("walk", 4, travel=(2000, 0)))], timeline=a_timeline(1))
    facts = {fact.label: fact.text for fact in room_facts(problem, a_routine(problem, ["walk"]))}
    assert facts == {
        "Floor needed": "at least 2.98 m by 0.65 m with comfortable strides, 2.58 m by 0.65 m with the shortest that"
        " every figure allows (wide and deep, bodies included)"
    }
    stiff = a_problem([a_figure("walk", 4, travel=(2000, 0))], timeline=a_timeline(1))
    facts = {fact.label: fact.text for fact in room_facts(stiff, a_routine(stiff, ["walk"]), "feet")}
    assert (
        facts["Floor needed"]
        == "at least 9 ft 10 in by 2 ft 2 in with comfortable strides (wide and deep, bodies included)"
    )
