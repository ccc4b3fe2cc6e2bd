"""Why roles cannot change as wished: holds and feet of the figures left, and where a change is possible."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

import numpy as np

from composer.rules.look import count_of, listed

if TYPE_CHECKING:
    from composer.explain.reasons import Scene


def lead_reasons(scene: Scene) -> Iterator[str]:
    """What a clash about who leads comes from; nothing where the clash is about something else."""
    keys = [key for key in scene.keys if key.startswith("leads:")]
    if not keys:
        return
    problem = scene.oracle.problem
    figures = [problem.catalogue.figures[name] for name in sorted(scene.left)]
    ready = [figure for figure in figures if problem.catalogue.handed_over(figure.end_of(0))]
    if not ready:
        yield (
            f"none of the {len(figures)} figures left ends in a hold that is the same from the other side, so roles "
            "cannot change (a frame, or arms crossed or wound, is left first)"
        )
        return
    givers = [one for one in ready if any(problem.catalogue.takes_over(one.end_of(0), other) for other in figures)]
    if not givers:
        some = f"{len(ready)} of the figures left end" if len(ready) > 1 else f"only {ready[0].chart.name} ends"
        yield (
            f"{some} in a hold from which roles could change, but no figure left begins with the feet that are then "
            "free: after a change each needs the other foot"
        )
        return
    names = listed([figure.chart.name for figure in givers], 6)
    yield f"roles can change only after {names}" if len(givers) < 7 else f"roles can change after {len(givers)} figures"
    yield from _counts(scene, keys)


def _counts(scene: Scene, keys: list[str]) -> Iterator[str]:
    """The counts at which roles can change when the wishes about it are left out of the clash."""
    network = scene.oracle.network
    ways = scene.paths.ways(scene.paths.open([key for key in scene.keys if key not in keys]))
    ticks = sorted(
        {
            network.arcs[arc].start
            for arc in np.flatnonzero(ways.usable).tolist()
            if network.changes_lead(network.arcs[arc])
        }
    )
    if not ticks:
        yield "with the other wishes roles can change at no count"
    elif len(ticks) <= 6:
        yield f"with the other wishes roles can change only on count {' or '.join(str(count_of(t)) for t in ticks)}"
