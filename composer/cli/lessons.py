"""``learn-next``: which figures and positions would improve a routine most."""

from __future__ import annotations

from typing import Any

from composer.cli import speak
from composer.cli.further import problem_and_routine
from composer.cli.interrupting import interruptible
from composer.problem import Problem
from composer.revise.learnnext import Gain, Learning, learn_next
from composer.revise.learnpositions import EACH, PositionGain, Positions, learn_positions
from composer.routine import as_data


def learn_command(given: str, *, brief: str | None, number: int, time_limit_s: float, as_json: bool) -> int:
    """Tell what to learn next; the exit code."""

    def heard(text: str) -> None:
        speak.line(f"looking for {text}")

    def found_for(problem: Problem) -> tuple[Learning | None, Positions | None]:
        found = learn_next(problem, most=number, time_limit_s=time_limit_s, heard=heard)
        if found is None:
            return None, None
        places = learn_positions(problem, found.today, most=number, time_limit_s=time_limit_s, heard=heard)
        return found, places

    with speak.libraries_silenced():
        problem, _ = problem_and_routine(given, brief)
        found, places = interruptible(lambda: found_for(problem))
    if found is None or places is None:
        if as_json:
            speak.document({"status": "undecided"})
        else:
            print("There is no routine to compare with: compose says why, or give a larger --time-limit.")
        return speak.UNDECIDED
    if as_json:
        speak.document(_data(problem, found, places))
    else:
        _show_figures(problem, found)
        print()
        _show_positions(problem, places)
    return speak.DONE


def _data(problem: Problem, found: Learning, places: Positions) -> dict[str, Any]:
    names = {hold: problem.catalogue.holds[hold].name for hold in places.unknown}
    return {
        "status": "found",
        "score_today": found.today.routine.score,
        "score_today_proven": found.today.proven_best,
        "singles": [_gain_data(gain) for gain in found.singles],
        "pair": None if found.pair is None else _gain_data(found.pair),
        "none_helps": found.none_helps,
        "positions_unknown": names,
        "figures_for_each_position": EACH,
        "positions": [_position_data(item) for item in places.singles],
        "positions_order_proven": places.order_proven,
        "position_pair": None if places.pair is None else _position_data(places.pair),
        "position_pair_proven": places.pair_proven,
    }


def _gain_data(gain: Gain) -> dict[str, Any]:
    return {
        "figures": list(gain.figures),
        "gain": gain.gain,
        "proven": gain.proven,
        "score": gain.routine.score,
        "new_positions": list(gain.holds),
        "routine": as_data(gain.routine),
    }


def _position_data(item: PositionGain) -> dict[str, Any]:
    return {"holds": list(item.holds), "opens": list(item.opens), **_gain_data(item.gain)}


def _show_figures(problem: Problem, found: Learning) -> None:
    width = speak.console().width
    proof = "proven best" if found.today.proven_best else "best known"
    print(f"Today: {found.today.routine.score} points ({proof}).")
    if not found.singles:
        print(
            "It is proved that no single new figure would improve it."
            if found.none_helps
            else "No single new figure was found that improves it; this is not a proof."
        )
    elif found.pair is None:
        print("One new figure:")
    else:
        print("One new figure, or two:")
    for gain in (*found.singles, *([found.pair] if found.pair is not None else [])):
        speak.wrapped(f"+{gain.gain}  {_figures_words(problem, gain)}{_opens(gain)}{_proof(gain)}", width, "  ")


def _show_positions(problem: Problem, places: Positions) -> None:
    width = speak.console().width
    if not places.unknown:
        print("There is no hold or position in these dances that the couple does not know.")
        return
    if not places.singles and places.pair is None:
        proved = places.order_proven and places.pair_proven
        print(
            f"It is proved that no new hold or position improves it, with up to {EACH} figures for each."
            if proved
            else "No new hold or position was found that improves it; this is not a proof."
        )
        return
    print(f"A new hold or position, with up to {EACH} figures for each:")
    told = [*places.singles, *([places.pair] if places.pair is not None else [])]
    for item in told:
        holds = " and ".join(problem.catalogue.holds[hold].name for hold in item.holds)
        text = f"+{item.gain.gain}  {holds}: {_figures_words(problem, item.gain)}{_proof(item.gain)}"
        speak.wrapped(text, width, "  ")
    if not (places.order_proven and places.pair_proven):
        print("That no other would gain more is not proved: time ran out.")


def _figures_words(problem: Problem, gain: Gain) -> str:
    charts = [problem.catalogue.figures[figure].chart for figure in gain.figures]
    names = [f"{chart.name} (level {chart.level})" for chart in charts]
    return " and ".join(part for part in (", ".join(names[:-1]), names[-1]) if part)


def _opens(gain: Gain) -> str:
    return f", which opens {' and '.join(gain.holds)}" if gain.holds else ""


def _proof(gain: Gain) -> str:
    return "" if gain.proven else " (not proved)"
